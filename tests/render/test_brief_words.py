"""The brief in words, as text, as HTML, as a mail, as JSON: the same facts in each."""

import json
import re
from dataclasses import replace
from datetime import timedelta
from types import MappingProxyType

import pytest
from briefs import NASTY, brief, entries, told
from days import EVENING, MORNING, SITE, job, outlook

from sprayadvisor.advice.brief import DownwindAnswer, House, Offer, WindowBar
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.model import Colour, Customer, Panel, Part
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.van import VanTemps
from sprayadvisor.advice.verdict import Word
from sprayadvisor.advice.wet_morning import Wet
from sprayadvisor.render import told_times
from sprayadvisor.render.cautions import CARS, FIRE, KERB, TWO_PACK, WEATHER_ONLY, cautions
from sprayadvisor.render.email import Rendered, brief_message, chart_cid, to_email_message
from sprayadvisor.render.html import brief_html
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.text import WIDTH, brief_text
from sprayadvisor.render.told import tell
from sprayadvisor.render.told_around import day_weather, downwind
from sprayadvisor.render.words import LABELS, SHAPES
from sprayadvisor.units import Display

DISPLAY = Display()
ORIGIN = Origin("practice")


def flat(text):
    """Return a text on one line, tags and entities undone."""
    import html

    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def both(made):
    """Return the brief as text and as what its HTML shows."""
    return flat(brief_text(made, DISPLAY)), flat(brief_html(made, DISPLAY, {}))


def test_every_verdict_occurs_in_the_builder():
    """The brief the tests look at has a job of each word."""
    assert [e.judgement.word for e in entries()] == [
        Word.GO, Word.CARE, Word.NO_GO, Word.UNKNOWN, Word.NOT_JUDGED,
    ]  # fmt: skip


def test_the_subject_has_the_tally_and_the_first_coat():
    """One line tells the day, how many of each, and when the first paint goes on."""
    subject = tell(brief(), DISPLAY).subject
    tally = "1 go, 1 care, 1 no-go, 1 unknown, 1 not judged"
    assert subject.startswith(f"Fri 17 Apr: {tally}, first coat ")
    assert re.search(r"first coat \d\d:\d\d$", subject)
    rainy = brief(entries()[2], clashes=())
    assert tell(rainy, DISPLAY).subject == "Fri 17 Apr: 1 no-go, no paint"
    assert tell(replace(rainy, moment=Moment.MORNING), DISPLAY).subject.endswith("no paint today")
    assert (
        tell(brief(ring=(), entries=(), load=()), DISPLAY).subject == "Fri 17 Apr: no jobs booked"
    )


def test_every_fact_stands_in_text_and_html():
    """Whatever is told is in both layouts."""
    made = brief(weather_problems=("GO1: an older forecast is used",), faults=("x.toml: bad",))
    words = tell(made, DISPLAY)
    for shown in both(made):
        for job_words in words.jobs:
            assert f"{SHAPES[job_words.word]} {LABELS[job_words.word]}" in shown
            for piece in (job_words.ref, job_words.what, job_words.arrival):
                assert piece in shown
            for fact in job_words.facts:
                assert " ".join(fact.text.split()) in shown
            if job_words.chart:
                for line in (*job_words.chart.outline, *job_words.chart.stages):
                    assert " ".join(line.split()) in shown
                for row in job_words.chart.hours:
                    assert row.sentence in shown or " ".join(filter(None, row)) in shown
        for line in (*words.day_lines, *words.problems, *words.weather, *words.cautions):
            assert line in shown
        for call in words.calls:
            assert call.line in shown
            assert call.message in shown
        assert "Weather data by Open-Meteo.com" in shown
        assert "CC BY 4.0" in shown


def test_cautions_go_with_every_verdict():
    """Weather only, two-pack, fire and traffic are said; two-pack also where nothing is known."""
    for one in entries():
        words = tell(brief(one, clashes=(), ring=()), DISPLAY).cautions
        assert words == (WEATHER_ONLY, TWO_PACK, FIRE, CARS)
    kerb = replace(SITE, kerb=True)
    assert cautions([told(job(site=kerb))])[-1] == KERB
    assert FIRE not in cautions([told(job(process="nib-polish"))])


