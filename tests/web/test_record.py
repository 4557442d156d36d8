"""The record of a job: put together, chosen, kept, printed, forgotten."""

import re
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from booking_page import fault, on_top
from page import page_of, story_world

from sprayadvisor.advice.record import Part
from sprayadvisor.advice.said import said_of
from sprayadvisor.services.weather import SiteWeather, place_key

AT_THE_CAR = "2026-04-16T11:30:00+01:00"


@pytest.fixture
def services(tmp_path):
    """The story at half past eleven of its first day."""
    with story_world(tmp_path, now=AT_THE_CAR) as made:
        yield made


@pytest.fixture
def morning(tmp_path):
    """The story before the van leaves, with what was said of the first job."""
    with story_world(tmp_path) as made:
        booked = made.bookings.get("A1")
        judged = made.briefs.entry_of(booked).judgement
        made.said.keep("A1", booked.day, "morning", said_of(judged, "morning", made.now()))
        yield made


def coat(record, word):
    """Return the coat of a stage whose name has a word in it."""
    return next(one for one in record.coats if word in one.stage)


def test_a_draft_says_what_is_known_and_that_nothing_is_kept(services):
    """No coat was noted and no brief was sent: products are known, times are not."""
    record = services.records.draft("A1")
    assert record.kept_at is None
    assert [one.at for one in record.coats] == [None] * len(record.coats)
    assert all(one.product and one.revision for one in record.coats)
    text = page_of(services).get("/job/A1/record").text
    assert "A draft: nothing of this is kept yet." in text
    assert services.records.store.of("A1") is None


def test_what_was_noted_and_read_counts_before_the_forecast(services):
    """The noted time, the measured panel, and from the forecast only what was not measured."""
    phone = page_of(services)
    phone.post("/now/A1/begin", data={"stage": "clear"})
    phone.post("/now/A1", data={"next": "clear", "panel": "14.5", "humidity": "71"})
    record = services.records.draft("A1")
    clear = coat(record, "clear")
    assert (clear.at, clear.noted) == (datetime.fromisoformat(AT_THE_CAR), True)
    met = {one.quantity: (one.value, one.measured) for one in clear.met}
    assert met["panel_temp_c"] == (14.5, True)
    assert met["rh_pct"] == (71.0, True)
    assert met["air_temp_c"][1] is False
    assert met["dew_margin_k"][1] is False
    text = phone.get("/job/A1/record").text
    assert "11:30, noted at the car" in text
    assert "panel temperature 14.5" in text.replace("\u00a0", " ")


def test_a_coat_carries_the_last_reading_before_it_began(services):
    """Two in one minute, then the note: the later of them is what it was begun on, not the first.

    One that was taken after the note says nothing of how it began.
    """
    phone = page_of(services)
    phone.post("/now/A1", data={"next": "clear", "panel": "14.5"})
    phone.post("/now/A1", data={"next": "clear", "panel": "15.5"})
    phone.post("/now/A1/begin", data={"stage": "clear"})
    met = {one.quantity: one.value for one in coat(services.records.draft("A1"), "clear").met}
    assert met["panel_temp_c"] == 15.5
    begun = services.bookings.history("A1")[-1].at
    kept = services.records.readings.of("A1")[-1]
    later = begun + timedelta(minutes=5)
    read = replace(kept.reading, taken_at=later, panel_temp_c=18.5)
    services.records.readings.keep("A1", replace(kept, reading=read, asked_at=later))
    met = {one.quantity: one.value for one in coat(services.records.draft("A1"), "clear").met}
    assert met["panel_temp_c"] == 15.5


def test_what_was_never_noted_says_so(services):
    """Coats, bakes, the later coats and the matt; and that no advice is on file."""
    phone = page_of(services)
    phone.post("/now/A1/begin", data={"stage": "clear"})
    everything = ["times", "conditions", "products", "advice"]
    text = phone.post("/job/A1/record", data={"part": everything}).text
    shown = {
        title: section.replace("\u00a0", " ")
        for title, section in re.findall(
            r'<section aria-label="([^"]+)">(.*?)</section>', text, re.DOTALL
        )
    }
    assert "<dt>Begun</dt><dd>11:30, noted at the car</dd>" in shown["clear, coat 1"]
    assert (
        "<dt>Not noted</dt><dd>the later coats and when it was matt</dd>" in shown["clear, coat 1"]
    )
    assert "<dt>Begun</dt><dd>not noted</dd>" in shown["primer, coat 1"]
    assert "<dt>Begun</dt><dd>not noted</dd>" in shown["lamp on the clear"]
    assert "<strong>Advised last:</strong> no advice is on file for this day" in text
    assert "Plastic bumper corner, faded clear: silver rear bumper" in text
    assert "bumper-corner" not in text


