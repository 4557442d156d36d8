"""What was read at the car."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    op.create_table(
        "readings",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.String, nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("stage", sa.String, nullable=False),
        sa.Column("word", sa.String, nullable=False),
        sa.Column("panel", sa.Integer, nullable=False),
        sa.Column("panel_temp_c", sa.Float(53)),
        sa.Column("air_temp_c", sa.Float(53)),
        sa.Column("rh_pct", sa.Float(53)),
        sa.Column("wind_ms", sa.Float(53)),
        sa.Column("mist_s", sa.Float(53)),
        sa.Column("stripe_min", sa.Float(53)),
        sa.ForeignKeyConstraint(["job"], ["jobs.ref"], name="fk_readings_job_jobs"),
        sa.PrimaryKeyConstraint("id", name="pk_readings"),
    )
    op.create_index("ix_readings_job", "readings", ["job"])
