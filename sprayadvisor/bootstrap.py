"""The only place that builds adapters and joins them to services.

Nothing is opened before it is asked for, and heavy libraries are imported where they are first
needed: a command that only shows the settings opens no database.
"""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from sprayadvisor.advice.due import Rhythm
from sprayadvisor.advice.model import Kit, Site
from sprayadvisor.advice.policy import Policy
from sprayadvisor.settings import Settings
from sprayadvisor.shipped import shipped
from sprayadvisor.units import Display

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from sprayadvisor.adapters.open_meteo import OpenMeteo
    from sprayadvisor.adapters.sheet_files import Catalogue, DataFiles
    from sprayadvisor.adapters.store.snapshots import SqlSnapshots
    from sprayadvisor.adapters.store.upkeep import SqlUpkeep
    from sprayadvisor.services.bookings import Bookings
    from sprayadvisor.services.brief import Briefs
    from sprayadvisor.services.brief_files import BriefFiles, BriefTexts
    from sprayadvisor.services.delivery import Delivery
    from sprayadvisor.services.health import Health
    from sprayadvisor.services.places import Places
    from sprayadvisor.services.ports.outbox import Outbox, Transport
    from sprayadvisor.services.progress import Progress
    from sprayadvisor.services.rhythm import Clock
    from sprayadvisor.services.weather import Weather


