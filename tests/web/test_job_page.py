"""The page of one job, and the read-only pages that a link opens."""

import html
import re

import pytest
from page import HERE, PASSPHRASE, browser, page_of, story_world

from sprayadvisor.demo import story
from sprayadvisor.services.links import Opens
from sprayadvisor.services.ports import JobForm
from sprayadvisor.web.app import create_app

PUBLIC = "https://jobs.example.org"
NASTY = '<script>alert("x")</script>{{ 7*7 }}${7*7}'


def told(services, ref):
    """Return what the brief says of a job."""
    day = services.bookings.get(ref).day
    return next(job for job in services.board.day(day).told.jobs if job.ref == ref)


@pytest.mark.parametrize("ref", ["A1", "A2", "A3", "B1", "B2", "B3"])
def test_a_job_shows_everything_the_brief_says_of_it(page, story_services, ref):
    """Verdict, the decision, every fact; cautions with all of them."""
    text = html.unescape(page.get(f"/job/{ref}").text).replace("\u00a0", " ")
    job = told(story_services, ref)
    assert job.word.value.upper().replace("NO-GO", "NO-GO") in text
    for fact in job.facts:
        assert f"<dt>{fact.label}</dt><dd>{fact.text}</dd>" in text
    assert "A go is not permission" in text
    assert "What happened so far" in text


def test_a_judged_job_has_its_chart_with_twin_and_its_best_play(page, story_services):
    """Shapes with a label, each hour as a row, each stage with its scarcest checks."""
    text = html.unescape(page.get("/job/A2").text).replace("\u00a0", " ")
    chart = told(story_services, "A2").chart
    label = " ".join(chart.outline)
    assert f'<svg class="chart" viewBox="0 0 360 330" role="img" aria-label="{label}">' in text
    for row in chart.hours:
        assert f'<th scope="row">{row.at}</th><td>{row.panel}</td><td>{row.dew_point}</td>' in text
    play = story_services.board.day(story.FIRST_DAY).plays["A2"]
    for stage in play.stages:
        assert f"<strong>{stage.times}</strong> {stage.name}" in text
        for check in stage.checks:
            assert check in text


def test_an_unknown_job_has_neither_and_says_why(page):
    """Its forecast could not be had; the rest of the page stands."""
    text = page.get("/job/B3").text
    assert "? " not in re.findall(r"<title>.*</title>", text)[0]
    assert "do not take it for a go" in text
    assert "has no weather for this place" in text
    assert "bumper-corner" not in text.partition("What happened so far")[0]
    assert "air-fed mask" in text
    assert '<svg class="chart"' not in text
    assert "Stage by stage" not in text


def test_a_changed_job_is_not_judged_until_it_is_worked_out_anew(tmp_path):
    """The old verdict is gone at once; once it is over it only says so; the history holds all."""
    with story_world(tmp_path, booked=story.BOOKINGS[1:2]) as services:
        client = page_of(services)
        services.board.refresh()
        assert "Start 13:30" in client.get("/job/A2").text
        services.bookings.change("A2", JobForm(heading="10"))
        changed = client.get("/job/A2").text
        assert "Start 13:30" not in changed
        assert "This is being worked out" in changed
        assert 'http-equiv="refresh"' in changed
        assert "not judged yet".upper() in client.get("/").text
        services.board.refresh()
        assert "This is being worked out" not in client.get("/job/A2").text
        services.progress.at("A2", "base")
        services.bookings.change("A2", JobForm(day="2026-04-17"))
        services.bookings.cancel("A2", "customer away")
        over = client.get("/job/A2").text
    assert "This job is cancelled." in over
    assert "cancelled: customer away" in over
    assert re.search(r"begun: base\b", over)
    assert "moved: Thu 16 Apr to Fri 17 Apr" in over
    assert "GO<" not in over


def test_a_day_that_cannot_be_judged_says_so(tmp_path):
    """Too far ahead: nothing is said, nothing is waited for."""
    with story_world(
        tmp_path, now="2026-04-10T07:30:00+01:00", booked=story.BOOKINGS[:1]
    ) as services:
        services.board.refresh()
        text = page_of(services).get("/job/A1").text
    assert "outside the days that can be judged" in text
    assert "http-equiv" not in text.replace('http-equiv="Content', "")


