"""What was said of each job, so that only a change is said again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "said",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.String, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("subject", sa.String, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("word", sa.String, nullable=False),
        sa.Column("cause", sa.String, nullable=False),
        sa.Column("times", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_said"),
        sa.ForeignKeyConstraint(["job"], ["jobs.ref"], name="fk_said_job_jobs"),
    )
    op.create_index("ix_said_job_day", "said", ["job", "day"])
