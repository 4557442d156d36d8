"""The check at the car: every field forgiven or told of kindly, the answer first."""

import re
from html import unescape

import pytest
from page import page_of, story_world

from sprayadvisor.demo import story

AT_THE_CAR = "2026-04-16T11:30:00+01:00"


@pytest.fixture(scope="module")
def services(tmp_path_factory):
    """The story at half past eleven of its first day."""
    with story_world(tmp_path_factory.mktemp("now"), now=AT_THE_CAR) as made:
        yield made


@pytest.fixture(scope="module")
def phone(services):
    """A phone at the car."""
    return page_of(services)


def ask(phone, ref="A1", **typed):
    """Return the page after asking."""
    return phone.post(f"/now/{ref}", data={"next": "clear", **typed})


def verdict_of(text):
    """Return the facts of an answer."""
    return text.partition('<dl class="facts">')[2].partition("</dl>")[0]


def wind_chips(text):
    """Return which taps are picked."""
    return re.findall(r'name="(\w+)" value="([^"]*)" checked', text)


def test_which_car_is_asked_for_with_several_jobs(phone):
    """Each job of today is a button; tomorrow's are none."""
    text = phone.get("/now").text
    assert re.findall(r'href="/now/(\w+)"', text) == ["A1", "A2", "A3"]


def test_with_one_job_there_is_nothing_to_ask(tmp_path):
    """The only job of the day is gone to at once; with none the page says so."""
    one = [booking for booking in story.BOOKINGS if booking.ref == "A1"]
    with story_world(tmp_path / "one", now=AT_THE_CAR, booked=one) as made:
        answer = page_of(made).get("/now", follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, "/now/A1")
    with story_world(tmp_path / "none", now=AT_THE_CAR, booked=[]) as made:
        assert "Nothing is booked for today" in page_of(made).get("/now").text


def test_the_form_has_no_verdict(phone):
    """Nothing is said before anything was asked."""
    text = phone.get("/now/A1").text
    assert "badge" not in text.partition("<main")[2]
    assert 'inputmode="decimal"' in text


def test_the_answer_comes_first_with_what_stands_behind_it(phone):
    """Word, odds, margins, what was taken from the forecast, cautions, and the form once more."""
    answer = ask(phone, panel="14,5 °C", air="12", humidity="71 %", wind="2")
    assert answer.status_code == 200
    main = answer.text.partition("<main")[2]
    assert re.search(r"(GO|CARE|NO-GO)</span>", main[:600])
    for words in ("dew point", "Before you spray", "isocyanates", "Ask again"):
        assert words in main
    assert answer.headers["cache-control"] == "no-store"


def test_a_reading_is_not_there_to_be_sent_again_as_a_new_one(phone):
    """Read again: after an answer the fields of instruments and eyes are empty."""
    read = {
        "panel": "14,5",
        "air": "12,25",
        "humidity": "71",
        "wind_usual": "2 m/s",
        "matt": "10:15",
    }
    text = ask(phone, **read, shelter="canopy").text
    form = text.partition("Ask again</h2>")[2]
    assert 'name="panel"' in form
    for value in ("14,5", "12,25", "71", "10:15"):
        assert f'value="{value}"' not in form
    assert ("wind_usual", "2 m/s") not in wind_chips(text)
    assert re.search(r'<option value="canopy"\s+selected', text)


def test_a_doubted_reading_stays_for_whoever_is_sure_of_it(phone):
    """Thirty kelvin off is asked about, and what was typed is kept for the answer to that."""
    text = ask(phone, panel="52").text
    assert 'name="sure"' in text
    assert 'value="52"' in text


def test_the_stage_asked_about_stays_picked(phone):
    """Whoever asks again asks about the same."""
    text = ask(phone, panel="15").text
    assert re.search(r'<option value="clear"\s+selected', text)


def test_what_is_left_out_comes_from_the_forecast_and_is_named(phone):
    """All four of them."""
    text = ask(phone).text
    assert "From the forecast" in text
    for name in ("Panel ", "air ", "humidity ", "wind "):
        assert name in text.partition("From the forecast")[2][:400]


def test_a_tap_stands_in_for_an_instrument_and_what_is_typed_wins(phone):
    """A tapped wind is not taken from the forecast; a typed one is the one that counts."""
    tapped = ask(phone, wind_usual="6 m/s").text
    assert "wind" not in tapped.partition("From the forecast")[2][:120].lower()
    typed = ask(phone, wind_usual="6 m/s", wind="squally")
    assert typed.status_code == 422
    assert ("wind_usual", "6 m/s") in wind_chips(typed.text)
    both = ask(phone, wind_usual="6 m/s", wind="1").text
    assert verdict_of(both) != verdict_of(tapped)
    assert verdict_of(both) == verdict_of(ask(phone, wind="1").text)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (field, text)
        for field in ("panel", "air", "humidity", "wind", "mist", "stripe", "at", "matt")
        for text in ("nonsense", "😀", "1e5", "x" * 10_000, "<script>alert(1)</script>")
    ],
)
def test_what_cannot_be_read_is_told_at_its_field_and_kept(phone, field, text):
    """A sentence there, what was typed still there and harmless, nothing judged, nothing kept."""
    answer = ask(phone, **({"panel": "15"} | {field: text}))
    assert answer.status_code == 422
    assert f'id="{field}-problem"' in answer.text
    assert "<script>alert" not in answer.text
    assert 'aria-invalid="true"' in answer.text
    for name, typed in ({"panel": "15"} | {field: text}).items():
        shown = re.search(rf'<input id="{name}"[^>]*? value="([^"]*)"', answer.text)[1]
        assert unescape(shown) == typed
    assert "badge" not in answer.text.partition("<main")[2]


