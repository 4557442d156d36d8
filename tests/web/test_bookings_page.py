"""Bookings on the page: each field forgiven or told of kindly, nothing recorded twice."""

import html

import pytest
from booking_page import GOOD, fault, fields, on_top, send
from page import page_of, story_world

from sprayadvisor.advice.model import JobState
from sprayadvisor.demo import story
from sprayadvisor.errors import WeatherUnreachable
from sprayadvisor.services.job_fields import FORM_FIELDS, Kind
from sprayadvisor.services.places import Places
from sprayadvisor.services.ports.places import CREDIT, FoundPlace

SCRIPT = "<script>alert(1)</script>"
TEN_KB = "x" * 10_000
# Fields in which nearly any line of text is right.
FREE = ("customer", "phone", "note")
LINES = [f.name for f in FORM_FIELDS if f.kind is not Kind.SEVERAL and not f.name.endswith("tude")]


@pytest.fixture(scope="module")
def quiet(tmp_path_factory):
    """Services that the tests below refuse to change."""
    with story_world(tmp_path_factory.mktemp("quiet"), booked=story.BOOKINGS[:1]) as services:
        yield services


@pytest.fixture
def services(tmp_path):
    """Two jobs of today, to be changed."""
    with story_world(tmp_path, booked=story.BOOKINGS[:2]) as made:
        yield made


@pytest.fixture
def phone(services):
    """A phone in the van."""
    return page_of(services)


def count(services):
    """Return how many jobs there ever were."""
    return len(services.bookings.list(everything=True))


BAD = ["nonsense", "😀", "-1", "1,5 xyz", SCRIPT, TEN_KB]
# What is right after all, means "not said", or is looked for as a town.
RIGHT = {("heading", "-1"), ("ref", "nonsense"), ("elevation_m", "-1")} | {
    *((name, text) for name in (*FREE, "site", "may_move", "kerb") for text in BAD[:-1]),
    *(("place", text) for text in ("nonsense", "😀", SCRIPT)),
}


@pytest.mark.parametrize(
    ("name", "text"),
    [(name, text) for name in (*LINES, "place") for text in BAD if (name, text) not in RIGHT],
)
def test_what_cannot_be_is_told_at_its_field_and_kept(quiet, name, text):
    """A sentence there, what was typed still there and harmless, and nothing is booked."""
    phone, before = page_of(quiet), count(quiet)
    filled = GOOD | {name: text}
    answer = send(phone, "/bookings/new", **filled)
    assert answer.status_code == 422
    assert fault(answer.text, name)
    assert len(fault(answer.text, name)) < 900
    assert 'aria-invalid="true"' in answer.text
    assert html.escape(text, quote=True).replace("&#x27;", "&#39;") in answer.text
    assert SCRIPT not in answer.text
    assert count(quiet) == before


@pytest.mark.parametrize("name", ["process", "day", "arrive", "site"])
def test_what_is_needed_and_empty_is_told_at_its_field(quiet, name):
    """By its name on the page."""
    answer = send(page_of(quiet), "/bookings/new", **(GOOD | {name: " "}))
    assert answer.status_code == 422
    assert fault(answer.text, name).endswith("is empty; it is needed.")


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"part": ["", "", ""], "colour": ["", "", ""]}, "No panel is chosen"),
        ({"colour": ["", "", ""]}, "Panel 1 has a part and no colour; choose both, or neither."),
        (
            {"part": ["left_door", "", ""], "colour": ["white", "red", ""]},
            "Panel 2 has a colour and no part; choose both, or neither.",
        ),
        (
            {"side": ["", "n", ""], "reaches": ["", "", ""]},
            "Side north: say what lies there, or leave the side out.",
        ),
        (
            {"side": ["", "", ""], "reaches": ["windows", "", ""]},
            "“windows”: choose on which side of the car it lies.",
        ),
        ({"arrive": "-3"}, "Arrive is '-3'; give a window"),
        ({"place": "x"}, "Where it is: give at least two letters"),
        ({"place": ""}, "is no stored place, so say where it is"),
        ({"place": "", "site": "Alder Clos"}, "did you mean “Alder Close”?"),
        ({"place": "97, 190"}, "beyond the globe"),
        ({"place": "53,27"}, "no coordinates can be read"),
        ({"day": "2026-04-15"}, "which is over"),
        ({"back_by": "08:00"}, "move one of the two"),
    ],
)
def test_what_does_not_go_together_is_told(quiet, changed, words):
    """In a sentence that says what to mend."""
    before = count(quiet)
    answer = send(page_of(quiet), "/bookings/new", **(GOOD | changed))
    assert answer.status_code == 422
    assert words in html.unescape(answer.text)
    assert count(quiet) == before


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [("repair_area_m2", "0,35", 0.35), ("repair_area_m2", "0.35 m²", 0.35),
     ("repair_area_m2", "0,35 m2", 0.35), ("repair_area_m2", "", 0.2),
     ("heading", "North-East", 45.0), ("heading", "-90", 270.0)],
)  # fmt: skip
def test_numbers_are_read_as_people_write_them(phone, services, name, text, value):
    """Comma, and the unit behind the number."""
    assert send(phone, "/bookings/new", **(GOOD | {name: text})).status_code == 303
    kept = services.bookings.get("J3")
    assert getattr(kept, {"heading": "heading_deg"}.get(name, name)) == value