def test_a_margin_of_measured_values_is_measured(services):
    """Magnus by hand: 12 °C and 71 % give 6.9 °C; 14.5 less that is 7.6 K."""
    phone = page_of(services)
    phone.post("/now/A1/begin", data={"stage": "clear"})
    phone.post("/now/A1", data={"next": "clear", "panel": "14.5", "air": "12", "humidity": "71"})
    met = {one.quantity: one for one in coat(services.records.draft("A1"), "clear").met}
    assert met["dew_margin_k"].measured
    assert met["dew_margin_k"].value == pytest.approx(7.6, abs=0.05)


def test_the_plans_times_stand_in_where_nothing_was_noted(morning):
    """They are of the plan that was told, and called so."""
    record = morning.records.draft("A1")
    times = [one.at for one in record.coats if one.at]
    assert times == sorted(times)
    assert times
    assert not any(one.noted for one in record.coats)
    assert record.advice in ("go", "care", "no-go")
    assert "by the plan, not noted" in page_of(morning).get("/job/A1/record").text


@pytest.mark.parametrize(
    ("ticked", "there", "gone"),
    [
        (["times"], ["Begun"], ["Product", "By the forecast", "Advised last"]),
        (["products"], ["Product"], ["Begun", "By the forecast", "Advised last"]),
        (["conditions"], ["By the forecast"], ["Begun", "Product", "Advised last"]),
        (["advice"], ["Advised last"], ["Begun", "Product", "By the forecast"]),
        ([], [], ["Begun", "Product", "By the forecast", "Advised last"]),
    ],
)
def test_only_what_was_ticked_is_kept(morning, ticked, there, gone):
    """Part by part; what was not ticked is not in the store either."""
    phone = page_of(morning)
    done = phone.post("/job/A1/record", data={"part": ticked, "reason": "Customer in a hurry"})
    text = done.text.partition("What to keep and print")[0]
    for words in [*there, "Customer in a hurry", "The record is kept"]:
        assert words in text
    for words in gone:
        assert words not in text
    assert morning.records.store.of("A1").parts == {Part(one) for one in ticked}


def test_a_record_can_be_kept_anew_and_forgotten(services):
    """The newer takes the place of the older; forgetting leaves a draft."""
    phone = page_of(services)
    phone.post("/job/A1/record", data={"part": ["products", "advice"], "reason": "one"})
    phone.post("/job/A1/record", data={"part": ["times"], "reason": "two"})
    kept = services.records.of("A1")
    assert (kept.reason, kept.parts) == ("two", {Part.TIMES})
    assert "nothing of this is kept" in phone.post("/job/A1/record/forget").text


def test_a_reason_is_text_and_not_a_script(services):
    """Whatever is typed is shown as it was typed."""
    nasty = '<script>alert("x")</script>'
    text = page_of(services).post("/job/A1/record", data={"part": [], "reason": nasty}).text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


@pytest.mark.parametrize("reason", ["x" * 1001, "a\x07b"])
def test_a_reason_that_does_not_fit_is_told_at_its_field(services, reason):
    """What was typed and what was ticked stays, and nothing is kept."""
    answer = page_of(services).post("/job/A1/record", data={"part": ["advice"], "reason": reason})
    assert answer.status_code == 422
    assert fault(answer.text, "reason").startswith("My reason ")
    assert on_top(answer.text) == "Nothing was kept: look at the marked field."
    assert f'value="{reason}"' in answer.text
    assert re.findall(r'name="part" value="(\w+)"\s+checked', answer.text) == ["advice"]
    assert services.records.store.of("A1") is None


def test_the_ticks_are_what_is_kept(services):
    """The page comes back with the choice that was made; the advice is never ticked by itself."""
    phone = page_of(services)

    def ticked(text):
        return re.findall(r'name="part" value="(\w+)"\s+checked', text)

    assert ticked(phone.get("/job/A1/record").text) == ["times", "conditions", "products"]
    phone.post("/job/A1/record", data={"part": ["advice"]})
    assert ticked(phone.get("/job/A1/record").text) == ["advice"]


def test_an_unknown_job_has_no_record(services):
    """The page is not there."""
    assert page_of(services).get("/job/ZZ/record").status_code == 404


def test_a_vanished_process_leaves_a_record_without_coats(services):
    """The page says why."""
    none = replace(services.records, catalogue=replace(services.catalogue, processes={}))
    assert none.draft("A1").coats == ()
    services.__dict__["records"] = none
    assert "no coats can be named" in page_of(services).get("/job/A1/record").text


def test_without_weather_only_what_was_read_is_known(services):
    """No forecast: the conditions are those that were measured, and no margin is made up."""
    phone = page_of(services)
    phone.post("/now/A1/begin", data={"stage": "clear"})
    phone.post("/now/A1", data={"next": "clear", "panel": "14.5"})

    class NoWeather:
        def for_sites(self, sites, _policy):
            return {place_key(site): SiteWeather(None, "No answer.") for site in sites}

    found = replace(services.records, weather=NoWeather()).draft("A1")
    assert [(one.quantity, one.value) for one in coat(found, "clear").met] == [
        ("panel_temp_c", 14.5)
    ]
