"""The README's examples do what they say."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import sprayadvisor
from sprayadvisor.cli import _app
from sprayadvisor.demo import play, story
from sprayadvisor.demo.weather_server import WeatherServer

README = Path(__file__).parent.parent / "README.md"
BLOCKS = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)


@pytest.mark.parametrize("code", BLOCKS)
def test_python_examples_run(code):
    """Each Python block prints something and fails on nothing."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.stdout.strip()


def test_there_is_an_example():
    """The README shows the library once, in about ten lines."""
    assert len(BLOCKS) == 1
    assert len(BLOCKS[0].strip().splitlines()) <= 12


def test_public_surface_is_small_and_there():
    """At most ten public names, each of which exists."""
    assert len(sprayadvisor.__all__) <= 10
    assert all(getattr(sprayadvisor, name) is not None for name in sprayadvisor.__all__)
    with pytest.raises(AttributeError, match="nothing_like_it"):
        _ = sprayadvisor.nothing_like_it


def commands(name):
    """Return every example of a command in the order of the README, as words."""
    text = README.read_text(encoding="utf-8").replace("\\\n", " ")
    found = re.findall(rf"^ *(?:\.venv/bin/)?sprayadvisor ({name} .*)$", text, re.MULTILINE)
    return [shlex.split(one) for one in found]


def test_what_is_to_be_booked_and_asked_works_word_for_word(tmp_path, monkeypatch):
    """In order, with nothing booked before: a newcomer's first question at the car is answered."""
    monkeypatch.chdir(tmp_path)
    near = (play._near(play.fixture_answers(kind)) for kind in ("weather", "air_quality"))
    with WeatherServer(*near) as server:
        settings = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(tmp_path),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
            "SPRAYADVISOR_NOW": "2026-04-16T11:20:00+01:00",
        }
        for words in commands("job add"):
            done = CliRunner().invoke(_app, words, env=settings)
            assert done.exit_code == 0, done.output
        asked = commands("now")
        assert len(asked) == 1
        done = CliRunner().invoke(_app, asked[0], env=settings)
    assert done.exit_code in (0, 4), done.output
    assert "A2, Alder Close: clear" in done.output
