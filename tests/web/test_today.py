"""Today: jobs in order with verdict, strip and start; tomorrow; what the day needs."""

import re

import pytest
from page import page_of, story_world

from sprayadvisor.demo import story
from sprayadvisor.errors import StoreError


def test_today_shows_the_jobs_in_order_with_their_verdicts(page):
    """Reference, shape and word of each job of the day, in the order of arrival."""
    answer = page.get("/")
    assert answer.status_code == 200
    today, _, _rest = answer.text.partition('id="tomorrow"')
    assert re.findall(r'<a href="/job/(\w+)"', today) == ["A1", "A2", "A3"]
    badges = re.findall(r'aria-hidden="true">(.)</span> ([A-Z-]+)<', today)
    assert len(badges) == 3
    assert all(
        (shape, word) in {("●", "GO"), ("▲", "CARE"), ("■", "NO-GO")} for shape, word in badges
    )


def test_every_page_names_the_source_and_the_cautions(page):
    """Attribution and licence with their links; what a verdict is not."""
    text = page.get("/").text
    assert (
        '<a href="https://open-meteo.com/" rel="noreferrer">Weather data by Open-Meteo.com</a>'
        in text
    )
    assert "https://creativecommons.org/licenses/by/4.0/" in text
    assert "A go is not permission" in text
    assert "isocyanates" in text


def test_before_anything_is_worked_out_it_says_so_and_comes_back(tmp_path):
    """No verdict, no go; the page reloads itself without a script, and no phone keeps it."""
    with story_world(tmp_path, booked=story.BOOKINGS[:1]) as services:
        answer = page_of(services).get("/")
    assert "This is being worked out." in answer.text
    assert "Do not take it for a go." in answer.text
    assert '<meta http-equiv="refresh"' in answer.text
    assert "GO<" not in answer.text
    assert "X-Keep" not in answer.headers


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
def test_health_is_told_to_anybody_and_holds_nothing(page, path):
    """A word and no data."""
    answer = page.get(path)
    assert (answer.status_code, answer.json()) == (200, {"status": "ok"})


def test_a_database_that_does_not_answer_is_told_without_its_name(story_services, monkeypatch):
    """503 and a word; the sentence is in the log."""

    def fail(*_given, **_named):
        raise StoreError("/secret/folder cannot be read.")

    client = page_of(story_services)
    monkeypatch.setattr(type(story_services.bookings), "list", fail)
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert answer.json() == {"status": "not well; see the log"}


def test_once_nothing_is_left_for_today_tomorrow_comes_first(tmp_path):
    """What is looked for in the evening stands on top, and the forecast is that of its day."""
    with story_world(
        tmp_path, now="2026-04-15T19:30:00+01:00", booked=story.BOOKINGS[:1]
    ) as services:
        services.board.refresh()
        text = page_of(services).get("/").text
    assert text.index('id="tomorrow"') < text.index('id="before"')
    assert 'id="jobs"' not in text
    assert ">Wednesday 15 April" in text
    assert "No weather was used" not in text


def test_of_a_job_past_its_arrival_it_says_that_nothing_was_noted(tmp_path):
    """And leads to where that is put right; nobody can put the clock right."""
    with story_world(
        tmp_path, now="2026-04-16T10:30:00+01:00", booked=story.BOOKINGS[:1]
    ) as services:
        services.board.refresh()
        client = page_of(services)
        for path in ("/", "/job/A1"):
            text = client.get(path).text.replace("\u00a0", " ")
            assert "Nothing noted since 08:45, when the agreed arrival was over." in text
            assert 'href="/job/A1/goes"' in text
            assert "Put right what is named here" not in text
