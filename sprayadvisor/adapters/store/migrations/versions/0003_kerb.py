"""Whether a site lies at the kerb: passing cars bring dust, spray and danger."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.add_column("sites", sa.Column("kerb", sa.Boolean, nullable=False, server_default=sa.false()))
