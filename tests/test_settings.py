"""Where settings come from, who wins, and what pure code is given of them."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import platformdirs
import pytest
from pydantic import ValidationError

from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import Moment, Policy, Thresholds
from sprayadvisor.settings import Settings, find_config, load_settings
from sprayadvisor.units import Display


@pytest.fixture(autouse=True)
def empty_place(tmp_path, monkeypatch):
    """Work where neither the folder nor the user has a settings file."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(platformdirs, "user_config_path", lambda _: tmp_path / "user-config")
    monkeypatch.setattr(platformdirs, "user_data_path", lambda _: tmp_path / "user-data")


def write(path: Path, text: str) -> Path:
    """Write a file and return where."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_defaults_are_those_of_pure_code():
    """Without file and variables, policy, kit and display are what pure code takes as usual."""
    settings = load_settings({})
    assert settings.to_policy() == Policy()
    assert settings.to_kit() == Kit()
    assert settings.display() == Display()
    assert settings.base is None
    assert settings.zone == ZoneInfo("UTC")


def test_data_folder_follows_the_service_manager(tmp_path):
    """The data lie in STATE_DIRECTORY, in the user's folder without it, and data_dir wins."""
    assert load_settings({}).data_dir == tmp_path / "user-data"
    state = {"STATE_DIRECTORY": "/var/lib/one:/var/lib/two"}
    settings = load_settings(state)
    assert settings.database() == "sqlite:////var/lib/one/sprayadvisor.db"
    assert settings.eml_folder == Path("/var/lib/one/mail")
    own = load_settings(state | {"SPRAYADVISOR_DATA_DIR": "/srv/own"})
    assert own.data_dir == Path("/srv/own")


def test_file_is_looked_for_in_order(tmp_path):
    """A path given beats the variable, that the working folder, that the user's folder."""
    assert find_config({}) is None
    user = write(tmp_path / "user-config/sprayadvisor.toml", "")
    assert find_config({}) == user
    write(tmp_path / "sprayadvisor.toml", "")
    assert find_config({}) == Path("sprayadvisor.toml")
    named = {"SPRAYADVISOR_CONFIG": "/etc/named.toml"}
    assert find_config(named) == Path("/etc/named.toml")
    assert find_config(named, Path("given.toml")) == Path("given.toml")


def test_environment_wins_over_the_file_field_by_field(tmp_path):
    """A variable replaces its one field and leaves its neighbours in the table alone."""
    file = write(tmp_path / "s.toml", '[units]\ntemperature = "f"\nwind = "mph"\n')
    settings = load_settings({"SPRAYADVISOR_UNITS__WIND": "kn"}, file)
    assert settings.display() == Display("f", "kn")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a@example.org", ("a@example.org",)),
        ("a@example.org, b@example.org,", ("a@example.org", "b@example.org")),
        ('["a@example.org", "b@example.org"]', ("a@example.org", "b@example.org")),
        ("a@example.org,A@EXAMPLE.org", ("A@EXAMPLE.org",)),
        ("", ()),
    ],
)
def test_recipients_from_the_environment(text, expected):
    """Recipients may be words with commas or JSON; nobody is written to twice."""
    assert load_settings({"SPRAYADVISOR_RECIPIENTS": text}).recipients == expected


def test_recipients_from_the_file(tmp_path):
    """In the file recipients are a list."""
    file = write(tmp_path / "s.toml", 'recipients = ["a@example.org"]')
    assert load_settings({}, file).recipients == ("a@example.org",)


