"""The check at the car: which stage comes next, what it rests on, and what is kept."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest
from days import KIT, catalogue, job, outlook

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine
from sprayadvisor.adapters.store.readings import SqlReadings
from sprayadvisor.advice.model import Colour, Cover, JobState, Panel, Part, Power
from sprayadvisor.advice.onsite import Asked, Reading
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.onsite import OnSite
from sprayadvisor.services.onsite_form import OnSiteForm
from sprayadvisor.services.progress import Progress
from sprayadvisor.services.weather import SiteWeather, place_key
from sprayadvisor.units import Display

NOON = datetime(2026, 4, 17, 11, 7, tzinfo=UTC)
JOB = job()


class Skies:
    """One weather everywhere, or the reason for none."""

    def __init__(self, weather):
        self.weather = weather

    def for_sites(self, sites, _policy):
        found = SiteWeather(None, self.weather)
        if not isinstance(self.weather, str):
            found = SiteWeather(self.weather)
        return {place_key(site): found for site in sites}


@pytest.fixture
def store(tmp_path):
    """An engine with one job, booked the day before."""
    engine = open_engine(f"sqlite:///{tmp_path / 'jobs.db'}")
    migrate(engine)
    SqlBookings(engine).add(JOB, NOON - timedelta(days=1))
    yield engine
    engine.dispose()


def onsite(engine, weather=None, now=NOON, **changes):
    """Return the service over that engine."""
    bookings = Bookings(SqlBookings(engine), catalogue(), lambda: now)
    usual = {
        "bookings": bookings,
        "progress": Progress(bookings, catalogue().processes, lambda: now),
        "weather": Skies(weather or outlook(rain_probability_pct=0.0)),
        "catalogue": catalogue(),
        "readings": SqlReadings(engine),
        "policy": Policy(),
        "kit": KIT,
        "display": Display(),
        "now": lambda: now,
    }
    return OnSite(**(usual | changes))


def asked(next_stage="clear", **changes):
    """Return a question with a reading of now."""
    readings = {k: changes.pop(k) for k in list(changes) if k in Reading.__dataclass_fields__}
    return Asked(Reading(**({"taken_at": NOON} | readings)), next_stage, **changes)


def test_a_dry_panel_in_fair_weather_may_be_cleared(store):
    """Only what is wet is judged, from now on, with the thresholds before the clear."""
    made = onsite(store)
    found = made.ask("T1", asked(panel_temp_c=18.0, air_temp_c=15.5, rh_pct=66.0, wind_ms=1.0))
    assert (found.word, found.moment) == (Word.GO, Moment.BEFORE_CLEAR)
    assert (found.stage, found.until) == ("clear-1", "lamp on the clear")
    assert found.likelihood > 0.95
    assert found.conditions.panel_temp_c == pytest.approx(18.0, abs=0.05)
    assert found.filled == ()
    assert found.dust_free.by_lamp
    assert found.dust_free.at > NOON
    assert "GO  T1, Hazel Court: clear, coat 1, 12:07" in made.as_text(found)


def test_a_panel_under_its_dew_margin_may_not(store):
    """The reading decides, whatever the forecast says; what is not read is named."""
    found = onsite(store).ask("T1", asked(panel_temp_c=11.0, rh_pct=74.0))
    assert found.word is Word.NO_GO
    assert found.judgement.limiting.check.quantity in ("dew_margin_k", "panel_temp_c")
    assert found.filled == ("air_temp_c", "wind_ms")


def test_the_stage_said_last_comes_next(store):
    """`job at` is enough; a stage named with the question wins."""
    made = onsite(store)
    with pytest.raises(InputError, match="nobody said which stage comes next; name it, such as"):
        made.ask("T1", asked(""))
    made.progress.at("T1", "base")
    assert made.next_of("T1") == "base"
    found = made.ask("T1", asked(""))
    assert (found.stage, found.said_at, found.moment) == ("base-1", NOON, Moment.BEFORE_BASE)
    assert made.ask("T1", asked("Clear ")).stage == "clear-1"
    with pytest.raises(InputError, match="next 'cleer' is not known; did you mean 'clear'"):
        made.ask("T1", asked("cleer"))


def test_nothing_said_of_the_next_stage_is_empty(store):
    """There is no stage yet; any may be asked about, and what is done beside another is marked."""
    made = onsite(store)
    assert made.next_of("T1") == ""
    stages = made.stages("T1")
    wet = [one.id for one in stages if one.wet]
    assert [one for one in wet if one in ("base", "clear", "primer")] == ["primer", "base", "clear"]
    assert "unmask" not in wet
    assert [one.id for one in stages] == [
        one.id for one in catalogue().processes["bumper-corner"].stages
    ]
    assert {one.id for one in stages if one.beside} >= {"pack"}


def test_a_reading_is_kept_once(store):
    """What was sent twice within a moment is one reading; nothing read is nothing kept."""
    made = onsite(store)
    made.ask("T1", asked())
    assert made.kept("T1") == ()
    first = asked(panel_temp_c=18.0, mist_s=3.0)
    for _ in range(2):
        made.ask("T1", first)
    later = onsite(store, now=NOON + timedelta(minutes=5))
    later.ask("T1", replace(first, reading=replace(first.reading, taken_at=later.now())))
    kept = made.kept("T1")
    assert [one.reading.panel_temp_c for one in kept] == [18.0, 18.0]
    assert (kept[0].stage, kept[0].word, kept[0].mist_s) == ("clear", Word.GO, 3.0)
    assert kept[0].asked_at == NOON


def test_a_doubtful_reading_is_asked_about_and_not_kept(store):
    """Nothing is judged on it; whoever is sure may insist, where it can be at all."""
    made = onsite(store)
    found = made.ask("T1", asked(panel_temp_c=48.0))
    assert (found.word, found.judgement, len(found.doubts)) == (Word.UNKNOWN, None, 1)
    assert made.kept("T1") == ()
    insisted = made.ask("T1", asked(panel_temp_c=48.0, sure=True))
    assert insisted.judgement is not None
    assert len(made.kept("T1")) == 1
    never = made.ask("T1", asked(rh_pct=140.0, sure=True))
    assert [doubt.may_insist for doubt in never.doubts] == [False]


@pytest.mark.parametrize(
    ("weather", "why"),
    [("No answer today.", "No answer today."), (replace(outlook(), missing=("rh_pct",)), "no")],
)
def test_without_weather_nothing_is_a_go(store, weather, why):
    """A reading alone does not see the coming hour."""
    made = onsite(store, weather)
    found = made.ask("T1", asked(panel_temp_c=18.0))
    assert found.word is Word.UNKNOWN
    assert why in found.why
    assert "do not take it for a go" in made.as_text(found)


def test_two_pack_indoors_is_not_judged(store):
    """Whatever the readings say."""
    found = onsite(store).ask("T1", asked(panel_temp_c=20.0, shelter=Cover.INDOORS))
    assert (found.word, found.judgement) == (Word.NOT_JUDGED, None)


def test_what_cannot_be_is_refused(store):
    """Another day, a job that is over, a lamp without power, a panel that is not there."""
    made = onsite(store)
    with pytest.raises(BookingError, match="T1 is on 2026-04-17, and today is 2026-04-18"):
        onsite(store, now=NOON + timedelta(days=1)).ask("T1", asked())
    with pytest.raises(BookingError, match="There is no job T9"):
        made.ask("T9", asked())
    with pytest.raises(InputError, match="panel: job T1 has 1; name one of them"):
        made.ask("T1", asked(panel=1))
    bookings = SqlBookings(store)
    bookings.add(job(ref="T2", site=replace(JOB.site, name="Bare", power=Power.NONE)), NOON)
    with pytest.raises(InputError, match=r"lamp: none can run at Bare: power none, lamp 1\.1 kW"):
        made.ask("T2", asked(lamp=True))
    bookings.add(job(ref="T3", process="gone"), NOON)
    with pytest.raises(BookingError, match="no usable process 'gone' for job T3"):
        made.ask("T3", asked())
    bookings.add(job(ref="T4", state=JobState.DONE), NOON)
    with pytest.raises(BookingError, match="T4 is done"):
        made.ask("T4", asked())


def test_what_is_typed_becomes_what_is_asked(store):
    """The form is read with the job's zone and panels; the answer is fit for a machine."""
    two = (Panel(Part.BONNET, Colour.RED), Panel(Part.ROOF, Colour.RED))
    SqlBookings(store).add(job(ref="T5", panels=two, arrive_from=time(9)), NOON)
    made = onsite(store)
    form = OnSiteForm(next="clear", panel="18,0 °C", part="roof", at="12:00", matt="now")
    typed = made.asked("T5", form)
    assert typed.reading.panel == 1
    assert typed.matt_at == NOON
    answer = made.ask("T5", typed)
    shown = made.as_json(answer)
    assert shown["reading"]["taken_at"] == "2026-04-17T12:00+01:00"
    assert shown["reading"]["panel"] == "roof"
    assert shown["verdict"] == answer.word.value
    assert made.told(answer).cautions