def test_a_job_is_booked_with_all_that_was_said(phone, services):
    """Numbered, its place kept with zone and neighbours; the next page says so once."""
    said = GOOD | {
        "elevation_m": "−2 m", "side": ["n", "", ""], "reaches": ["open windows", "", ""],
        "kerb": "yes", "customer": "A. Sample", "note": SCRIPT,
    }  # fmt: skip
    answer = send(phone, "/bookings/new", **said)
    assert (answer.status_code, answer.headers["location"]) == (303, "/job/J3")
    job = services.bookings.get("J3")
    assert (job.site.latitude, job.site.longitude) == (53.27, -8.92)
    assert (job.site.zone, job.site.elevation_m) == ("Europe/Dublin", -2.0)
    assert (dict(job.site.downwind), job.site.kerb) == ({"n": "open windows"}, True)
    assert services.bookings.history("J3")[0].by == "page"
    text = phone.get("/bookings").text
    assert "Booked." in text
    assert "Nook Lane" in text
    shown = phone.get("/job/J3/change").text
    assert SCRIPT not in shown
    assert html.escape(SCRIPT) in shown


def test_a_stored_place_is_taken_by_its_name_alone(phone, services):
    """With all it says, which an untouched form does not take away."""
    before = services.bookings.get("A1").site
    assert send(phone, "/bookings/new", **(GOOD | {"site": "Alder Close", "place": ""}))
    assert services.bookings.get("J3").site == before


def test_a_form_sent_twice_books_once(phone, services):
    """A double tap, and the button back and forth: both lead to the one job."""
    filled = fields(phone.get("/bookings/new").text) | GOOD
    answers = [phone.post("/bookings/new", data=filled, follow_redirects=False) for _ in range(3)]
    assert [a.headers["location"] for a in answers] == ["/job/J3"] * 3
    changed = phone.post("/bookings/new", data=filled | {"site": "X"}, follow_redirects=False)
    assert changed.headers["location"] == "/job/J3"
    assert count(services) == 3


@pytest.mark.parametrize("once", ["", "forged", "W10.x.y"])
def test_a_form_whose_past_nobody_knows_is_asked_for_again(phone, services, once):
    """Nothing is recorded, what was typed is kept, and the second time it goes through."""
    filled = fields(phone.get("/bookings/new").text) | GOOD
    answer = phone.post("/bookings/new", data=filled | {"once": once})
    assert answer.status_code == 409
    assert "opened too long ago" in on_top(answer.text)
    assert 'value="Nook Lane"' in answer.text
    assert count(services) == 2
    again = fields(answer.text)
    assert phone.post("/bookings/new", data=again, follow_redirects=False).status_code == 303
    assert count(services) == 3


def test_a_form_from_before_a_restart_is_asked_for_again(phone, services, monkeypatch):
    """The memory of what was sent does not outlast the process, so it is not trusted."""
    filled = fields(phone.get("/bookings/new").text) | GOOD
    monkeypatch.setattr("sprayadvisor.web.sent._PROCESS", "another")
    assert phone.post("/bookings/new", data=filled).status_code == 409
    assert count(services) == 2


