"""Records of jobs that the painter chose to keep."""

from __future__ import annotations

from typing import Protocol

from sprayadvisor.advice.record import JobRecord


class RecordStore(Protocol):
    """Keeps records. A newer one takes the place of an older; what it left out is gone."""

    def keep(self, record: JobRecord) -> None:
        """Keep a record of a job that there is, in place of an earlier one.

        Raises:
            StoreError: it could not be kept; the earlier one is still there.
        """
        ...

    def of(self, ref: str) -> JobRecord | None:
        """Return the record of a job, None if none is kept.

        Raises:
            StoreError: the store cannot be read, or what is kept is damaged.
        """
        ...

    def forget(self, ref: str) -> None:
        """Remove the record of a job, if there is one.

        Raises:
            StoreError: it could not be removed.
        """
        ...
