"""Whole flows in a real Chromium, at the size of a phone and of a desk, with the button back."""

import contextlib
import re
import time

import pytest
from axe import faults
from page import PASSPHRASE, story_world
from phone import CHROMIUM, SIZE, at_a_socket, phone
from towns import place_search

from sprayadvisor.advice.record import Part
from sprayadvisor.services.ports import JobForm

pytest.importorskip("playwright", reason="the browser extra is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM, reason="there is no Chromium on this machine"),
]
AT_THE_CAR = "2026-04-16T11:30:00+01:00"
SIZES = {"phone": SIZE, "desk": {"width": 1280, "height": 900}}
ASK = "Does the weather fit now?"
LONGEST_S = 1.0  # from tap to answer, as painters were promised
TYPED = {"arrive": "9-10:30", "site": "Nook Lane", "place": "53,27; -8,92", "note": "white dog",
         "phone": "0555 0100", "customer": "A. Sample"}  # fmt: skip


@contextlib.contextmanager
def at_work(browser, folder, size="phone", **settings):
    """Yield the story's services at half past eleven, and a tab."""
    with (
        story_world(folder, now=AT_THE_CAR, **settings) as services,
        at_a_socket(services) as address,
    ):
        tab = phone(browser, address, viewport=SIZES[size])
        yield services, tab
        tab.context.close()


def leave_and_come_back(tab):
    """Go to today by the bar, and back by the button of the phone; return what is seen."""
    tab.locator(".bar a", has_text="Today").click()
    tab.wait_for_url(re.compile(r":\d+/$"))
    tab.go_back()
    tab.wait_for_load_state()
    return tab.inner_text("body")


def filled_in(tab):
    """Fill in a new booking by half."""
    tab.goto("/bookings/new")
    tab.get_by_label("Process").select_option("door-scuff")
    tab.get_by_label("Day").fill("2026-04-17")
    for name, text in TYPED.items():
        tab.fill(f"#{name}", text)
    tab.get_by_label("Part of panel 1").select_option("left_door")
    tab.get_by_label("Colour of panel 1").select_option("white")


@pytest.mark.parametrize("size", SIZES)
def test_at_the_car_from_typing_to_the_note_and_back(browser, tmp_path, size):
    """Typed and tapped, answered within a second, gone back to, noted once, and on to the job."""
    with at_work(browser, tmp_path, size) as (services, tab):
        tab.goto("/now/A1")
        tab.get_by_role("button", name=ASK).click()  # the first answer loads what it needs
        tab.locator("#answer").wait_for()
        tab.goto("/now/A1")
        tab.select_option("#next", "clear")
        for field, text in (("panel", "14,5"), ("air", "12"), ("humidity", "71")):
            tab.fill(f"#{field}", text)
        tab.get_by_text("Just felt").click()
        began = time.monotonic()
        tab.get_by_role("button", name=ASK).click()
        tab.locator("#answer").wait_for()
        assert time.monotonic() - began <= LONGEST_S
        answer = tab.inner_text(".answer")
        assert "11:30" in answer
        assert "14,5" not in tab.url
        assert answer.splitlines()[0] in leave_and_come_back(tab)
        assert tab.inner_text(".answer") == answer
        if tab.locator("details", has_text="all the same").count():
            tab.locator("summary", has_text="all the same").click()
        tab.get_by_role("button", name=re.compile("Note: I begin")).click()
        tab.get_by_text("begins now.").wait_for()
        tab.go_back()
        tab.wait_for_load_state()
        assert tab.inner_text(".answer") == answer
        tab.get_by_role("link", name="Job A1").click()
        tab.get_by_role("heading", name=re.compile("A1")).first.wait_for()
        assert [one.note for one in services.bookings.history("A1")] == ["", "clear"]
        assert len(services.onsite.kept("A1")) == 1


def test_back_to_a_form_half_filled_keeps_what_was_typed(browser, tmp_path):
    """Of a booking, the customer too, and of a question at the car."""
    with at_work(browser, tmp_path) as (_, tab):
        filled_in(tab)
        leave_and_come_back(tab)
        assert {name: tab.input_value(f"#{name}") for name in TYPED} == TYPED
        assert tab.input_value("#part-1") == "left_door"
        tab.goto("/now/A2")
        tab.fill("#panel", "14,5")
        leave_and_come_back(tab)
        assert tab.input_value("#panel") == "14,5"


def test_back_to_a_refused_form_shows_it_and_not_an_error_of_the_browser(browser, tmp_path):
    """With the sentence and with what was typed; sent from there it counts once."""
    with at_work(browser, tmp_path) as (services, tab):
        filled_in(tab)
        tab.fill("#arrive", "nine")
        tab.get_by_role("button", name="Book it").click()
        tab.locator("#arrive-problem").wait_for()
        assert "give a time of day" in leave_and_come_back(tab)
        assert tab.input_value("#note") == TYPED["note"]
        tab.fill("#arrive", "9-10:30")
        tab.get_by_role("button", name="Book it").click()
        tab.get_by_text("Booked.").wait_for()
        before = len(services.bookings.list(everything=True))
        tab.go_back()
        tab.wait_for_load_state()
        tab.fill("#arrive", "9-10:30")
        tab.get_by_role("button", name="Book it").click()
        tab.wait_for_url("**/job/*")
        assert len(services.bookings.list(everything=True)) == before
        tab.goto("/now/A2")
        tab.fill("#panel", "abc")
        tab.get_by_role("button", name=ASK).click()
        tab.locator("#panel-problem").wait_for()
        assert "give a number" in leave_and_come_back(tab)
        assert tab.input_value("#panel") == "abc"