def test_a_go_names_start_base_coats_and_tightest_check():
    """What a painter needs of a go."""
    shown = both(brief(entries()[0], clashes=()))[0]
    for words in ("it fits on this forecast", "Tightest: Wind at the gun ",
                  "in hand to the sheet", "Primer:", "Base:", "Clear:",
                  "between coats, printed 4", "Cool-weather hardener", "No way back:",
                  "under the lamp", "best at 10:15", "Weather:", "First night:"):  # fmt: skip
        assert words in shown
    assert "What goes wrong" not in shown


def test_a_care_outside_the_sheet_says_who_stands_behind_it():
    """Between the bounds it is the painter's call."""
    shown = both(brief(entries()[1], clashes=()))[0]
    assert "the maker will not stand behind it. Your call." in shown
    assert "beyond the sheet" in shown
    assert "What goes wrong: Bloom" in shown


def test_a_no_go_is_rung_about_with_a_message():
    """The slots lie on other days, the message names day and slots and no invented contact."""
    call = tell(brief(), DISPLAY).calls[0]
    assert call.line.startswith(
        "NO3 (Ms Vale), (no number): offer Saturday 18 April, arriving between "
    )
    assert call.message.startswith("Hello Ms Vale, sorry to trouble you: ")
    assert call.message.endswith("Which suits you? Curlew Strand")
    assert "Saturday 18 April" in call.message


@pytest.mark.parametrize(
    ("quantity", "why", "reason"),
    [
        (
            "wet_hour_mm",
            "",
            "rain is forecast during the work, and your car would not come out right.",
        ),
        ("gust_ms", "", "it looks too windy to spray, and your car"),
        ("dew_margin_k", "", "it looks too cold or damp for paint, and"),
        ("forecast", "", "the weather does not do for paint, and your car"),
        ("downwind", "", "the wind would carry paint to where it must not go, and your"),
        ("diffuse_lx", "", "there is too little daylight to judge the colour, and"),
        ("elapsed_min", "", "the weather does not do for paint, and your car"),
        ("off_hours", "", "the time we agreed is too short to finish the work. I could"),
        ("wet_hour_mm", "it takes too long", "the time we agreed is too short to finish th"),
    ],
)
def test_a_customer_is_told_the_reason_as_it_is(quantity, why, reason):
    """The weather is not blamed where the hours are too short."""
    no = entries()[2]
    limiting = replace(no.judgement.limiting, check=Check(quantity, ORIGIN, stop_max=0.5))
    told_why = replace(no, judgement=replace(no.judgement, limiting=limiting, why=why))
    at = EVENING + timedelta(days=2)
    ring = (Offer("NO3", (WindowBar(at, at, at, Word.GO),)),)
    said = tell(brief(told_why, ring=ring), DISPLAY).calls[0].message
    assert f"sorry to trouble you: for Friday 17 April at 09:30 {reason}" in said


def test_a_slot_that_is_only_care_is_offered_as_that():
    """He hears it before he rings; the customer does not."""
    at = EVENING + timedelta(days=2)
    slot = WindowBar(at, at, at, Word.CARE)
    call = tell(brief(entries()[2], ring=(Offer("NO3", (slot,)),)), DISPLAY).calls[0]
    assert call.line.endswith("(care: it may not hold).")
    assert "care" not in call.message


def test_one_van_is_not_wanted_on_two_sides():
    """Where it breaks the wind it does not stand before the neighbour's car as well."""
    site = replace(SITE, downwind=MappingProxyType({"ne": "car"}))
    entry = told(job(site=site), outlook(wind_10m_ms=2.0, wind_from_deg=225.0))
    move = replace(entry.downwind, answer=DownwindAnswer.MOVE_VAN)
    alone = replace(entry, downwind=move, remedies=())
    assert "Put the van on that side" in downwind(alone)
    level, word = Level.STOP, Word.CARE
    shelter = Remedy(Change.WIND_BREAK, "x", False, True, level, 0.2, 0.9, word, word, EVENING)
    both = downwind(replace(alone, remedies=(shelter,)))
    assert "the van is wanted on the windward side" in both
    assert "Put the van on that side" not in both


