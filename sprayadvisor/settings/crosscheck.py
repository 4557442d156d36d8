"""Faults that show only when two settings of one table are held against each other."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from pydantic_core import PydanticCustomError

from sprayadvisor.advice.due import NOON

if TYPE_CHECKING:
    from sprayadvisor.settings.forecast import Forecast
    from sprayadvisor.settings.sections import (
        Base,
        Hours,
        KitFields,
        Likelihoods,
        Mail,
        PolicyFields,
    )
    from sprayadvisor.settings.web import Web

LEAST_TO_SEND_MIN = 15


@dataclass(frozen=True, slots=True)
class Clash:
    """Settings of one table that cannot stand together; the first named is shown."""

    fields: tuple[str, ...]
    problem: str
    remedy: str


def refuse(clashes: Iterable[Clash]) -> None:
    """Raise one error that carries every clash of a table.

    Raises:
        PydanticCustomError: of type ``clash``, with the clashes in its context.
    """
    found = tuple(clashes)
    if found:
        told = "; ".join(f"{clash.fields[0]}: {clash.problem}" for clash in found)
        raise PydanticCustomError("clash", "{told}", {"told": told, "clashes": found})


def base(section: Base) -> Iterator[Clash]:
    """Hold the coordinates against the zone's offset from UTC, at 15° to the hour."""
    if section.zone.startswith(("Etc/", "UTC", "GMT")):
        return
    offset = datetime(2026, 1, 1, tzinfo=UTC).astimezone(ZoneInfo(section.zone)).utcoffset()
    meridian = offset.total_seconds() / 240 if offset is not None else 0.0
    given, swapped = (_apart(x, meridian) for x in (section.longitude, section.latitude))
    fields = ("longitude", "latitude", "zone")
    if given > 45 and swapped <= 30:
        yield Clash(
            fields,
            f"{section.latitude:g}, {section.longitude:g} does not lie in {section.zone}",
            "latitude and longitude look swapped: latitude is the one counted from the equator",
        )
    elif given > 75:
        yield Clash(
            fields,
            f"{section.latitude:g}, {section.longitude:g} does not lie in {section.zone}",
            "check the sign: longitude is negative west of Greenwich",
        )


def _apart(longitude: float, meridian: float) -> float:
    """Return how far two longitudes lie apart, degrees, 0 to 180."""
    return abs((longitude - meridian + 180.0) % 360.0 - 180.0)


def hours(section: Hours) -> Iterator[Clash]:
    """Hold working hours, briefs and quiet hours against each other."""
    if section.work_from >= section.work_to:
        yield Clash(
            ("work_from", "work_to"),
            f"work begins at {section.work_from:%H:%M} and ends at {section.work_to:%H:%M}",
            "work_from must be earlier than work_to",
        )
    if section.morning_brief >= section.evening_brief:
        yield Clash(
            ("morning_brief", "evening_brief"),
            f"the morning brief at {section.morning_brief:%H:%M} comes after the evening brief",
            "morning_brief must be earlier than evening_brief",
        )
    for name in ("evening_brief", "morning_brief"):
        at: time = getattr(section, name)
        if section.is_quiet(at):
            yield Clash(
                (name, "quiet_from", "quiet_to"),
                f"{at:%H:%M} lies in the quiet hours "
                f"{section.quiet_from:%H:%M} to {section.quiet_to:%H:%M}",
                "move the brief or the quiet hours",
            )
        elif _too_late(name, section):
            yield Clash(
                (name, "quiet_from"),
                f"at {at:%H:%M} a quarter of an hour is not left to send it in",
                "make it earlier: the evening brief has until midnight or the quiet hours, "
                "the morning brief until noon",
            )


