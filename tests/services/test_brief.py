"""The brief of a day, made with small stand-ins for bookings and weather."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from days import DAY, EVENING, KIT, SITE, ZONE, catalogue, job, outlook

from sprayadvisor.adapters.sheet_files import Catalogue
from sprayadvisor.advice.diary import held_up, kept_apart
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.outlook import AirQuality, Provenance
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import Fault, StoreError
from sprayadvisor.render.text import brief_text
from sprayadvisor.services import brief as brief_module
from sprayadvisor.services.brief import Briefs
from sprayadvisor.services.weather import SiteWeather, place_key
from sprayadvisor.units import Display

FAR = replace(SITE, name="Far", latitude=53.6)


class Jobs:
    """Bookings in a list."""

    def __init__(self, *jobs, error=None):
        self.jobs, self.error = jobs, error

    def list(self, first_day=None, last_day=None):
        if self.error:
            raise self.error
        return tuple(job for job in self.jobs if first_day <= job.day <= last_day)


class Skies:
    """Weather by latitude; a string is the reason for none."""

    def __init__(self, **by_name):
        self.by_name, self.asked = by_name, []

    def for_sites(self, sites, _policy):
        self.asked += [site.name for site in sites]
        found = {}
        for site in sites:
            has = self.by_name.get(site.name.split()[0].lower(), outlook())
            is_reason = isinstance(has, str)
            found[place_key(site)] = SiteWeather(None, has) if is_reason else SiteWeather(has)
        return found


def briefs(jobs, skies=None, **changes):
    """Return a brief maker."""
    usual = {
        "jobs": jobs,
        "weather": skies or Skies(),
        "catalogue": catalogue(),
        "policy": Policy(),
        "kit": KIT,
        "business": "Curlew Strand",
        "base": SITE,
        "zone": ZONE,
        "now": lambda: EVENING,
    }
    return Briefs(**(usual | changes))


def words(made):
    """Return the verdicts by reference."""
    return {entry.judgement.job.ref: entry.judgement.word for entry in made.entries}


def test_only_the_jobs_of_the_day_are_told_in_order():
    """Another day's job is left out, the others stand by arrival."""
    late = job(ref="L", arrive_from=time(14), arrive_to=time(15))
    other = job(ref="X", day=date(2026, 4, 18))
    made = briefs(Jobs(late, other, job(ref="E"))).make(DAY, Moment.EVENING)
    assert [entry.judgement.job.ref for entry in made.entries] == ["E", "L"]
    assert (made.day, made.moment, made.made_at) == (DAY, Moment.EVENING, EVENING)
    assert made.sources == ("invented",)


def test_a_day_without_jobs_is_a_brief_too():
    """Nothing booked is said, not failed on."""
    made = briefs(Jobs()).make(DAY, Moment.MORNING)
    assert made.entries == ()
    assert made.first_coat is None


def test_a_place_without_weather_spoils_no_other():
    """The job there is unknown with the reason; the others are judged; the problem is named."""
    jobs = Jobs(job(ref="A"), job(ref="B", site=FAR))
    made = briefs(jobs, Skies(far="No answer.")).make(DAY, Moment.EVENING)
    assert words(made) == {"A": Word.GO, "B": Word.UNKNOWN}
    assert made.entries[1].judgement.why == "No answer."
    assert made.weather_problems == ("B: No answer.",)


def test_a_forecast_that_lacks_a_quantity_judges_nothing():
    """What is missing is named."""
    lacking = replace(outlook(cloud_fraction=np.nan), missing=("cloud_fraction",))
    made = briefs(Jobs(job()), Skies(hazel=lacking)).make(DAY, Moment.EVENING)
    assert words(made) == {"T1": Word.UNKNOWN}
    assert made.entries[0].judgement.why == "the forecast gives no cloud here"