def test_what_was_said_is_in_the_history_and_whether_it_was_sent(tmp_path):
    """The clock makes the evening brief; the page tells that it has left."""
    with story_world(
        tmp_path, now="2026-04-15T18:00:00+01:00", booked=story.BOOKINGS[1:2]
    ) as services:
        services.clock.tick()
        text = page_of(services).get("/job/A2").text
    found = re.search(r"evening brief: .*?</li>", text, re.DOTALL)
    assert found
    assert ", sent" in found[0]


def test_no_typed_word_becomes_markup_or_template(tmp_path):
    """Scripts and template code stored in names, notes and sites are shown as typed."""
    form = JobForm(
        process="door-scuff", day="2026-04-16", arrive="09:30-11:00", site=NASTY,
        latitude="53.273", longitude="-9.054", zone=story.ZONE, panels=("left_door:white",),
        customer=NASTY, phone="<b>{{7*7}}", note=NASTY, downwind=(f"w={NASTY}",),
    )  # fmt: skip
    with story_world(tmp_path, booked=(), BUSINESS=NASTY) as services:
        job = services.bookings.add(form)
        services.bookings.change(job.ref, JobForm(may_move=False))
        services.board.refresh()
        client = page_of(services)
        for path in ("/", f"/job/{job.ref}"):
            text = client.get(path).text
            assert "<script>" not in text
            assert "{{ 7*7 }}" in html.unescape(text)


@pytest.mark.parametrize("ref", [NASTY, "A1\r\nX: y", "💥", "x" * 5000, "A1'--", "%00"])
def test_a_reference_that_is_none_is_told_kindly(page, ref):
    """Nothing of it becomes markup, a header or a defect."""
    from urllib.parse import quote

    answer = page.get(f"/job/{quote(ref, safe='')}")
    assert answer.status_code == 404
    assert "<script>alert" not in answer.text
    assert "x" not in answer.headers.get("X", "")


@pytest.fixture(scope="module")
def public(tmp_path_factory):
    """Services reached from outside, behind a login, worked out."""
    settings = {"WEB__ADDRESS": PUBLIC, "WEB__PASSPHRASE": PASSPHRASE}
    with story_world(tmp_path_factory.mktemp("public"), **settings) as services:
        services.board.refresh()
        yield services


@pytest.mark.parametrize("opens", [Opens(story.FIRST_DAY), Opens(story.FIRST_DAY, "A3")])
def test_a_link_opens_its_day_or_job_without_a_login_and_without_names(public, opens):
    """For reading only: no customer, no form, no way on to other pages."""
    client = browser(create_app(public), PUBLIC)
    address = public.links.to(opens)
    assert address.startswith(PUBLIC + "/v/")
    answer = client.get(address)
    assert answer.status_code == 200
    assert "NO-GO" in answer.text
    assert "A go is not permission" in answer.text
    assert "for reading only" in answer.text
    for hidden in ("Tidewater", "Fennimore", "Quillane", "<form", "<nav", "/job/", "To ring"):
        assert hidden not in answer.text
    assert answer.headers["Cache-Control"] == "no-store"
    assert client.get("/job/A3", follow_redirects=False).status_code == 303


def test_a_link_changes_nothing_and_is_no_key_to_changes(public):
    """GET leaves the database as it was; POST to it is no address; it logs nobody in."""
    client = browser(create_app(public), PUBLIC)
    address = public.links.to(Opens(story.FIRST_DAY))
    before = public.board._revisions.bookings()
    assert "set-cookie" not in client.get(address).headers
    assert client.post(address).status_code == 405
    assert public.board._revisions.bookings() == before


def test_forged_expired_and_revoked_links_open_nothing(public):
    """410 with a way on, whatever is wrong with it."""
    client = browser(create_app(public), PUBLIC)
    good = public.links.to(Opens(story.FIRST_DAY, "A1")).removeprefix(PUBLIC)
    login = public.signer.sign(f"login {PASSPHRASE}", ["2026-04-16", "A1"])
    for path in (
        good[:-1],
        good + "x",
        good[:4] + "X" + good[5:],
        "/v/x",
        f"/v/{login}",
        "/v/" + "x" * 3000,
    ):
        answer = client.get(path)
        assert answer.status_code == 410
        assert "too old, was cut short, or has been ended" in answer.text
    assert client.get(good).status_code == 200
    public.keys.renew(revoke=True)
    assert client.get(good).status_code == 410


