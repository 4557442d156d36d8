"""Bad settings are told together, each with its place and its mend, and no secret among them."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from sprayadvisor.errors import SettingsError
from sprayadvisor.settings import load_settings

BASE = '[base]\nname = "Yard"\nlatitude = 53.24\nlongitude = -8.98\nzone = "Europe/Dublin"\n'


@pytest.fixture(autouse=True)
def empty_place(tmp_path, monkeypatch):
    """Work where neither the folder nor the user has a settings file."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(platformdirs, "user_config_path", lambda _: tmp_path / "user-config")


def faults_of(environ: dict[str, str] | None = None, text: str | None = None) -> list[str]:
    """Return the sentences that loading these settings ends in."""
    path = None
    if text is not None:
        path = Path("s.toml")
        path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match="; ") as caught:
        load_settings(environ or {}, path)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            'bussiness = "x"',
            "s.toml:1: bussiness: no setting has this name; perhaps business is meant.",
        ),
        (
            "[web]\n\nprot = 1",
            "s.toml:3: web.prot: no setting has this name; perhaps web.port is meant.",
        ),
        (
            "latitude = 1",
            "s.toml:1: latitude: no setting has this name; perhaps base.latitude is meant.",
        ),
        ("qqqqqq = 1", "s.toml:1: qqqqqq: no setting has this name; remove it."),
        ("[mial]\nhost = 'x'", "s.toml:1: mial: no setting has this name; perhaps mail is meant."),
        ("mail = 3", "s.toml:1: mail: is not a table; write it as [mail] with its settings below."),
        ("[policy]\nthresholds = 1", "policy.thresholds: is not a table; write it as "),
        ("[kit]\nlamp_kw = nan", "s.toml:2: kit.lamp_kw: nan is not a number; give a plain number"),
        ("[policy]\nwind_ms = inf", "s.toml:2: policy.wind_ms: inf is not a number;"),
        ("[kit]\nlamp_kw = true", "kit.lamp_kw: true is not a number; give a number."),
        ("[kit]\nlamp_kw = '1,5'", "kit.lamp_kw: '1,5' is not a number; write 1.5."),
        ("[kit]\nblower = 'perhaps'", "'perhaps' is neither true nor false; write true or false."),
        ("[web]\nport = 'x'", "web.port: 'x' is not a number; give a plain number such as 12."),
        ("[web]\nport = 70000", "web.port: 70000 does not fit; it must be less than or equal to"),
        (
            "[units]\nwind = 'bft'",
            "units.wind: 'bft' does not fit; it must be 'ms', 'kmh', 'mph' or",
        ),
        ("[hours]\nwork_from = 8", "hours.work_from: '8' is not a time of day; write it as"),
        ("[hours]\nwork_from = '24:10'", "hours.work_from: '24:10' is not a time of day;"),
        ("now = 1700000000", "s.toml:1: now: '1700000000' is not an ISO time; write date, time"),
        ("now = 'soon'", "now: 'soon' is not an ISO time; write date, time and zone"),
        ("now = 2026-03-09T18:00:00", "now: '2026-03-09T18:00:00' has no zone; write date,"),
        ("now = 2026-03-09", "now: '2026-03-09' is not an ISO time;"),
        ("recipients = ['nobody']", "recipients: 'nobody' is not an e-mail address; write it as"),
        ("recipients = ['a b@c.org']", "'a b@c.org' is not an e-mail address;"),
        ("recipients = ['a@']", "'a@' is not an e-mail address;"),
        ("recipients = ['@c.org']", "'@c.org' is not an e-mail address;"),
        ("recipients = ['ä@c.org']", "'ä@c.org' is not an e-mail address;"),
        ('business = "a\\nb"', "business: the text has line breaks or control characters;"),
        ("sheets_folders = ['gone']", "sheets_folders: the folder gone does not exist; create it"),
        ("[forecast]\nbase_url = 'ftp://x'", "forecast.base_url: 'ftp://x' is not a web address;"),
        ("[forecast]\nbase_url = 'http://x:y'", "'http://x:y' is not a web address; write it as"),
        ("[web]\npassphrase = 'short'", "web.passphrase: is too short; it must have 8 characters"),
    ],
)
def test_one_bad_value(text, expected):
    """A bad value or name is told in one sentence with file, line, field and mend."""
    told = faults_of(text=text)
    assert len(told) == 1
    assert expected in told[0]