def test_what_cannot_be_true_is_told_where_a_job_is_unknown_for_it():
    """The reader sees what is left out and why; a job that is known needs no such words."""
    doubt = "humidity 2026-04-17 09:00 UTC: 104 is above 100 (1 hour)"
    told = f"T1: The forecast holds what cannot be true. Left out: {doubt}."
    for wet, expected in ((np.nan, (told,)), (74.0, ())):
        doubtful = replace(outlook(rh_pct=wet), suspect=(doubt,))
        made = briefs(Jobs(job()), Skies(hazel=doubtful)).make(DAY, Moment.EVENING)
        assert made.weather_problems == expected


def test_an_unknown_process_spoils_only_its_job():
    """A process that is gone or broken is named with the job."""
    jobs = Jobs(job(ref="A"), job(ref="B", process="gone"))
    made = briefs(jobs).make(DAY, Moment.EVENING)
    assert words(made) == {"A": Word.GO, "B": Word.UNKNOWN}
    assert "“gone”" in made.entries[1].judgement.why


def test_faults_of_sheets_are_told_in_the_brief():
    """A broken file is named, whoever uses it."""
    fault = Fault("x.toml", "coats", "is missing", "add it")
    broken = Catalogue(catalogue().sheets, catalogue().processes, (fault,))
    made = briefs(Jobs(job()), catalogue=broken).make(DAY, Moment.EVENING)
    assert made.faults == ("x.toml: coats: is missing; add it.",)


def test_jobs_of_one_place_are_judged_as_if_alone():
    """Sharing a climate changes nothing."""
    one = job(ref="A")
    two = job(ref="B", panels=(replace(one.panels[0], colour="black"),))
    alone = briefs(Jobs(two)).make(DAY, Moment.EVENING).entries[0]
    together = briefs(Jobs(one, two)).make(DAY, Moment.EVENING).entries[1]
    assert together.judgement.limiting == alone.judgement.limiting
    assert together.coats == alone.coats
    assert together.windows == alone.windows


def test_the_van_at_the_base_is_told():
    """Evening: the night before the day; morning: the one after it; or that neither is known."""
    cold = np.full(5 * 96, 10.0)
    cold[2 * 96 + 8 : 2 * 96 + 20] = 0.0  # before dawn of the day
    skies = Skies(hazel=outlook(air_temp_c=cold))
    evening = briefs(Jobs(), skies).make(DAY, Moment.EVENING).van
    morning = briefs(Jobs(), skies).make(DAY, Moment.MORNING).van
    assert evening.low_c < 4.0
    assert morning.low_c > 9.0
    assert evening.high_c == morning.high_c > 10.0
    assert np.isnan(briefs(Jobs(), base=None).make(DAY, Moment.EVENING).van).all()
    none = briefs(Jobs(), Skies(hazel="No answer.")).make(DAY, Moment.EVENING)
    assert np.isnan(none.van).all()


def test_air_quality_reaches_the_levels_and_its_absence_is_told():
    """Pollen of the place is told with the job; without it the job is judged all the same."""
    begin = np.datetime64("2026-04-15T00:00:00", "s")
    hours = begin + np.arange(120) * np.timedelta64(3600, "s")
    plants = ("alder", "birch", "grass", "mugwort", "olive", "ragweed")
    values = {f"{plant}_pollen_m3": np.full(120, 100.0) for plant in plants}
    air = AirQuality(hours, values | {"pm10_ugm3": np.full(120, 9.0)}, Provenance("x", EVENING))
    key = place_key(SITE)

    class Both(Skies):
        def for_sites(self, _sites, _policy):
            return {key: SiteWeather(outlook(), air=air)}

    class Lost(Skies):
        def for_sites(self, _sites, _policy):
            return {key: SiteWeather(outlook(), air_problem="No answer about the air.")}

    made = briefs(Jobs(job(ref="P")), Both()).make(DAY, Moment.EVENING)
    levels = {one.hazard: one.level for one in made.entries[0].air}
    assert (levels["pollen"], levels["pm10"]) == (2.0, 0.0)
    assert words(made) == {"P": Word.CARE}
    assert made.air_problems == ()
    lost = briefs(Jobs(job(ref="P")), Lost()).make(DAY, Moment.EVENING)
    levels = {one.hazard: one.level for one in lost.entries[0].air}
    assert np.isnan([levels["pollen"], levels["pm10"]]).all()
    assert words(lost) == words(briefs(Jobs(job(ref="P"))).make(DAY, Moment.EVENING))
    assert lost.air_problems == ("P: No answer about the air.",)
    assert lost.weather_problems == ()