def test_calls_without_slots_or_leave_to_move():
    """Where nothing fits, or the date is fixed, that is said and no message is made."""
    no = entries()[2]
    none = tell(brief(no, ring=(Offer("NO3", ()),)), DISPLAY).calls[0]
    assert "nothing fits in the coming days" in none.line
    assert none.message == ""
    fixed = replace(
        no, judgement=replace(no.judgement, job=replace(no.judgement.job, may_move=False))
    )
    assert (
        "the date is fixed" in tell(brief(fixed, ring=(Offer("NO3", ()),)), DISPLAY).calls[0].line
    )
    at = EVENING + timedelta(days=2, minutes=-15)
    once = replace(
        no,
        judgement=replace(
            no.judgement, job=replace(no.judgement.job, customer=Customer(), times_moved=1)
        ),
    )
    call = tell(
        brief(once, ring=(Offer("NO3", (WindowBar(at, at, at, Word.GO),)),), business=""), DISPLAY
    ).calls[0]
    assert call.line == "NO3: offer Saturday 18 April at 17:45. Moved 1 time already."
    assert call.message.startswith("Hello, sorry to trouble you")
    assert call.message.endswith("on Saturday 18 April at 17:45 instead. Would that suit you?")


def test_a_heads_up_is_rung_tonight_and_the_job_stands():
    """The customer hears that the weather is not certain; nothing is offered instead."""
    made = brief(heads_up=("CA2",), ring=())
    lines = "\n".join(tell(made, DISPLAY).day_lines)
    assert "Ring tonight as a heads-up: CA2 (Ms Test). You decide in the morning." in lines
    (call,) = tell(made, DISPLAY).calls
    assert call.line == (
        "CA2 (Ms Test): a heads-up only, the job stands. It is about 8 in 10 that it can be done."
    )
    assert "I plan to come on Friday 17 April at 09:30 as agreed." in call.message
    assert call.message.endswith("early that morning if we have to move it. Curlew Strand")
    assert brief_json(made)["heads_up"] == ["CA2"]
    assert tell(brief(), DISPLAY).calls[0].line.startswith("NO3 (Ms Vale)")


def test_the_day_is_told_above_the_jobs():
    """Whom to ring, what clashes, what to take in."""
    lines = "\n".join(tell(brief(), DISPLAY).day_lines)
    for words in ("Ring tonight: NO3 (Ms Vale)",
                  "GO1 runs into CA2: you would be 35 minutes late",
                  "Take the paint indoors tonight, water-borne first: the van falls to about 2",
                  "Air line: drain tank and trap"):  # fmt: skip
        assert words in lines
    morning = "\n".join(tell(brief(moment=Moment.MORNING, van=VanTemps()), DISPLAY).day_lines)
    assert "Ring now" in morning
    assert "indoors" not in morning
    assert "not known" in "\n".join(tell(brief(van=VanTemps()), DISPLAY).day_lines)
    assert "indoors" not in "\n".join(tell(brief(van=VanTemps(9.0, 20.0)), DISPLAY).day_lines)


def test_the_load_is_ticked_off_line_by_line():
    """Each thing has a line of its own, in the text and in the mail."""
    made = brief()
    lines = brief_text(made, DISPLAY).splitlines()
    first = lines.index("TO LOAD") + 1
    assert [f"- {item}" for item in made.load] == lines[first : first + len(made.load)]
    assert "- lamp and its stand" in lines
    assert ">lamp and its stand</p>" in brief_html(made, DISPLAY, {})
    assert "To load" not in brief_html(brief(load=()), DISPLAY, {})


