"""Field types that say in one sentence what is wrong with a value and how to mend it."""

from __future__ import annotations

import difflib
import json
import re
import zoneinfo
from datetime import datetime, time
from email.errors import MessageError
from email.headerregistry import Address
from pathlib import Path
from typing import Annotated
from urllib.parse import urlsplit

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainSerializer,
    SecretStr,
)
from pydantic_core import PydanticCustomError

_CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2})?")


class Section(BaseModel):
    """What every table of the settings has in common."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        hide_input_in_errors=True,
        use_attribute_docstrings=True,
    )


def misfit(problem: str, remedy: str) -> PydanticCustomError:
    """Return the error a validator raises for one bad value."""
    halves = {"problem": problem, "remedy": remedy}
    return PydanticCustomError("misfit", "{problem}; {remedy}", halves)


def _number(value: object) -> object:
    """Refuse what Python would quietly count as a number, and a decimal comma."""
    if isinstance(value, bool):
        raise misfit(f"{str(value).lower()} is not a number", "give a number")
    if isinstance(value, str) and re.fullmatch(r"\s*[-+]?\d+,\d+\s*", value):
        raise misfit(f"'{value}' is not a number", f"write {value.strip().replace(',', '.')}")
    return value


def _clock(value: object) -> object:
    """Return a local time of day from ``HH:MM``; a bare number would be read as seconds."""
    if isinstance(value, time) and value.tzinfo is None:
        return value
    text = str(value).strip()
    if _CLOCK.fullmatch(text):
        try:
            return time.fromisoformat(text.zfill(5) if text.count(":") == 1 else text.zfill(8))
        except ValueError:
            pass
    raise misfit(f"'{text}' is not a time of day", 'write it as "HH:MM", for instance "07:30"')


def _instant(value: object) -> object:
    """Return an instant from ISO text with a zone; a bare number would be read as seconds."""
    remedy = "write date, time and zone, for instance 2026-03-09T18:00:00+00:00"
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value.strip())
        except ValueError as error:
            raise misfit(f"'{value}' is not an ISO time", remedy) from error
    if not isinstance(value, datetime):
        raise misfit(f"'{value}' is not an ISO time", remedy)
    if value.tzinfo is None:
        raise misfit(f"'{value.isoformat()}' has no zone", remedy)
    return value


def _zone(value: str) -> str:
    """Return the zone if the tz database has it; name the likeliest one if not."""
    try:
        zoneinfo.ZoneInfo(value)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise misfit(f"'{value}' is not a time zone", _likely_zone(value)) from error
    return value


def _likely_zone(value: str) -> str:
    """Return the remedy for an unknown zone: the nearest by whole name or by its city."""
    known = {name.lower(): name for name in sorted(zoneinfo.available_timezones())}
    wanted = value.strip().lower().replace(" ", "_")
    by_city = {name.rsplit("/", 1)[-1]: name for name in known}
    near = difflib.get_close_matches(wanted, known, 1, 0.7)
    city = difflib.get_close_matches(wanted.rsplit("/", 1)[-1], by_city, 1, 0.7)
    likely = near or [by_city[name] for name in city]
    mend = f" (perhaps {known[likely[0]]} is meant)" if likely else ""
    return f"name a zone of the tz database such as Europe/Dublin{mend}"


def _address(value: str) -> str:
    """Return an e-mail address that a message header will take."""
    try:
        Address(addr_spec=value)
        fine = value.isascii() and not re.search(r"\s", value)
    except (MessageError, ValueError, IndexError):
        fine = False
    if not fine:
        raise misfit(f"'{value}' is not an e-mail address", "write it as name@domain")
    return value


def listed(value: object) -> object:
    """Return a list from a list, from JSON, or from words with commas between them."""
    if not isinstance(value, str):
        return value
    if value.lstrip().startswith("["):
        try:
            return json.loads(value)
        except ValueError as error:
            raise misfit("the list cannot be read as JSON", 'write a,b or ["a", "b"]') from error
    return [part.strip() for part in value.split(",") if part.strip()]


def _once(values: tuple[str, ...]) -> tuple[str, ...]:
    """Return the addresses without repeats: nobody wants the same brief twice."""
    return tuple({value.lower(): value for value in values}.values())


def _web_address(value: str) -> str:
    """Return an http or https address without a slash at its end."""
    if "@" in value or "?" in value:  # shown to nobody: this is where keys and passwords hide
        raise misfit("the address carries a login or a query", "give the bare address; see api_key")
    try:
        parts = urlsplit(value)
        fine = parts.scheme in {"http", "https"} and bool(parts.hostname) and parts.port != 0
    except ValueError:
        fine = False
    if not fine or parts.fragment or re.search(r"\s", value):
        raise misfit(
            f"'{value}' is not a web address", "write it as https://host or http://host:80"
        )
    return value.rstrip("/")


def _host_name(value: str) -> str:
    """Return a host name or number in small letters, without scheme, port or path."""
    name = value.strip().lower().removeprefix("[").removesuffix("]")
    if not re.fullmatch(r"[a-z0-9_.:-]{1,253}", name) or re.fullmatch(r"[^:]*:\d+", name):
        raise misfit(f"'{value}' is not the name of a host", "write it as van.local")
    return name


def _ping_address(value: SecretStr) -> SecretStr:
    """Return an http or https address without ever showing it: whoever has it can use it."""
    try:
        parts = urlsplit(value.get_secret_value())
        fine = parts.scheme in {"http", "https"} and bool(parts.hostname) and parts.port != 0
    except ValueError:
        fine = False
    if not fine or re.search(r"\s", value.get_secret_value()):
        raise misfit("the address is not a web address", "begin it with https://")
    return value


def _database(value: SecretStr) -> SecretStr:
    """Return the URL of a kind of database that is provided for, without ever showing it."""
    kind = value.get_secret_value().partition("://")[0]
    if kind not in {"sqlite", "sqlite+pysqlite", "postgresql+psycopg"}:
        raise misfit(
            "the address is not one of a known kind of database",
            "begin it with sqlite:/// or postgresql+psycopg://",
        )
    return value


def _latitude(value: float) -> float:
    """Return degrees north; a value that only a longitude can have gets a hint."""
    if not -90 <= value <= 90:
        hint = " (latitude and longitude may be swapped)" if abs(value) <= 180 else ""
        raise misfit(f"{value:g} is not a latitude", f"it must lie between -90 and 90{hint}")
    return value


def _one_line(value: str) -> str:
    """Return text that fits into a message header."""
    if not value.isprintable():
        raise misfit("the text has line breaks or control characters", "write it on one line")
    return value.strip()


def _folder(value: Path) -> Path:
    """Return a folder with ``~`` filled in."""
    return value.expanduser()


def _existing(value: Path) -> Path:
    """Return a folder that is there to be read."""
    if not value.is_dir():
        raise misfit(f"the folder {value} does not exist", "create it or correct the path")
    return value


Number = Annotated[float, BeforeValidator(_number)]
ClockTime = Annotated[
    time, BeforeValidator(_clock), PlainSerializer(lambda value: value.isoformat("minutes"))
]
Instant = Annotated[datetime, BeforeValidator(_instant)]
Zone = Annotated[str, AfterValidator(_zone)]
Latitude = Annotated[Number, AfterValidator(_latitude)]
Line = Annotated[str, AfterValidator(_one_line)]
PingAddress = Annotated[SecretStr, AfterValidator(_ping_address)]
Database = Annotated[SecretStr, AfterValidator(_database)]
Email = Annotated[str, AfterValidator(_address)]
Recipients = Annotated[tuple[Email, ...], BeforeValidator(listed), AfterValidator(_once)]
WebAddress = Annotated[str, AfterValidator(_web_address)]
HostName = Annotated[str, AfterValidator(_host_name)]
Folder = Annotated[Path, AfterValidator(_folder)]
ReadFolders = Annotated[
    tuple[Annotated[Folder, AfterValidator(_existing)], ...], BeforeValidator(listed)
]
