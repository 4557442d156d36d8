"""What is told of a change: only what the painter must act on, in time, and no flicker."""

from dataclasses import replace
from datetime import timedelta
from types import MappingProxyType

import numpy as np
import pytest
from days import EVENING, KIT, climate_for, job, outlook, plan_for

from sprayadvisor.advice.base_on import is_on
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.change import LEAD, MARGIN, coat_ahead, crossing, notice
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.model import Cover, Kit
from sprayadvisor.advice.policy import DEFAULT_THRESHOLDS, Moment, Policy, Thresholds
from sprayadvisor.advice.rest import stage_times
from sprayadvisor.advice.said import (
    Kind,
    Notice,
    Report,
    Said,
    cause_of,
    said_by,
    said_of,
)
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.verdict import Word

GO, CARE, NO, UNKNOWN, NOT = (
    Word.GO,
    Word.CARE,
    Word.NO_GO,
    Word.UNKNOWN,
    Word.NOT_JUDGED,
)
LIMITS = DEFAULT_THRESHOLDS[Moment.MORNING]  # go .75, care .50
MINUTE = timedelta(minutes=1)
# One member is as sure as .75 at best: the thresholds before the clear come down to it.
POLICY = Policy(
    thresholds=MappingProxyType({**DEFAULT_THRESHOLDS, Moment.BEFORE_CLEAR: Thresholds(0.7, 0.5)})
)


def limiting(quantity="panel_temp_c", value=9.0, share=1.0, **bounds):
    """Return a limiting check."""
    bounds = bounds or {"inside_min": 15.0}
    check = Check(quantity, Origin("practice"), **bounds)
    return Limiting(check, 0, 0, value, -1.0, Level.INSIDE, share, 0)


def said(word, cause="", kind="morning", times=(), at=EVENING):
    """Return something that was said."""
    return Said(at, kind, word, cause, times)


def found(word, inside=np.nan, stop=np.nan, limit=None):
    """Return a bare judgement."""
    return Judgement(job(), word, likelihood=(inside, stop), limiting=limit)


@pytest.mark.parametrize(
    ("was", "word", "inside", "stop", "kind"),
    [
        # said go: it stands until inside falls to .65
        (GO, GO, 0.75, 0.9, None),
        (GO, CARE, 0.74, 0.9, None),
        (GO, CARE, 0.66, 0.9, None),
        (GO, CARE, 0.65, 0.9, Kind.WORSE),
        (GO, NO, 0.66, 0.49, None),
        (GO, NO, 0.30, 0.49, Kind.WORSE),
        (GO, UNKNOWN, 0.70, 0.8, None),
        (GO, UNKNOWN, 0.20, 0.4, Kind.WORSE),
        (GO, UNKNOWN, np.nan, np.nan, Kind.WORSE),
        # said care: it stands until the stop falls to .40; better than care is no news
        (CARE, NO, 0.1, 0.49, None),
        (CARE, NO, 0.1, 0.40, Kind.WORSE),
        (CARE, UNKNOWN, 0.1, 0.2, Kind.WORSE),
        (CARE, GO, 0.99, 0.99, None),
        # said no-go: it stands until the stop rises to .60; inside is never above it
        (NO, CARE, 0.2, 0.59, None),
        (NO, CARE, 0.2, 0.60, Kind.BETTER),
        (NO, GO, 0.9, 0.9, Kind.BETTER),
        (NO, UNKNOWN, np.nan, np.nan, None),
        (NO, NO, 0.0, 0.1, None),
        # said unknown: any answer that can be acted on is news
        (UNKNOWN, GO, 0.8, 0.8, Kind.BETTER),
        (UNKNOWN, CARE, 0.2, 0.6, Kind.BETTER),
        (UNKNOWN, NO, 0.2, 0.3, Kind.WORSE),
        (UNKNOWN, UNKNOWN, np.nan, np.nan, None),
        # weather is not the question
        (NOT, NOT, np.nan, np.nan, None),
        (NOT, GO, 0.9, 0.9, None),
        (GO, NOT, np.nan, np.nan, None),
        # nothing was said: it was booked to be done
        (None, NO, 0.2, 0.3, Kind.WORSE),
        (None, GO, 0.9, 0.9, None),
        (None, CARE, 0.2, 0.6, None),
        (None, UNKNOWN, np.nan, np.nan, None),
    ],
)
def test_a_word_counts_as_crossed_past_its_margin(was, word, inside, stop, kind):
    """Each pair of words, on both sides of the margin."""
    before = None if was is None else said(was)
    assert crossing(before, found(word, inside, stop), LIMITS) is kind


