"""What everything stands on: settings, clock, database, sheets and processes."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from sprayadvisor.advice.due import Rhythm
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import Policy
from sprayadvisor.settings import Settings
from sprayadvisor.shipped import shipped
from sprayadvisor.units import Display

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from sprayadvisor.adapters.keys import KeyFile
    from sprayadvisor.adapters.sheet_files import Catalogue, DataFiles


class Ground:
    """The settings, and what they alone decide.

    Attributes:
        settings: what the user decided.
        stopping: set once the process shall end; whatever runs long looks at it.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.stopping = threading.Event()

    def now(self) -> datetime:
        """Return the time in UTC: the settings' fixed one, else the clock's."""
        fixed = self.settings.now
        return fixed.astimezone(UTC) if fixed else datetime.now(UTC)

    @cached_property
    def policy(self) -> Policy:
        """The user's bounds and hours."""
        return self.settings.to_policy()

    @cached_property
    def kit(self) -> Kit:
        """What is in the van."""
        return self.settings.to_kit()

    @cached_property
    def display(self) -> Display:
        """How numbers are shown."""
        return self.settings.display()

    @cached_property
    def rhythm(self) -> Rhythm:
        """The user's day."""
        return self.settings.to_rhythm()

    @cached_property
    def engine(self) -> Engine:
        """The database, brought to this version's tables.

        Raises:
            StoreError: it cannot be opened or written.
        """
        from sprayadvisor.adapters.store.engine import migrate, open_engine

        engine = open_engine(self.settings.database())
        try:
            migrate(engine)
        except BaseException:
            engine.dispose()
            raise
        return engine

    @cached_property
    def data_files(self) -> DataFiles:
        """Files of sheets and processes: those that come along, then the user's own, which win."""
        from sprayadvisor.adapters.sheet_files import DataFiles

        return DataFiles(
            [shipped("config/sheets"), *self.settings.sheets_folders],
            [shipped("config/processes"), *self.settings.processes_folders],
        )

    @property
    def catalogue(self) -> Catalogue:
        """Every usable sheet and process."""
        return self.data_files.catalogue

    @cached_property
    def keys(self) -> KeyFile:
        """The keys that sign links and logins."""
        from sprayadvisor.adapters.keys import KeyFile

        return KeyFile(self.settings.data_dir / "web.keys")