@pytest.mark.parametrize(
    ("phone", "link"),
    [("555-0100", 'href="tel:5550100"'), ("ask at the door", "tel:"), ("", "tel:")],
)
def test_who_is_rung_can_be_rung_from_the_mail(phone, link):
    """The number is a link where it can be dialled, and none where it cannot."""
    found = entries()[2]
    booked = replace(found.judgement.job, customer=Customer("Ms Vale", phone))
    one = replace(found, judgement=replace(found.judgement, job=booked))
    html = brief_html(brief(one, clashes=()), DISPLAY, {})
    assert (link in html) is (phone == "555-0100")
    assert phone in flat(html)


def test_what_comes_out_of_the_house_is_told():
    """Water-borne paint and hardeners by name; a warm box in the cold."""
    cold = House(("Water-borne base",), hardeners=True, warm_box=True)
    lines = "\n".join(tell(brief(house=cold), DISPLAY).day_lines)
    assert "Out of the house last: Water-borne base and hardeners, dry and shut." in lines
    assert "carry the paint in a warm box" in lines
    assert "Out of the house" not in "\n".join(tell(brief(), DISPLAY).day_lines)


def test_age_of_the_forecast_is_told():
    """Fresh, minutes, hours, an older one in its place, none at all."""
    go = entries()[0]

    def line(age, *, stale=False, native=False):
        source = replace(
            go.provenance, fetched_at=EVENING - age, stale=stale, quarter_hours_native=native
        )
        return " ".join(tell(brief(replace(go, provenance=source), clashes=()), DISPLAY).weather)

    assert "just fetched" in line(timedelta(seconds=20))
    assert "20 min old" in line(timedelta(minutes=20))
    assert "5 h old" in line(timedelta(hours=5), stale=True)
    assert "could not be had" in line(timedelta(hours=5), stale=True)
    assert "cannot be timed to the half hour" in line(timedelta(0))
    assert "cannot be timed" not in line(timedelta(0), native=True)
    unknown = brief(replace(entries()[3], provenance=None), clashes=())
    assert tell(unknown, DISPLAY).weather == ("No weather was used for this brief.",)


def test_what_a_job_says_itself_is_not_said_twice():
    """The reason of an unknown stands with its job only."""
    made = brief(weather_problems=("UN4: no answer from the forecast service",))
    assert tell(made, DISPLAY).problems == ()


def test_odds_are_spoken_only_with_members():
    """One forecast has no odds; many members have."""
    go = entries()[0]
    many = replace(
        go.judgement, climate=replace(go.judgement.climate, n_members=32), likelihood=(0.9, 0.95)
    )
    assert (
        "about 9 in 10 that it fits"
        in tell(brief(replace(go, judgement=many), clashes=()), DISPLAY).jobs[0].short
    )


def test_care_by_likelihood_alone_is_called_close():
    """Short of the stops but not sure enough: too close to call."""
    care = entries()[1]
    near = replace(care.judgement, limiting=None)
    assert (
        "It may not hold. Your call."
        in tell(brief(replace(care, judgement=near), clashes=()), DISPLAY).jobs[0].short
    )


