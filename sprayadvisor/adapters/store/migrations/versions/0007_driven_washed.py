"""When a car's last drive or wash ends: engine heat in the metal, water in the gaps."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0004"


def upgrade() -> None:
    for name in ("driven_until", "washed_until"):
        op.add_column("jobs", sa.Column(name, sa.Time))