class Services:
    """Everything a command, the page or the clock may call, each built once.

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
    def bookings(self) -> Bookings:
        """Taking, changing and cancelling jobs."""
        from sprayadvisor.adapters.store.bookings import SqlBookings
        from sprayadvisor.services.bookings import Bookings

        return Bookings(store=SqlBookings(self.engine), catalogue=self.catalogue, now=self.now)

    @cached_property
    def progress(self) -> Progress:
        """Where the painter is, and how jobs ended."""
        from sprayadvisor.services.progress import Progress

        return Progress(self.bookings, self.catalogue.processes, self.now)

    @cached_property
    def snapshots(self) -> SqlSnapshots:
        """The weather as it was received."""
        from sprayadvisor.adapters.store.snapshots import SqlSnapshots

        return SqlSnapshots(self.engine)

    @property
    def _weather_key(self) -> str | None:
        """The key of the weather services, where there is one."""
        key = self.settings.forecast.api_key
        return key.get_secret_value() if key else None

    @cached_property
    def upkeep(self) -> SqlUpkeep:
        """Copies of the database, and forgetting."""
        from sprayadvisor.adapters.store.upkeep import SqlUpkeep

        return SqlUpkeep(self.engine)

    @cached_property
    def forecast(self) -> OpenMeteo:
        """The forecast service."""
        from sprayadvisor.adapters.open_meteo import OpenMeteo

        address = self.settings.forecast.endpoints().forecast
        return OpenMeteo(address, self._weather_key)

    @cached_property
    def air_quality(self) -> OpenMeteo:
        """The air-quality service; nothing waits long for what no verdict needs."""
        from sprayadvisor.adapters.open_meteo import AIR_QUALITY, OpenMeteo

        address = self.settings.forecast.endpoints().air_quality
        return OpenMeteo(
            address, self._weather_key, service=AIR_QUALITY, timeout=(3.0, 8.0), deadline_s=15.0
        )

    @cached_property
    def place_search(self) -> OpenMeteo:
        """The search for places by name; a person waits for it, so not for long."""
        from sprayadvisor.adapters.open_meteo import PLACE_SEARCH, OpenMeteo

        address = self.settings.forecast.endpoints().geocoding
        return OpenMeteo(
            address, self._weather_key, service=PLACE_SEARCH, timeout=(3.0, 5.0), deadline_s=8.0
        )

    @cached_property
    def places(self) -> Places:
        """Places by name."""
        from sprayadvisor.adapters.open_meteo import PlaceSearch
        from sprayadvisor.services.places import Places

        return Places(PlaceSearch(self.place_search))

    @cached_property
    def weather(self) -> Weather:
        """The weather at each site."""
        from sprayadvisor.adapters.open_meteo import read_air_quality, read_outlook
        from sprayadvisor.services.weather import Weather

        return Weather(
            client=self.forecast,
            snapshots=self.snapshots,
            now=self.now,
            read=read_outlook,
            air_client=self.air_quality,
            read_air=read_air_quality,
        )

    @cached_property
    def briefs(self) -> Briefs:
        """Making the brief of a day."""
        from sprayadvisor.services.brief import Briefs

        base = self.settings.base
        return Briefs(
            jobs=self.bookings,
            weather=self.weather,
            catalogue=self.catalogue,
            policy=self.policy,
            kit=self.kit,
            business=self.settings.business,
            base=Site(**base.model_dump()) if base else None,
            zone=self.settings.zone.key,
            now=self.now,
        )

    @cached_property
    def brief_texts(self) -> BriefTexts:
        """Briefs as text."""
        from sprayadvisor.services.brief_files import BriefTexts

        return BriefTexts(self.display)

    @cached_property
    def brief_files(self) -> BriefFiles:
        """Briefs as files."""
        from sprayadvisor.adapters.whole_files import write_whole
        from sprayadvisor.services.brief_files import BriefFiles

        sender = self.settings.mail.sender_address
        return BriefFiles(write_whole, self.display, sender, self.settings.recipients)

    @cached_property
    def outbox(self) -> Outbox:
        """Messages that wait, and the ledger of those that were sent."""
        from sprayadvisor.adapters.store.outbox import SqlOutbox, this_process

        return SqlOutbox(self.engine, this_process())

    @cached_property
    def transport(self) -> Transport:
        """The way messages leave: through a mail server, or as files in a folder."""
        from sprayadvisor.adapters.eml_transport import EmlTransport
        from sprayadvisor.adapters.smtp import SmtpTransport

        mail = self.settings.mail
        if folder := self.settings.eml_folder:
            return EmlTransport(folder)
        return SmtpTransport(
            host=mail.host or "",
            port=mail.smtp_port,
            security=mail.security,
            sender=mail.sender_address,
            username=mail.username or "",
            password=mail.password.get_secret_value() if mail.password else "",
            plain_allowed=mail.plain_allowed,
        )

    @cached_property
    def delivery(self) -> Delivery:
        """Messages into the outbox, and from there on their way."""
        from sprayadvisor.services.delivery import Delivery

        own = self.settings
        return Delivery(
            outbox=self.outbox,
            transport=self.transport,
            now=self.now,
            rhythm=self.rhythm,
            zone=own.zone.key,
            sender=own.mail.sender_address,
            business=own.business,
            display=self.display,
            tell=self.health.failed,
        )

    @cached_property
    def rhythm(self) -> Rhythm:
        """The user's day."""
        return self.settings.to_rhythm()

    @cached_property
    def health(self) -> Health:
        """Whether the clock lives."""
        from sprayadvisor.services.health import Health

        return Health(self.now)

    @cached_property
    def clock(self) -> Clock:
        """What does by itself what is due."""
        from sprayadvisor.adapters.ping import Ping
        from sprayadvisor.adapters.store.said import SqlSaid
        from sprayadvisor.services.rhythm import Clock

        address = self.settings.ping_url
        return Clock(
            jobs=self.bookings,
            briefs=self.briefs,
            reports=self.progress,
            said=SqlSaid(self.engine),
            post=self.delivery,
            rhythm=self.rhythm,
            zone=self.settings.zone.key,
            policy=self.policy,
            health=self.health,
            now=self.now,
            ping=Ping(address.get_secret_value()) if address else lambda: None,
            stopping=self.stopping.is_set,
        )

    def close(self) -> None:
        """Let go of connections, of those things only that were opened."""
        opened = vars(self)
        if "engine" in opened:
            self.engine.dispose()
        for service in ("forecast", "air_quality", "place_search"):
            if service in opened:
                opened[service].close()


def build(settings: Settings) -> Services:
    """Return the services for these settings; nothing is opened yet."""
    return Services(settings)
