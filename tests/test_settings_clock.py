"""Settings of the clock: hours that leave a brief no time are refused, the ping stays secret."""

import pytest

from sprayadvisor.errors import SettingsError
from sprayadvisor.settings import load_settings

PING = "https://ping.example.org/a-long-secret"


def hours(**given):
    """Return settings with these hours."""
    return load_settings({f"SPRAYADVISOR_HOURS__{name.upper()}": at for name, at in given.items()})


@pytest.mark.parametrize(
    "given",
    [
        {"evening_brief": "21:14"},
        {"evening_brief": "23:45", "quiet_from": "00:00", "quiet_to": "00:00"},
        {"morning_brief": "11:45"},
        {"morning_brief": "12:00"},
        {"morning_brief": "17:45"},
    ],
)
def test_hours_that_leave_time_are_fine(given):
    """A quarter of an hour is enough."""
    assert hours(**given).hours is not None


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"evening_brief": "21:16"}, "evening_brief"),
        (
            {"evening_brief": "23:50", "quiet_from": "00:00", "quiet_to": "00:00"},
            "evening_brief",
        ),
        ({"morning_brief": "11:46"}, "morning_brief"),
        ({"morning_brief": "17:46"}, "morning_brief"),
        ({"morning_brief": "08:50", "quiet_from": "09:00", "quiet_to": "10:00"}, "morning_brief"),
    ],
)
def test_hours_that_leave_none_would_keep_the_service_silent(given, field):
    """It is told at start, with the setting and the mend."""
    with pytest.raises(SettingsError, match=f"hours.{field}: at .* make it earlier"):
        hours(**given)


def test_the_ping_is_a_secret():
    """It is shown nowhere, and may come from a file."""
    settings = load_settings({"SPRAYADVISOR_PING_URL": PING})
    assert settings.ping_url.get_secret_value() == PING
    assert "a-long-secret" not in repr(settings) + settings.model_dump_json()


def test_the_ping_may_come_from_a_file(tmp_path):
    """As any secret."""
    (tmp_path / "ping").write_text(f"{PING}\n")
    settings = load_settings({"SPRAYADVISOR_PING_URL_FILE": str(tmp_path / "ping")})
    assert settings.ping_url.get_secret_value() == PING


@pytest.mark.parametrize("bad", ["ping.example.org/x", "ftp://x/hush", "https://", "http://[hush"])
def test_an_address_that_is_none_is_refused_unseen(bad):
    """The sentence does not repeat it."""
    with pytest.raises(SettingsError, match="ping_url: the address is not a web address") as error:
        load_settings({"SPRAYADVISOR_PING_URL": bad})
    assert "hush" not in str(error.value)
