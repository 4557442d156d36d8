"""Where the wind was felt to come from at the car."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    op.add_column("readings", sa.Column("wind_from_deg", sa.Float(53)))
