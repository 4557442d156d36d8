"""What would change a verdict: each remedy in turn the best, one that hurts, and no help at all."""

from dataclasses import replace
from datetime import date, time

import numpy as np
import pytest
from days import BUMPER, DAY, EVENING, KIT, SITE, catalogue, job, outlook

from sprayadvisor.advice import remedies as advice
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.hours import arrival_steps
from sprayadvisor.advice.judge import Odds, chain_of, judge, odds_of
from sprayadvisor.advice.members import draw, single
from sprayadvisor.advice.model import Colour, Cover, Kit, Panel, Part, Power
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.remedies import World, gain, remedies
from sprayadvisor.advice.setups import SAME_PLAN, Change, Setup, changes
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
BARE = replace(KIT, canopy=False)
BLACK_DOOR, WHITE_ROOF = Panel(Part.LEFT_DOOR, Colour.BLACK), Panel(Part.ROOF, Colour.WHITE)
# Hours that leave no other start than those agreed.
TIGHT = {
    "arrive_from": time(10, 30),
    "arrive_to": time(11, 0),
    "car_there_from": time(10, 30),
    "back_by": time(16, 0),
    "may_move": False,
}
HOT = {
    "ghi_wm2": lambda h: 850 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
    "dni_wm2": lambda h: np.where((h > 6) & (h < 20), 850.0, 0.0),
    "dhi_wm2": lambda h: 90 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
    "cloud_fraction": 0.0,
    "air_temp_c": 21.0,
    "rh_pct": 45.0,
    "wind_10m_ms": 3.0,
}
DULL = {"ghi_wm2": 60.0, "dhi_wm2": 60.0}
SHORT = Process.model_validate(
    {
        "id": "short",
        "name": "Primer only",
        "sheets": {"primer": "primer-2k-fast"},
        "stages": (
            {"id": "look", "name": "look", "kind": "hand", "minutes": 5},
            {
                "id": "primer",
                "name": "primer",
                "kind": "coat",
                "sheet": "primer",
                "coats": 2,
                "minutes_each": 2,
            },
            {
                "id": "flash",
                "name": "flash",
                "kind": "flash",
                "sheet": "primer",
                "until": "lamp",
            },
            {"id": "bake", "name": "bake", "kind": "lamp", "sheet": "primer"},
        ),
    }
)


def wet_between(first, last, mm=1.0, days=5):
    """Return (step,) rain of whole hours on every day, local hours of the site."""
    clock = (np.arange(days * 96) / 4 + 1) % 24
    return np.where((clock >= first) & (clock < last), mm, 0.0)


def wet_on(day, days=5):
    """Return (step,) rain all through one local day."""
    begins = (day - date(2026, 4, 15)).days * 96 - 4
    wet = np.zeros(days * 96)
    wet[begins : begins + 96] = 1.0
    return wet


def setup_of(booking, kit=KIT, process=None, **sheets):
    """Return how a job is done as booked; sheets by role may be others than the process names."""
    process = process or catalogue().processes[booking.process]
    if sheets:
        named = process.sheets | {role: sheet.id for role, sheet in sheets.items()}
        process = process.model_copy(update={"sheets": named})
    known = catalogue().sheets | {sheet.id: sheet for sheet in sheets.values()}
    return Setup(
        booking, kit, process, {role: known[name] for role, name in process.sheets.items()}
    )


def world_of(members, stock=None):
    """Return the world of an evening."""
    thresholds = POLICY.thresholds[Moment.EVENING]
    sheets = tuple(catalogue().sheets.values()) if stock is None else stock
    return World(members, None, sheets, POLICY, thresholds, EVENING)


def judged(setup, members, air=None):
    """Return the judgement as booked."""
    thresholds = POLICY.thresholds[Moment.EVENING]
    met = climate(members, setup.cases(members.starts_utc, 0), air)
    return judge(setup.job, setup.plan(POLICY), met, POLICY, thresholds, EVENING)


def helps(setup, weather, stock=None):
    """Return what helps in one weather, and the judgement as booked."""
    members = single(weather)
    found = judged(setup, members)
    return remedies(found, setup, world_of(members, stock)), found