def test_bookings_that_cannot_be_read_are_an_error():
    """There is no brief without bookings."""
    jobs = Jobs(error=StoreError("the database is locked"))
    with pytest.raises(StoreError, match="locked"):
        briefs(jobs).make(DAY, Moment.EVENING)


def test_two_pack_indoors_is_not_judged():
    """A garage is another question than weather."""
    indoors = replace(SITE, cover="indoors")
    made = briefs(Jobs(job(site=indoors))).make(DAY, Moment.EVENING)
    assert words(made) == {"T1": Word.NOT_JUDGED}


def test_what_would_change_it_is_told_of_a_doubtful_job_only():
    """In a fine rain the canopy in the van is told; a go has nothing to change."""
    drizzle = outlook(wet_hour_mm=0.3, rain_mm=0.075, rain_probability_pct=100.0)
    jobs = Jobs(job(ref="WET", site=FAR), job(ref="DRY"))
    made = briefs(jobs, Skies(far=drizzle)).make(DAY, Moment.EVENING)
    found = {entry.judgement.job.ref: entry for entry in made.entries}
    assert found["DRY"].judgement.word is Word.GO
    assert found["DRY"].remedies == ()
    assert found["WET"].judgement.word is Word.NO_GO
    assert "canopy" in [one.change.value for one in found["WET"].remedies]
    bare = briefs(jobs, Skies(far=drizzle), kit=replace(KIT, canopy=False))
    told = {e.judgement.job.ref: e for e in bare.make(DAY, Moment.EVENING).entries}["WET"]
    assert "canopy" not in [one.change.value for one in told.remedies]


def test_the_odds_come_from_an_ensemble_where_there_is_one():
    """Its runs are the members; where it could not be had the brief says so and draws them."""
    skies = Skies()
    runs = tuple(outlook(air_temp_c=12.0 + number / 4) for number in range(12))
    given = {"runs": runs, "runs_problem": ""}
    found = skies.for_sites
    skies.for_sites = lambda sites, policy: {
        key: replace(weather, **given) for key, weather in found(sites, policy).items()
    }
    made = briefs(Jobs(job()), skies).make(DAY, Moment.EVENING)
    (entry,) = made.entries
    assert (made.runs, entry.judgement.climate.n_members) == (12, 12)
    assert "12 runs of an ensemble" in brief_text(made, Display())
    given.update(runs=(), runs_problem="The ensemble service is away.")
    drawn = briefs(Jobs(job()), skies).make(DAY, Moment.EVENING)
    assert (drawn.runs, drawn.entries[0].judgement.climate.n_members) == (0, 32)
    assert drawn.odds_problems == ("T1: The ensemble service is away.",)
    assert "Odds, T1: The ensemble service is away." in brief_text(drawn, Display())
    assert drawn.weather_problems == ()


def test_a_customer_is_told_beforehand_in_the_evening_only():
    """A likelihood that does for care but not for go gives a heads-up tonight, none at seven."""
    gusty = outlook(wind_10m_ms=8.6, gust_10m_ms=10.0)
    maker = briefs(Jobs(job(ref="GUST", process="door-scuff")), Skies(hazel=gusty))
    made = maker.make(DAY, Moment.EVENING)
    (entry,) = made.entries
    assert entry.judgement.word is Word.CARE
    assert 0.45 <= entry.judgement.likelihood[1] < 0.70
    assert made.heads_up == ("GUST",)
    assert maker.make(DAY, Moment.MORNING).heads_up == ()


