"""Bookings sent, gone back to and sent again: nothing is lost, nothing is recorded twice."""

import re
from html import unescape

import pytest
from booking_page import GOOD, came_of, fault, fields, on_top, send
from page import page_of, story_world
from towns import place_search

from sprayadvisor.demo import story
from sprayadvisor.services.ports import JobForm


@pytest.fixture
def services(tmp_path):
    """Two jobs of today, to be changed."""
    with story_world(tmp_path, booked=story.BOOKINGS[:2]) as made:
        yield made


@pytest.fixture
def phone(services):
    """A phone in the van."""
    return page_of(services)


def post(client, path, /, **data):
    """Send a form and stay."""
    return client.post(path, data=data, follow_redirects=False)


def test_a_refused_form_has_an_address_of_its_own_without_what_was_typed(phone):
    """Gone back to, it stands there with all that was typed; another process knows it no more."""
    filled = fields(phone.get("/bookings/new").text) | GOOD | {"arrive": "nine", "phone": "0555 01"}
    led = post(phone, "/bookings/new", **filled)
    assert led.status_code == 303
    assert "0555" not in led.headers["location"]
    for _ in range(2):
        shown = phone.get(led.headers["location"])
        assert shown.status_code == 422
        assert "give a time of day" in fault(shown.text, "arrive")
        assert 'value="0555 01"' in shown.text
        assert '<form method="post" action="/bookings/new">' in shown.text


def test_a_form_gone_back_to_after_it_was_booked_books_nothing_more(phone, services):
    """It comes with a new ticket and the old texts; a note that differs makes it another car."""
    first = send(phone, "/bookings/new", **GOOD)
    assert first.headers["location"] == "/job/J3"
    again = send(phone, "/bookings/new", **GOOD)
    assert again.status_code == 409
    assert on_top(again.text).startswith("Job J3 is booked just like this already")
    assert len(services.bookings.list()) == 3
    other = send(phone, "/bookings/new", **(GOOD | {"note": "the blue van"}))
    assert other.headers["location"] == "/job/J4"
    named = send(phone, "/bookings/new", **(GOOD | {"ref": "K1"}))
    assert named.headers["location"] == "/job/K1"


def test_a_twin_that_is_over_or_elsewhere_is_none(services):
    """What was cancelled may be booked anew; another hour is another job."""
    form = JobForm(process="door-scuff", day="2026-04-17", arrive="9-10", site="Rope Walk",
                   panels=("left_door:white",))  # fmt: skip
    job = services.bookings.add(form)
    assert services.bookings.twin(form) == job
    services.bookings.change(job.ref, JobForm(arrive="10-11"))
    assert services.bookings.twin(form) is None
    services.bookings.change(job.ref, JobForm(arrive="9-10"))
    services.bookings.cancel(job.ref)
    assert services.bookings.twin(form) is None


def test_two_tabs_are_told_in_what_they_differ(phone, services):
    """By the labels of the form, this tab and what is stored, with a way to the job."""
    filled = fields(phone.get("/job/A1/change").text) | {"note": "ring first"}
    services.bookings.change(
        "A1", JobForm(arrive="10-11", downwind=("n=a pond",), may_move=False, panels=("roof:red",))
    )
    text = unescape(came_of(phone, post(phone, "/job/A1/change", **filled)).text)
    for words in (
        f"Arrive is now 10:00-11:00; here {filled['arrive'][0]}.",
        "Note is now empty; here ring first.",
        "May it be moved is now no; here yes.",
        "Panels: now roof red steel paint; here",
        "What the mist could reach: now n a pond; here",
        'href="/job/A1">Job A1 as it is now',
    ):
        assert words in text
    assert "Process is now" not in text


def test_an_untouched_tab_differs_only_in_what_changed_elsewhere(phone, services):
    """No field is named that is the same, however the form writes it."""
    filled = fields(phone.get("/job/A2/change").text)
    services.bookings.change("A2", JobForm(arrive="13-14:30"))
    text = came_of(phone, post(phone, "/job/A2/change", **filled)).text
    listed = text.partition('<ul class="needs">')[2].partition("</ul>")[0]
    assert listed.count("<li>") == 1
    assert "Arrive is now 13:00-14:30" in listed


