"""Since when the coat before was matt, and which readings were struck out as wrong."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    for name in ("matt_at", "struck_at"):
        op.add_column("readings", sa.Column(name, sa.DateTime(timezone=True)))
