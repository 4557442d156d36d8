"""Asking at the car more than once: going back, old answers, old readings, what was said before."""

import contextlib
import re
from datetime import datetime
from html import unescape

import pytest
from booking_page import fault, on_top
from clockwork import Time
from page import page_of, story_world

from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form
from sprayadvisor.services.ports import JobForm

AT_THE_CAR = "2026-04-16T11:30:00+01:00"
READ = {"panel": "14.5", "air": "12", "humidity": "71"}


@contextlib.contextmanager
def clocked(folder):
    """Yield the story's services by a clock that is set by hand."""
    with story_world(folder, now=AT_THE_CAR, booked=()) as made:
        made.now = Time(datetime.fromisoformat(AT_THE_CAR))
        for booking in story.BOOKINGS:
            made.bookings.add(_form(booking))
        yield made


@pytest.fixture
def services(tmp_path):
    """The story at half past eleven, with a clock that goes on when it is told to."""
    with clocked(tmp_path) as made:
        yield made


@pytest.fixture(scope="module")
def quiet(tmp_path_factory):
    """The same, where no test sets the clock."""
    with clocked(tmp_path_factory.mktemp("again")) as made:
        yield made


@pytest.fixture
def phone(services):
    """A phone at the car."""
    return page_of(services)


def ask(phone, ref="A1", **typed):
    """Return the page after asking."""
    return phone.post(f"/now/{ref}", data={"next": "clear", **typed})


def begin_form(text):
    """Return the fields of the note that a stage begins."""
    form = text.partition("/begin")[2].partition("</form>")[0]
    return dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))


def notes(text):
    """Return what was used of what was sent."""
    return [unescape(one) for one in re.findall(r'<p class="note">([^<]*)</p>', text)]


def test_an_answer_has_an_address_of_its_own_without_any_reading(phone, services):
    """Gone back to, it is the same, is not judged anew, and keeps nothing."""
    led = phone.post("/now/A1", data={"next": "clear", **READ}, follow_redirects=False)
    assert led.status_code == 303
    address = led.headers["location"]
    assert re.fullmatch(r"/shown/[\w-]{20,}", address)
    services.weather = None  # whoever judged anew would need it
    first, second = phone.get(address), phone.get(address)
    assert "badge" in first.text.partition("<main")[2]
    assert (first.status_code, first.headers["cache-control"]) == (200, "no-store")
    assert first.text == second.text
    assert len(services.onsite.kept("A1")) == 1


def test_an_old_answer_says_so_and_of_when_it_is(phone, services):
    """After ten minutes it is no word to begin by, and the note is not pushed."""
    address = ask(phone, **READ).url.path
    services.now.on(minutes=10)
    assert "Old: do not begin" not in phone.get(address).text
    services.now.on(minutes=1)
    text = phone.get(address).text
    assert "Old: do not begin by it. This is the answer of 11:30, 11 min ago." in text
    assert "all the same</summary>" in text


def test_what_is_kept_no_more_is_said(phone, services):
    """After a day, after a restart, or mistyped: a page with a way on."""
    address = ask(phone, **READ).url.path
    services.now.on(hours=13)
    for path in (address, "/shown/nothing"):
        gone = phone.get(path)
        assert gone.status_code == 410
        assert "it is kept no more" in gone.text


def test_the_note_is_taken_once_however_often_it_is_sent(phone, services):
    """A second tap, or the form gone back to, notes nothing more and moves no time."""
    answer = ask(phone, **READ)
    assert begin_form(answer.text)["stage"] == "clear"
    for _ in range(3):
        form = begin_form(phone.get(answer.url.path).text)
        assert "begins now" in phone.post("/now/A1/begin", data=form).text
        services.now.on(minutes=3)
    begun = [one for one in services.bookings.history("A1") if one.event.value == "at"]
    assert [(one.note, one.at) for one in begun] == [("clear", datetime.fromisoformat(AT_THE_CAR))]


