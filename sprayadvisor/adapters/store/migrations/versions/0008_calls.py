"""What was asked of the weather services, and since when a forecast has not changed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    op.add_column("snapshots", sa.Column("values_since", sa.DateTime(timezone=True)))
    op.create_table(
        "calls",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("minute", sa.DateTime(timezone=True), nullable=False),
        sa.Column("weight", sa.Float(53), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_calls"),
    )
    op.create_index("ix_calls_minute", "calls", ["minute"])