STRICT_CLEAR = catalogue().sheets["clear-2k-quick"]
STRICT_CLEAR = STRICT_CLEAR.model_copy(
    update={
        "id": "clear-strict",
        "limits": STRICT_CLEAR.limits
        | {"rh_pct": STRICT_CLEAR.limits["rh_pct"].model_copy(update={"inside_max": 50.0})},
    }
)
WORLDS = {
    Change.EARLIER: (
        setup_of(job(arrive_from=time(12), arrive_to=time(12, 30)), BARE),
        {"wet_hour_mm": wet_between(13, 20)},
    ),
    Change.LATER: (
        setup_of(job(arrive_from=time(8, 30), arrive_to=time(9), may_move=False), BARE),
        {"wet_hour_mm": wet_between(0, 11)},
    ),
    Change.WIPE: (
        setup_of(job(panels=(WHITE_ROOF,), **(TIGHT | {"back_by": time(11, 40)})), BARE, SHORT),
        DULL
        | {
            "air_temp_c": 16.0,
            "rh_pct": lambda h: np.where(h < 9.0, 97.0, 65.0),
            "cloud_fraction": lambda h: np.where(h < 6.0, 0.0, 1.0),
            "wind_10m_ms": lambda h: np.where(h < 9.0, 0.5, 4.0),
        },
    ),
    Change.SHADE: (
        setup_of(job(panels=(BLACK_DOOR,), heading_deg=270.0, **TIGHT), BARE),
        HOT | {"air_temp_c": 17.0},
    ),
    Change.WIND_BREAK: (
        setup_of(job(**TIGHT), BARE),
        {"wind_10m_ms": 7.5, "gust_10m_ms": 9.0},
    ),
    Change.TURN: (
        setup_of(job(panels=(BLACK_DOOR, WHITE_ROOF), heading_deg=270.0, **TIGHT), BARE),
        HOT,
    ),
    Change.CANOPY: (setup_of(job(**TIGHT)), {"wet_hour_mm": 0.3}),
    Change.WARM_FIRST: (
        setup_of(job(panels=(BUMPER,), **TIGHT), BARE, SHORT),
        DULL | {"air_temp_c": 12.5, "rh_pct": 60.0},
    ),
    Change.LAMP: (
        setup_of(
            job(site=replace(SITE, power=Power.NONE), **(TIGHT | {"back_by": time(14, 30)})), BARE
        ),
        {"air_temp_c": 16.0, "rh_pct": 60.0},
    ),
    Change.OTHER_CLEAR: (
        setup_of(job(**TIGHT), BARE, clear=STRICT_CLEAR),
        {"rh_pct": 70.0},
    ),
    Change.HALF_AREA: (
        setup_of(job(repair_area_m2=0.7, **(TIGHT | {"back_by": time(14, 30)})), BARE),
        {},
    ),
    Change.OTHER_DAY: (setup_of(job(), BARE), {"wet_hour_mm": wet_on(DAY)}),
}


@pytest.mark.parametrize("change", list(Change))
def test_each_change_is_the_best_in_some_world(change):
    """In a world made for it, a change turns the verdict for the better, and stands first."""
    setup, weather = WORLDS[change]
    found, before = helps(setup, outlook(**weather))
    assert before.word in (Word.CARE, Word.NO_GO)
    assert found, change
    best = found[0]
    assert best.change is change
    assert best.word_before is before.word
    assert best.word_after in (Word.GO, Word.CARE)
    assert best.p_before == before.likelihood[best.level]
    assert best.p_after >= best.p_before + advice.LEAST_GAIN
    assert best.before != best.after


def test_where_nothing_helps_nothing_is_told():
    """A storm on every day is a no that no canopy, van or hour changes."""
    setup = setup_of(job())
    found, before = helps(
        setup, outlook(wind_10m_ms=25.0, gust_10m_ms=40.0, wet_hour_mm=6.0, rain_mm=1.5)
    )
    assert before.word is Word.NO_GO
    assert found == ()