def _too_late(name: str, section: Hours) -> bool:
    """Return whether a brief is of no more use a quarter of an hour after its time."""
    at: time = getattr(section, name)
    ends = 24 * 60
    if name == "morning_brief" and at < section.evening_brief:
        end = section.evening_brief if at >= NOON else NOON
        ends = end.hour * 60 + end.minute
    later = at.hour * 60 + at.minute + LEAST_TO_SEND_MIN
    return later > ends or section.is_quiet(time(later // 60 % 24, later % 60))


def mail(section: Mail) -> Iterator[Clash]:
    """Refuse two ways out at once, half a login, and mail in the clear to elsewhere."""
    if section.host and section.folder:
        yield Clash(
            ("folder", "host"),
            "both a folder and a mail server are given",
            "keep mail.folder to write files or mail.host to send, not both",
        )
    if (section.username is None) != (section.password is None):
        there, gone = ("username", "password") if section.username else ("password", "username")
        yield Clash((there, gone), f"mail.{there} is given without mail.{gone}", f"add mail.{gone}")
    if not section.host or is_loopback(section.host):
        return
    if section.security == "none" and not section.allow_plain:
        yield Clash(
            ("security", "host", "allow_plain"),
            f"mail to {section.host} would travel unencrypted",
            'set mail.security to "starttls" or "tls", or mail.allow_plain = true to accept it',
        )
    if section.sender is None:
        yield Clash(
            ("sender", "host"),
            f"{section.host} needs an address to send from",
            "set mail.sender to an address of yours",
        )


def is_loopback(host: str) -> bool:
    """Return whether a host name or number is this very machine."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def forecast(section: Forecast) -> Iterator[Clash]:
    """Hold the plan against its key and addresses."""
    if section.plan == "customer" and section.api_key is None:
        yield Clash(
            ("plan", "api_key"),
            'the plan "customer" needs a key',
            "set forecast.api_key or SPRAYADVISOR_FORECAST__API_KEY_FILE",
        )
    if section.plan == "own" and section.base_url is None:
        yield Clash(
            ("plan", "base_url"),
            'the plan "own" needs the address of your server',
            "set forecast.base_url",
        )
    if section.plan == "free" and section.api_key is not None:
        yield Clash(
            ("plan", "api_key"),
            'the plan "free" takes no key',
            'set forecast.plan to "customer", or remove the key',
        )
    if section.api_key is None:
        return
    for name in ("base_url", "air_quality_url", "geocoding_url", "ensemble_url"):
        address = urlsplit(getattr(section, name) or "")
        if address.scheme == "http" and not is_loopback(address.hostname or ""):
            yield Clash(
                (name, "api_key"),
                f"the key would travel unencrypted to {address.hostname}",
                "write https:// or remove the key",
            )


def web(section: Web) -> Iterator[Clash]:
    """Refuse a page that others can reach and nobody has to log in to, and half an address."""
    remedy = "set web.passphrase or SPRAYADVISOR_WEB__PASSPHRASE_FILE"
    if section.passphrase is None and not is_loopback(section.host):
        yield Clash(
            ("host", "passphrase"),
            f"the page at {section.host} could be read by anyone on the network",
            f"{remedy}, or keep host 127.0.0.1",
        )
    public = urlsplit(section.address or "")
    if section.passphrase is None and public.hostname and not is_loopback(public.hostname):
        yield Clash(
            ("address", "passphrase"),
            f"the page at {public.hostname} could be read by anyone who finds it",
            f"{remedy}, or leave web.address out",
        )
    for name in section.allowed_hosts if section.passphrase is None else ():
        if not is_loopback(name):
            yield Clash(
                ("allowed_hosts", "passphrase"),
                f"the page at {name} could be read by anyone who finds it",
                f"{remedy}, or take the name out of web.allowed_hosts",
            )
    if public.path:
        yield Clash(
            ("address",),
            f"the address goes on with {public.path}",
            "give the page a host name of its own, and its address without a path",
        )


def kit(section: KitFields) -> Iterator[Clash]:
    """A lamp has a power and an area, or neither."""
    if (section.lamp_kw > 0) != (section.lamp_area_m2 > 0):
        there, gone = (
            ("lamp_kw", "lamp_area_m2") if section.lamp_kw > 0 else ("lamp_area_m2", "lamp_kw")
        )
        yield Clash((there, gone), f"{there} is given but {gone} is 0", f"set kit.{gone} as well")


def policy(section: PolicyFields) -> Iterator[Clash]:
    """Weather turns stale before it turns unusable."""
    if section.stale_after_h >= section.unusable_after_h:
        yield Clash(
            ("stale_after_h", "unusable_after_h"),
            f"weather would be stale after {section.stale_after_h:g} h "
            f"but unusable after {section.unusable_after_h:g} h",
            "stale_after_h must be smaller than unusable_after_h",
        )


def likelihoods(section: Likelihoods) -> Iterator[Clash]:
    """Go asks for more than care."""
    if section.care >= section.go:
        yield Clash(
            ("care", "go"),
            f"care at {section.care:g} is not below go at {section.go:g}",
            "care must be smaller than go",
        )