def test_a_link_to_a_job_that_was_moved_says_so(tmp_path):
    """The day of the mail is not the day of the job any more; and of a day over that it is over."""
    with story_world(tmp_path, booked=story.BOOKINGS[:1], WEB__ADDRESS=HERE) as services:
        client = page_of(services)
        link = services.links.to(Opens(story.FIRST_DAY, "A1"))
        services.bookings.change("A1", JobForm(day="2026-04-18"))
        answer = client.get(link)
        assert answer.status_code == 410
        assert "moved to another day" in answer.text
        gone = services.links.to(Opens(story.FIRST_DAY.replace(day=15)))
        assert "This day is over." in client.get(gone).text


def test_a_link_opened_before_anything_is_worked_out_comes_back(tmp_path):
    """It says so and reloads itself; a day that cannot be judged is not waited for."""
    with story_world(tmp_path, booked=story.BOOKINGS[:1], WEB__ADDRESS=HERE) as services:
        client = page_of(services)
        day = services.links.to(Opens(story.FIRST_DAY))
        for link in (day, services.links.to(Opens(story.FIRST_DAY, "A1"))):
            text = client.get(link).text
            assert "This is being worked out" in text
            assert '<meta http-equiv="refresh" content="4">' in text
        services.board.refresh()
        ready = client.get(day).text
        assert 'content="4"' not in ready
        assert '<noscript><meta http-equiv="refresh" content="900"></noscript>' in ready
        services.bookings.change("A1", JobForm(day="2026-04-30"))
        far = services.links.to(Opens(story.FIRST_DAY.replace(day=30)))
        text = client.get(far).text
        assert "outside the days that can be judged" in text
        assert "worked out" not in text
        assert 'content="4"' not in text


def test_what_is_too_old_says_so_on_today_the_job_and_the_link(tmp_path, monkeypatch):
    """Where nothing could be worked out anew for ninety minutes, nobody is to decide by it."""
    from datetime import timedelta

    from sprayadvisor.services import board

    with story_world(tmp_path, booked=story.BOOKINGS[:1], WEB__ADDRESS=HERE) as services:
        services.board.refresh()
        client = page_of(services)
        link = services.links.to(Opens(story.FIRST_DAY))
        monkeypatch.setattr(board, "OLD_AFTER", timedelta(minutes=-1))
        for path in ("/", "/job/A1", link):
            assert "Old: do not decide by it. It could not be worked out anew." in (
                client.get(path).text
            )


def test_a_job_that_runs_into_the_next_one_says_so_on_both_pages_and_in_the_coming_days(tmp_path):
    """Whoever moves a job sees at once whom it makes wait."""
    with story_world(
        tmp_path, now="2026-04-15T18:00:00+01:00", booked=story.BOOKINGS[1:4]
    ) as services:
        services.bookings.change("A3", JobForm(day="2026-04-17", arrive="08:15-09:45"))
        services.board.refresh()
        client = page_of(services)
        both = [client.get(path).text for path in ("/job/A3", "/job/B1", "/")]
        other = client.get("/job/A2").text
    line = re.compile(r"A3 runs into B1: you would be \d+ minutes late there\.")
    assert all(line.search(text) for text in both)
    assert not line.search(other)


def test_a_job_that_is_done_says_what_the_customer_is_told(tmp_path):
    """That is the minute in which it is told; a cancelled one has no such words."""
    with story_world(tmp_path, booked=story.BOOKINGS[:2]) as services:
        services.progress.done("A1")
        services.bookings.cancel("A2", "customer away")
        client = page_of(services)
        assert "Tell the customer: no wash for a week" in client.get("/job/A1").text
        assert "Tell the customer" not in client.get("/job/A2").text


def test_the_first_steps_are_seen_without_unfolding(page):
    """What is done at once stands before the fold."""
    text = page.get("/job/A1").text
    first = text.partition("<p>First: ")[2].partition("</p>")[0]
    assert first.count(";") == 3
    assert "<details" not in text.partition("<p>First: ")[0].rpartition('id="play"')[2]


def test_now_is_offered_on_the_day_of_the_job_alone(page):
    """On the evening before there is nothing to ask at the car."""
    assert 'href="/now/A1"' in page.get("/job/A1").text
    assert 'href="/now/B1"' not in page.get("/job/B1").text
