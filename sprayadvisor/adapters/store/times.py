"""Moments in the database: stored in UTC, read back aware, whatever the database itself can do."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment. SQLite would drop the zone without a word; this puts UTC back."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - SQLAlchemy's signature
        """Return the moment in UTC.

        Raises:
            ValueError: the moment has no zone. That is a defect of the caller, so it stays loud.
        """
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no zone; only aware moments are stored.")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - SQLAlchemy's signature
        """Return the stored moment, aware and in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
