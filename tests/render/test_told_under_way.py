"""What is said of a job under way: where it is, what comes next by the clock, what to do first."""

import pytest
from page import page_of, story_world

from sprayadvisor.advice.verdict import Word
from sprayadvisor.demo import story


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Today and the page of a job whose promoter was noted at 09:50, at 10:30."""
    folder = tmp_path_factory.mktemp("told_under_way")
    with story_world(folder, "2026-04-16T09:50:00+01:00", story.BOOKINGS[:2]) as services:
        services.progress.at("A1", "promoter")
    with story_world(folder, "2026-04-16T10:30:00+01:00", ()) as services:
        services.board.refresh()
        client = page_of(services)
        yield {path: client.get(path).text.replace("\u00a0", " ") for path in ("/", "/job/A1")}


def test_today_goes_on_with_the_job_that_is_being_painted(told):
    """Next step, danger and odds of its rest; not that its arrival is past."""
    today, _, _ = told["/"].partition('id="tomorrow"')
    assert "Under way, next primer, coat 1; for the rest about 8 in 10" in today
    assert "Cannot be judged" not in today
    assert "10:30 primer, coat 1; 10:32 primer, flash between coats" in today
    assert 'href="/now/A1"' in today
    danger = today.partition('id="danger"')[2].partition("</section>")[0]
    assert "A1, Alder Close" in danger


def test_the_job_has_a_timetable_of_its_rest_and_no_starts(told):
    """The stages ahead by the clock, until when there is no way back, and Now before all else."""
    text = told["/job/A1"]
    assert "“adhesion promoter” noted 09:50. Next is primer, coat 1 by 10:37: nothing" in text
    assert "10:30 primer, coat 1; 10:32 primer, flash between coats" in text
    assert "13:40 done, if it goes as planned" in text
    assert "From 11:40 to 13:01: you need" in text
    assert "Measure, and ask Now before the next coat" in text
    assert "<dt>Start</dt>" not in text


def test_a_danger_is_told_of_a_job_under_way_though_it_is_a_no(tmp_path):
    """There it matters most: the paint is on the car."""
    morning, later = ("2026-04-16T14:29:00+01:00", "2026-04-16T14:30:00+01:00")
    with story_world(tmp_path, morning, story.BOOKINGS[:1]) as services:
        services.progress.at("A1", "clear")
    with story_world(tmp_path, later, ()) as services:
        services.board.refresh()
        shown = services.board.day(story.FIRST_DAY)
    assert shown.entry("A1").judgement.word is Word.NO_GO
    assert any(danger.line.startswith("A1, Alder Close") for danger in shown.dangers)
    (job,) = shown.told.jobs
    assert "as it looks the rest will not come right. Ask Now" in job.short
