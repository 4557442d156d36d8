"""The tables.

Panels and downwind neighbours are JSON inside their row: they are only ever read and written
together with it, their order matters, and nothing searches by them. A customer's details are in
``jobs`` and nowhere else. Words such as ``state`` carry no CHECK, because a word more must not need
a rebuilt table.
"""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    Time,
    UniqueConstraint,
    false,
    true,
)

from sprayadvisor.adapters.store.times import UtcDateTime

# The newest revision under migrations/versions; a start that finds it need not load Alembic.
REVISION = "0013"

# Named constraints: without a name a later migration could not drop one on SQLite.
METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

SITES = Table(
    "sites",
    METADATA,
    Column("name", String, primary_key=True),
    Column("latitude", Float(53), nullable=False),
    Column("longitude", Float(53), nullable=False),
    Column("zone", String, nullable=False),
    Column("elevation_m", Float(53)),
    Column("surroundings", String, nullable=False),
    Column("ground", String, nullable=False),
    Column("cover", String, nullable=False),
    Column("power", String, nullable=False),
    Column("downwind", JSON, nullable=False),
    Column("shade_before", Time),
    Column("shade_after", Time),
    Column("kerb", Boolean, nullable=False, server_default=false()),
)

JOBS = Table(
    "jobs",
    METADATA,
    Column("ref", String, primary_key=True),
    Column("site", String, ForeignKey("sites.name"), nullable=False),
    Column("panels", JSON, nullable=False),
    Column("process", String, nullable=False),
    Column("day", Date, nullable=False, index=True),
    Column("arrive_from", Time, nullable=False),
    Column("arrive_to", Time, nullable=False),
    Column("heading_deg", Float(53), nullable=False),
    Column("car_there_from", Time),
    Column("back_by", Time),
    Column("driven_until", Time),
    Column("washed_until", Time),
    Column("may_move", Boolean, nullable=False),
    Column("times_moved", Integer, nullable=False),
    Column("repair_area_m2", Float(53), nullable=False),
    Column("state", String, nullable=False),
    Column("customer_name", String, nullable=False),
    Column("customer_phone", String, nullable=False),
    Column("customer_email", String, nullable=False),
    Column("customer_note", Text, nullable=False),
    Column("heading_said", Boolean, nullable=False, server_default=true()),
)

# Append-only: the code has no statement that changes or removes a row.
JOB_EVENTS = Table(
    "job_events",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job", String, ForeignKey("jobs.ref"), nullable=False, index=True),
    Column("at", UtcDateTime, nullable=False),
    Column("event", String, nullable=False),
    Column("by", String, nullable=False),
    Column("note", Text, nullable=False),
)

# What was said of a job, newest last; ``times`` is the plan that was told, stage by stage.
SAID = Table(
    "said",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job", String, ForeignKey("jobs.ref"), nullable=False),
    Column("day", Date, nullable=False),
    Column("subject", String, nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Column("kind", String, nullable=False),
    Column("word", String, nullable=False),
    Column("cause", String, nullable=False),
    Column("times", JSON, nullable=False),
    Index(None, "job", "day"),
)

# Append-only too: what was measured at the car, for what, and what was answered.
READINGS = Table(
    "readings",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job", String, ForeignKey("jobs.ref"), nullable=False, index=True),
    Column("asked_at", UtcDateTime, nullable=False),
    Column("taken_at", UtcDateTime, nullable=False),
    Column("stage", String, nullable=False),
    Column("word", String, nullable=False),
    Column("panel", Integer, nullable=False),
    Column("panel_temp_c", Float(53)),
    Column("air_temp_c", Float(53)),
    Column("rh_pct", Float(53)),
    Column("wind_ms", Float(53)),
    Column("wind_from_deg", Float(53)),
    Column("mist_s", Float(53)),
    Column("stripe_min", Float(53)),
    Column("matt_at", UtcDateTime),
    Column("struck_at", UtcDateTime),
)

# What the painter chose to keep of how a job was done, and nothing else.
RECORDS = Table(
    "records",
    METADATA,
    Column("job", String, ForeignKey("jobs.ref"), primary_key=True),
    Column("kept_at", UtcDateTime, nullable=False),
    Column("parts", JSON, nullable=False),
    Column("coats", JSON, nullable=False),
    Column("advice", Text, nullable=False),
    Column("reason", Text, nullable=False),
)

SNAPSHOTS = Table(
    "snapshots",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("place", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("fetched_at", UtcDateTime, nullable=False),
    Column("request", Text, nullable=False),
    Column("payload_gz", LargeBinary, nullable=False),
    Column("values_since", UtcDateTime),  # null: since it was fetched
    Index(None, "place", "kind", "fetched_at"),
)

# What was asked of the weather services, by the minute: their limits are counted in such windows.
CALLS = Table(
    "calls",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("minute", UtcDateTime, nullable=False, index=True),
    Column("weight", Float(53), nullable=False),
)

# The ledger too: a row stays long after its message is gone, so that no key is sent a second time.
OUTBOX = Table(
    "outbox",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("recipient", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("subject", String, nullable=False),
    Column("message_id", String, nullable=False),
    Column("message", LargeBinary),  # holds customers' details, so it goes when the row is closed
    Column("state", String, nullable=False),
    Column("enqueued_at", UtcDateTime, nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    Column("next_try_at", UtcDateTime, nullable=False),
    Column("claimed_until", UtcDateTime),
    Column("claimed_by", String, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("doubts", Integer, nullable=False),
    Column("closed_at", UtcDateTime),
    Column("problem", Text, nullable=False),
    UniqueConstraint("recipient", "kind", "subject"),
    Index(None, "state", "next_try_at"),
)