class Finder:
    """Knows two towns of one name."""

    def find(self, name):
        """Return them, or fail."""
        if name == "Down":
            raise WeatherUnreachable("The place search does not answer; try again later.")
        found = [
            FoundPlace("Carrick", ("West", "Ireland"), 53.3, -9.1, 14.0, "Europe/Dublin"),
            FoundPlace("Carrick", ("Tasmania",), -41.5, 147.0, None, "Australia/Hobart"),
        ]
        return found if name == "Carrick" else []


@pytest.fixture
def towns(services):
    """Let the services know these towns."""
    services.places = Places(Finder())


def test_a_town_is_chosen_and_brings_zone_and_height(phone, services, towns):
    """Nothing is kept before; who lent the names is told; a town lends its name to the place."""
    answer = send(phone, "/bookings/new", **(GOOD | {"place": "Carrick", "site": ""}))
    assert answer.status_code == 200
    assert count(services) == 2
    assert answer.text.count('name="picked"') == 2
    assert CREDIT in answer.text
    chosen = fields(answer.text) | {"picked": "53.30000|-9.10000|14|Europe/Dublin|Carrick"}
    done = phone.post("/bookings/new", data=chosen, follow_redirects=False)
    assert done.status_code == 303
    site = services.bookings.get("J3").site
    assert (site.name, site.latitude, site.elevation_m) == ("Carrick", 53.3, 14.0)


def test_a_choice_for_another_text_counts_for_nothing(phone, services, towns):
    """Whoever changes the text after choosing is asked anew."""
    changed = {"place": "Carrick", "picked": "1|2|3|UTC|X", "picked_for": "Elsewhere"}
    answer = send(phone, "/bookings/new", **(GOOD | changed))
    assert answer.text.count('name="picked"') == 2


@pytest.mark.parametrize(
    ("town", "words"),
    [("Nowhere", "No town of this name was found"), ("Down", "paste coordinates or a link"),
     ("Q", "at least two letters"), (SCRIPT.replace("1", ""), "No town of this name")],
)  # fmt: skip
def test_a_town_that_is_not_found_is_told(phone, services, towns, town, words):
    """At the field, with another way."""
    answer = send(phone, "/bookings/new", **(GOOD | {"place": town}))
    assert answer.status_code == 422
    assert words in fault(answer.text, "place")


@pytest.mark.parametrize("picked", ["x|y|z", "1|2|3|Nowhere/At_All|X", "999|2||UTC|X", "|||"])
def test_a_forged_choice_is_judged_like_anything_typed(phone, services, picked):
    """It goes through the same readers."""
    answer = send(
        phone, "/bookings/new", **(GOOD | {"place": "Y", "picked_for": "Y", "picked": picked})
    )
    assert answer.status_code == 422
    assert count(services) == 2


def test_a_job_is_changed_and_an_untouched_form_changes_nothing(phone, services):
    """Another day is a move; nothing else is touched."""
    before = services.bookings.get("A1")
    same = send(phone, "/job/A1/change")
    assert same.status_code == 422
    assert "Nothing about job A1 would change" in on_top(same.text)
    assert send(phone, "/job/A1/change", day="2026-04-18").status_code == 303
    after = services.bookings.get("A1")
    assert (after.times_moved, after.site, after.panels) == (1, before.site, before.panels)


def test_what_a_job_can_do_without_is_taken_away(phone, services):
    """An emptied field is empty."""
    send(phone, "/job/A1/change", back_by="18:00", customer="B. Sample")
    assert str(services.bookings.get("A1").back_by) == "18:00:00"
    send(phone, "/job/A1/change", back_by="", customer="", side=["", "", ""], reaches=["", "", ""])
    after = services.bookings.get("A1")
    assert (after.back_by, after.customer.name, dict(after.site.downwind)) == (None, "", {})


def test_a_job_goes_to_another_stored_place_which_keeps_what_it_says(phone, services):
    """The form showed the old place; that is not said of the new one."""
    there = services.bookings.get("A2").site
    assert send(phone, "/job/A1/change", site="Rope Walk").status_code == 303
    assert services.bookings.get("A1").site == there
    assert services.bookings.get("A2").site == there