@pytest.mark.parametrize(
    ("zone", "likely"),
    [
        ("Dublin", " (perhaps Europe/Dublin is meant)"),
        ("Europe/Dubln", " (perhaps Europe/Dublin is meant)"),
        ("europe/dublin ", " (perhaps Europe/Dublin is meant)"),
        ("New York", " (perhaps America/New_York is meant)"),
        ("../../etc/passwd", ""),
        ("zzzz", ""),
    ],
)
def test_unknown_zone_names_the_likely_one(zone, likely):
    """An unknown zone is told with the nearest of the tz database, by name or by city."""
    (told,) = faults_of(text=BASE.replace("Europe/Dublin", zone))
    assert f"s.toml:5: base.zone: '{zone}' is not a time zone; " in told
    assert told.endswith(f"such as Europe/Dublin{likely}.")


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "expected"),
    [
        (-8.98, 53.24, "Europe/Dublin", "latitude and longitude look swapped"),
        (151.2, -33.9, "Australia/Sydney", "151.2 is not a latitude; it must lie between -90"),
        (39.7, 105.0, "America/Denver", "check the sign: longitude is negative west"),
        (500, 0, "UTC", "500 is not a latitude; it must lie between -90 and 90."),
        (0, 181, "UTC", "181 does not fit; it must be less than or equal to 180"),
    ],
)
def test_coordinates_are_held_against_the_zone(latitude, longitude, zone, expected):
    """Swapped coordinates and a lost sign show by the zone's distance from Greenwich."""
    told = faults_of(
        text=f'[base]\nname = "Y"\nlatitude = {latitude}\nlongitude = {longitude}\nzone = "{zone}"'
    )
    assert len(told) == 1
    assert expected in told[0]


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [  # values from memory: places far from their zone's own meridian
        (39.5, 76.0, "Asia/Shanghai"),  # Kashgar
        (1.9, -157.4, "Pacific/Kiritimati"),
        (42.9, -8.5, "Europe/Madrid"),  # Santiago de Compostela
        (7.0, 80.0, "UTC"),
        (64.2, -51.7, "America/Nuuk"),
    ],
)
def test_true_places_pass(latitude, longitude, zone):
    """No true place is refused, however far its clock is from the sun."""
    place = {"NAME": "Y", "LATITUDE": str(latitude), "LONGITUDE": str(longitude), "ZONE": zone}
    environ = {f"SPRAYADVISOR_BASE__{name}": value for name, value in place.items()}
    assert load_settings(environ).base.latitude == latitude


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            '[hours]\nwork_from = "18:00"\nwork_to = "08:00"',
            "s.toml:2: hours.work_from: work begins at 18:00 and ends at 08:00; work_from must be",
        ),
        (
            '[hours]\nevening_brief = "22:00"',
            "s.toml:2: hours.evening_brief: 22:00 lies in the quiet hours 21:30 to 06:00; move",
        ),
        (
            '[hours]\nquiet_to = "07:00"',
            "s.toml:2: hours.quiet_to: 06:30 lies in the quiet hours 21:30 to 07:00; move",
        ),
        (
            '[hours]\nmorning_brief = "19:00"',
            "hours.morning_brief: the morning brief at 19:00 comes after the evening brief;",
        ),
        (
            "[policy.thresholds.evening]\ngo = 0.5\ncare = 0.6",
            "policy.thresholds.evening.care: care at 0.6 is not below go at 0.5; care must be",
        ),
        (
            "[policy]\nstale_after_h = 20",
            "s.toml:2: policy.stale_after_h: weather would be stale after 20 h but unusable",
        ),
        ('[forecast]\nplan = "customer"', 'the plan "customer" needs a key; set forecast.api_key'),
        ('[forecast]\nplan = "own"', 'the plan "own" needs the address of your server; set'),
        ('[forecast]\nplan = "free"\napi_key = "k"', 'the plan "free" takes no key; set forecast'),
        (
            '[forecast]\napi_key = "k"\nensemble_url = "http://x.example"',
            "s.toml:3: forecast.ensemble_url: the key would travel unencrypted to x.example; write",
        ),
        (
            '[mail]\nhost = "m.example"\nsecurity = "none"\nsender = "a@example.org"',
            "s.toml:3: mail.security: mail to m.example would travel unencrypted; set",
        ),
        ('[mail]\nhost = "m.example"', "mail.host: m.example needs an address to send from; set"),
        (
            '[mail]\nhost = "localhost"\nfolder = "x"',
            "mail.folder: both a folder and a mail server",
        ),
        ('[mail]\nusername = "u"', "mail.username: mail.username is given without mail.password;"),
        ('[mail]\npassword = "u"', "mail.password: mail.password is given without mail.username;"),
        ('[web]\nhost = "0.0.0.0"', "web.host: the page at 0.0.0.0 could be read by anyone on the"),
        (
            '[web]\nallowed_hosts = ["jobs.example.org"]',
            "web.allowed_hosts: the page at jobs.example.org could be read by anyone who finds it",
        ),
        ("[kit]\nlamp_kw = 1", "kit.lamp_kw: lamp_kw is given but lamp_area_m2 is 0; set kit.lamp"),
        ("[kit]\nlamp_area_m2 = 1", "lamp_area_m2 is given but lamp_kw is 0; set kit.lamp_kw"),
    ],
)
def test_settings_that_clash(text, expected):
    """Two settings that cannot stand together are told at the one that was set."""
    told = faults_of(text=text)
    assert len(told) == 1
    assert expected in told[0]


