"""Everything a command, the page or the clock may call."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from sprayadvisor.advice.model import Site
from sprayadvisor.bootstrap.weather import WeatherServices
from sprayadvisor.settings import Settings

if TYPE_CHECKING:
    from sprayadvisor.adapters.store.upkeep import SqlUpkeep
    from sprayadvisor.services.board import Board
    from sprayadvisor.services.booking_files import BookingFiles
    from sprayadvisor.services.bookings import Bookings
    from sprayadvisor.services.brief import Briefs
    from sprayadvisor.services.brief_files import BriefFiles, BriefTexts
    from sprayadvisor.services.courtesy import Courtesy
    from sprayadvisor.services.delivery import Delivery
    from sprayadvisor.services.health import Health
    from sprayadvisor.services.history import History
    from sprayadvisor.services.library import Library
    from sprayadvisor.services.links import Links
    from sprayadvisor.services.onsite import OnSite
    from sprayadvisor.services.ports.clock import SaidStore
    from sprayadvisor.services.ports.outbox import Outbox, Transport
    from sprayadvisor.services.ports.signing import Signer
    from sprayadvisor.services.progress import Progress
    from sprayadvisor.services.record import Records
    from sprayadvisor.services.rhythm import Clock


class Services(WeatherServices):
    """Everything a command, the page or the clock may call, each built once."""

    @cached_property
    def bookings(self) -> Bookings:
        """Taking, changing and cancelling jobs."""
        from sprayadvisor.adapters.store.bookings import SqlBookings
        from sprayadvisor.services.bookings import Bookings

        return Bookings(store=SqlBookings(self.engine), catalogue=self.catalogue, now=self.now)

    def booking_files(self, separator: str = "comma") -> BookingFiles:
        """Return what reads and writes files of bookings.

        Args:
            separator: between the cells of a file that is written: comma, semicolon or tab.
        """
        from sprayadvisor.adapters.csv_bookings import SEPARATORS, CsvBookings
        from sprayadvisor.services.booking_files import BookingFiles
        from sprayadvisor.services.row_form import NUMBERS

        return BookingFiles(self.bookings, CsvBookings(SEPARATORS[separator], NUMBERS))

    @cached_property
    def progress(self) -> Progress:
        """Where the painter is, and how jobs ended."""
        from sprayadvisor.services.progress import Progress

        return Progress(self.bookings, self.catalogue.processes, self.now)

    @cached_property
    def library(self) -> Library:
        """Sheets and processes to read."""
        from sprayadvisor.services.library import Library

        return Library(self.catalogue, self.display)

    @cached_property
    def signer(self) -> Signer:
        """What signs links and logins."""
        from sprayadvisor.adapters.signing import TimedSigner

        return TimedSigner(self.keys.keys, self.now)

    @cached_property
    def links(self) -> Links:
        """Links that open one day or one job of the page."""
        from sprayadvisor.services.links import Links

        return Links(self.signer, self.settings.web.address or "")

    @cached_property
    def board(self) -> Board:
        """The briefs as the page shows them."""
        from sprayadvisor.adapters.store.revisions import SqlRevisions
        from sprayadvisor.services.board import Board

        return Board(
            briefs=self.briefs,
            jobs=self.bookings,
            revisions=SqlRevisions(self.engine),
            now=self.now,
            zone=self.settings.zone.key,
            display=self.display,
            quiet=self.rhythm.is_quiet,
        )

    @cached_property
    def said(self) -> SaidStore:
        """What was said of each job."""
        from sprayadvisor.adapters.store.said import SqlSaid

        return SqlSaid(self.engine)

    @cached_property
    def history(self) -> History:
        """What happened to each job."""
        from sprayadvisor.services.history import History

        return History(
            self.bookings, self.said, self.delivery, self.rhythm, self.catalogue.processes
        )

    @cached_property
    def upkeep(self) -> SqlUpkeep:
        """Copies of the database, and forgetting."""
        from sprayadvisor.adapters.store.upkeep import SqlUpkeep

        return SqlUpkeep(self.engine)

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
            give_way=self.courtesy.give_way,
            report=self.progress.report,
        )

    @cached_property
    def courtesy(self) -> Courtesy:
        """Who goes first."""
        from sprayadvisor.services.courtesy import Courtesy

        return Courtesy()

    @cached_property
    def onsite(self) -> OnSite:
        """Answers at the car."""
        from sprayadvisor.adapters.store.readings import SqlReadings
        from sprayadvisor.services.onsite import OnSite

        return OnSite(
            bookings=self.bookings,
            progress=self.progress,
            weather=self.weather,
            catalogue=self.catalogue,
            readings=SqlReadings(self.engine),
            policy=self.policy,
            kit=self.kit,
            display=self.display,
            now=self.now,
            courtesy=self.courtesy,
        )

    @cached_property
    def records(self) -> Records:
        """What is kept of how jobs were done."""
        from sprayadvisor.adapters.store.readings import SqlReadings
        from sprayadvisor.adapters.store.records import SqlRecords
        from sprayadvisor.services.record import Records

        return Records(
            bookings=self.bookings,
            weather=self.weather,
            catalogue=self.catalogue,
            readings=SqlReadings(self.engine),
            said=self.said,
            store=SqlRecords(self.engine),
            policy=self.policy,
            kit=self.kit,
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
            links=self.links.mail,
            stop=(own.mail.sender or "") if own.web.address else "",
            tell=self.health.failed,
        )

    @cached_property
    def health(self) -> Health:
        """Whether the clock lives."""
        from sprayadvisor.services.health import Health

        return Health(self.now)

    @cached_property
    def clock(self) -> Clock:
        """What does by itself what is due."""
        from sprayadvisor.adapters.ping import Ping
        from sprayadvisor.services.rhythm import Clock
        from sprayadvisor.services.tidy import Tidy

        address = self.settings.ping_url
        return Clock(
            jobs=self.bookings,
            briefs=self.briefs,
            reports=self.progress,
            said=self.said,
            post=self.delivery,
            rhythm=self.rhythm,
            zone=self.settings.zone.key,
            policy=self.policy,
            health=self.health,
            now=self.now,
            ping=Ping(address.get_secret_value()) if address else lambda: None,
            tidy=Tidy(self.upkeep, self.now),
            stopping=self.stopping.is_set,
        )

    def close(self) -> None:
        """Let go of connections, of those things only that were opened."""
        opened = vars(self)
        if "engine" in opened:
            self.engine.dispose()
        for service in ("forecast", "air_quality", "place_search", "ensemble"):
            if opened.get(service):
                opened[service].close()


def build(settings: Settings) -> Services:
    """Return the services for these settings; nothing is opened yet."""
    return Services(settings)
