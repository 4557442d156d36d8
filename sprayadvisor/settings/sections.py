"""The tables of the settings. The docstring under a field is what the example file prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import time
from typing import Annotated, Literal, Self

from pydantic import Field, SecretStr, model_validator

from sprayadvisor.advice.due import is_quiet
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import DEFAULT_THRESHOLDS, Moment, Policy
from sprayadvisor.settings import crosscheck
from sprayadvisor.settings.fields import (
    ClockTime,
    Email,
    Folder,
    Latitude,
    Line,
    Number,
    Section,
    Zone,
)
from sprayadvisor.units import TemperatureUnit, WindUnit

_KIT = Kit()
_POLICY = Policy()
Port = Annotated[int, Field(ge=1, le=65535)]
Gust = Annotated[Number, Field(gt=0, le=30)]


class Base(Section):
    """Where the van sleeps. Its zone says what "tomorrow" is when the briefs are made."""

    name: Annotated[Line, Field(min_length=1, examples=["Yard at Curlew Strand"])]
    """What you call the place."""
    latitude: Annotated[Latitude, Field(examples=[53.24])]
    """Degrees north of the equator; negative in the south."""
    longitude: Annotated[Number, Field(ge=-180, le=180, examples=[-8.98])]
    """Degrees east of Greenwich; negative in the west."""
    zone: Annotated[Zone, Field(examples=["Europe/Dublin"])]
    """Time zone, as the tz database names it."""
    elevation_m: Annotated[Number | None, Field(ge=-450, le=9000, examples=[6.0])] = None
    """Height above the sea, m. Left out: the forecast's own terrain."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.base(self))
        return self


class Hours(Section):
    """Times of day, local to the site for work and local to the base for the briefs."""

    work_from: ClockTime = _POLICY.work_from
    """Earliest time a repair may begin."""
    work_to: ClockTime = _POLICY.work_to
    """Latest time a repair may end."""
    evening_brief: ClockTime = time(18, 0)
    """When the brief for tomorrow is made."""
    morning_brief: ClockTime = time(6, 30)
    """When the brief for today is made."""
    quiet_from: ClockTime = time(21, 30)
    """No message is sent from this time on ..."""
    quiet_to: ClockTime = time(6, 0)
    """... until this time. The same time twice: never quiet."""

    def is_quiet(self, at: time) -> bool:
        """Return whether a local time of day lies in the quiet hours, over midnight too."""
        return is_quiet(at, self.quiet_from, self.quiet_to)

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.hours(self))
        return self


class Units(Section):
    """How numbers are shown. Limits in this file stay in °C, K and m/s."""

    temperature: TemperatureUnit = "c"
    """c for Celsius, f for Fahrenheit."""
    wind: WindUnit = "ms"
    """ms, kmh, mph, or kn for knots."""


class Mail(Section):
    """How briefs leave. Without a host they are written as .eml files."""

    folder: Annotated[Folder | None, Field(examples=["mail"])] = None
    """Folder for .eml files. Left out, and no host: "mail" below data_dir."""
    host: Annotated[str | None, Field(min_length=1, examples=["mail.example.org"])] = None
    """Mail server (SMTP)."""
    port: Annotated[Port | None, Field(examples=[587])] = None
    """Its port. Left out: 587 for starttls, 465 for tls, 25 for none."""
    security: Literal["none", "starttls", "tls"] = "starttls"
    """Encryption: starttls, tls, or none."""
    allow_plain: bool = False
    """Accept unencrypted mail to a server that is not this machine."""
    username: Annotated[str | None, Field(min_length=1, examples=["painter@example.org"])] = None
    """Login, if the server wants one."""
    password: Annotated[SecretStr | None, Field(min_length=1, examples=["a long secret"])] = None
    """Its password. Better kept in a file named by SPRAYADVISOR_MAIL__PASSWORD_FILE."""
    sender: Annotated[Email | None, Field(examples=["briefs@example.org"])] = None
    """Address the briefs come from. A server elsewhere needs it."""

    @property
    def smtp_port(self) -> int:
        """The port, by kind of encryption where none is given."""
        return self.port or {"none": 25, "starttls": 587, "tls": 465}[self.security]

    @property
    def sender_address(self) -> str:
        """The address the briefs come from."""
        return self.sender or "sprayadvisor@localhost"

    @property
    def plain_allowed(self) -> bool:
        """Whether mail may travel unencrypted."""
        return self.allow_plain or crosscheck.is_loopback(self.host or "")

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.mail(self))
        return self