@pytest.mark.parametrize(
    "text", ["", " ", "14", "14.5", "14,5", "14,5°C", "58F", "58 °F", "-1", "−1"]
)
def test_panel_is_read_as_people_write_it(phone, text):
    """Comma, unit behind the number, either minus."""
    assert ask(phone, panel=text).status_code == 200


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"panel": "-60"}, "panel"),
        ({"humidity": "140"}, "humidity"),
        ({"panel": "95", "air": "12"}, "panel"),
    ],
)
def test_an_odd_reading_is_asked_about_and_nothing_is_judged(phone, typed, words):
    """Look again comes in place of a verdict."""
    text = ask(phone, **typed).text
    assert "Look again" in text
    assert words in text.lower()
    assert "GO</span>" not in text


def test_who_insists_is_judged_and_is_not_sure_for_ever(services):
    """The tick is there for a doubt, counts once, and is gone in the next form."""
    phone = page_of(services)
    odd = ask(phone, panel="44", air="12")
    assert "Look again" in odd.text
    assert 'name="sure"' in odd.text
    again = ask(phone, panel="44", air="12", sure="yes").text
    assert "Look again" not in again
    assert 'name="sure"' not in again


def test_readings_are_kept_with_the_job_once(tmp_path):
    """Sent twice it is kept once; a doubtful one is not kept."""
    with story_world(tmp_path, now=AT_THE_CAR) as made:
        phone = page_of(made)
        for _ in range(2):
            ask(phone, panel="14.5", air="12", humidity="71")
        ask(phone, humidity="140")
        assert len(made.onsite.kept("A1")) == 1
        assert "Read here before" in phone.get("/now/A1").text


def test_a_stage_is_noted_and_the_coat_after_it_is_picked(tmp_path):
    """What was noted is in the history; the next question is about what follows it."""
    with story_world(tmp_path, now=AT_THE_CAR) as made:
        phone = page_of(made)
        done = phone.post("/now/A1/begin", data={"stage": "base"})
        assert "begins now" in done.text
        assert re.findall(r'<option value="(\w+)"\s+selected', done.text)[0] == "blend"
        assert made.bookings.history("A1")[-1].note == "base"


@pytest.mark.parametrize(
    ("ref", "status", "words"),
    [("ZZ9", 404, "no job ZZ9"), ("B1", 404, "counts on its day")],
)
def test_a_job_that_cannot_be_asked_about(phone, ref, status, words):
    """Unknown, or not today."""
    answer = phone.get(f"/now/{ref}")
    assert words in answer.text
    assert answer.status_code == status


def test_a_job_under_way_leads_to_the_check_at_the_car(services):
    """Its arrival is past: today and the job say where more can be known; a go is not among it."""
    services.board.refresh()
    phone = page_of(services)
    for path in ("/", "/job/A1"):
        text = phone.get(path).text
        assert "At the car?" in text
        assert 'href="/now/A1"' in text
    assert "At the car?" not in phone.get("/job/A3").text


def test_a_job_cancelled_meanwhile_is_told(tmp_path):
    """The form was open; the answer says that the job is over."""
    with story_world(tmp_path, now=AT_THE_CAR) as made:
        phone = page_of(made)
        phone.get("/now/A1")
        made.bookings.cancel("A1")
        answer = ask(phone, panel="15")
    assert answer.status_code in (404, 409)
    assert "A1" in answer.text


def test_another_site_cannot_ask_or_note(services):
    """Both are changes: what was read is kept."""
    phone = page_of(services)
    hostile = {"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"}
    for path in ("/now/A1", "/now/A1/begin"):
        answer = phone.post(path, data={"next": "clear", "stage": "base"}, headers=hostile)
        assert answer.status_code == 403


def test_the_side_the_wind_comes_from_is_asked_where_something_stands_downwind(phone):
    """What is said of it is kept in the form's answer, and none of it passes for new next time."""
    empty = phone.get("/now/A1").text
    assert "Downwind here: west: neighbour's cars." in unescape(empty)
    said = ask(phone, panel="17", wind_from="w", all_clear="yes").text
    assert "the wind comes from the west" in said
    assert "Nobody is downwind, and what stands there is covered" in said
    assert '<option value="w" selected' not in said
    assert 'name="all_clear" value="yes" checked' not in said
    assert "Downwind here" not in phone.get("/now/A3").text


def test_a_go_that_waits_for_a_flash_off_says_so_where_the_verdict_stands(phone):
    """In the badge and in the page's title."""
    said = ask(phone, next="clear", panel="17", matt_now="yes", all_clear="yes", wind="1").text
    heading = re.search(r"<h1.*?</h1>", said, re.DOTALL).group()
    assert "NOT YET" in heading
    assert "<title>NOT YET: A1" in said
    assert "Not before 11:" in said


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ({"panel": "62", "temp_unit": "F"}, "panel 16.7 °C"),
        ({"panel": "16,7", "temp_unit": "C"}, "panel 16.7 °C"),
        ({"panel": "62 F", "temp_unit": "C"}, "panel 16.7 °C"),
        ({"panel": "16.7"}, "panel 16.7 °C"),
        ({"panel": "17", "wind": "2", "wind_unit": "mph"}, "0.9 m/s"),
    ],
)
def test_a_unit_is_a_tap_for_who_has_only_a_pad_of_numbers(phone, typed, shown):
    """What is written behind the number counts before it, and the tap stays for the next time."""
    said = unescape(ask(phone, "A2", **typed).text)
    assert shown.lower() in said.lower()
    for name in ("temp_unit", "wind_unit"):
        if typed.get(name):
            assert f'name="{name}" value="{typed[name]}" checked' in said
