"""Services are built once, opened late, joined as the settings say, and closed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from sprayadvisor.adapters.eml_transport import EmlTransport
from sprayadvisor.bootstrap import build
from sprayadvisor.errors import StoreError
from sprayadvisor.services.delivery import Report
from sprayadvisor.services.ports import JobForm
from sprayadvisor.settings import Settings

NOW = "2026-03-09T18:00:00+01:00"


@pytest.fixture
def services(tmp_path):
    """Services over a folder of their own, with a forecast address nobody listens at."""
    built = build(
        Settings(
            data_dir=tmp_path / "data",
            now=NOW,
            forecast={"base_url": "http://127.0.0.1:9", "api_key": "hush"},
            policy={"wind_ms": 4},
            kit={"blower": True},
            units={"wind": "kn"},
        )
    )
    yield built
    built.close()


def test_nothing_is_opened_before_it_is_asked_for(services, tmp_path):
    """Building, plain values, the clock and closing touch no file."""
    assert services.policy.wind_ms == 4
    assert services.kit.blower
    assert services.display.wind == "kn"
    services.close()
    assert list(tmp_path.iterdir()) == []


def test_clock_is_fixed_by_the_settings_or_runs(services, tmp_path):
    """The fixed time comes in UTC; without one the time is now."""
    assert services.now() == datetime(2026, 3, 9, 17, tzinfo=UTC)
    assert services.now().tzinfo is UTC
    running = build(Settings(data_dir=tmp_path)).now()
    assert running.tzinfo is UTC
    assert abs(datetime.now(UTC) - running) < timedelta(minutes=1)


def test_database_is_made_where_the_settings_say(services, tmp_path):
    """The first use makes the file with its tables; the engine is the same for all."""
    assert services.engine is services.engine
    assert (tmp_path / "data/sprayadvisor.db").is_file()
    assert services.bookings.store.engine is services.snapshots.engine is services.engine
    assert services.bookings.list() == ()


def test_a_job_taken_by_one_is_seen_by_the_next(services):
    """What one process stores is there for another over the same folder."""
    process = min(services.catalogue.processes)
    form = JobForm(
        site="Quay",
        latitude="53.27",
        longitude="-9.05",
        zone="Europe/Dublin",
        process=process,
        panels=("left_door:red",),
        day="tomorrow",
        arrive="09:00-10:00",
    )
    ref = services.bookings.add(form).ref
    second = build(services.settings)
    try:
        assert second.bookings.get(ref).day.isoformat() == "2026-03-10"
    finally:
        second.close()


def test_catalogue_is_what_comes_along_and_the_users_own(services, tmp_path):
    """Shipped sheets load without a fault; a broken own one is told and spoils nothing."""
    assert services.catalogue.faults == ()
    assert services.catalogue.processes
    own = tmp_path / "own"
    own.mkdir()
    (own / "broken.toml").write_text("x = ", encoding="utf-8")
    both = build(Settings(data_dir=tmp_path, sheets_folders=[own])).catalogue
    assert both.sheets == services.catalogue.sheets
    assert [fault.where for fault in both.faults] == [str(own / "broken.toml")]


def test_weather_goes_to_the_address_of_the_settings(services):
    """The client asks the given address, and its key shows nowhere."""
    assert services.forecast.url([]).startswith("http://127.0.0.1:9/")
    assert "hush" not in repr(services.forecast)
    assert services.weather is services.weather


def test_free_plan_has_no_key(tmp_path):
    """Without a key the free host is asked."""
    free = build(Settings(data_dir=tmp_path))
    assert free.forecast.url([]).startswith("https://api.open-meteo.com/")
    free.close()


def test_database_that_is_none_is_told_and_let_go(tmp_path):
    """A file that is no database ends in a sentence, and nothing is kept open."""
    (tmp_path / "sprayadvisor.db").write_text("no database at all, only text", encoding="utf-8")
    broken = build(Settings(data_dir=tmp_path))
    with pytest.raises(StoreError, match=r"sprayadvisor\.db"):
        _ = broken.engine
    assert "engine" not in vars(broken)


def test_messages_are_files_where_no_mail_server_is_named(services, tmp_path):
    """In the folder of the settings, through the same outbox."""
    assert services.transport == EmlTransport(tmp_path / "data/mail")
    assert services.delivery.outbox is services.outbox
    assert services.delivery is services.clock.post
    assert services.delivery.send() == Report()


def test_mail_server_is_as_the_settings_say(tmp_path):
    """Port by kind of encryption, login, and no password to be seen."""
    mail = {
        "host": "mail.example",
        "username": "painter",
        "password": "hush",
        "sender": "briefs@example.org",
    }
    way = build(Settings(data_dir=tmp_path, mail=mail)).transport
    assert (way.host, way.port, way.security) == ("mail.example", 587, "starttls")
    assert (way.username, way.password, way.sender) == ("painter", "hush", "briefs@example.org")
    assert not way.plain_allowed
    assert "hush" not in repr(way)


@pytest.mark.parametrize(
    ("mail", "allowed"),
    [
        ({"host": "localhost"}, True),
        ({"host": "127.0.0.1"}, True),
        ({"host": "mail.example", "allow_plain": True, "sender": "s@example.org"}, True),
        ({"host": "mail.example", "sender": "s@example.org", "security": "tls"}, False),
    ],
)
def test_plain_mail_is_for_this_computer_unless_allowed(tmp_path, mail, allowed):
    """The way out is told, and refuses by itself."""
    way = build(Settings(data_dir=tmp_path, mail={"security": "none"} | mail)).transport
    assert way.plain_allowed == allowed