@pytest.mark.parametrize(
    "mail",
    [
        {"HOST": "127.0.0.1", "SECURITY": "none"},
        {"HOST": "::1", "SECURITY": "none"},
        {"HOST": "m.example", "SECURITY": "none", "ALLOW_PLAIN": "true", "SENDER": "a@example.org"},
    ],
)
def test_plain_mail_where_it_may_be(mail):
    """Unencrypted mail is taken on this machine, and elsewhere where the user says so."""
    environ = {f"SPRAYADVISOR_MAIL__{name}": value for name, value in mail.items()}
    assert load_settings(environ).mail.security == "none"


@pytest.mark.parametrize(
    ("environ", "expected"),
    [
        (
            {"SPRAYADVISOR_MAIL__HOSTS": "x"},
            "MAIL__HOSTS: no setting has this name; perhaps SPRAYADVISOR_MAIL__HOST is meant.",
        ),
        ({"SPRAYADVISOR_MAIL": "{}"}, "SPRAYADVISOR_MAIL: no setting has this name; perhaps"),
        ({"SPRAYADVISOR_QQ9": "x"}, "SPRAYADVISOR_QQ9: no setting has this name; "),
        (
            {"SPRAYADVISOR_UNITS__WIND": "bft"},
            "SPRAYADVISOR_UNITS__WIND: units.wind: 'bft' does not fit; it must be 'ms', 'kmh',",
        ),
        (
            {"SPRAYADVISOR_RECIPIENTS": "[oops"},
            "recipients: the list cannot be read as JSON; write",
        ),
        ({"SPRAYADVISOR_POLICY__WIND_MS": "nan"}, "policy.wind_ms: 'nan' is not a number; give"),
        (
            {"SPRAYADVISOR_FORECAST__API_KEY_FILE": "gone"},
            "API_KEY_FILE: forecast.api_key: the file gone cannot be read (No such file or dir",
        ),
        ({"SPRAYADVISOR_CONFIG": "gone.toml"}, "SPRAYADVISOR_CONFIG: the file gone.toml does not"),
    ],
)
def test_bad_variable(environ, expected):
    """A bad variable is told by its own name; an unknown one with the nearest known."""
    told = faults_of(environ)
    assert len(told) == 1
    assert expected in told[0]


