"""The questions of ``init``: what is asked, what an answer becomes, and when it is asked at all."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sprayadvisor.advice.model import Kit

Values = dict[str, Any]

# Where the option has another name than the setting.
OPTIONS = {
    "base.name": "place-name",
    "mail.host": "mail-host",
    "mail.security": "mail-security",
    "mail.port": "mail-port",
    "mail.username": "mail-username",
    "mail.password": "mail-password-file",
    "mail.sender": "mail-sender",
    "forecast.api_key": "forecast-key-file",
    "forecast.base_url": "forecast-url",
}
_KIT = Kit()
_YES, _NO = {"yes", "y", "true", "1"}, {"no", "n", "false", "0"}


def _always(_: Mapping[str, Any]) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Attributes:
        setting: where the answer goes, dotted.
        text: what is asked.
        usual: the answer when nothing is typed, from the answers so far; None: it must be given.
        read: what becomes of the words typed, None leaves the setting out; an answer that does
            not fit is left as it is, for the settings themselves say what is wrong with it.
        when: whether it is asked at all, by the answers so far.
        hidden: whether it is typed unseen.
    """

    setting: str
    text: str
    usual: Callable[[Mapping[str, Any]], str | None]
    read: Callable[[str], Any]
    when: Callable[[Mapping[str, Any]], bool] = _always
    hidden: bool = False

    @property
    def option(self) -> str:
        """Option of the command that answers it; a secret is read from a file."""
        flag = OPTIONS.get(self.setting) or self.setting.rpartition(".")[2].replace("_", "-")
        return f"--{flag}"

    def put(self, values: Values, answer: str) -> None:
        """Put an answer where it belongs."""
        *above, name = self.setting.split(".")
        for part in above:
            values = values.setdefault(part, {})
        if (read := self.read(answer)) is not None:
            values[name] = read

    def drop(self, values: Values) -> None:
        """Take an earlier answer away."""
        *above, name = self.setting.split(".")
        for part in above:
            values = values.get(part, {})
        values.pop(name, None)

    def is_in(self, values: Mapping[str, Any]) -> bool:
        """Return whether there is an answer."""
        *above, name = self.setting.split(".")
        for part in above:
            values = values.get(part, {})
        return name in values


def _words(text: str) -> str | None:
    return text.strip() or None


def _list(text: str) -> list[str] | None:
    return [part for part in re.split(r"[,;\s]+", text) if part] or None


def _number(text: str) -> float | str:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return text.strip()


def _whole(text: str) -> int | str:
    return int(text) if text.strip().isdecimal() else text.strip()


def _yes(text: str) -> bool | str:
    word = text.strip().lower()
    return word in _YES if word in _YES | _NO else text.strip()


def _is(usual: object) -> Callable[[Mapping[str, Any]], str | None]:
    """Return a usual answer that hangs on nothing."""
    said = ("yes" if usual else "no") if isinstance(usual, bool) else usual
    return lambda _: None if said is None else str(said)


def _mail(values: Mapping[str, Any]) -> Mapping[str, Any]:
    found = values.get("mail", {})
    return found if isinstance(found, Mapping) else {}


def _by_server(values: Mapping[str, Any]) -> bool:
    return "host" in _mail(values)


def _usual_port(values: Mapping[str, Any]) -> str:
    ports = {"none": "25", "tls": "465"}
    return ports.get(_mail(values).get("security", ""), "587")


def _usual_sender(values: Mapping[str, Any]) -> str:
    login = str(_mail(values).get("username", ""))
    return login if "@" in login else str(values["recipients"][0])


def _has_lamp(values: Mapping[str, Any]) -> bool:
    return bool(values.get("kit", {}).get("lamp_kw") != 0)


def _has_no_key(values: Mapping[str, Any]) -> bool:
    return "api_key" not in values.get("forecast", {})


# Asked in another way than the rest, for a place may be told by its name.
PLACE = Question(
    "base.place", "Where the van sleeps: coordinates, map link, or a town", _is(None), _words
)
PLACE_ZONE = Question("base.zone", "Its time zone", _is(None), _words)
PLACE_NAME = Question("base.name", "What you call that place", _is("Base"), _words)
ABOUT_YOU = (
    Question("business", "Name of your business", _is(""), _words),
    Question("recipients", "Who gets the briefs: mail addresses, with commas", _is(None), _list),
)
MAIL = (
    Question("mail.host", "Mail server; empty to have mails written as files", _is(""), _words),
    Question(
        "mail.security",
        "Its encryption: starttls, tls or none",
        _is("starttls"),
        _words,
        _by_server,
    ),
    Question("mail.port", "Its port", _usual_port, _whole, _by_server),
    Question("mail.username", "Login there; empty for none", _is(""), _words, _by_server),
    Question(
        "mail.password",
        "Password of that login",
        _is(None),
        _words,
        lambda values: "username" in _mail(values),
        hidden=True,
    ),
    Question("mail.sender", "Address the briefs come from", _usual_sender, _words, _by_server),
)
WEATHER = (
    Question(
        "forecast.api_key",
        "Key of your paid weather plan; empty for the free one, which no business may use",
        _is(""),
        _words,
        hidden=True,
    ),
    Question(
        "forecast.base_url",
        "Address of a weather server of your own; empty for none",
        _is(""),
        _words,
        _has_no_key,
    ),
)
VAN = (
    Question("kit.lamp_kw", "Power of your lamp, kW; 0 for none", _is(_KIT.lamp_kw), _number),
    Question("kit.lamp_area_m2", "Area it lights, m²", _is(_KIT.lamp_area_m2), _number, _has_lamp),
    Question("kit.blower", "A blower for water-borne paint: yes or no", _is(_KIT.blower), _yes),
    Question("kit.canopy", "A canopy: yes or no", _is(_KIT.canopy), _yes),
    Question(
        "kit.work_light",
        "A light good enough to match a colour by: yes or no",
        _is(_KIT.work_light),
        _yes,
    ),
    Question("kit.compressor_kw", "Power of your compressor, kW", _is(_KIT.compressor_kw), _number),
)
DAY = (
    Question("hours.evening_brief", "The brief for tomorrow comes at", _is("18:00"), _words),
    Question("hours.morning_brief", "The brief for today comes at", _is("06:30"), _words),
)
ALL = (*ABOUT_YOU, PLACE, PLACE_NAME, PLACE_ZONE, *MAIL, *WEATHER, *VAN, *DAY)
NEEDED = ("recipients", "base.place")
