"""What goes wrong before there is a reply: addresses, keys, connections, and far too much of it."""

from __future__ import annotations

from urllib.parse import urlsplit

import requests
import urllib3

from sprayadvisor.adapters.open_meteo.fields import Service
from sprayadvisor.adapters.open_meteo.replies import Cure, Trouble
from sprayadvisor.errors import InputError, WeatherRefused, WeatherUnreachable

MAX_BODY = 16 * 2**20  # bytes; 50 places come to about 1.5 MB


def transport_trouble(service: Service, error: Exception) -> Trouble:
    """Return the trouble behind a call that brought no whole reply."""
    if isinstance(error, ValueError):
        # requests marks an address or header it cannot send as a ValueError
        words = f"The {service.name} cannot be asked at this address; check {service.setting}."
        return Trouble(WeatherRefused(words), Cure.STOP)
    return Trouble(
        WeatherUnreachable(
            f"The {service.name} could not be reached ({_what_failed(error)}); "
            "check the internet connection."
        ),
        Cure.AGAIN,
    )


def _what_failed(error: Exception) -> str:
    """Return a few words of our own; the library's texts run over several lines."""
    if isinstance(error, requests.exceptions.ProxyError):
        return "the proxy does not let the call through"
    if isinstance(error, requests.exceptions.SSLError):
        return "no safe connection: wrong certificate, or this computer's clock is wrong"
    if isinstance(error, requests.Timeout | urllib3.exceptions.TimeoutError):
        return "no answer in time"
    if isinstance(error, requests.ConnectionError):
        return "no connection"
    return "the answer broke off"


def too_large(service: Service) -> Trouble:
    """Return the trouble of a reply without measure."""
    words = (
        f"The answer of the {service.name} is larger than {MAX_BODY // 2**20} MB; "
        f"check that {service.setting} points to the {service.name}."
    )
    return Trouble(WeatherUnreachable(words), Cure.NOTHING)


def checked_base_url(base_url: str, service: Service) -> str:
    """Return the address without a slash at its end.

    Raises:
        InputError: it is no web address, or it carries a password or parameters.
    """
    try:
        parts = urlsplit(base_url)
        sound = parts.scheme in ("http", "https") and bool(parts.hostname)
        plain = parts.username is None and not parts.query and not parts.fragment
    except ValueError:
        sound = plain = False
    if not (sound and plain):
        raise InputError(
            f"{service.setting} must be an address such as https://api.open-meteo.com, without "
            "user name or parameters; a key belongs in forecast.api_key."
        )
    return base_url.rstrip("/")


def checked_key(api_key: str) -> str:
    """Return the key without blanks around it.

    Raises:
        InputError: it cannot be sent in a header.
    """
    key = api_key.strip()
    if not key or not key.isascii() or not key.isprintable():
        raise InputError(
            "forecast.api_key holds characters that no key has; copy it again from the service."
        )
    return key