def test_what_hurts_is_not_told():
    """Sun warms a dark door else too cold: shade, and turning it away, would make it worse."""
    sun = {name: HOT[name] for name in ("ghi_wm2", "dni_wm2", "dhi_wm2")}
    weak = {name: lambda h, full=full: 0.7 * full(h) for name, full in sun.items()}
    cold_sun = HOT | weak | {"air_temp_c": 4.0, "wind_10m_ms": 5.0, "gust_10m_ms": 8.0}
    setup = setup_of(job(panels=(BLACK_DOOR,), heading_deg=270.0, **TIGHT), BARE)
    found, before = helps(setup, outlook(**cold_sun))
    assert before.word is Word.CARE
    assert not {one.change for one in found} & {Change.SHADE, Change.TURN}
    members = single(outlook(**cold_sun))
    turned = replace(setup, job=replace(setup.job, heading_deg=90.0))
    for worse in (replace(setup, cover=Cover.SHADE), turned):
        assert judged(worse, members).word is Word.NO_GO


def test_another_day_is_a_later_one_and_only_for_who_may_move():
    """A fixed job gets none, and nobody is told to have been there the day before."""
    later = job(day=date(2026, 4, 18))
    wet = {"wet_hour_mm": wet_on(later.day)}
    movable, before = helps(setup_of(later, BARE), outlook(**wet))
    assert before.word is Word.NO_GO
    days = {before.at(window.best * 15).date() for window in before.windows}
    assert min(days) < later.day < max(days)
    moved = [one for one in movable if one.change is Change.OTHER_DAY]
    assert [one.start.date() > later.day for one in moved] == [True]
    fixed, _ = helps(setup_of(replace(later, may_move=False), BARE), outlook(**wet))
    assert Change.OTHER_DAY not in {one.change for one in fixed}


def test_go_and_what_no_weather_decided_have_no_remedy():
    """Nothing is to be changed about a go, an indoor job or one whose time is past."""
    go, found = helps(setup_of(job()), outlook())
    assert (go, found.word) == ((), Word.GO)
    indoors = setup_of(job(site=replace(SITE, cover=Cover.INDOORS)))
    assert helps(indoors, outlook())[0] == ()
    assert helps(setup_of(job(day=date(2026, 4, 14))), outlook())[0] == ()


@pytest.mark.parametrize(
    ("setup", "never"),
    [
        (setup_of(job(), BARE), {Change.CANOPY, Change.LAMP}),
        (setup_of(job(), Kit()), {Change.CANOPY, Change.LAMP, Change.WARM_FIRST}),
        (setup_of(job(site=replace(SITE, cover=Cover.CANOPY))), {Change.CANOPY, Change.SHADE}),
        (setup_of(job(site=replace(SITE, cover=Cover.TREES))), {Change.SHADE}),
        (setup_of(job(panels=(WHITE_ROOF,))), {Change.SHADE}),
        (
            setup_of(job(site=replace(SITE, cover=Cover.INDOORS))),
            {Change.TURN, Change.WIPE, Change.WIND_BREAK, Change.SHADE, Change.CANOPY},
        ),
        (
            setup_of(job(site=replace(SITE, power=Power.NONE)), replace(KIT, lamp_kw=3.5)),
            {Change.LAMP},
        ),
    ],
)
def test_only_what_can_be_done_is_tried(setup, never):
    """No canopy without one in the van, no lamp without a lamp that a socket bears, and so on."""
    tried = {one.change for one in changes(setup, tuple(setup.sheets.values()), "base")}
    assert Change.HALF_AREA in tried
    assert not tried & never


def test_a_house_that_shades_at_other_hours_is_no_shade_for_a_roof():
    """Its hours are in the forecast of the panel; the van throws none on a roof."""
    shady = replace(SITE, shade_before=time(9), shade_after=time(18))
    for panel, can in ((WHITE_ROOF, False), (BLACK_DOOR, True)):
        setup = setup_of(job(site=shady, panels=(panel,)))
        assert (Change.SHADE in {one.change for one in changes(setup, (), None)}) is can
    assert Change.OTHER_CLEAR not in {one.change for one in changes(setup, (), None)}


