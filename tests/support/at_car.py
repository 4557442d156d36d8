"""A car to ask about: a bumper corner at noon on a fair day, one thing changed as wanted."""

from dataclasses import replace
from datetime import UTC, datetime
from types import MappingProxyType

from days import KIT, catalogue, job, outlook

from sprayadvisor.advice.at_the_car import answer
from sprayadvisor.advice.car import Car
from sprayadvisor.advice.members import draw, single
from sprayadvisor.advice.onsite import Asked, Reading
from sprayadvisor.advice.policy import Moment, Policy, Thresholds
from sprayadvisor.advice.setups import Setup

NOON = datetime(2026, 4, 17, 11, 7, tzinfo=UTC)
# A single member that fits counts as three in four, which the usual bounds would not call a go.
EASY = Policy(thresholds=MappingProxyType(dict.fromkeys(Moment, Thresholds(0.7, 0.5))))
FAIR = {"rain_probability_pct": 0.0}
COLD = FAIR | {"air_temp_c": 10.0, "rh_pct": 78.0, "ghi_wm2": 60.0, "dhi_wm2": 60.0}


def car(next_stage="clear", weather=None, *, one=True, kit=KIT, policy=None, **changes):
    """Return a car; ``one`` for a single member, so that nothing is left to chance."""
    weather = weather if weather is not None else outlook(**FAIR)
    begun_at = changes.pop("begun_at", None)
    booking = job(**changes)
    process = catalogue().processes[booking.process]
    ids = [stage.id for stage in process.stages]
    members = single(weather) if one else draw(weather, 32, seed=2, origin=NOON)
    setup = Setup(booking, kit, process, catalogue().sheets_of(process))
    rest = tuple(ids[ids.index(next_stage) :])
    return Car(setup, policy or (EASY if one else Policy()), members, None, rest, begun_at)


def asked(*, unread=False, **changes):
    """Return a question with a reading of now; without a thermometer breath mist goes at once."""
    if not unread and not {"panel_temp_c", "mist_s", "stripe_min"} & set(changes):
        changes["mist_s"] = 1.0
    names = [name for name in changes if name in Reading.__dataclass_fields__]
    read = Reading(**({"taken_at": NOON} | {name: changes.pop(name) for name in names}))
    return Asked(read, **changes)


def told(next_stage="clear", weather=None, now=NOON, *, of=None, **changes):
    """Return the answer about a usual car."""
    question = changes.pop("asked", None) or asked(**changes)
    return answer(of or car(next_stage, weather), question, now)


def bare(kit=KIT):
    """Return the kit without its lamp."""
    return replace(kit, lamp_kw=0.0)
