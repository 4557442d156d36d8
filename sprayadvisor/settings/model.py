"""The settings as one frozen object."""

from __future__ import annotations

import zlib
from pathlib import Path
from types import MappingProxyType
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field
from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict

from sprayadvisor.advice.due import Rhythm
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import Moment, Policy, Thresholds
from sprayadvisor.settings.fields import (
    Database,
    Folder,
    Instant,
    Line,
    PingAddress,
    ReadFolders,
    Recipients,
)
from sprayadvisor.settings.forecast import Forecast
from sprayadvisor.settings.sections import (
    Base,
    Hours,
    KitFields,
    Mail,
    PolicyFields,
    Units,
)
from sprayadvisor.settings.web import Web
from sprayadvisor.units import Display


def user_data_dir() -> Path:
    """Return where this user's programs keep their data."""
    import platformdirs

    return platformdirs.user_data_path("sprayadvisor")


class Settings(BaseSettings):
    """Everything the user decides. Build it with ``load_settings``.

    One built in code takes nothing from its surroundings: the loader reads file and environment and
    hands both in.
    """

    model_config = SettingsConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        hide_input_in_errors=True,
        use_attribute_docstrings=True,
        env_prefix="SPRAYADVISOR_",
        env_nested_delimiter="__",
        enable_decoding=False,
    )

    business: Annotated[Line, Field(examples=["Curlew Strand Paintwork"])] = ""
    """Your business, as the briefs name it."""
    recipients: Annotated[Recipients, Field(examples=[["painter@example.org"]])] = ()
    """Who gets the briefs."""
    ping_url: Annotated[
        PingAddress | None, Field(examples=["https://ping.example.org/a-long-secret"])
    ] = None
    """Asked after each finished brief, so that something elsewhere notices when none comes.
    Better kept in a file named by SPRAYADVISOR_PING_URL_FILE."""
    data_dir: Annotated[
        Folder, Field(default_factory=user_data_dir, examples=["/var/lib/sprayadvisor"])
    ]
    """Where the database and mail files live. Left out: STATE_DIRECTORY, else your data folder."""
    database_url: Annotated[
        Database | None,
        Field(examples=["sqlite:////var/lib/sprayadvisor/sprayadvisor.db"]),
    ] = None
    """Database, as an SQLAlchemy URL. Left out: SQLite below data_dir.
    One with a password is better kept in a file named by SPRAYADVISOR_DATABASE_URL_FILE."""
    sheets_folders: ReadFolders = ()
    """More folders with product sheets, besides those that come along."""
    processes_folders: ReadFolders = ()
    """More folders with processes, besides those that come along."""
    now: Annotated[Instant | None, Field(examples=["2026-03-09T18:00:00+00:00"])] = None
    """Stops the clock at this time, for trials only. Date, time and zone."""
    base: Base | None = None
    hours: Hours = Hours()
    units: Units = Units()
    mail: Mail = Mail()
    forecast: Forecast = Forecast()
    web: Web = Web()
    kit: KitFields = KitFields()
    policy: PolicyFields = PolicyFields()

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],  # noqa: ARG003 - the library's signature
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the library's signature
        dotenv_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the library's signature
        file_secret_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the library's signature
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """Take nothing but what is handed in."""
        return (init_settings,)

    @property
    def zone(self) -> ZoneInfo:
        """The base's zone, UTC where no base is set."""
        return ZoneInfo(self.base.zone if self.base else "UTC")

    @property
    def eml_folder(self) -> Path | None:
        """Where briefs are written as files; None when a mail server sends them."""
        if self.mail.host:
            return None
        return self.mail.folder or self.data_dir / "mail"

    def database(self) -> str:
        """Return the database URL; it may hold a password, so it is never shown."""
        if self.database_url:
            return self.database_url.get_secret_value()
        return f"sqlite:///{self.data_dir / 'sprayadvisor.db'}"

    def display(self) -> Display:
        """Return how numbers are shown."""
        return Display(self.units.temperature, self.units.wind)

    def to_kit(self) -> Kit:
        """Return what is in the van, as pure code takes it."""
        return Kit(**self.kit.model_dump())

    def to_policy(self) -> Policy:
        """Return the user's bounds and hours, as pure code takes them."""
        own = self.policy
        thresholds = {
            moment: Thresholds(**getattr(own.thresholds, moment.value).model_dump())
            for moment in Moment
        }
        return Policy(
            thresholds=MappingProxyType(thresholds),
            work_from=self.hours.work_from,
            work_to=self.hours.work_to,
            **own.model_dump(exclude={"thresholds"}),
        )

    def to_rhythm(self) -> Rhythm:
        """Return when briefs are made and when nobody is woken, as pure code takes it."""
        hours = self.hours
        return Rhythm(
            self.recipients,
            hours.evening_brief,
            hours.morning_brief,
            hours.quiet_from,
            hours.quiet_to,
            # Every installation looks at a minute of its own, so that not all ask at once.
            look_minute=10 + zlib.crc32(repr(self.base).encode()) % 40,
        )