def test_where_nobody_said_which_way_it_stands_the_worst_counts_and_the_best_helps():
    """A black door in the sun: as likely as facing it, and told which way to put the car."""
    weather = outlook(**HOT)
    unsaid = setup_of(job(panels=(BLACK_DOOR,), heading_deg=None, **TIGHT), BARE)
    found, before = helps(unsaid, weather)
    said = {
        way: helps(replace(unsaid, job=replace(unsaid.job, heading_deg=way)), weather)[1]
        for way in (0.0, 90.0, 180.0, 270.0)
    }
    assert before.likelihood == min(one.likelihood for one in said.values())
    assert before.word is Word.NO_GO
    turns = [one for one in found if one.change is Change.TURN]
    assert [(one.before, one.word_after) for one in turns] == [(None, Word.GO)]
    assert said[turns[0].after].word is Word.GO
    assert before.climate.n_cases == 4
    roof = setup_of(job(panels=(WHITE_ROOF,), heading_deg=None))
    assert helps(roof, weather)[1].climate.n_cases == 1


@pytest.mark.parametrize("cover", [Cover.OPEN_SKY, Cover.TREES, Cover.CANOPY])
def test_another_place_for_car_or_van_leaves_the_plan_as_it_is(cover):
    """What is not compiled again would come out the same."""
    setup = setup_of(job(site=replace(SITE, cover=cover)))
    booked = setup.plan(POLICY)
    tried = {one.change: one.setup.plan(POLICY) for one in changes(setup, (), None)}
    same = SAME_PLAN & set(tried)
    assert len(same) >= 3
    assert all(tried[change] == booked for change in same)
    assert Change.CANOPY not in tried or tried[Change.CANOPY] != booked


def test_a_clear_that_the_process_cannot_be_done_with_is_not_tried():
    """Another clear that wants more coats than the process sprays is no way out."""
    clear = catalogue().sheets["clear-2k-quick"]
    thick = clear.model_copy(
        update={"id": "thick", "coats": clear.coats.model_copy(update={"least": 3, "most": 4})}
    )
    tried = [one.change for one in changes(setup_of(job()), (clear, thick), None)]
    assert Change.OTHER_CLEAR not in tried


def test_no_metal_is_warmed_while_paint_on_it_is_wet():
    """Between base and clear nothing is warmed, and nothing that has no lower bound is."""
    warmed = [
        one for one in changes(setup_of(job()), (), "clear") if one.change is Change.WARM_FIRST
    ]
    assert warmed == []
    primer = catalogue().sheets["primer-2k-fast"]
    free = primer.model_copy(update={"limits": {}})
    setup = replace(setup_of(job(), KIT, SHORT), sheets={"primer": free})
    assert Change.WARM_FIRST not in {one.change for one in changes(setup, (), "primer")}


def odds(word, inside, stop):
    """Return odds at no particular start."""
    return Odds(word, (inside, stop), 0)


NAN = float("nan")


@pytest.mark.parametrize(
    ("before", "after", "level"),
    [
        (odds(Word.NO_GO, 0.1, 0.3), odds(Word.GO, 0.8, 0.9), Level.INSIDE),
        (odds(Word.NO_GO, 0.1, 0.3), odds(Word.CARE, 0.2, 0.6), Level.STOP),
        (odds(Word.NO_GO, 0.1, 0.1), odds(Word.NO_GO, 0.1, 0.4), None),
        (odds(Word.UNKNOWN, 0.1, 0.1), odds(Word.CARE, 0.1, 0.5), Level.STOP),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.CARE, 0.1, 0.7), Level.STOP),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.CARE, 0.4, 0.6), Level.INSIDE),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.CARE, 0.12, 0.62), None),
        (odds(Word.CARE, 0.4, 0.6), odds(Word.CARE, 0.3, 0.8), None),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.NO_GO, 0.5, 0.4), None),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.CARE, NAN, 0.9), Level.STOP),
        (odds(Word.CARE, 0.1, 0.6), odds(Word.CARE, NAN, 0.6), None),
    ],
)
def test_better_means_a_better_word_or_clearly_likelier(before, after, level):
    """It must lead to go or care, by a better word or one likelihood up and the other not down."""
    assert gain(before, after) is level


