"""Drawn sheets, processes and kits, compiled into plans, with weather they can be played in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

from hypothesis import strategies as st
from play_strategies import NAN, Case, patched, starts_within

from sprayadvisor.advice.checks import QUANTITY_WORDS
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.model import Colour, Job, Kit, Material, Panel, Part, Site
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import PanelRange, Process, Stage
from sprayadvisor.advice.rates import clock_rate, pace_minutes
from sprayadvisor.advice.sheet import Coats, Cure, Edge, Flash, Lamp, Limit, Sheet

NEVER = ("elapsed_min", "drying", "heating", "forecast")  # no weather: the play says these itself
DRIVING = ("panel_temp_c", "air_temp_c", "rh_pct", "wind_ms")  # what drying clocks run on
BENIGN = {name: 0.0 for name in QUANTITY_WORDS if name not in NEVER} | {
    "panel_temp_c": 20.0,
    "air_temp_c": 19.0,
    "rh_pct": 55.0,
    "dew_margin_k": 9.0,
    "wind_ms": 1.0,
    "lamp_temp_c": 90.0,
    "gust_ms": 3.0,
    "gust_sustained_ms": 2.0,
    "wet_hour_mm": 0.0,
    "light_lx": 9000.0,
    "diffuse_lx": 9000.0,
    "low_sun": 0.0,
    "off_hours": 0.0,
}
# Values on both sides of the bounds a plan can have, and on them.
PATCHES = {
    "panel_temp_c": [-2.0, 4.0, 7.0, 12.0, 25.0, 31.0, 45.0],
    "air_temp_c": [0.0, 2.0, 12.0, 30.0],
    "lamp_temp_c": [40.0, 60.0, 61.0],
    "rh_pct": [30.0, 35.0, 79.0, 80.0, 85.0, 95.0],
    "dew_margin_k": [-1.0, 0.0, 1.0, 2.0, 2.9, 3.0],
    "wind_ms": [0.0, 3.0, 4.0, 6.0],
    "gust_ms": [6.0, 7.0, 8.0, 8.1],
    "gust_sustained_ms": [6.0, 8.0],
    "wet_hour_mm": [0.1, 0.2, 3.0],
    "light_lx": [0.0, 500.0, 1500.0],
    "diffuse_lx": [0.0, 2000.0, 1500.0],
    "low_sun": [1.0],
    "off_hours": [1.0],
}
GRADES = [1.0, 2.0]
VALUES = {name: st.sampled_from([*PATCHES.get(name, GRADES), NAN, NAN]) for name in BENIGN}
EDGE = Edge(page=1, within_min=3, hot_within_min=2, hot_from_c=24)
NEEDS = st.lists(
    st.sampled_from(["no_rain", "dry", "card_light", "paint_light", "soft_light"]),
    max_size=2,
    unique=True,
).map(tuple)


@st.composite
def sheets(draw: st.DrawFn, role: str, kind: str) -> Sheet:
    """Draw a sheet."""
    between = draw(st.sampled_from([3.0, 5.0, 7.5]))
    before_next = draw(st.sampled_from([5.0, 12.0, 20.0]))
    rain_safe = draw(st.sampled_from([20.0, 35.0]))
    carrier = draw(st.sampled_from(["solvent", "solvent", "water"]))
    blown = {"blower_between_min": draw(st.sampled_from([None, between / 2]))}
    inside_c, stop_c = draw(st.sampled_from([(12.0, 5.0), (10.0, 10.0), (15.0, 0.0)]))
    return Sheet(
        id=role,
        name=role,
        kind=kind,
        carrier=carrier,
        two_pack=False,
        revision="1",
        limits={
            "panel_temp_c": Limit(
                page=1, inside_min=inside_c, stop_min=stop_c, inside_max=25.0, stop_max=35.0
            ),
            "rh_pct": Limit(page=1, inside_max=80.0, stop_max=draw(st.sampled_from([None, 90.0]))),
            "dew_margin_k": Limit(page=1, inside_min=3.0, stop_min=draw(st.sampled_from([0, 2.0]))),
            "wind_ms": Limit(page=1, inside_max=3.0, stop_max=5.0),
            "gust_ms": Limit(page=1, inside_max=6.0, stop_max=draw(st.sampled_from([None, 7.5]))),
        },
        coats=Coats(page=1, least=1, most=6),
        flash=Flash(
            page=1,
            between_min=between,
            before_next_min=before_next,
            latest_min=draw(st.sampled_from([None, before_next + 6.0, 60.0])),
            quickest_share=draw(st.sampled_from([1.0, 0.5])),
            **(blown if carrier == "water" else {}),
        ),
        edge=EDGE if kind == "blender" and draw(st.booleans()) else None,
        cure=Cure(
            page=1,
            dust_free_min=draw(st.sampled_from([8.0, rain_safe])),
            rain_safe_min=rain_safe,
            workable_min=draw(st.sampled_from([rain_safe, 60.0, 960.0])),
        ),
        lamp=Lamp(page=1, flash_first_min=5.0, bake_min=8.0, metal_temp_c=60.0),
    )


@st.composite
def _hands(draw: st.DrawFn, name: str, first: bool, film: str | None = None) -> Stage:
    wait = 0 if first else draw(st.sampled_from([0, 0, 20, 60]))
    within = None if first else draw(st.sampled_from([None, None, 60, 75]))
    return Stage(
        id=name,
        name=name,
        kind="hand",
        minutes=draw(st.integers(1, 25)),
        needs=draw(NEEDS),
        least_air_c=draw(st.sampled_from([None, 2.0])),
        panel_c=draw(st.sampled_from([None, PanelRange(least=3.0, most=30.0)])),
        may_wait_min=wait,
        within_min=within,
        hard=draw(st.booleans()) and not first,
        film_up=film == "up",
        film_down=film == "down",
    )


@st.composite
def _painted(draw: st.DrawFn, role: str, film: bool) -> list[Stage]:
    """Draw the coats of one product with what dries them and the work done meanwhile."""
    warm = Stage(
        id=f"{role}-warm",
        name="warm",
        kind="lamp",
        warm_to_c=24.0,
        warm_below_c=draw(st.sampled_from([None, 15.0])),
        soak_min=draw(st.sampled_from([None, 8])),
    )
    coat = Stage(
        id=f"{role}-coat",
        name=role,
        kind="coat",
        sheet=role,
        coats=draw(st.integers(1, 2)),
        minutes_each=draw(st.integers(1, 4)),
        needs=draw(NEEDS),
        within_min=draw(st.sampled_from([None, 10, 40])),
    )
    stages = [*([warm] if draw(st.booleans()) else []), coat]
    ends = draw(st.sampled_from(["flash", "lamp", "both", "none"]))
    if ends in ("flash", "both"):
        until = "lamp" if ends == "both" else draw(st.sampled_from(["coat", "next"]))
        stages.append(
            Stage(id=f"{role}-flash", name="flash", kind="flash", sheet=role, until=until)
        )
    if ends in ("lamp", "both"):
        stages.append(Stage(id=f"{role}-lamp", name="lamp", kind="lamp", sheet=role))
    host = stages[-1]
    count = draw(st.integers(0, 2)) if host is not coat else 0
    stages += [draw(_beside(role, number, host.id, film and not number)) for number in range(count)]
    if ends in ("lamp", "both") and draw(st.booleans()):
        quench = draw(st.booleans())
        cool = Stage(id=f"{role}-cool", name="cool", kind="cool", minutes=5, quench=quench)
        stages.append(cool)
    return stages


@st.composite
def _beside(draw: st.DrawFn, role: str, number: int, host: str, film: bool) -> Stage:
    """Draw hand work alongside a flash or a lamp."""
    return Stage(
        id=f"{role}-beside-{number}",
        name="beside",
        kind="hand",
        minutes=draw(st.integers(1, 15)),
        alongside=host,
        needs=draw(NEEDS),
        film_up=film,
    )


@st.composite
def processes(draw: st.DrawFn) -> Process:
    """Draw a process: hand work, one or two products, hand work in between and after."""
    roles = draw(
        st.sampled_from([["base"], ["primer", "base"], ["base", "clear"], ["clear", "edge"]])
    )
    film = draw(st.sampled_from(["none", "first", "beside"]))
    stages = [draw(_hands("begin", first=True, film="up" if film == "first" else None))]
    for number, role in enumerate(roles):
        stages += draw(_painted(role, film == "beside" and not number))
        if draw(st.booleans()):
            stages.append(draw(_hands(f"after-{role}", first=False)))
    if draw(st.booleans()):
        down = "down" if any(stage.film_up for stage in stages) else None
        stages.append(draw(_hands("end", first=False, film=down)))
    return Process(
        id="drawn", name="drawn", sheets={role: role for role in roles}, stages=tuple(stages)
    )


KITS = st.sampled_from(
    [
        Kit(),
        Kit(blower=True),
        Kit(lamp_kw=1.1, lamp_area_m2=0.4),
        Kit(lamp_kw=0.4, lamp_area_m2=0.2),
        Kit(lamp_kw=1.1, lamp_area_m2=0.1, work_light=True),
    ]
)


def _given_up(plan: Plan, after_min: int) -> Plan:
    """Return a plan that gives its clocks up sooner, so that small grids see it happen."""
    stages = [
        replace(stage, clock=stage.clock and replace(stage.clock, given_up_min=after_min))
        for stage in plan.stages
    ]
    return replace(plan, stages=tuple(stages))


@st.composite
def compiled_cases(draw: st.DrawFn) -> Case:
    """Draw sheets, a process, a kit and a panel, compile them, and draw weather and starts."""
    process = draw(processes())
    kinds = {"primer": "primer", "base": "base", "clear": "clear", "edge": "blender"}
    papers = {role: draw(sheets(role, kinds[role])) for role in process.sheets}
    material = draw(st.sampled_from([Material.STEEL, Material.PLASTIC]))
    panel = Panel(Part.LEFT_DOOR, Colour.SILVER, material)
    site = Site("field", 53.0, -9.0, "Europe/Dublin")
    job = Job("J", site, (panel,), "drawn", date(2026, 4, 18), time(8), time(10))
    policy = Policy(dew_margin_k=draw(st.sampled_from([None, 4.0])))
    plan = compile_plan(process, papers, job, draw(KITS), policy)
    plan = _given_up(plan, draw(st.sampled_from([1440, 60, 180])))
    rows, steps = draw(st.integers(1, 2)), draw(st.integers(32, 80))
    arrays = {name: name for name in DRIVING} | {
        array: "panel_temp_c" for warmth in plan.warmths for array in (warmth.panel, warmth.hottest)
    }
    arrays |= {span.check.read_from: span.check.quantity for span in plan.spans}
    base = {array: BENIGN[quantity] for array, quantity in arrays.items()}
    values = {array: VALUES[quantity] for array, quantity in arrays.items()}
    asked = [*DRIVING, *(span.check.read_from for span in plan.spans)]
    weather = draw(patched(base, values, rows, steps, 10, asked))
    return Case(plan, weather, draw(starts_within(steps)), clock_rate, pace_minutes)
