"""What a reply of a weather service means: answers for places, or a trouble and its cure.

The service says what is wrong in the text of its reply more often than in the status: the same 429
is over in a minute, in an hour or tomorrow, and a body cut off in the middle comes with 200.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum
from typing import Any
from urllib.parse import urlsplit

from sprayadvisor.adapters.open_meteo import strict_json
from sprayadvisor.adapters.open_meteo.fields import Service
from sprayadvisor.errors import (
    WeatherBusy,
    WeatherError,
    WeatherMalformed,
    WeatherRefused,
    WeatherUnreachable,
)
from sprayadvisor.services.ports.budget import SHARE, Window

CLOCK_SLACK_S = 2.0  # the service's clock and ours need not agree to the second


class Cure(Enum):
    """What may help against a trouble."""

    AGAIN = "the same request after a short pause that grows"
    WAIT = "the same request after a pause of known length"
    SPLIT = "fewer places in one request"
    NOTHING = "nothing, for these places"
    STOP = "nothing, and every further request would end the same way"


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why there is no answer, and what may help.

    Attributes:
        error: what the user is told if nothing helps.
        cure: what may help.
        wait_s: the pause before the next try where it is known, s.
    """

    error: WeatherError
    cure: Cure
    wait_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Reply:
    """An HTTP reply, read to its end. ``location`` is where a redirect points, or empty."""

    status: int
    body: bytes
    location: str = ""


Answers = list[bytes | WeatherError]


def judge(service: Service, reply: Reply, places: int, now: datetime) -> Answers | Trouble:
    """Return an answer for each place in the order asked, or the trouble.

    Args:
        service: who was asked, for the words of what went wrong.
        reply: what came back.
        places: how many places were asked for.
        now: aware, to tell when a limit falls away.
    """
    try:
        content: object = strict_json.loads(reply.body)
    except strict_json.NotFiniteError as error:
        return Trouble(_malformed(service, str(error)), Cure.SPLIT)
    except ValueError:
        return _by_status(service, reply, _garbled_words(reply), now)
    if isinstance(content, Mapping) and content.get("error"):
        return _by_reason(service, reply, _reason(content), now)
    if reply.status != 200:
        return _by_status(service, reply, "", now)
    return _answers(service, content, places)


def _answers(service: Service, content: object, places: int) -> Answers | Trouble:
    """Return the answers of a sound reply: an object for one place, a list for several."""
    answers: list[Any] = content if isinstance(content, list) else [content]
    if len(answers) != places:
        return Trouble(
            _malformed(service, f"it holds {len(answers)} places where {places} were asked for"),
            Cure.NOTHING,
        )
    for index, answer in enumerate(answers):
        if not isinstance(answer, Mapping):
            return Trouble(
                _malformed(service, f"place {index + 1} of {places} is not an object"),
                Cure.NOTHING,
            )
        # Order is what ties an answer to its place; the number, where given, must agree.
        if places > 1 and answer.get("location_id", index) != index:
            return Trouble(
                _malformed(service, "its places are not in the order asked for"), Cure.NOTHING
            )
    return [
        _place_refused(service, _reason(answer))
        if answer.get("error")
        else strict_json.dumps(answer)
        for answer in answers
    ]


def _by_reason(service: Service, reply: Reply, reason: str, now: datetime) -> Trouble:
    """Return the trouble behind an error object, whatever its status."""
    text = reason.lower()
    if "hourly api request limit" in text:
        return _busy_until(service, _next_hour(now), "this hour", now)
    if "daily api request limit" in text:
        return _busy_until(service, _next_day(now), "today", now)
    if "too many concurrent" in text:
        words = f"The {service.name} is answering other calls from this address; try again soon."
        return Trouble(WeatherBusy(words, 60.0), Cure.AGAIN)
    if "minutely api request limit" in text:
        return _busy_minute(service, now)
    if "api key" in text or "professional or enterprise" in text:
        return _key_refused(service, reason)
    if reply.status == 400 and any(words in text for words in _WHOLE_REQUEST):
        return _request_refused(service, reply.status, reason)
    return _by_status(service, reply, reason, now)


# Reasons for a 400 that no choice of places can mend.
_WHOLE_REQUEST = ("cannot initialize", "forecast days", "past days", "timezone", "parameter")


