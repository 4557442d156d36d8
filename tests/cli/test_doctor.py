"""``doctor``: everything a brief hangs on, over real sockets and files."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from mail_server import MailServer
from typer.testing import CliRunner

from sprayadvisor.cli import _app
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.demo.weather_server import WeatherServer

HOURS = 12 * 24


def calm(_latitude, _longitude):
    """Return dull weather around the present."""
    begin = datetime.now(UTC).replace(hour=0, minute=0, second=0, microsecond=0) - timedelta(days=1)
    hours = [begin + timedelta(hours=hour) for hour in range(HOURS)]
    values = {
        "temperature_2m": 14.0, "relative_humidity_2m": 60, "dew_point_2m": 6.4,
        "precipitation": 0.0, "precipitation_probability": 0, "weather_code": 3,
        "wind_speed_10m": 2.0, "wind_gusts_10m": 4.0, "wind_direction_10m": 200,
        "shortwave_radiation": 0.0, "direct_normal_irradiance": 0.0, "diffuse_radiation": 0.0,
        "cloud_cover": 100, "surface_pressure": 1010.0,
    }  # fmt: skip
    columns = {name: [value] * HOURS for name, value in values.items()}
    return {"time": [f"{hour:%Y-%m-%dT%H:%M}" for hour in hours], **columns}


@pytest.fixture
def weather():
    """A forecast service."""
    with WeatherServer(calm, lambda *_: None) as server:
        yield server


@pytest.fixture
def settings(tmp_path, monkeypatch, weather):
    """Settings with which everything is fine; returns a way to change them."""
    monkeypatch.chdir(tmp_path)
    usual = {
        "DATA_DIR": tmp_path / "data", "RECIPIENTS": "me@example.org", "BASE__NAME": "Yard",
        "BASE__LATITUDE": "53.24", "BASE__LONGITUDE": "-8.98", "BASE__ZONE": "Europe/Dublin",
        "FORECAST__PLAN": "own", "FORECAST__BASE_URL": weather.url,
    }  # fmt: skip

    def put(**changes):
        for name, value in (usual | changes).items():
            if value is None:
                monkeypatch.delenv(f"SPRAYADVISOR_{name}", raising=False)
            else:
                monkeypatch.setenv(f"SPRAYADVISOR_{name}", str(value))

    put()
    return put


def doctor(*options):
    """Return the exit code and the findings by what they are about."""
    done = CliRunner().invoke(_app, ["doctor", "--json", *options])
    found = {}
    for one in json.loads(done.stdout):
        found.setdefault(one["about"], []).append((one["state"], one["words"]))
    return done.exit_code, found


def test_all_is_fine(settings, weather):
    """Exit code 0, each thing has its line, one forecast call was made and no mail was sent."""
    with MailServer(security="none", login=("me", "secret")) as mail:
        settings(
            MAIL__HOST="127.0.0.1", MAIL__PORT=mail.port, MAIL__SECURITY="none",
            MAIL__USERNAME="me", MAIL__PASSWORD="secret",
        )  # fmt: skip
        code, found = doctor()
        assert mail.mails == []
    assert code == 0, found
    states = {about: {state for state, _ in lines} for about, lines in found.items()}
    assert states == {
        "settings": {"fine"}, "plan": {"fine"}, "time zone": {"fine"}, "disk": {"fine"},
        "database": {"fine"}, "sheets": {"fine", "look at"}, "mail": {"fine"},
        "forecast": {"fine", "look at"}, "clock": {"fine"}, "calls": {"fine"},
        "messages": {"look at"},
    }  # fmt: skip
    assert "(none, logged in)" in found["mail"][0][1]
    assert "air-quality" in found["forecast"][1][1]  # which this service does not have here
    assert "hours for Yard" in found["forecast"][0][1]
    assert [one.path for one in weather.received].count("/v1/forecast") == 1


def test_a_database_says_where_it_lies_and_who_can_read_it(settings, tmp_path):
    """The file is named; one that others can read is to be looked at, with the remedy."""
    code, found = doctor("--offline")
    path = tmp_path / "data" / "sprayadvisor.db"
    assert [state for state, _ in found["database"]] == ["fine"]
    assert str(path) in found["database"][0][1]
    path.chmod(0o644)
    code, found = doctor("--offline")
    assert code == 0
    assert found["database"][1][0] == "look at"
    assert f"chmod 600 on {path}" in found["database"][1][1]


def test_words_are_for_people(settings):
    """Without --json each finding is one line that begins with how it is."""
    done = CliRunner().invoke(_app, ["doctor", "--offline"])
    assert done.exit_code == 0
    for line in done.stdout.splitlines():
        assert line.startswith(("fine ", "look at ", "broken "))
    assert "mail" not in {line.split()[1] for line in done.stdout.splitlines()}


def test_all_that_is_broken_is_told_at_once(settings, tmp_path):
    """No recipient, no base, a refused login, a sheet that cannot be read: each has its line."""
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / "mine.toml").write_text("id = 3\n")
    with MailServer(security="none", login=("me", "secret")) as mail:
        settings(
            RECIPIENTS=None, BASE__NAME=None, BASE__LATITUDE=None, BASE__LONGITUDE=None,
            BASE__ZONE=None, SHEETS_FOLDERS=tmp_path / "sheets", MAIL__HOST="127.0.0.1",
            MAIL__PORT=mail.port, MAIL__SECURITY="none", MAIL__USERNAME="me",
            MAIL__PASSWORD="not the secret",
        )  # fmt: skip
        code, found = doctor()
    assert code == 1
    broken = [words for lines in found.values() for state, words in lines if state == "broken"]
    for words in ("no recipients", "no [base]", "refuses the login", "mine.toml"):
        assert any(words in one for one in broken), words
    assert "not the secret" not in json.dumps(found)


@pytest.mark.parametrize(
    ("fault", "words"),
    [(Fault.NOT_FOUND, "forecast.base_url"), (Fault.HOURLY, "no more calls this hour")],
)
def test_a_forecast_that_cannot_be_had_is_broken(settings, weather, fault, words):
    """The service's own reason is told."""
    weather.faults.switch(fault)
    code, found = doctor()
    assert code == 1
    assert found["forecast"][0][0] == "broken"
    assert words in found["forecast"][0][1]


def test_settings_that_cannot_be_used_are_all_that_is_told(settings):
    """Every fault of them, and nothing else can be looked at."""
    settings(BASE__ZONE="Moon", MAIL__PORT="x")
    code, found = doctor()
    assert (code, set(found)) == (1, {"settings"})
    assert len(found["settings"]) == 2


def test_a_database_that_cannot_be_opened_leaves_the_rest_to_be_told(settings, tmp_path):
    """The database, the calls and the messages say so; mail and disk are looked at all the same."""
    settings(DATABASE_URL=f"sqlite:///{tmp_path}")
    code, found = doctor("--offline")
    assert code == 1
    assert {about for about, lines in found.items() if lines[0][0] == "broken"} == {
        "database", "calls", "messages",
    }  # fmt: skip
    assert found["disk"][0][0] == "fine"