def test_a_remedy_is_judged_in_the_weather_the_job_was_judged_in():
    """As booked, the part of the weather that remedies are played in gives the same odds."""
    weather = outlook(wind_10m_ms=6.0, gust_10m_ms=9.0, rain_probability_pct=15.0)
    setup = setup_of(job(panels=(BUMPER, WHITE_ROOF)))
    members = draw(weather, 16, seed=3, origin=weather.provenance.fetched_at)
    found, world = judged(setup, members), world_of(members)
    part, agreed = advice._around_the_day(found, world)
    np.testing.assert_array_equal(agreed, arrival_steps(part.starts_utc, setup.job, EVENING))
    met = climate(part, setup.cases(part.starts_utc, 0))
    chain = chain_of(setup.job, setup.plan(POLICY), met, POLICY, agreed)
    again = odds_of(chain.status(agreed), agreed, met.n_cases, world.thresholds)
    assert 0.1 < found.likelihood[1] < 0.9
    assert (again.word, again.likelihood) == (found.word, found.likelihood)


def test_changes_of_the_plan_alone_share_a_climate_and_give_what_each_gives_alone():
    """A smaller area and another clear are judged in one go as they are one by one."""
    setup = setup_of(job(repair_area_m2=0.5, **TIGHT), BARE, clear=STRICT_CLEAR)
    found, before = helps(setup, outlook(rh_pct=70.0))
    assert before.word is Word.CARE
    told = {one.change: one for one in found}
    assert Change.OTHER_CLEAR in told
    members = single(outlook(rh_pct=70.0))
    for one in changes(setup, tuple(catalogue().sheets.values()), None):
        alone = judged(one.setup, members)
        if one.change in told:
            assert told[one.change].word_after is alone.word
            assert told[one.change].p_after == alone.likelihood[told[one.change].level]


def test_indoors_with_nothing_to_change_nothing_is_judged_again():
    """One-pack paint indoors is judged; nothing there is a matter of wind, sun or the van."""
    setup = setup_of(job(site=replace(SITE, cover=Cover.INDOORS), **TIGHT), BARE, SHORT)
    primer = setup.sheets["primer"].model_copy(update={"two_pack": False})
    found, before = helps(replace(setup, sheets={"primer": primer}), outlook(rh_pct=96.0))
    assert (found, before.word) == ((), Word.NO_GO)


def test_a_canopy_takes_rain_away_and_nothing_else_of_the_weather():
    """Air, humidity and wind under it are those of the open; its rain is never more.

    With all else as in the open, its rain lets no start fit that would not fit on a dry day, and
    spoils none that fits in the open.
    """
    rain = np.where(np.arange(5 * 96) % 11 < 4, 0.4, 0.0)
    weather = outlook(wet_hour_mm=rain, rain_probability_pct=40.0, wind_10m_ms=6.0)
    members = draw(weather, 8, seed=2, origin=weather.provenance.fetched_at)
    booked = setup_of(job())
    met = climate(members, booked.cases(members.starts_utc, 0))
    under = climate(members, replace(booked, cover=Cover.CANOPY).cases(members.starts_utc, 0))
    kept = ("air_temp_c", "rh_pct", "dew_point_c", "wind_ms", "gust_ms", "gust_sustained_ms")
    for quantity in (*kept, "downwind"):
        np.testing.assert_array_equal(under[quantity], met[quantity])
    assert (under["wet_hour_mm"] <= met["wet_hour_mm"]).all()
    assert (under["wet_hour_mm"] < met["wet_hour_mm"]).any()

    def status(wet):
        values = met.values | {"wet_hour_mm": wet}
        here = replace(met, values=values)
        steps = np.arange(2 * 96, 3 * 96)
        return chain_of(booked.job, booked.plan(POLICY), here, POLICY, steps).status(steps)

    in_open, sheltered, dry = (
        status(wet) for wet in (met["wet_hour_mm"], under["wet_hour_mm"], 0.0 * met["wet_hour_mm"])
    )
    assert (in_open <= sheltered).all()
    assert (sheltered <= dry).all()
    assert (in_open < sheltered).any()
