"""What the painter chose to keep of how a job was done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    op.create_table(
        "records",
        sa.Column("job", sa.String, nullable=False),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("parts", sa.JSON, nullable=False),
        sa.Column("coats", sa.JSON, nullable=False),
        sa.Column("advice", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.ref"], name="fk_records_job_jobs"),
        sa.PrimaryKeyConstraint("job", name="pk_records"),
    )