def test_the_readings_of_earlier_are_not_taken_for_new_ones(phone, services):
    """A form gone back to still holds them: they are asked about, unless it is said when."""
    ask(phone, **READ)
    services.now.on(minutes=9)
    assert "badge" in ask(phone, **READ).text.partition("<main")[2]
    services.now.on(minutes=41)
    again = ask(phone, **READ, next="base")
    assert again.status_code == 422
    assert "The same was read at 11:39." in fault(again.text, "panel")
    assert 'name="sure"' in again.text
    assert 'value="14.5"' in again.text
    assert len(services.onsite.kept("A1")) == 2
    for said in ({"sure": "yes"}, {"at": "11:39"}, {"panel": "14.6"}):
        assert ask(phone, **(READ | {"next": "base"} | said)).status_code == 200


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"humidity": "-3"}, "humidity", "A humidity of -3 %"),
        ({"wind": "-3"}, "wind", "A wind of -3 m/s"),
        ({"panel": "999"}, "panel", "999"),
        ({"mist": "-3"}, "mist", "The breath mist"),
        ({"stripe": "-3"}, "stripe", "The damp stripe"),
        ({"matt": "23:50"}, "matt", "ahead of now"),
        ({"at": "23:50"}, "at", "ahead of now"),
    ],
)
def test_a_doubt_stands_at_its_field_too(quiet, typed, field, words):
    """Marked and told to a screen reader, as any fault is; what was typed is still there."""
    text = ask(page_of(quiet), **typed).text
    assert words in fault(text, field)
    marked = re.search(rf'<input id="{field}"[^>]*>', text)[0]
    assert 'aria-invalid="true"' in marked
    assert f"{field}-problem" in marked
    assert f'value="{typed[field]}"' in marked


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"at": "14,5,5"}, "at", "Read at is '14,5,5'"),
        ({"matt": "soon"}, "matt", "Last coat matt since is"),
        ({"stripe": "wet"}, "stripe", "Damp stripe is 'wet'"),
        ({"next": "cleer"}, "next", "What comes next 'cleer' is not known"),
        ({"shelter": "tent"}, "shelter", "Above the car now"),
    ],
)
def test_a_fault_is_told_in_the_words_of_the_form_and_on_top(quiet, typed, field, words):
    """A fault in a folded field is seen on the first screen; nobody meets the name of a field."""
    answer = ask(page_of(quiet), **typed)
    assert answer.status_code == 422
    assert words in fault(answer.text, field)
    assert on_top(answer.text) == "Nothing was judged yet: look at the marked field."
    assert "<title>Not judged: A1" in answer.text


def test_a_lamp_where_none_can_run_is_told_at_the_lamp(phone, services):
    """The choice may be old: the site had a socket when the page was opened."""
    services.bookings.change("A1", JobForm(power="none"))
    assert "The lamp: none can run" in fault(ask(phone, lamp="yes").text, "lamp")


def test_a_panel_the_job_has_no_more_is_told(phone, services):
    """On top where the job has one panel, at its field where there is a choice."""
    told = "This job has no panel “roof”; say anew which one you read."
    answer = ask(phone, part="roof")
    assert (answer.status_code, on_top(answer.text)) == (422, told)
    services.bookings.change("A1", JobForm(panels=("left_door:white", "right_door:white")))
    assert fault(ask(phone, part="roof").text, "part") == told


def test_what_was_typed_and_not_used_is_said(quiet):
    """A number beside a tap: which of the two counted."""
    phone = page_of(quiet)
    text = ask(phone, wind="0.5", wind_usual="1.5 m/s", mist="3", mist_usual="12 s").text
    assert notes(text)[:2] == [
        "Wind at the gun: “0.5” was typed; the tap “Just felt” was not used.",
        "Breath mist: “3” was typed; the tap “It stays” was not used.",
    ]
    assert not notes(ask(phone, wind="0.5", matt="11:20").text)


def test_matt_need_be_said_only_once(phone, services):
    """For the same stage; it ends with the next coat, and a new time takes its place."""
    text = ask(phone, matt_now="yes", **READ).text
    assert "<dt>Flash-off</dt>" in text
    services.now.on(minutes=15)
    later = ask(phone, panel="15").text
    assert "Matt all over since 11:30, as you said before." in notes(later)
    assert "<dt>Flash-off</dt>" in later
    assert not notes(ask(phone, panel="15", next="primer").text)
    assert not notes(ask(phone, panel="15.5", matt="11:40").text)
    assert "Matt all over since 11:40, as you said before." in notes(ask(phone, panel="16").text)
    phone.post("/now/A1/begin", data={"stage": "clear"})
    assert not notes(ask(phone, panel="16.5").text)