def _by_status(service: Service, reply: Reply, reason: str, now: datetime) -> Trouble:
    """Return the trouble that the status alone tells."""
    status = reply.status
    if status == 429:
        return _busy_minute(service, now)
    if status in (401, 403):
        return _key_refused(service, reason or f"status {status}")
    if status in (413, 414):
        return Trouble(
            WeatherRefused(
                f"The {service.name} finds the request too long (status {status}); "
                f"shorten {service.setting} or report this."
            ),
            Cure.SPLIT,
        )
    if status == 400:
        return Trouble(_place_refused(service, reason or "status 400"), Cure.SPLIT)
    if 300 <= status < 400:
        return _sent_elsewhere(service, reply.location)
    if 400 <= status < 500 and status not in (408, 425):
        return _request_refused(service, status, reason)
    return _unreachable(service, reason or f"status {status}")


def _place_refused(service: Service, reason: str) -> WeatherRefused:
    return WeatherRefused(
        f"The {service.name} has no weather for this place ({reason}); "
        "check the latitude and longitude of the site."
    )


def _key_refused(service: Service, reason: str) -> Trouble:
    words = f"The {service.name} refused the key ({reason}); check forecast.api_key."
    return Trouble(WeatherRefused(words), Cure.STOP)


def _request_refused(service: Service, status: int, reason: str) -> Trouble:
    what = f"status {status}, {reason}" if reason else f"status {status}"
    words = f"The {service.name} refused the request ({what}); check {service.setting}."
    return Trouble(WeatherRefused(words), Cure.STOP)


def _sent_elsewhere(service: Service, location: str) -> Trouble:
    """A redirect is never followed: it would carry the key to a host nobody chose."""
    try:
        target = urlsplit(location)
        where = f"{target.scheme}://{target.hostname}" if target.hostname else "another address"
    except ValueError:
        where = "another address"
    words = (
        f"The {service.name} points to {where}, which was not followed; "
        f"set {service.setting} to the right address."
    )
    return Trouble(WeatherRefused(words), Cure.STOP)


def _unreachable(service: Service, reason: str) -> Trouble:
    words = (
        f"The {service.name} gave no usable answer ({reason}); "
        "try again later, and check the internet connection if it goes on."
    )
    return Trouble(WeatherUnreachable(words), Cure.AGAIN)


def _malformed(service: Service, problem: str) -> WeatherMalformed:
    return WeatherMalformed(
        f"The answer of the {service.name} cannot be used: {problem}; "
        f"check that {service.setting} points to the {service.name}."
    )


def _busy_minute(service: Service, now: datetime) -> Trouble:
    minute = now.replace(second=0, microsecond=0) + timedelta(minutes=1)
    wait_s = (minute - now).total_seconds() + CLOCK_SLACK_S
    words = f"The {service.name} allows no more calls this minute; try again in a minute."
    return Trouble(WeatherBusy(words, wait_s), Cure.WAIT, wait_s)


def _busy_until(service: Service, when: datetime, period: str, now: datetime) -> Trouble:
    wait_s = (when - now).total_seconds() + CLOCK_SLACK_S
    minutes = max(1, round(wait_s / 60))
    wait = f"{minutes} min" if minutes < 90 else f"{minutes / 60:.0f} h"
    words = (
        f"The {service.name} allows no more calls {period}; it answers again in "
        f"{wait}, or at once with a paid key in forecast.api_key."
    )
    return Trouble(WeatherBusy(words, wait_s), Cure.STOP, wait_s)


def budget_used(service: Service, window: Window, now: datetime) -> Trouble:
    """Return the trouble of asking for more than our share of a limit; a minute is waited for."""
    wait_s = (window.ends - now).total_seconds() + CLOCK_SLACK_S
    words = (
        f"The {service.name} is not asked again this {window.name}: {SHARE:.0%} of the calls that "
        f"the plan allows are used; that ends at {window.ends:%Y-%m-%d %H:%M} UTC, "
        "and forecast.calls_per_month says what your plan allows."
    )
    cure = Cure.WAIT if window.name == "minute" else Cure.STOP
    return Trouble(WeatherBusy(words, wait_s), cure, wait_s)


def _next_hour(now: datetime) -> datetime:
    return now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)


def _next_day(now: datetime) -> datetime:
    return now.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)


def _reason(content: Mapping[str, object]) -> str:
    """Return the service's own words, on one line and of bearable length."""
    text = "".join(c if c.isprintable() else " " for c in str(content.get("reason") or "no reason"))
    return " ".join(text.split())[:200].rstrip(".")


def _garbled_words(reply: Reply) -> str:
    """Return what is wrong with a body that is not JSON."""
    start = reply.body.lstrip()[:1]
    if start == b"<":
        return f"status {reply.status} with a web page where weather was asked for"
    if reply.status == 200:
        return "its text is cut off or garbled" if start else "it is empty"
    return ""
