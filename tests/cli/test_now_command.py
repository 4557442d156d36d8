"""``sprayadvisor now``: from what is typed at the kerb to what is printed and kept."""

import json

import pytest
from typer.testing import CliRunner

from sprayadvisor.bootstrap import build
from sprayadvisor.cli import _app as app
from sprayadvisor.demo import play, story
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.settings import load_settings


@pytest.fixture(scope="module")
def kerb(tmp_path_factory):
    """The story's bookings in a database, its weather on the loopback, the forenoon of its day."""
    data = tmp_path_factory.mktemp("kerb")
    air = play.fixture_answers("air_quality")
    with WeatherServer(play._near(play.fixture_answers()), play._near(air)) as server:
        environ = {
            **story.SETTINGS,
            "SPRAYADVISOR_DATA_DIR": str(data),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
        }
        services = build(load_settings(environ))
        for booking in story.BOOKINGS:
            services.bookings.add(play._form(booking), by="demo")
        services.close()
        yield environ | {"SPRAYADVISOR_NOW": "2026-04-16T11:20:00+01:00"}


@pytest.fixture(autouse=True)
def quiet_place(tmp_path, monkeypatch, kerb):
    """Use the story's settings and none of the user's."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("SPRAYADVISOR_CONFIG", raising=False)
    for name, value in kerb.items():
        monkeypatch.setenv(name, value)


def run(*words):
    """Return exit code, what was printed and what was said of errors."""
    done = CliRunner().invoke(app, ["now", *words])
    return done.exit_code, done.stdout, done.stderr


def test_a_reading_is_answered_with_a_word_first():
    """Commas, units and signs as they come."""
    code, text, problems = run(
        *("A1", "--next", "clear", "--panel", "14,5 °C", "--air", "52F", "--humidity", "71 %"),
        *("--wind", "2 m/s", "--matt-now", "--mist", "3"),
    )
    word = text.split()[1]
    assert (code, problems) == ({"GO": 0, "CARE": 0, "NO-GO": 4}[word], "")
    first = text.splitlines()[0]
    assert first.split()[1] in ("GO", "CARE", "NO-GO")
    assert first.endswith("A1, Alder Close: clear, coat 1, 11:20")
    assert "panel 14.5 °C" in text
    assert "Before you spray" in text


def test_a_machine_gets_the_same(kerb):
    """And the reading is kept with the job."""
    code, text, _ = run(
        *("A1", "--next", "clear", "--panel", "14.0", "--lamp", "--json"),
        *("--wind-from", "ne", "--all-clear"),
    )
    found = json.loads(text)
    assert code == {"go": 0, "care": 0, "no-go": 4}[found["verdict"]]
    assert found["reading"]["panel_temp_c"] == 14.0
    assert found["reading"]["wind_from_deg"] == 45.0
    assert found["all_clear_downwind"] is True
    assert found["from_forecast"] == ["air_temp_c", "rh_pct", "wind_ms"]
    services = build(load_settings(kerb))
    assert services.onsite.kept("A1")[-1].reading.panel_temp_c == 14.0
    services.close()


def test_odd_readings_are_asked_about_first():
    """The word is unknown until they are mended or insisted on."""
    code, asked, _ = run("A1", "--next", "clear", "--panel", "58")
    assert code == 3
    assert "is that °F? Then write 58 F, which is 14 °C." in asked
    assert asked.startswith("? UNKNOWN")
    code, insisted, _ = run("A1", "--next", "clear", "--panel", "58", "--sure")
    assert code == 4
    assert "NO-GO" in insisted


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (("A1",), "next: nobody said which stage comes next"),
        (("A1", "--next", "varnish"), "next 'varnish' is not known; choose one of"),
        (("A9", "--next", "clear"), "There is no job A9"),
        (("B1", "--next", "clear"), "Job B1 is on 2026-04-17, and today is 2026-04-16"),
        (("A1", "--next", "clear", "--panel", "warm"), "panel is 'warm'; give a number such as"),
        (("A1", "--next", "clear", "--shelter", "tent"), "shelter 'tent' is not known"),
    ],
)
def test_what_cannot_be_answered_is_one_sentence(words, problem):
    """On stderr, with exit code 1."""
    code, text, said = run(*words)
    assert (code, text) == (1, "")
    assert said.startswith(problem)
    assert len(said.splitlines()) == 1


def test_a_shelter_is_named_as_the_help_names_it():
    """With a hyphen, and as a file of bookings has it."""
    for word in ("open-sky", "open_sky"):
        code, text, problems = run("A1", "--next", "clear", "--shelter", word)
        assert code in (0, 4)
        assert problems == ""
        assert text
