"""Nobody may have said which way a car stands."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    said = sa.Column("heading_said", sa.Boolean, nullable=False, server_default=sa.true())
    op.add_column("jobs", said)