@pytest.mark.parametrize("word", [GO, CARE, NO])
@pytest.mark.parametrize("go", [0.5, 0.75, 0.98])
@pytest.mark.parametrize("care", [0.1, 0.45])
def test_no_thresholds_make_a_word_stand_for_ever(word, go, care):
    """However low or high the user sets them, certainty or its absence is told."""
    limits = Thresholds(go, care)
    least, most = 0.5 / 33, 32.5 / 33
    if word is NO:
        assert crossing(said(NO), found(CARE, least, most), limits) is Kind.BETTER
    else:
        assert crossing(said(word), found(NO, least, least), limits) is Kind.WORSE


def test_a_likelihood_that_hovers_is_told_once():
    """Up and down within the margin: one notice at most, whichever word was said last."""
    told, last = 0, said(GO)
    for inside in [0.76, 0.70, 0.76, 0.66, 0.74, 0.64, 0.70, 0.76, 0.70, 0.66] * 5:
        judged = found(GO if inside >= LIMITS.go else CARE, inside, 0.9)
        if crossing(last, judged, LIMITS):
            told, last = told + 1, said(judged.word)
    assert told == 1
    assert MARGIN == 0.10


RAIN = limiting("wet_hour_mm", 0.4, 0.6, stop_max=0.1)


@pytest.mark.parametrize(
    ("cause", "limit", "kind"),
    [
        ("cold or damp", RAIN, Kind.CAUSE),
        ("rain", RAIN, None),
        ("cold or damp", replace(RAIN, share=0.59), None),
        ("cold or damp", None, None),
    ],
)
def test_another_cause_of_a_care_is_news_if_it_is_the_main_one(cause, limit, kind):
    """Lamp or canopy: the painter brings other things."""
    judged = found(CARE, 0.3, 0.6, limit)
    assert crossing(said(CARE, cause), judged, LIMITS) is kind


def test_another_cause_of_a_no_go_is_no_news():
    """Who does not go needs no second reason."""
    assert crossing(said(NO, "cold or damp"), found(NO, 0.1, 0.1, RAIN), LIMITS) is None


@pytest.mark.parametrize(
    ("limit", "cause"),
    [
        (None, ""),
        (RAIN, "rain"),
        (limiting("gust_ms", 9.0, stop_max=8.0), "wind"),
        (limiting("lamp_temp_c", 50.0, stop_min=60.0), "wind"),
        (limiting("heating", np.nan), "wind"),
        (limiting("low_sun", 1.0, inside_max=0.5), "light"),
        (limiting("off_hours", 1.0, stop_max=0.5), "hours"),
        (limiting("forecast", np.nan), "forecast"),
        (limiting(), "cold or damp"),
        (limiting(value=41.0, inside_min=15.0, inside_max=35.0), "hot"),
        (limiting(value=12.0, inside_min=15.0, inside_max=35.0), "cold or damp"),
        (limiting("rh_pct", 90.0, inside_min=35.0, inside_max=80.0), "cold or damp"),
        (limiting("rh_pct", 30.0, inside_min=35.0, inside_max=80.0), "dry air"),
        (limiting("dew_margin_k", 1.0), "cold or damp"),
        (limiting("drying", np.nan), "cold or damp"),
    ],
)
def test_causes_are_named_by_what_is_done_about_them(limit, cause):
    """Two quantities with the same answer are one cause."""
    assert cause_of(limit) == cause


# --- the whole way, over a real plan and a real day ------------------------------------------


def judged(booking=None, now=EVENING, kit=KIT, **weather):
    """Return the usual job judged on a day of weather."""
    booking = booking or job()
    climate = climate_for(booking, outlook(**weather))
    plan = plan_for(booking, POLICY, kit)
    return judge(booking, plan, climate, POLICY, LIMITS, now)


FAIR = judged()
TIMES = stage_times(FAIR)
BRIEF = said_of(FAIR, "morning", EVENING)
PROCESS = [
    "look", "wash", "card", "prepare", "mask-primer", "primer", "primer-flash", "primer-lamp",
    "mask-paint", "primer-cool", "sand", "tack", "base", "base-flash", "blend", "blend-flash",
    "mix-clear", "clear", "clear-flash", "clear-lamp", "clear-cool", "pack", "unmask", "polish",
    "show",
]  # fmt: skip


def time_of(stage_id):
    """Return the times of one stage of the usual plan."""
    return next(time for time in TIMES if time.id == stage_id)