def test_several_panels_name_the_one_that_limits():
    """A job of two panels says which one decides, and which stays wet."""
    two = told(
        job(
            ref="TW6",
            panels=(Panel(Part.ROOF, Colour.WHITE), Panel(Part.LEFT_DOOR, Colour.DARK_GREY)),
        )
    )
    facts = {f.label: f.text for f in tell(brief(two, clashes=(), ring=()), DISPLAY).jobs[0].facts}
    assert "On the " in facts["Tightest"]
    wet = replace(two, wet=Wet(1, EVENING))
    facts = {f.label: f.text for f in tell(brief(wet, clashes=(), ring=()), DISPLAY).jobs[0].facts}
    assert facts["Wet panel"].startswith(
        "The dark grey left door stays wet until about 18:00 unless wiped. Gaps longer"
    )


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (
            Wet(0, EVENING, MORNING),
            "is white until about 06:30 and stays wet until about 18:00 unless wiped. Gaps",
        ),
        (Wet(0, None), "stays wet all morning unless wiped."),
        (Wet(0, EVENING, wiped_at=MORNING), "unless wiped. Wiped at 06:30 it stays dry."),
        (
            Wet(0, EVENING, wiped_at=MORNING, again_at=MORNING + timedelta(minutes=15)),
            "unless wiped. Wiped at 06:30 it is wet again by 06:45.",
        ),
    ],
)
def test_water_on_a_panel_is_told_with_its_end_and_what_wiping_helps(found, words):
    """White, wet, wiped and wet again, each by the clock, in local time; JSON has the same."""
    entry = replace(told(job()), wet=found)
    assert words in told_times.wet(entry)
    said = brief_json(brief(entry, clashes=(), ring=()))["jobs"][0]["wet"]
    assert said["panel"] == "rear_bumper"
    known = [found.until, found.white_until, found.wiped_at, found.again_at]
    assert [value is not None for value in list(said.values())[1:]] == [
        at is not None for at in known
    ]


def test_a_day_without_start_and_rain_by_the_hour():
    """No window on the day is said; rain is told by its hours, a chance by its share."""
    rain = outlook(wet_hour_mm=1.0)
    facts = {
        f.label: f.text
        for f in tell(brief(told(job(), rain), clashes=(), ring=()), DISPLAY).jobs[0].facts
    }
    assert facts["Start"] == "No start fits on the agreed day."
    assert facts["Weather"].endswith("rain from 08:00 to 19:00.")
    maybe = told(job(), outlook(rain_probability_pct=40.0))
    facts = {
        f.label: f.text for f in tell(brief(maybe, clashes=(), ring=()), DISPLAY).jobs[0].facts
    }
    assert "a shower chance up to 40 %" in facts["Weather"]


def test_rain_that_decides_is_in_the_weather_too_where_the_forecast_itself_is_dry():
    """Runs of an ensemble may be wet though the forecast is not."""
    dry = told(job(), outlook(rain_probability_pct=0.0))
    limiting = dry.judgement.limiting
    rain = replace(limiting, check=Check("wet_hour_mm", limiting.check.origin), share=0.5)
    wet = replace(dry, judgement=replace(dry.judgement, limiting=rain))
    said = [day_weather(one, DISPLAY) for one in (dry, wet)]
    assert said[0].endswith("no rain forecast.")
    assert said[1].endswith("dry by the forecast, yet it rains in about 5 in 10 of what may come.")


def test_a_wet_coat_and_an_only_start():
    """A panel under the dew point is called wet; a window of one quarter hour is one time."""
    go = entries()[0]
    coat = replace(go.coats[1], dew_margin_k=-0.5, flash_expected_min=None, choices=())
    once = replace(go.windows[0], latest=go.windows[0].first, best=go.windows[0].first)
    wet = replace(go, coats=(coat,), windows=(once,))
    facts = {f.label: f.text for f in tell(brief(wet, clashes=()), DISPLAY).jobs[0].facts}
    assert "0.5 °C below it: wet" in facts["Primer"]
    assert " only (go)" in facts["Start"]


def test_text_is_narrow_and_plain():
    """Lines of at most 78 columns, nothing that a voice would stumble over."""
    text = brief_text(brief(), DISPLAY)
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert not re.search(r"[│┃─━|*_#]", text)
    assert "nan" not in text.lower().replace("fennimore", "")