def test_whether_the_coat_before_is_matt_is_asked_where_nobody_said(quiet):
    """Only where a coat comes before, and only over an answer one might begin by."""
    phone = page_of(quiet)
    asks = "Is the coat before matt all over?"
    assert asks in ask(phone, **READ, next="blend").text
    assert asks not in ask(phone, **READ, next="blend", matt="11:25").text
    assert asks not in ask(phone, panel="99", next="blend").text
    assert asks not in ask(phone, **READ, next="wash").text


def test_every_stage_may_be_asked_about_and_noted(quiet):
    """The list of Now and that of how it goes are the same, and none of them is a defect."""
    phone = page_of(quiet)

    def offered(path, name):
        select = phone.get(path).text.partition(f'<select id="{name}"')[2].partition("</select>")[0]
        return re.findall(r'value="([^"]+)"', select)

    stages = offered("/now/A1", "next")
    assert stages == offered("/job/A1/goes", "stage")
    for stage in stages:
        assert ask(phone, next=stage).status_code == 200


@pytest.mark.parametrize(
    ("noted", "picked"),
    [("promoter", "primer"), ("clear", "blend-edge"), ("blend-edge", "clear-flash")],
)
def test_after_each_stage_the_one_that_follows_is_picked(services, phone, noted, picked):
    """The next coat; where no coat is left, the next stage."""
    text = phone.post("/now/A1/begin", data={"stage": noted}).text
    assert re.findall(r'<option value="([^"]+)"\s+selected', text)[0] == picked


def test_the_note_names_its_stage_and_is_not_pushed_after_a_no(quiet):
    """After no-go it lies folded, with the way to the reason on the record."""
    phone = page_of(quiet)
    text = ask(phone, panel="15", mist="12").text
    assert "NO-GO" in text.partition("<main")[2][:600]
    folded = text.partition("all the same</summary>")
    assert "Note: I begin" not in folded[0]
    assert "The answer above is NO-GO." in folded[2]
    assert 'href="/job/A1/record"' in folded[2]
    assert begin_form(text)["stage"] == "clear"
    assert 'href="/job/A1">' in text


def test_the_note_is_not_pushed_while_the_coat_before_flashes_off(quiet):
    """It is no go yet, whatever the weather says."""
    text = ask(page_of(quiet), panel="17", matt_now="yes", all_clear="yes", wind="1").text
    folded = text.partition("all the same</summary>")
    assert "Note: I begin" not in folded[0]
    assert "The answer above is NOT YET." in folded[2]


def test_a_wrong_reading_is_struck_out_and_off_the_record(phone, services):
    """It stays in sight, marked; the record takes another, or none."""
    phone.post("/now/A1/begin", data={"stage": "clear"})
    ask(phone, panel="5", sure="yes")
    services.now.on(minutes=3)
    ask(phone, panel="14.5", at="11:31")
    text = phone.get("/now/A1").text
    rows = re.findall(r"<tr.*?</tr>", text.partition("<tbody>")[2], re.DOTALL)
    times = [re.findall(r"<td>(.*?)</td>", row)[0] for row in rows]
    assert times == ["11:31<br>clear", "11:30<br>clear"]
    number = re.findall(r'<option value="(\d+)">11:30 clear, panel 5.0', text)[0]
    struck = phone.post("/now/A1/strike", data={"number": number}).text
    assert "Struck out: it is not on the record." in struck
    assert struck.count('<tr class="struck">') == 1
    assert "panel 5.0" not in struck
    again = phone.post("/now/A1/strike", data={"number": number}).text
    assert "Nothing was left to strike out." in again
    clear = next(one for one in services.records.draft("A1").coats if "clear" in one.stage)
    panel = next(one for one in clear.met if one.quantity == "panel_temp_c")
    assert (panel.value, panel.measured) == (14.5, True)