def test_no_slot_is_offered_that_another_job_needs():
    """Rain on the day, and the next morning is booked: the slot lies behind that job."""
    wet = outlook()
    wet.wet_hour_mm[2 * 96 : 3 * 96] = 2.0
    wet.values["rain_probability_pct"][:] = 0.0
    morning = job(ref="B1", day=DAY + timedelta(days=1), arrive_from=time(9), arrive_to=time(9, 30))

    def first_offered(*jobs):
        made = briefs(Jobs(*jobs), Skies(hazel=wet)).make(DAY, Moment.EVENING)
        return next(slot for offer in made.ring for slot in offer.slots)

    alone, beside = first_offered(job()), first_offered(job(), morning)
    assert alone.best.date() == morning.day
    ends = local_time(morning.day, time(9), ZONE) + timedelta(hours=3)
    assert alone.best < ends < beside.first


def test_a_job_is_judged_from_when_the_painter_can_be_there():
    """The second of two begins no sooner than the first is done and the van has driven over."""
    second = job(ref="T2", arrive_from=time(12), arrive_to=time(18), back_by=None)
    alone = briefs(Jobs(second)).make(DAY, Moment.EVENING).entries[0]
    first, after = briefs(Jobs(second, job())).make(DAY, Moment.EVENING).entries
    assert (first.judgement.job.ref, first.there_from) == ("T1", None)
    assert alone.judgement.best_start < after.there_from <= after.judgement.best_start
    text = " ".join(
        brief_text(briefs(Jobs(second, job())).make(DAY, Moment.EVENING), Display()).split()
    )
    assert "You can be there from 1" in text


def test_a_start_that_cannot_be_made_is_no_go_word():
    """Agreed for noon while the first job runs on: care, and ring; a no-go stays one."""
    soon = job(ref="T2", arrive_from=time(11, 30), arrive_to=time(12), back_by=None)
    alone = briefs(Jobs(soon)).make(DAY, Moment.EVENING).entries[0]
    _, late = briefs(Jobs(job(), soon)).make(DAY, Moment.EVENING).entries
    assert alone.judgement.word is Word.GO
    assert late.judgement.word is Word.CARE
    assert late.judgement.reserved[0].startswith("you cannot be there before 1")
    assert late.there_from > late.judgement.best_start
    no = replace(late, judgement=replace(late.judgement, word=Word.NO_GO))
    again = held_up(no, EVENING, in_time=False)
    assert (again.judgement.word, again.there_from) == (Word.NO_GO, EVENING)


def test_a_job_that_must_move_anyway_is_in_nobodys_way(monkeypatch):
    """What is a no-go that day is not counted as booked; one whose process is gone is."""
    wet = outlook()
    wet.wet_hour_mm[2 * 96 : 3 * 96] = 2.0
    wet.values["rain_probability_pct"][:] = 0.0
    seen = []

    def spy(entry, others):
        seen.append({busy.ref for busy in others})
        return kept_apart(entry, others)

    monkeypatch.setattr(brief_module, "kept_apart", spy)
    gone = job(ref="G1", day=DAY + timedelta(days=1), process="gone")
    jobs = Jobs(job(ref="A1"), job(ref="F1", site=FAR), gone)
    briefs(jobs, Skies(hazel=wet, far=outlook())).make(DAY, Moment.EVENING)
    assert seen == [{"F1", "G1"}, {"F1", "G1"}]


def test_a_job_that_does_not_fit_is_offered_in_two_visits():
    """Rain from noon on: primed on the day, painted on the next; a job that fits gets no offer."""
    rainy = outlook()
    afternoon = slice(2 * 96 + 11 * 4, 3 * 96)
    rainy.wet_hour_mm[afternoon] = rainy.values["rain_mm"][afternoon] = 1.0
    rainy.values["rain_probability_pct"][:] = 0.0
    rainy.values["rain_probability_pct"][afternoon] = 99.0
    made = briefs(Jobs(job()), Skies(hazel=rainy)).make(DAY, Moment.EVENING)
    found = made.entries[0].two_visits
    assert found.after == "sand the primer"
    assert "In two visits: Fri 17 Apr" in " ".join(brief_text(made, Display()).split())
    fine = briefs(Jobs(job()), Skies(hazel=outlook())).make(DAY, Moment.EVENING)
    assert fine.entries[0].two_visits is None