def test_every_fixed_variable_reaches_its_field():
    """The names that others rely on are read, nested ones included."""
    settings = load_settings(
        {
            "SPRAYADVISOR_DATABASE_URL": "sqlite:///x.db",
            "SPRAYADVISOR_FORECAST__BASE_URL": "http://127.0.0.1:1/",
            "SPRAYADVISOR_FORECAST__AIR_QUALITY_URL": "http://127.0.0.1:2",
            "SPRAYADVISOR_FORECAST__GEOCODING_URL": "http://127.0.0.1:3",
            "SPRAYADVISOR_FORECAST__ENSEMBLE_URL": "http://127.0.0.1:4",
            "SPRAYADVISOR_FORECAST__API_KEY": "key-1",
            "SPRAYADVISOR_MAIL__HOST": "127.0.0.1",
            "SPRAYADVISOR_MAIL__PORT": "2525",
            "SPRAYADVISOR_MAIL__SECURITY": "none",
            "SPRAYADVISOR_MAIL__USERNAME": "van",
            "SPRAYADVISOR_MAIL__PASSWORD": "word-1",
            "SPRAYADVISOR_WEB__HOST": "0.0.0.0",  # noqa: S104 - a value, nothing listens
            "SPRAYADVISOR_WEB__PORT": "9000",
            "SPRAYADVISOR_WEB__PASSPHRASE": "long enough",
            "SPRAYADVISOR_NOW": "2026-03-09T18:00:00+01:00",
        }
    )
    assert settings.database() == "sqlite:///x.db"
    assert [url[-1] for url in settings.forecast.endpoints()] == ["1", "2", "3", "4"]
    assert settings.mail.smtp_port == 2525
    assert settings.eml_folder is None
    assert settings.web.port == 9000
    assert settings.now == datetime(2026, 3, 9, 17, tzinfo=UTC)
    secrets = (settings.forecast.api_key, settings.mail.password, settings.web.passphrase)
    assert [s.get_secret_value() for s in secrets] == ["key-1", "word-1", "long enough"]
    for told in (repr(settings), settings.model_dump_json()):
        assert not any(word in told for word in ("key-1", "word-1", "long enough", "x.db"))


def test_mail_folder_by_variable():
    """A folder named by variable takes the .eml files."""
    assert load_settings({"SPRAYADVISOR_MAIL__FOLDER": "/tmp/out"}).eml_folder == Path("/tmp/out")  # noqa: S108 - nothing is written


@pytest.mark.parametrize("content", ["hush", "hush\n", "hush\r\n"])
def test_secret_from_a_file_loses_its_line_end(tmp_path, content):
    """A secret may come from a file; the line end an editor adds is no part of it."""
    file = tmp_path / "secret"
    file.write_bytes(content.encode())
    settings = load_settings({"SPRAYADVISOR_FORECAST__API_KEY_FILE": str(file)})
    assert settings.forecast.api_key.get_secret_value() == "hush"


def test_secret_file_wins_over_the_settings_file(tmp_path):
    """A *_FILE variable is environment, so it beats a secret in the settings file."""
    toml = write(tmp_path / "s.toml", '[forecast]\napi_key = "old"\n')
    secret = write(tmp_path / "secret", "new")
    settings = load_settings({"SPRAYADVISOR_FORECAST__API_KEY_FILE": str(secret)}, toml)
    assert settings.forecast.api_key.get_secret_value() == "new"


def test_folders_in_the_file_count_from_the_file(tmp_path):
    """Relative folders in the file are relative to it, not to where the command is run."""
    (tmp_path / "etc/sheets").mkdir(parents=True)
    file = write(tmp_path / "etc/s.toml", 'sheets_folders = ["sheets"]\n[mail]\nfolder = "out"\n')
    settings = load_settings({}, file)
    assert settings.sheets_folders == (tmp_path / "etc/sheets",)
    assert settings.eml_folder == tmp_path / "etc/out"


@pytest.mark.parametrize(
    ("given", "plan", "host"),
    [
        ({}, "free", "https://air-quality-api.open-meteo.com"),
        ({"api_key": "k"}, "customer", "https://customer-air-quality-api.open-meteo.com"),
        ({"base_url": "http://10.0.0.2:8080"}, "own", "http://10.0.0.2:8080"),
        ({"plan": "free"}, "free", "https://air-quality-api.open-meteo.com"),
        (
            {"plan": "free", "base_url": "http://10.0.0.2"},
            "free",
            "https://air-quality-api.open-meteo.com",
        ),
    ],
)
def test_plan_decides_the_hosts(given, plan, host):
    """Left out, the plan follows from key and address; the other hosts follow from the plan."""
    forecast = Settings(forecast=given).forecast
    assert forecast.effective_plan == plan
    assert forecast.endpoints().air_quality == host