def test_incomplete_base_by_variables():
    """Where only variables are used, what is missing is told by the variable that would set it."""
    told = faults_of({"SPRAYADVISOR_BASE__NAME": "Yard"})
    assert told[0] == "SPRAYADVISOR_BASE__LATITUDE: base.latitude: is missing; add it."
    assert len(told) == 3


@pytest.mark.parametrize(
    ("content", "also", "expected"),
    [
        (b"\n", {}, "is empty; put the secret into it or unset the variable."),
        (b"\xff\xfe", {}, "cannot be read (not UTF-8 text); correct the path or its rights."),
        (b"hush", {"SPRAYADVISOR_DATABASE_URL": "sqlite:///hush2"}, "is set as well; set one of"),
    ],
)
def test_bad_secret_file(tmp_path, content, also, expected):
    """A secret file that is empty, garbled or doubled is told once, by the variable's name."""
    (tmp_path / "secret").write_bytes(content)
    (told,) = faults_of({"SPRAYADVISOR_DATABASE_URL_FILE": "secret"} | also)
    assert told.startswith("SPRAYADVISOR_DATABASE_URL_FILE: database_url: ")
    assert expected in told
    assert "hush" not in told


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a = 1\na = 2\n", "s.toml:2: the file is not TOML: cannot overwrite a value; correct"),
        ("x == 1\n", "s.toml:1: the file is not TOML: invalid value; correct the line"),
        ("x = 1\nb = [\n", "s.toml:2: the file is not TOML: invalid value; correct the line"),
    ],
)
def test_text_that_is_not_toml(text, expected):
    """A syntax error is told with its line."""
    (told,) = faults_of(text=text)
    assert told.startswith(expected)


def test_file_that_cannot_be_read(tmp_path):
    """A missing file, a folder and a file of bytes are each named with what is wrong."""
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xff")
    for name, why in [
        ("gone.toml", "the settings file does not exist; correct the path"),
        (".", "the settings file cannot be read"),
        ("bytes.toml", "the file is not UTF-8 text; save it as UTF-8"),
    ]:
        with pytest.raises(SettingsError, match=why):
            load_settings({}, Path(name))


def test_all_faults_at_once():
    """Names, values and clashes, in the file and in the environment, come in one go."""
    told = faults_of(
        {"SPRAYADVISOR_MAIL__HOSTS": "x", "SPRAYADVISOR_UNITS__WIND": "bft"},
        '[hours]\nwork_from = "18:00"\nwork_to = "08:00"\nquiet_from = 21\n'
        'morning_brief = "05:00"\n'
        '[kit]\nlamp_kw = nan\nblowr = true\n[base]\nname = "Y"\nlatitude = 53',
    )
    fields = ["MAIL__HOSTS", "units.wind", "quiet_from", "work_from", "kit.lamp_kw", "kit.blowr"]
    fields += ["base.longitude", "base.zone"]
    for field in fields:
        assert sum(field in sentence for sentence in told) == 1, field
    assert len(told) == len(fields), "a clash with a bad value must not be told"


SECRET = "s3cr3t-of-mine"


@pytest.mark.parametrize(
    "text",
    [
        f'database_url = "mysql://u:{SECRET}@h/d"',
        f'database_url = ["{SECRET}"]',
        f'[mail]\npassword = ["{SECRET}"]',
        f'[mail]\npassword = "{SECRET}"',
        f'[forecast]\nplan = "free"\napi_key = "{SECRET}"',
        f'[forecast]\nbase_url = "https://u:{SECRET}@h"',
        f'[forecast]\nbase_url = "https://h/?apikey={SECRET}"',
        f'[web]\npassphrase = {{ a = "{SECRET}" }}',
    ],
)
def test_no_fault_tells_a_secret(text):
    """Whatever is wrong around a secret, the secret itself is not told."""
    Path("s.toml").write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match="; ") as caught:
        load_settings({}, Path("s.toml"))
    assert SECRET not in str(caught.value)
    assert SECRET not in repr(caught.value.__cause__)