def report(stage, at):
    """Return what the painter says of where he is."""
    return Report(tuple(PROCESS[PROCESS.index(stage) :]), at)


def told(judgement, now, last=BRIEF, said_where=None):
    """Return the notice, if there is one."""
    return notice(judgement, last, said_where, POLICY, Moment.MORNING, now)


def rain_from(when, kit=KIT, now=EVENING):
    """Return the job judged on a day that is fair up to ``when`` and wet from there on."""
    dry = outlook()
    dry.wet_hour_mm[dry.minute_of(when) // 15 :] = 1.0
    booking = job()
    plan, climate = plan_for(booking, POLICY, kit), climate_for(booking, dry)
    return judge(booking, plan, climate, POLICY, LIMITS, now)


def test_the_same_weather_is_no_news():
    """Whenever one looks, before, during and after the job."""
    for minutes in range(-120, 400, 20):
        now = TIMES[0].begin + minutes * MINUTE
        assert told(judged(now=now), now) is None


def test_rain_before_the_job_is_told():
    """Before he has begun the arrival window is judged anew."""
    now = TIMES[0].begin - 60 * MINUTE
    news = told(judged(now=now, wet_hour_mm=1.0), now)
    assert (news.kind, news.found.word, news.was) == (Kind.WORSE, NO, BRIEF)
    assert news.made_at == now


def test_no_notice_within_three_quarters_of_an_hour_of_the_coat():
    """The hands are in gloves; what is further off is told."""
    coat = coat_ahead(TIMES, TIMES[0].begin)
    assert coat == time_of("base-1").begin
    wet = rain_from(time_of("clear-1").begin)
    assert told(wet, coat - LEAD).kind is Kind.WORSE
    assert told(wet, coat - LEAD + MINUTE) is None


def test_once_he_has_begun_what_is_left_is_judged():
    """The rest from here counts, not the arrival window."""
    now = time_of("prepare").begin
    news = told(rain_from(time_of("clear-1").begin), now)
    assert (news.kind, news.found.word) == (Kind.WORSE, NO)
    assert news.found.plan.stages[0].id == "prepare"
    assert news.times[0].begin - now < 15 * MINUTE


def test_the_coat_that_counts_is_the_one_without_return():
    """Else the next one, else none."""
    plain = tuple(replace(time, no_return=False) for time in TIMES)
    assert coat_ahead(plain, TIMES[0].begin) == time_of("promoter").begin
    assert coat_ahead(TIMES, time_of("base-2").begin) == time_of("base-2").begin
    assert coat_ahead(TIMES, TIMES[-1].end) is None


def test_better_is_told_while_it_can_still_be_used():
    """A no-go of the morning that turns fair, before its first coat."""
    no_go = said_of(judged(wet_hour_mm=1.0), "morning", EVENING)
    now = TIMES[0].begin - 90 * MINUTE
    news = told(judged(now=now), now, no_go)
    assert (news.kind, news.found.word) == (Kind.BETTER, GO)
    assert coat_ahead(news.times, now) is not None


def test_an_arrival_that_is_past_is_no_news():
    """Who was told not to go did not go."""
    no_go = said_of(judged(wet_hour_mm=1.0), "morning", EVENING)
    now = TIMES[0].begin + 240 * MINUTE
    late = judged(now=now)
    assert (late.word, late.play) == (UNKNOWN, None)
    assert told(late, now, no_go) is None


def test_no_weather_is_told_before_the_job_and_not_at_work():
    """Without weather a go stands on nothing; with paint in hand nothing can be done about it."""
    blind = Judgement(job(), UNKNOWN, "no answer")
    before = TIMES[0].begin - 60 * MINUTE
    news = told(blind, before)
    assert (news.kind, news.found.word) == (Kind.WORSE, UNKNOWN)
    assert news.times == TIMES  # the old plan is all there is
    assert told(blind, before, said_where=report("wash", before)) is None
    assert told(blind, time_of("base-1").begin) is None
    assert told(blind, before, replace(BRIEF, word=UNKNOWN)) is None


def test_no_weather_with_the_base_on_is_no_news_however_long_the_arrival_lasts():
    """An arrival agreed for the whole day does not make it early."""
    blind = Judgement(job(arrive_to=job().arrive_to.replace(hour=18)), UNKNOWN, "no answer")
    assert told(blind, TIMES[0].begin - 60 * MINUTE).kind is Kind.WORSE
    assert told(blind, time_of("clear-flash").begin) is None


def test_who_was_told_not_to_go_has_not_begun():
    """The arrival window is judged for him, not what would be left of a plan he dropped."""
    no_go = replace(BRIEF, word=NO)
    now = TIMES[0].begin + 10 * MINUTE
    fair = judged(now=now)
    news = told(fair, now, no_go)
    assert (news.kind, news.found) == (Kind.BETTER, fair)


def test_not_judged_is_never_news():
    """A garage stays a garage."""
    indoors = judged(job(site=replace(job().site, cover=Cover.INDOORS)))
    assert told(indoors, TIMES[0].begin, said_of(indoors, "morning", EVENING)) is None


@pytest.mark.parametrize(
    ("now", "is_so"),
    [
        (time_of("base-1").begin - MINUTE, False),
        (time_of("base-1").begin, True),
        (time_of("clear-lamp").end - MINUTE, True),
        (time_of("clear-lamp").end, False),
    ],
)
def test_the_base_is_on_from_its_first_coat_to_the_end_of_the_bake(now, is_so):
    """By the times of the plan that was told, to the minute."""
    assert is_on(BRIEF, None, now) is is_so


def test_who_was_told_not_to_go_has_no_base_on_unless_he_says_he_is_at_work():
    """A plan that was dropped has no times; a report without a plan is taken at its word."""
    now = time_of("base-1").begin
    assert not is_on(replace(BRIEF, word=NO), None, now)
    assert not is_on(None, None, now)
    assert is_on(replace(BRIEF, word=NO), report("base", now), now)


def test_a_report_moves_the_time_at_which_the_base_is_on():
    """Half an hour late at the base: not on by the plan, on by what he said."""
    late = time_of("base-1").begin + 30 * MINUTE
    said = report("base", late)
    assert not is_on(BRIEF, said, late - MINUTE)
    assert is_on(BRIEF, said, late)
    assert is_on(BRIEF, said, time_of("clear-lamp").end + 29 * MINUTE)
    assert not is_on(BRIEF, said, time_of("clear-lamp").end + 30 * MINUTE)


@pytest.mark.parametrize("stage", ["base-1", "base-flash", "blend", "blend-flash", "clear-2"])
def test_once_the_base_is_on_rain_means_cover(stage):
    """Whatever else is known, with wet paint only the cover helps."""
    now = time_of(stage).begin
    news = told(rain_from(time_of("clear-lamp").begin), now)
    assert news.kind is Kind.COVER
    assert news.times == TIMES


def test_rain_after_the_bake_is_no_news():
    """Baked paint can be rained on; the polish is another day."""
    wet = rain_from(time_of("clear-lamp").end + 75 * MINUTE)
    assert told(wet, time_of("clear-1").begin) is None
    now = time_of("clear-cool").begin + MINUTE
    assert told(rain_from(now), now) is None


def test_an_order_is_given_once():
    """It is not repeated hour by hour; another one may follow."""
    now = time_of("base-flash").begin
    news = told(rain_from(time_of("clear-lamp").begin), now)
    last = said_by(news)
    assert (last.kind, last.word, last.times) == ("cover", GO, TIMES)
    assert told(rain_from(time_of("clear-lamp").begin), now + 5 * MINUTE, last) is None
    assert told(rain_from(time_of("clear-lamp").begin), now + 5 * MINUTE).kind is Kind.COVER


def test_the_clear_goes_on_now_if_it_would_not_later():
    """Dry until the bake ends if he starts at once, and not half an hour later."""
    clear = time_of("clear-1")
    closing = rain_from(time_of("clear-lamp").end + 16 * MINUTE)
    assert told(closing, clear.begin).kind is Kind.CLEAR
    assert told(rain_from(clear.begin + 240 * MINUTE), clear.begin) is None


def test_the_clear_waits_for_the_base_to_flash():
    """With base still to be sprayed, or long to flash, nothing is said of the clear."""
    closing = rain_from(time_of("clear-lamp").end + 31 * MINUTE)
    assert told(closing, time_of("base-1").begin) is None
    far = tuple(
        replace(time, begin=time.begin + 40 * MINUTE) if time.id == "clear-1" else time
        for time in TIMES
    )
    now = time_of("blend-flash").begin
    news = told(closing, now, replace(BRIEF, times=far))
    assert news is None or news.kind is not Kind.CLEAR


def damp_from(when, kit=KIT, **weather):
    """Return the job judged on a day on which the air turns damp."""
    fog = outlook()
    step = fog.minute_of(when) // 15
    for name, value in ({"rh_pct": 99.0} | weather).items():
        fog[name][step:] = value
    booking = job()
    plan, climate = plan_for(booking, POLICY, kit), climate_for(booking, fog)
    return judge(booking, plan, climate, POLICY, LIMITS, EVENING)


def test_damp_before_the_clear_means_wait_for_the_lamp():
    """Clear on a damp panel blooms: warm it first."""
    now = time_of("blend-flash").begin
    assert told(damp_from(now), now).kind is Kind.LAMP


def test_damp_helps_nobody_without_a_lamp_or_with_the_clear_on():
    """Then there is nothing useful to say."""
    now = time_of("clear-2").end + 2 * MINUTE
    assert told(damp_from(now), now) is None
    kit = Kit(work_light=True)
    bare = judged(kit=kit)
    times = stage_times(bare)
    begin = next(time.begin for time in times if time.id == "blend-flash")
    last = said_of(bare, "morning", EVENING)
    assert told(damp_from(begin, kit), begin, replace(last, word=GO)) is None


@pytest.mark.parametrize("stage", ["clear-flash", "clear-lamp"])
def test_wind_at_the_lamp_means_wait_with_it(stage):
    """A stand that the gusts blow over waits until they drop."""
    now = time_of(stage).begin
    gusty = damp_from(now, rh_pct=62.0, gust_10m_ms=30.0)
    assert told(gusty, now).kind is Kind.LAMP


def test_wind_at_a_coat_is_no_news():
    """With the gun in hand he feels it himself, and nothing helps."""
    now = time_of("blend-flash").begin
    assert told(damp_from(now, rh_pct=62.0, wind_10m_ms=14.0), now) is None


def test_where_he_says_he_is_counts_more_than_the_plan():
    """The plan has him at the base; he says that he has only just begun to rub down."""
    now = time_of("base-1").begin
    wet = rain_from(time_of("clear-lamp").begin)
    assert told(wet, now).kind is Kind.COVER
    assert told(wet, now, said_where=report("prepare", now)).kind is Kind.WORSE
    early = time_of("wash").begin
    soaked = rain_from(early + 30 * MINUTE)
    assert told(soaked, early, said_where=report("base", early)).kind is Kind.COVER


def test_a_report_older_than_the_plan_is_in_the_plan_already():
    """What was told after he spoke was told from there."""
    now = time_of("base-1").begin
    old = report("look", now - 60 * MINUTE)
    wet = rain_from(time_of("clear-lamp").begin)
    assert told(wet, now, replace(BRIEF, at=now - 30 * MINUTE), old).kind is Kind.COVER


def test_a_report_counts_where_nothing_was_said():
    """Of a job that no brief told of, the painter's word is all there is."""
    now = time_of("base-flash").begin
    news = told(rain_from(time_of("clear-lamp").begin), now, None, report("base-flash", now))
    assert news.kind is Kind.COVER
    last = said_by(news)
    assert (last.word, last.times) == (CARE, ())


def test_a_report_of_a_stage_that_is_left_out_at_the_end_is_the_end():
    """Nothing is left of the plan, so nothing can be spoilt."""
    now = time_of("base-flash").begin
    wet = rain_from(now)
    assert told(wet, now, said_where=Report(("gone",), now)) is None


def test_a_report_ahead_of_the_clock_holds():
    """A clock that was set back since does not lose the painter."""
    now = time_of("look").begin - 240 * MINUTE
    ahead = report("base", now + 60 * MINUTE)
    assert told(rain_from(now + 600 * MINUTE), now, said_where=ahead) is None


def test_a_notice_becomes_the_last_thing_said():
    """A change of verdict is said with its word, its cause and its new times."""
    now = TIMES[0].begin - 60 * MINUTE
    news = told(judged(now=now, wet_hour_mm=1.0), now)
    last = said_by(news)
    assert (last.at, last.kind, last.word, last.cause) == (now, "worse", NO, "rain")
    assert isinstance(news, Notice)
    assert told(judged(now=now, wet_hour_mm=1.0), now, last) is None


def test_without_any_times_the_end_of_the_arrival_counts():
    """A notice is in time up to three quarters of an hour before it."""
    blind = Judgement(job(), UNKNOWN, "no answer")  # arrival until 11:00 local, 10:00 UTC
    bare = replace(BRIEF, times=())
    ends = EVENING.replace(day=17, hour=10, minute=0)
    assert told(blind, ends - LEAD, bare).kind is Kind.WORSE
    assert told(blind, ends - LEAD + MINUTE, bare) is None