def test_two_tabs_do_not_write_over_each_other(phone, services):
    """The second is told and keeps what it typed; sent again it counts."""
    first, second = (fields(phone.get("/job/A1/change").text) for _ in range(2))
    first |= {"note": "first"}
    second |= {"arrive": "10:00-11:00"}
    assert phone.post("/job/A1/change", data=first, follow_redirects=False).status_code == 303
    answer = phone.post("/job/A1/change", data=second)
    assert answer.status_code == 409
    assert "was changed in another place" in on_top(answer.text)
    assert services.bookings.get("A1").customer.note == "first"
    assert 'value="10:00-11:00"' in answer.text
    again = fields(answer.text)
    assert phone.post("/job/A1/change", data=again, follow_redirects=False).status_code == 303


def test_a_change_sent_twice_is_made_once(phone, services):
    """One event in the history."""
    filled = fields(phone.get("/job/A1/change").text) | {"note": "once"}
    for _ in range(2):
        answer = phone.post("/job/A1/change", data=filled, follow_redirects=False)
        assert answer.status_code == 303
    assert [one.event for one in services.bookings.history("A1")] == ["added", "changed"]


@pytest.mark.parametrize("path", ["change", "cancel", "at", "done", "spoiled"])
def test_a_job_that_was_cancelled_meanwhile_is_left_alone(phone, services, path):
    """Told in a sentence, with what was typed."""
    page = {"change": "change", "cancel": "cancel"}.get(path, "goes")
    filled = fields(phone.get(f"/job/A1/{page}").text) | {"why": "wind", "stage": "base"}
    services.bookings.cancel("A1")
    answer = phone.post(f"/job/A1/{path}", data=filled)
    assert answer.status_code == 409
    assert "Job A1 is cancelled" in answer.text
    assert services.bookings.get("A1").state is JobState.CANCELLED
    assert len(services.bookings.history("A1")) == 2


@pytest.mark.parametrize("path", ["change", "goes", "cancel", "nowhere"])
def test_a_job_that_is_not_there_is_told(phone, path):
    """With a way back, whatever is asked of it."""
    assert phone.get(f"/job/Z9/{path}").status_code == 404


def test_cancelling_asks_first_and_acts_once(phone, services):
    """GET changes nothing; the reason is kept; sent twice it is no fault."""
    filled = fields(phone.get("/job/A1/cancel").text) | {"why": "rain all week"}
    assert services.bookings.get("A1").state is JobState.BOOKED
    for _ in range(2):
        answer = phone.post("/job/A1/cancel", data=filled, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, "/bookings")
    assert services.bookings.get("A1").state is JobState.CANCELLED
    assert [one.note for one in services.bookings.history("A1")] == ["", "rain all week"]
    assert "Job A1 is cancelled." in phone.get("/bookings").text


def test_a_job_moved_since_the_question_is_not_cancelled(phone, services):
    """It is asked again, the reason kept."""
    filled = fields(phone.get("/job/A1/cancel").text) | {"why": "rain"}
    send(phone, "/job/A1/change", day="2026-04-20")
    answer = phone.post("/job/A1/cancel", data=filled)
    assert answer.status_code == 409
    assert "so it was not cancelled" in on_top(answer.text)
    assert 'value="rain"' in answer.text
    assert services.bookings.get("A1").state is JobState.BOOKED


@pytest.mark.parametrize("why", [TEN_KB, "two\nlines"])
def test_a_reason_that_fits_no_line_is_told_at_its_field(phone, services, why):
    """For cancelling and for spoiling; what was typed is still there."""
    for path, page in (("cancel", "cancel"), ("spoiled", "goes")):
        filled = fields(phone.get(f"/job/A1/{page}").text) | {"why": why}
        answer = phone.post(f"/job/A1/{path}", data=filled)
        assert answer.status_code == 422
        assert fault(answer.text, "why")
        assert fields(answer.text)["why"] == [why]
    assert services.bookings.get("A1").state is JobState.BOOKED


def test_the_stage_is_noted_once_however_often_it_is_sent(phone, services):
    """And a stage that is none is told."""
    filled = fields(phone.get("/job/A1/goes").text) | {"stage": "base"}
    for _ in range(2):
        answer = phone.post("/job/A1/at", data=filled, follow_redirects=False)
        assert answer.headers["location"] == "/job/A1"
    assert [one.note for one in services.bookings.history("A1")] == ["", "base"]
    assert '<option value="base" selected>' in phone.get("/job/A1/goes").text
    wrong = fields(phone.get("/job/A1/goes").text) | {"stage": SCRIPT}
    answer = phone.post("/job/A1/at", data=wrong)
    assert answer.status_code == 422
    assert fault(answer.text, "stage")
    assert SCRIPT not in answer.text