class KitFields(Section):
    """What is in the van. 0 and false mean: not there."""

    lamp_kw: Annotated[Number, Field(ge=0, le=20)] = _KIT.lamp_kw
    """Power of the infrared lamp, kW."""
    lamp_area_m2: Annotated[Number, Field(ge=0, le=5)] = _KIT.lamp_area_m2
    """Area it lights, m²."""
    blower: bool = _KIT.blower
    """Air blower for water-borne paint."""
    blower_factor: Annotated[Number, Field(ge=1, le=5)] = _KIT.blower_factor
    """How many times faster water-borne paint flashes under it; 2.5 to 3.5 are usual."""
    canopy: bool = _KIT.canopy
    """Canopy to work under."""
    work_light: bool = _KIT.work_light
    """Light good enough to match a colour by."""
    compressor_kw: Annotated[Number, Field(ge=0, le=20)] = _KIT.compressor_kw
    """Power the compressor draws, kW."""
    socket_kw: Annotated[Number, Field(gt=0, le=20)] = _KIT.socket_kw
    """What one household socket bears, kW; 3 for 13 A at 230 V."""
    generator_kw: Annotated[Number, Field(gt=0, le=20)] = _KIT.generator_kw
    """What your generator gives for hours on end, kW."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.kit(self))
        return self


class Likelihoods(Section):
    """How likely a repair must be to fit, from 0 to 1."""

    go: Annotated[Number, Field(ge=0.5, le=0.98)]
    """Likelihood from which the verdict is go; 0.98 is the most that can be known."""
    care: Annotated[Number, Field(ge=0.1, le=0.97)]
    """Likelihood from which it is care."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.likelihoods(self))
        return self


def _usual(moment: Moment) -> Likelihoods:
    """Return the usual likelihoods of a moment."""
    return Likelihoods(**asdict(DEFAULT_THRESHOLDS[moment]))


class ThresholdFields(Section):
    """How sure is sure enough, by the moment at which it is asked."""

    evening: Likelihoods = _usual(Moment.EVENING)
    """The evening before."""
    morning: Likelihoods = _usual(Moment.MORNING)
    """The morning of the job."""
    before_base: Likelihoods = _usual(Moment.BEFORE_BASE)
    """On site, before the base is opened."""
    before_clear: Likelihoods = _usual(Moment.BEFORE_CLEAR)
    """On site, before the clear, on a reading."""

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: object) -> object:
        """Let one number be changed without repeating its partner."""
        if not isinstance(given, Mapping):
            return given
        filled = dict(given)
        for moment, usual in DEFAULT_THRESHOLDS.items():
            if isinstance(own := given.get(moment.value), Mapping):
                filled[moment.value] = {**asdict(usual), **own}
        return filled


class PolicyFields(Section):
    """Your own bounds. They tighten what a product sheet allows and never move its stop."""

    dew_margin_k: Annotated[Number | None, Field(ge=0, le=20, examples=[4.0])] = None
    """Panel at least this far above the dew point, K. Left out: the sheet alone."""
    wind_ms: Annotated[Number | None, Field(gt=0, le=20, examples=[4.0])] = None
    """Mean wind at the gun at most this, m/s. Left out: the sheet alone."""
    rain_hour_mm: Annotated[Number, Field(ge=0, le=_POLICY.rain_hour_mm)] = _POLICY.rain_hour_mm
    """An hour with more rain than this is wet, mm; the sheets' own stop is the usual one."""
    masking_gust_ms: Gust = _POLICY.masking_gust_ms
    """Gust at which masking film tears loose, m/s."""
    lamp_gust_ms: Gust = _POLICY.lamp_gust_ms
    """Gust at which a lamp stand may fall, m/s."""
    canopy_gust_ms: Gust = _POLICY.canopy_gust_ms
    """Gust at which the canopy comes down, m/s."""
    stale_after_h: Annotated[Number, Field(gt=0, le=48)] = _POLICY.stale_after_h
    """Weather older than this is shown with its age, h."""
    unusable_after_h: Annotated[Number, Field(gt=0, le=48)] = _POLICY.unusable_after_h
    """Weather older than this judges nothing, h."""
    thresholds: ThresholdFields = ThresholdFields()
    """How sure is sure enough."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.policy(self))
        return self
