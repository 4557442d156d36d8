"""From a slot that was offered to the job's new day, and from the job to whoever booked it."""

import re
from html import unescape

import pytest
from booking_page import came_of, fields
from page import HERE, page_of, story_world

from sprayadvisor.demo import story
from sprayadvisor.render.words import number_to_ring
from sprayadvisor.services.links import Opens
from sprayadvisor.services.ports import JobForm

BUTTON = re.compile(r'<a class="button quiet" href="([^"]+)">Customer agreed: ([^<]+)</a>')


@pytest.mark.parametrize("path", ["/", "/job/A3"])
def test_an_agreed_slot_leads_to_the_form_filled_in_with_it(page, story_services, path):
    """By the words of the message; nothing is changed before the form is sent."""
    text = page.get(path).text
    buttons = BUTTON.findall(text)
    call = next(one for one in story_services.board.day(story.FIRST_DAY).told.calls)
    assert buttons
    for address, words in buttons:
        assert unescape(words) in call.line
        before = story_services.bookings.get("A3")
        form = page.get(unescape(address)).text
        assert "Nothing is changed before you press" in form
        filled = fields(form)
        assert filled["day"][0] in unescape(address)
        begin, end = filled["arrive"][0].split("-")
        assert begin <= end
        assert story_services.bookings.get("A3") == before
    assert "Nothing is changed before" not in page.get("/job/A3/change").text


def test_what_was_agreed_is_changed_by_the_button_of_the_form(tmp_path):
    """The day and the hours of the slot, and the rest of the job as it was."""
    with story_world(tmp_path, booked=story.BOOKINGS[:3]) as services:
        services.board.refresh()
        client = page_of(services)
        address, words = BUTTON.findall(client.get("/job/A3").text)[0]
        was = services.bookings.get("A3")
        filled = fields(client.get(unescape(address)).text)
        client.post("/job/A3/change", data=filled)
        now = services.bookings.get("A3")
        assert now.day > was.day
        assert f"{now.arrive_from:%H:%M}" in words or "morning" in words or "afternoon" in words
        assert (now.site, now.panels, now.customer) == (was.site, was.panels, was.customer)
        assert not BUTTON.findall(client.get("/job/A3").text)  # it was offered for another day


def test_a_slot_that_is_none_is_told_like_anything_typed(page):
    """The address may have been cut; what it says stands in the form and is judged as ever."""
    text = page.get("/job/A3/change", params={"day": "soon", "arrive": "<b>" + "x" * 99}).text
    assert 'value="soon"' in text
    assert "<b>x" not in text
    answer = came_of(page, page.post("/job/A3/change", data=fields(text), follow_redirects=False))
    assert answer.status_code == 422


@pytest.mark.parametrize(
    ("typed", "dialled"),
    [
        ("0555 0100", "05550100"),
        ("+353 (0)555/01-00", "+35305550100"),
        ("abc", ""),
        ("12", ""),
        ("1" * 16, ""),
        ("0555;ext=1", ""),
        ("", ""),
    ],
)
def test_a_number_is_dialled_if_it_is_one(typed, dialled):
    """Blanks, brackets, dashes and dots aside."""
    assert number_to_ring(typed) == dialled


def test_whoever_booked_is_rung_from_the_job_and_never_from_a_link(tmp_path):
    """A number is a link for the phone, any other text is text; a link of a mail has neither."""
    with story_world(tmp_path, booked=story.BOOKINGS[:2], WEB__ADDRESS=HERE) as services:
        client = page_of(services)
        services.bookings.change("A1", JobForm(customer="Z. Quux", phone="0555 0100"))
        services.bookings.change("A2", JobForm(customer="", phone="the bell"))
        text = client.get("/job/A1").text
        assert '<a class="button quiet" href="tel:05550100">Ring 0555 0100</a>' in text
        assert "Z. Quux" in text
        other = client.get("/job/A2").text
        assert "tel:" not in other
        assert "Customer, the bell" in other
        link = client.get(services.links.to(Opens(story.FIRST_DAY, "A1"))).text
        for hidden in ("tel:", "0555", "Quux", "Customer agreed"):
            assert hidden not in link


def test_a_link_leads_nowhere_past_the_arrival_either(tmp_path):
    """Whoever is logged in is led to the check at the car; who opened a link is not."""
    with story_world(
        tmp_path, now="2026-04-16T11:30:00+01:00", booked=story.BOOKINGS[:1], WEB__ADDRESS=HERE
    ) as services:
        services.board.refresh()
        client = page_of(services)
        assert 'href="/now/A1"' in client.get("/job/A1").text
        for opens in (Opens(story.FIRST_DAY), Opens(story.FIRST_DAY, "A1")):
            text = client.get(services.links.to(opens)).text
            assert "A1" in text
            assert "/now/" not in text
            assert "At the car?" not in text