def test_done_and_spoiled_end_a_job(phone, services):
    """Each once; done wants a tick, spoiled wants to know why: one tap of a glove ends nothing."""
    answer = phone.post("/job/A2/spoiled", data={"why": " "})
    assert answer.status_code == 422
    assert fault(answer.text, "why") == "Say in a few words what spoiled it."
    untouched = phone.post("/job/A1/done", data={"once": "done-0"})
    assert untouched.status_code == 422
    assert "tick that the work is finished" in untouched.text
    assert services.bookings.get("A1").state is JobState.BOOKED
    for path, ref, why in (("done", "A1", ""), ("spoiled", "A2", "a gust")):
        filled = {"once": f"{path}-1", "why": why, "finished": "yes"}
        for _ in range(2):
            assert (
                phone.post(f"/job/{ref}/{path}", data=filled, follow_redirects=False).status_code
                == 303
            )
    text = phone.get("/bookings").text
    assert "<strong>done</strong>" in text
    assert "<strong>spoiled</strong>" in text
    assert services.bookings.history("A2")[-1].note == "a gust"


def test_a_job_still_to_come_cannot_be_ended(tmp_path):
    """The page says what to do instead."""
    with story_world(tmp_path, booked=story.BOOKINGS[3:4]) as made:
        phone = page_of(made)
        assert "Its day is still to come" in phone.get("/job/B1/goes").text
        answer = phone.post("/job/B1/done", data={"once": "a", "finished": "yes"})
        assert answer.status_code == 409
        assert "still to come" in answer.text


def test_the_list_asks_how_a_job_of_yesterday_ended(tmp_path):
    """What is open stands above what is to come."""
    with story_world(tmp_path, booked=story.BOOKINGS[:1]) as made:
        pass
    with story_world(tmp_path, now="2026-04-17T07:30:00+01:00", booked=()) as made:
        text = page_of(made).get("/bookings").text
        assert text.index("how did it end?") < text.index("/job/A1/goes") < text.index("Coming")
        assert "Nothing is booked." in text


def test_sheets_show_each_number_with_page_and_revision(quiet):
    """Invented values are marked, on the list too."""
    phone = page_of(quiet)
    listed = phone.get("/sheets").text
    sheets, processes = quiet.catalogue.sheets, quiet.catalogue.processes
    assert listed.count("invented values, for trials only") == len(sheets)
    for name, sheet in sheets.items():
        assert f'href="/sheets/{name}"' in listed
        text = phone.get(f"/sheets/{name}").text
        told = quiet.library.sheet(sheet)
        assert "Invented values, for trials only." in text
        assert text.count(f"rev. {sheet.revision}") >= len(told.tables) + len(told.limits)
    for name in processes:
        assert f'href="/processes/{name}"' in listed
        assert phone.get(f"/processes/{name}?without_lamp=yes&plastic=yes").status_code == 200
    assert phone.get("/sheets/none").status_code == phone.get("/processes/none").status_code == 404


def test_a_process_is_shown_as_it_goes_without_a_lamp(quiet):
    """It takes longer."""
    phone = page_of(quiet)
    quick, slow = (phone.get(f"/processes/bumper-corner{q}").text for q in ("", "?without_lamp=y"))
    hours = [int(t.partition("In a row at the printed minutes: ")[2][0]) for t in (quick, slow)]
    assert hours[0] < hours[1]
    assert 'name="without_lamp" value="yes" checked' in slow


def test_a_file_that_is_wrong_is_named_above_the_sheets(tmp_path):
    """With its faults, so that nobody wonders where a sheet is."""
    own = tmp_path / "own"
    own.mkdir()
    (own / "bad.toml").write_text('id = "bad"\n', encoding="utf-8")
    with story_world(tmp_path / "d", booked=(), SHEETS_FOLDERS=str(own)) as made:
        text = page_of(made).get("/sheets").text
        assert "Left out, for something is wrong" in text
        assert "bad.toml" in text
