"""How long the play takes, tables and all; run with ``pytest tests/benchmarks``.

Nothing here asserts a time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, time

import numpy as np
import pytest
from days import EVENING, KIT, SITE, catalogue, job, outlook, plan_for
from play_parts import HERE, flash, hand, plan_of

from sprayadvisor.adapters.sheet_files import load_catalogue
from sprayadvisor.advice.case import cases_of
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import QUANTITY_WORDS, Check, Level
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.hours import coming_steps
from sprayadvisor.advice.job_climates import Group, job_climates
from sprayadvisor.advice.judge import chain_of, judge
from sprayadvisor.advice.members import draw
from sprayadvisor.advice.model import Colour, Job, Kit, Material, Panel, Part, Site
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.advice.play import FIT, Status
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.rates import clock_rate
from sprayadvisor.advice.remedies import World, remedies
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.tables import Tables
from sprayadvisor.advice.warmth import lamp_quantities
from sprayadvisor.science import sun_track
from sprayadvisor.shipped import shipped

pytest.importorskip("pytest_benchmark")

MEMBERS, STARTS, STEPS = 32, 672, 872
KITS = {
    "lamp": Kit(lamp_kw=1.1, lamp_area_m2=0.4, compressor_kw=1.1, work_light=True),
    "no lamp": Kit(),
}


def weather() -> dict[str, np.ndarray]:
    """Return nine days of changeable weather, invented."""
    rng = np.random.default_rng(1)
    day = np.sin(np.arange(STEPS) / 96 * 2 * np.pi - 1.5)

    def about(mean: np.ndarray | float, spread: float) -> np.ndarray:
        return mean + 0.2 * np.cumsum(rng.normal(0.0, spread, (MEMBERS, STEPS)), axis=1)

    light = np.maximum(20000.0 * day, 0.0)[np.newaxis]
    return {name: np.zeros((1, STEPS)) for name in QUANTITY_WORDS} | {
        "panel_temp_c": about(14.0 + 8.0 * day, 0.3),
        "air_temp_c": about(13.0 + 5.0 * day, 0.3),
        "rh_pct": about(70.0 - 12.0 * day, 0.5),
        "dew_margin_k": about(5.0 + 4.0 * day, 0.2),
        "wind_ms": np.abs(about(2.0, 0.3)),
        "gust_ms": np.abs(about(4.0, 0.3)),
        "gust_sustained_ms": np.abs(about(3.0, 0.3)),
        "wet_hour_mm": np.where(rng.random((MEMBERS, STEPS)) < 0.02, 1.0, 0.0),
        "light_lx": light,
        "diffuse_lx": 0.5 * light,
    }


def shipped_plan(kit: str) -> Plan:
    """Return the shipped bumper corner for a kit."""
    catalogue = load_catalogue([shipped("config/sheets")], [shipped("config/processes")])
    process = catalogue.processes["bumper-corner"]
    panel = Panel(Part.FRONT_BUMPER, Colour.BLACK, Material.PLASTIC)
    site = Site("yard", 53.0, -9.0, "Europe/Dublin")
    job = Job("J", site, (panel,), process.id, date(2026, 4, 18), time(8), time(10))
    return compile_plan(process, catalogue.sheets_of(process), job, KITS[kit], Policy())


def fourteen_stages() -> Plan:
    """Return a plan of 14 stages, 5 blocks and 47 spans."""
    blocks = [
        [hand(15), hand(20)],
        [hand(5), flash(10), hand(2), flash(15)],
        [hand(10)],
        [hand(2), flash(5), hand(2), flash(15), hand(3), flash(20)],
        [hand(15)],
    ]
    bounds = {
        "panel_temp_c": (12.0, 30.0, 6.0, 35.0),
        "rh_pct": (None, 80.0, None, 90.0),
        "dew_margin_k": (3.0, None, 2.0, None),
        "wind_ms": (None, 3.0, None, 4.5),
        "gust_ms": (None, 6.0, None, 8.0),
        "wet_hour_mm": (None, None, None, 0.1),
        "light_lx": (None, None, 300.0, None),
    }
    pieces = [(0, 1), (2, 5), (4, 5), (6, 6), (7, 12), (9, 10), (11, 12)]
    spans = [
        Span(Check(quantity, HERE, *values), *piece)
        for quantity, values in bounds.items()
        for piece in pieces
    ]
    return plan_of(*blocks, spans=spans[:47], wait=60)


def whole(plan: Plan, quantities: dict[str, np.ndarray]) -> Callable[[], Status]:
    """Return what is timed: what the lamp does, tables built and every start judged."""

    def judge() -> Status:
        lamp = lamp_quantities(plan, quantities)
        return Chain(Tables.of(plan, quantities | lamp, clock_rate)).status(np.arange(STARTS))

    return judge


def assert_mixed(status: Status) -> None:
    """Some starts fit and some do not, at both levels."""
    fits = (status == FIT).mean(axis=(1, 2))
    assert (fits > 0.05).all()
    assert (fits < 0.95).all()


def test_bench_play_of_fourteen_stages(benchmark):
    """32 members, 672 starts, 14 stages, 47 spans."""
    plan = fourteen_stages()
    assert (len(plan.stages), len(plan.spans)) == (14, 47)
    assert_mixed(benchmark.pedantic(whole(plan, weather()), rounds=10, warmup_rounds=2))


@pytest.mark.parametrize("kit", sorted(KITS))
def test_bench_play_of_the_shipped_corner(benchmark, kit):
    """The bumper corner as shipped."""
    judge = whole(shipped_plan(kit), weather())
    assert_mixed(benchmark.pedantic(judge, rounds=10, warmup_rounds=2))


def test_bench_play_of_a_job_as_it_is_judged(benchmark):
    """Tables and play of every start of four days in working hours, in twelve days of weather."""
    weather = outlook(12, wind_10m_ms=5.5, gust_10m_ms=8.0, rain_probability_pct=10.0)
    booking, policy = job(), Policy()
    members = draw(weather, MEMBERS, seed=1, origin=weather.provenance.fetched_at)
    met = climate(members, cases_of(booking, weather.starts_utc))
    plan, steps = plan_for(booking), coming_steps(weather.starts_utc, EVENING, 96.0)

    def play() -> Status:
        return chain_of(booking, plan, met, policy, steps).status(steps)

    status = benchmark.pedantic(play, rounds=10, warmup_rounds=2)
    assert (status == FIT).any()


@pytest.mark.parametrize("jobs", [1, 12])
def test_bench_judging_jobs_at_places_of_their_own(benchmark, jobs, monkeypatch):
    """Weather drawn, panels traced and every start played; nothing is known beforehand."""
    policy = Policy()
    weather = outlook(12, wind_10m_ms=5.5, gust_10m_ms=8.0, rain_probability_pct=10.0)
    bookings = [
        job(ref=f"B{number}", site=replace(SITE, latitude=50.0 + number)) for number in range(jobs)
    ]

    def forget():
        monkeypatch.setattr(sun_track, "_kept", {})

    def whole_batch():
        groups = [
            Group([booked], draw(weather, MEMBERS, seed=n, origin=weather.provenance.fetched_at))
            for n, booked in enumerate(bookings)
        ]
        met, sure = job_climates(groups), policy.thresholds[Moment.EVENING]
        return [
            judge(booked, plan_for(booked), met[booked.ref].climate, policy, sure, EVENING)
            for booked in bookings
        ]

    found = benchmark.pedantic(whole_batch, setup=forget, rounds=5, warmup_rounds=1)
    assert all(one.play is not None for one in found)


def test_bench_remedies_of_a_job(benchmark):
    """All that would change a doubtful job: setups, their plans, one climate, their plays."""
    weather = outlook(12, wind_10m_ms=7.0, gust_10m_ms=10.0, rain_probability_pct=20.0)
    booking, policy = job(repair_area_m2=0.6), Policy()
    process = catalogue().processes[booking.process]
    setup = Setup(booking, KIT, process, catalogue().sheets_of(process))
    members = draw(weather, MEMBERS, seed=1, origin=weather.provenance.fetched_at)
    met = climate(members, setup.cases(weather.starts_utc, 0))
    thresholds = policy.thresholds[Moment.EVENING]
    found = judge(booking, setup.plan(policy), met, policy, thresholds, EVENING)
    stock = tuple(catalogue().sheets.values())
    world = World(members, None, stock, policy, thresholds, EVENING)
    told = benchmark.pedantic(remedies, (found, setup, world), rounds=10, warmup_rounds=2)
    assert told


def test_bench_play_with_gaps(benchmark):
    """The same with one value in five hundred missing, so that broken and unknown compete."""
    quantities = weather()
    rng = np.random.default_rng(2)
    for values in quantities.values():
        values[rng.random(values.shape) < 0.002] = np.nan
    benchmark.pedantic(whole(shipped_plan("lamp"), quantities), rounds=10, warmup_rounds=2)


def test_bench_walk_of_the_shipped_corner(benchmark):
    """One start in every member, after all starts are judged."""
    plan, quantities = shipped_plan("lamp"), weather()
    chain = Chain(Tables.of(plan, quantities | lamp_quantities(plan, quantities), clock_rate))
    best = int((chain.status(np.arange(STARTS))[Level.STOP] == FIT).sum(axis=0).argmax())
    walk = benchmark.pedantic(chain.walk, (best, Level.STOP), rounds=20, warmup_rounds=2)
    assert (walk.status == FIT).any()