@pytest.mark.parametrize(("security", "port"), [("none", 25), ("starttls", 587), ("tls", 465)])
def test_port_follows_the_encryption(security, port):
    """Ports: 25 is RFC 5321, 587 RFC 6409, 465 RFC 8314."""
    assert Settings(mail={"host": "localhost", "security": security}).mail.smtp_port == port


def test_sender_has_a_local_default():
    """Files need no sender of their own; a given one is used."""
    assert Settings().mail.sender_address == "sprayadvisor@localhost"
    assert Settings(mail={"sender": "a@example.org"}).mail.sender_address == "a@example.org"


def test_policy_and_kit_are_handed_on():
    """What the user tightens or carries reaches pure code; one threshold may change alone."""
    settings = load_settings(
        {
            "SPRAYADVISOR_POLICY__DEW_MARGIN_K": "4",
            "SPRAYADVISOR_POLICY__THRESHOLDS__EVENING__GO": "0.8",
            "SPRAYADVISOR_HOURS__WORK_FROM": "7:30",
            "SPRAYADVISOR_KIT__LAMP_KW": "1.5",
            "SPRAYADVISOR_KIT__LAMP_AREA_M2": "0.4",
            "SPRAYADVISOR_KIT__CANOPY": "true",
        }
    )
    policy = settings.to_policy()
    assert policy.dew_margin_k == 4.0
    assert policy.work_from == time(7, 30)
    assert policy.thresholds[Moment.EVENING] == Thresholds(0.8, 0.45)
    assert policy.thresholds[Moment.MORNING] == Policy().thresholds[Moment.MORNING]
    assert settings.to_kit() == Kit(lamp_kw=1.5, lamp_area_m2=0.4, canopy=True)


@pytest.mark.parametrize(
    ("quiet", "at", "expected"),
    [
        (("21:30", "06:00"), "21:30", True),
        (("21:30", "06:00"), "05:59", True),
        (("21:30", "06:00"), "06:00", False),
        (("12:00", "13:00"), "12:30", True),
        (("12:00", "13:00"), "13:00", False),
        (("12:00", "12:00"), "12:00", False),
    ],
)
def test_quiet_hours_run_over_midnight(quiet, at, expected):
    """Quiet hours hold from their first minute and end with their last, over midnight too."""
    hours = Settings(hours={"quiet_from": quiet[0], "quiet_to": quiet[1]}).hours
    assert hours.is_quiet(time.fromisoformat(at)) is expected


def test_zone_of_the_base_is_the_zone(tmp_path):
    """The base's zone rules the briefs, and native TOML times are read."""
    file = write(
        tmp_path / "s.toml",
        "now = 2026-07-01T06:00:00Z\n"
        '[base]\nname = "Yard"\nlatitude = 53.24\nlongitude = -8.98\nzone = "Europe/Dublin"\n'
        "[hours]\nwork_from = 07:15:00\n",
    )
    settings = load_settings({}, file)
    assert settings.now.astimezone(settings.zone).utcoffset() == timedelta(hours=1)
    assert settings.hours.work_from == time(7, 15)


def test_settings_cannot_be_changed():
    """The object and its tables are frozen."""
    settings = Settings()
    with pytest.raises(ValidationError, match="frozen"):
        settings.business = "other"
    with pytest.raises(ValidationError, match="frozen"):
        settings.mail.host = "other"


def test_settings_built_in_code_take_nothing_from_outside(monkeypatch):
    """Only the loader looks at the environment."""
    monkeypatch.setenv("SPRAYADVISOR_BUSINESS", "from outside")
    assert Settings().business == ""
    assert load_settings().business == "from outside"