def test_back_to_the_form_of_a_booked_job_books_no_second_one(browser, tmp_path):
    """The browser brings the texts back, and the page a new ticket with them."""
    with at_work(browser, tmp_path) as (services, tab):
        filled_in(tab)
        tab.get_by_role("button", name="Book it").click()
        tab.get_by_text("Booked.").wait_for()
        before = len(services.bookings.list(everything=True))
        tab.go_back()
        tab.wait_for_load_state()
        assert tab.input_value("#note") == TYPED["note"]
        tab.get_by_role("button", name="Book it").click()
        tab.get_by_text("is booked just like this already").wait_for()
        assert len(services.bookings.list(everything=True)) == before


@pytest.mark.parametrize("size", SIZES)
def test_a_record_is_chosen_kept_and_forgotten(browser, tmp_path, size):
    """A reason that is left half typed is there again after back."""
    with at_work(browser, tmp_path, size) as (services, tab):
        tab.goto("/job/A2/record")
        tab.fill("#reason", "The customer wished it")
        leave_and_come_back(tab)
        assert tab.input_value("#reason") == "The customer wished it"
        tab.get_by_label("What was advised").check()
        tab.get_by_label("When each coat began").uncheck()
        tab.get_by_role("button", name="Keep it so").click()
        tab.get_by_text("The record is kept as you ticked it.").wait_for()
        kept = services.records.of("A2")
        assert kept.parts == {Part.CONDITIONS, Part.PRODUCTS, Part.ADVICE}
        assert kept.reason == "The customer wished it"
        assert not tab.get_by_label("When each coat began").is_checked()
        tab.get_by_role("button", name="Keep nothing of it").click()
        tab.get_by_text("Nothing is kept of this job any more.").wait_for()
        assert services.records.store.of("A2") is None


@pytest.mark.parametrize("size", SIZES)
def test_a_town_is_searched_chosen_and_gone_back_to(browser, tmp_path, size):
    """Two towns of one name: the one that is chosen is booked with its zone and height."""
    with (
        place_search() as towns,
        at_work(browser, tmp_path, size, FORECAST__GEOCODING_URL=towns) as (services, tab),
    ):
        filled_in(tab)
        tab.fill("#place", "Sandquay")
        tab.get_by_role("button", name="Book it").click()
        tab.get_by_text("Which one is meant?").wait_for()
        assert "New Zealand" in leave_and_come_back(tab)
        tab.get_by_label(re.compile("Connacht")).check()
        tab.get_by_role("button", name="Book it").click()
        tab.get_by_text("Booked.").wait_for()
        site = next(one.site for one in services.bookings.list() if one.site.name == "Nook Lane")
        assert (site.latitude, site.elevation_m, site.zone) == (53.21, 12.0, "Europe/Dublin")


@pytest.mark.parametrize("size", SIZES)
def test_from_the_login_to_a_job_and_out_again(browser, tmp_path, size):
    """What was asked for comes after the passphrase; logged out, back shows nothing of it."""
    with at_work(browser, tmp_path, size, WEB__PASSPHRASE=PASSPHRASE) as (_, tab):
        tab.goto("/job/A1")
        tab.get_by_label("Passphrase").fill("wrong")
        tab.keyboard.press("Enter")
        tab.locator("#passphrase-problem").wait_for()
        tab.get_by_label("Passphrase").fill(PASSPHRASE)
        tab.keyboard.press("Enter")
        tab.get_by_role("heading", name="A1, Alder Close").wait_for()
        tab.get_by_role("button", name="Log out on this phone").click()
        tab.get_by_label("Passphrase").wait_for()
        tab.go_back()
        tab.wait_for_load_state()
        assert "Alder Close" not in tab.inner_text("body")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_what_comes_of_a_form(browser, tmp_path, scheme):
    """Answers, questions and refusals, with everything unfolded."""
    with (
        story_world(tmp_path, now=AT_THE_CAR) as services,
        at_a_socket(services) as address,
    ):
        tab = phone(browser, address, scheme)

        def looked_at(what):
            tab.wait_for_url("**/shown/*")
            tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            assert faults(tab) == [], what
            tab.set_viewport_size(SIZE)

        for typed in (
            {"panel": "14.5", "wind": "0.5"},
            {"panel": "60", "humidity": "-3"},
            {"panel": "abc", "at": "soon", "matt": "soon"},
            {"panel": "14.5", "mist": "14"},
        ):
            tab.goto("/now/A1")
            tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            for field, text in typed.items():
                tab.fill(f"#{field}", text)
            tab.get_by_text("Just felt").click()
            tab.get_by_role("button", name=ASK).click()
            looked_at(typed)
        filled_in(tab)
        tab.fill("#arrive", "nine")
        tab.get_by_role("button", name="Book it").click()
        looked_at("a booking")
        tab.goto("/job/A1/record")
        tab.fill("#reason", "x" * 1001)
        tab.get_by_role("button", name="Keep it so").click()
        looked_at("a record")
        tab.goto("/job/A2/change")
        services.bookings.change("A2", JobForm(arrive="13-14:30"))
        tab.get_by_role("button", name="Change it").click()
        looked_at("two tabs")
        tab.goto("/job/A2/change")
        services.bookings.cancel("A2")
        tab.get_by_role("button", name="Change it").click()
        looked_at("a job that is over")
        tab.context.close()
