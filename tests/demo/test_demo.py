"""The demo plays the story on the true path, and nothing of it is canned."""

import difflib
import email
import email.policy
import json
from pathlib import Path

import pytest

from sprayadvisor.demo import invented_air
from sprayadvisor.demo.invented_weather import SPOTS, answer, main
from sprayadvisor.demo.play import fixture_answers, play_story
from sprayadvisor.shipped import shipped

GOLDEN = Path(__file__).parent.parent.parent / "fixtures" / "golden" / "brief.txt"


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """The demo, played once."""
    return play_story(tmp_path_factory.mktemp("demo"))


def verdicts(played):
    """Return the verdict of each job."""
    return {job["ref"]: job["verdict"] for brief in played.briefs for job in brief["jobs"]}


def test_all_verdicts_occur(played):
    """The two days show go, care, no-go, unknown and not judged."""
    assert set(verdicts(played).values()) == {"go", "care", "no-go", "unknown", "not judged"}


def test_the_brief_is_the_one_in_review(played):
    """The text equals the golden one; after a change on purpose, look at it and write it anew."""
    text = "\n".join(played.texts)
    golden = GOLDEN.read_text(encoding="utf-8")
    difference = "\n".join(
        difflib.unified_diff(golden.splitlines(), text.splitlines(), "golden", "now", lineterm="")
    )
    assert not difference, f"{difference}\nwrite it anew: python tests/write_golden.py"


def damper(points: float, *, with_dew_point: bool):
    """Return the fixture with the humidity of the second job's place raised."""
    from weather_payloads import dew_point

    answers = {place: dict(series) for place, series in fixture_answers().items()}
    place = (53.2730, -9.0540)
    series = answers[place]
    series["relative_humidity_2m"] = [min(v + points, 100) for v in series["relative_humidity_2m"]]
    if with_dew_point:
        pairs = zip(series["temperature_2m"], series["relative_humidity_2m"], strict=True)
        series["dew_point_2m"] = [round(dew_point(air, rh), 1) for air, rh in pairs]
    return answers


def test_fifteen_points_of_humidity_turn_a_go_into_a_no_go(played, tmp_path):
    """Nothing is canned: damper air at one place changes its verdict and no other."""
    usual = verdicts(played)
    assert usual["A2"] == "go"
    damp = verdicts(play_story(tmp_path, damper(15, with_dew_point=True)))
    assert damp.pop("A2") == "no-go"
    del usual["A2"]
    assert damp == usual


def test_humidity_that_contradicts_the_dew_point_is_unknown(tmp_path):
    """Values that do not agree with each other are not judged by."""
    assert verdicts(play_story(tmp_path, damper(15, with_dew_point=False)))["A2"] == "unknown"


def test_mails_can_be_read_by_a_mail_program(played):
    """Text comes first, then HTML with its charts; Date and Message-ID are there."""
    mails = [path for path in played.files if path.suffix == ".eml"]
    assert len(mails) == 2
    for path in mails:
        message = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        kinds = [part.get_content_type() for part in message.walk() if not part.is_multipart()]
        assert kinds[:2] == ["text/plain", "text/html"]
        assert set(kinds[2:]) == {"image/png"}
        assert message["Date"]
        assert message["Message-ID"]
        assert message["Auto-Submitted"] == "auto-generated"
        text = message.get_body(("plain",)).get_content()
        assert any(text.split() == told.split() for told in played.texts)


def test_files_are_all_there(played):
    """A mail and a page for each day, a chart for each job that was played."""
    names = sorted(path.name for path in played.files)
    assert all(path.stat().st_size > 1000 for path in played.files)
    assert [n for n in names if n.endswith("html")] == [
        "2026-04-16-evening.html",
        "2026-04-17-evening.html",
    ]
    assert len([n for n in names if n.endswith("png")]) == 4


@pytest.mark.parametrize("spot", SPOTS, ids=lambda spot: spot.name)
def test_fixtures_are_what_the_weather_module_invents(spot):
    """The shipped answers can be made again."""
    shipped_answer = json.loads(shipped(f"fixtures/weather/{spot.name}.json").read_text("utf-8"))
    assert shipped_answer == answer(spot)


@pytest.mark.parametrize(
    ("folder", "write"), [("weather", main), ("air_quality", invented_air.main)]
)
def test_answers_can_be_written_anew(folder, write, tmp_path):
    """Writing gives the very files that are shipped, and all of them."""
    write(tmp_path)
    written = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    there = {path.name: path.read_bytes() for path in shipped(f"fixtures/{folder}").iterdir()}
    assert written == there


def test_the_air_of_the_story_reaches_its_briefs(played):
    """Birch inland is some pollen, by the sea it is low; every level of a played job is known."""
    air = {
        job["ref"]: {one["hazard"]: one["level"] for one in job["in_the_air"]}
        for brief in played.briefs
        for job in brief["jobs"]
    }
    assert (air["B1"]["pollen"], air["A2"]["pollen"]) == ("some", "low")
    assert None not in {level for levels in air.values() for level in levels.values()}
    assert [brief["air_problems"] for brief in played.briefs] == [[], []]


def test_what_stands_downwind_is_answered(played):
    """Next door's cars get a light breeze's mist; the open windows do not."""
    jobs = {job["ref"]: job for brief in played.briefs for job in brief["jobs"]}
    assert jobs["A1"]["downwind"]["answer"] == "move the van"
    assert jobs["A1"]["downwind"]["reaches"] == [
        {"side": "west", "what": "neighbour's cars", "people": False}
    ]
    assert jobs["A2"]["downwind"]["answer"] == "clear"
    assert jobs["B1"]["downwind"] is None
