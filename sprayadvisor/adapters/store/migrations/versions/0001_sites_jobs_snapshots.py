"""Sites, jobs with their history, and the weather as it was received."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "sites",
        sa.Column("name", sa.String, nullable=False),
        sa.Column("latitude", sa.Float(53), nullable=False),
        sa.Column("longitude", sa.Float(53), nullable=False),
        sa.Column("zone", sa.String, nullable=False),
        sa.Column("elevation_m", sa.Float(53)),
        sa.Column("surroundings", sa.String, nullable=False),
        sa.Column("ground", sa.String, nullable=False),
        sa.Column("cover", sa.String, nullable=False),
        sa.Column("power", sa.String, nullable=False),
        sa.Column("downwind", sa.JSON, nullable=False),
        sa.Column("shade_before", sa.Time),
        sa.Column("shade_after", sa.Time),
        sa.PrimaryKeyConstraint("name", name="pk_sites"),
    )
    op.create_table(
        "jobs",
        sa.Column("ref", sa.String, nullable=False),
        sa.Column("site", sa.String, nullable=False),
        sa.Column("panels", sa.JSON, nullable=False),
        sa.Column("process", sa.String, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("arrive_from", sa.Time, nullable=False),
        sa.Column("arrive_to", sa.Time, nullable=False),
        sa.Column("heading_deg", sa.Float(53), nullable=False),
        sa.Column("car_there_from", sa.Time),
        sa.Column("back_by", sa.Time),
        sa.Column("may_move", sa.Boolean, nullable=False),
        sa.Column("times_moved", sa.Integer, nullable=False),
        sa.Column("repair_area_m2", sa.Float(53), nullable=False),
        sa.Column("state", sa.String, nullable=False),
        sa.Column("customer_name", sa.String, nullable=False),
        sa.Column("customer_phone", sa.String, nullable=False),
        sa.Column("customer_email", sa.String, nullable=False),
        sa.Column("customer_note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("ref", name="pk_jobs"),
        sa.ForeignKeyConstraint(["site"], ["sites.name"], name="fk_jobs_site_sites"),
    )
    op.create_index("ix_jobs_day", "jobs", ["day"])
    op.create_table(
        "job_events",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.String, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("event", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job_events"),
        sa.ForeignKeyConstraint(["job"], ["jobs.ref"], name="fk_job_events_job_jobs"),
    )
    op.create_index("ix_job_events_job", "job_events", ["job"])
    op.create_table(
        "snapshots",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("place", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("fetched_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("request", sa.Text, nullable=False),
        sa.Column("payload_gz", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_snapshots"),
    )
    op.create_index(
        "ix_snapshots_place_kind_fetched_at", "snapshots", ["place", "kind", "fetched_at"]
    )