def told_as_typed(answer):
    """Return label and text of what the page of a refusal says was typed."""
    told = answer.text.partition('<dl class="typed">')[2].partition("</dl>")[0]
    return re.findall("<dt>(.*?)</dt><dd>(.*?)</dd>", unescape(told))


def test_what_was_typed_is_told_by_the_labels_and_nothing_else_is(phone, services):
    """Neither what stood there nor the form's own fields; sent again all of them go along."""
    filled = fields(phone.get("/job/A1/change").text)
    filled |= {"customer": "Z. Quux", "site": "Nook Lane"}
    filled["part"] = [filled["part"][0], "roof", *filled["part"][2:]]
    filled["colour"] = [filled["colour"][0], "red", *filled["colour"][2:]]
    filled["side"] = [*filled["side"][:-1], "n"]
    filled["reaches"] = [*filled["reaches"][:-1], "a pond"]
    services.bookings.cancel("A1")
    answer = came_of(phone, post(phone, "/job/A1/change", **filled))
    assert answer.status_code == 409
    assert told_as_typed(answer) == [
        ("Name of the place", "Nook Lane"),
        ("Customer", "Z. Quux"),
        ("Panels", "roof, red, steel, paint"),
        ("What the mist could reach", "n, a pond"),
    ]
    for name in ("once", "was", "material", "note"):
        assert f'<input type="hidden" name="{name}"' in answer.text


def test_of_a_form_that_was_left_as_it_was_nothing_is_called_typed(phone, services):
    """It can be sent again all the same."""
    filled = fields(phone.get("/job/A1/change").text)
    services.bookings.cancel("A1")
    answer = came_of(phone, post(phone, "/job/A1/change", **filled))
    assert "Nothing was typed." in answer.text
    assert "Try again" in answer.text


def test_a_form_of_a_job_that_never_was_is_told_in_full(phone):
    """There is nothing to compare it with; what a new form brings itself is left out."""
    filled = fields(phone.get("/bookings/new").text) | GOOD
    answer = came_of(phone, post(phone, "/job/Z9/change", **filled))
    assert ("Where it is", GOOD["place"]) in told_as_typed(answer)
    assert ("Panels", "left door, white, steel, paint") in told_as_typed(answer)
    assert "May it be moved" not in dict(told_as_typed(answer))


def test_what_was_asked_at_the_car_is_told_by_its_labels_too(phone, services):
    """The empty taps and fields of Now are nothing that was typed."""
    services.bookings.cancel("A1")
    asked = {"next": "clear", "panel": "17", "wind_usual": "", "mist": "", "lamp": ""}
    answer = came_of(phone, post(phone, "/now/A1", **asked))
    assert told_as_typed(answer) == [("What comes next", "clear"), ("Panel", "17")]


@pytest.mark.parametrize(("text", "degrees"), [("90 °", 90.0), ("90°", 90.0), ("−90", 270.0)])
def test_a_bearing_is_taken_as_it_is_written(phone, services, text, degrees):
    """With its sign for degrees, and with the minus of a typesetter."""
    assert send(phone, "/job/A1/change", heading=text).status_code == 303
    assert services.bookings.get("A1").heading_deg == degrees


@pytest.mark.parametrize(
    "path",
    ["/maps/@53.27,-8.92,17z", "/", "/?q=53.27,-8.92", "/v1/search?name=Sandquay", "/redirect"],
)
@pytest.mark.parametrize("name", ["place", "site", "note", "customer", "email"])
def test_a_link_that_is_pasted_is_read_and_never_fetched(phone, name, path):
    """Whatever it points to, this computer itself among it, nobody is asked there."""
    asked = []
    with place_search(asked) as elsewhere:
        for scheme in (elsewhere, elsewhere.removeprefix("http:")):
            send(phone, "/bookings/new", **(GOOD | {name: scheme + path}))
    assert asked == []