def test_customers_words_are_never_markup():
    """What was typed into a booking is shown as typed, in the page too."""
    nasty = told(
        job(site=replace(SITE, name=NASTY), customer=Customer(name=NASTY)), outlook(wet_hour_mm=1.0)
    )
    page = brief_html(brief(nasty, business=NASTY, clashes=()), DISPLAY, {})
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_html_is_one_column_small_and_loads_nothing():
    """Twelve jobs with much to say stay under 90 kB; only the two licence links leave the page."""
    site = replace(SITE, downwind=MappingProxyType({"w": "neighbour's cars", "n": "school gate"}))
    panels = (Panel(Part.ROOF, Colour.WHITE), Panel(Part.LEFT_DOOR, Colour.DARK_GREY))
    twelve = [
        told(job(ref=f"J{n}", site=site, panels=panels, process="door-scuff"),
             outlook(**({} if n % 3 else {"wet_hour_mm": 1.0})))
        for n in range(12)
    ]  # fmt: skip
    page = brief_html(brief(*twelve), DISPLAY, {f"J{n}": f"cid:chart-J{n}" for n in range(12)})
    assert len(page.encode()) < 90_000
    links = set(re.findall(r"""(?:src|href|url\()\s*=?\s*["']?(https?:[^"')]+)""", page))
    assert links == {"https://open-meteo.com/", "https://creativecommons.org/licenses/by/4.0/"}
    assert 'lang="en-IE"' in page
    assert "prefers-color-scheme: dark" in page
    assert 'width="600"' in page
    assert page.count("<img") == 12 == page.count('alt="Panel coldest')
    assert "<script" not in page


def test_styles_are_inlined():
    """A client that drops style sheets still shows the badge's colours."""
    page = brief_html(brief(), DISPLAY, {})
    assert re.search(r'<span class="badge go" style="[^"]*background: #d7f0dd', page)


def test_a_mail_is_text_first_with_its_charts_inside():
    """The parts stand in order, the charts are found by their ids, the headers are there."""
    rendered = brief_message(brief(), DISPLAY)
    mail = to_email_message(
        rendered,
        "a@example.org",
        "b@example.org",
        "<x@y.invalid>",
        "Thu, 16 Apr 2026 17:00:00 +0000",
    )
    kinds = [part.get_content_type() for part in mail.walk()]
    assert kinds[:4] == ["multipart/alternative", "text/plain", "multipart/related", "text/html"]
    assert set(kinds[4:]) == {"image/png"}
    ids = {part["Content-ID"] for part in mail.walk() if part["Content-ID"]}
    assert ids == {f"<{chart_cid(ref)}>" for ref in rendered.charts}
    page = mail.get_body(("html",)).get_content()
    assert all(f"cid:{chart_cid(ref)}" in page for ref in rendered.charts)
    assert mail["Message-ID"] == "<x@y.invalid>"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert max(len(line) for line in mail.as_bytes().splitlines()) <= 998
    assert to_email_message(rendered, "", "b@example.org", "<x@y.invalid>", "d")["To"] is None


def test_a_line_break_gets_into_no_header():
    """Nobody writes a second header through a business name."""
    with pytest.raises(ValueError, match=r"linefeed|newline"):
        to_email_message(
            Rendered("a\nBcc: x@example.org", "t", "h"), "a@b.invalid", "c@d.invalid", "<m>", "d"
        )


def test_json_has_units_zones_and_nulls():
    """Machines get numbers with units in the names, times with zones, null for the unknown."""
    made = brief_json(brief(van=VanTemps()))
    text = json.dumps(made, allow_nan=False)
    assert made["van_low_c"] is None
    assert made["van_high_c"] is None
    assert made["air_line"] == "usual"
    jobs = {j["ref"]: j for j in made["jobs"]}
    assert [jobs[r]["verdict"] for r in ("GO1", "CA2", "NO3", "UN4", "NJ5")] == [
        "go", "care", "no-go", "unknown", "not judged",
    ]  # fmt: skip
    assert jobs["GO1"]["coats"][0]["at"].endswith("+01:00")
    assert jobs["UN4"]["limiting"] is None
    assert jobs["UN4"]["likelihood_inside"] is None
    assert jobs["NO3"]["limiting"]["margin_to"] == "stop"
    assert made["clashes"] == [{"first": "GO1", "second": "CA2", "late_min": 35}]
    assert "never permission" in text
    without = brief_json(brief(replace(entries()[3], provenance=None), clashes=()))
    assert without["jobs"][0]["forecast_fetched_at"] is None
