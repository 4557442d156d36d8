"""Sheets, processes and plans of the smallest size, changed as wanted."""

from copy import deepcopy
from typing import Any

from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Sheet

LAMP = Kit(lamp_kw=1.0, lamp_area_m2=1.0)
PAGE = {"page": 1}
SHEET: dict[str, Any] = {
    "id": "clear-x",
    "name": "Clear X",
    "kind": "clear",
    "carrier": "solvent",
    "two_pack": True,
    "revision": "7",
    "limits": {
        "panel_temp_c": {
            "inside_min": 10,
            "inside_max": 25,
            "stop_min": 5,
            "stop_max": 30,
        }
        | PAGE,
        "rh_pct": {"inside_max": 80, "stop_max": 90} | PAGE,
        "dew_margin_k": {"inside_min": 3, "stop_min": 2} | PAGE,
        "wind_ms": {"inside_max": 3, "stop_max": 4} | PAGE,
        "gust_ms": {"inside_max": 6} | PAGE,
    },
    "coats": {"least": 1, "most": 3} | PAGE,
    "flash": {"between_min": 4, "before_next_min": 6, "latest_min": 12} | PAGE,
    "cure": {"dust_free_min": 10, "rain_safe_min": 30, "workable_min": 60} | PAGE,
    "lamp": {"flash_first_min": 6, "bake_min": 9, "metal_temp_c": 60} | PAGE,
}
GONE = object()


def changed(tree: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return a nested table with values at dotted places replaced, added, or taken out."""
    tree = deepcopy(tree)
    for dotted, value in changes.items():
        *above, last = dotted.split(".")
        table = tree
        for name in above:
            table = table.setdefault(name, {})
        if value is GONE:
            del table[last]
        else:
            table[last] = value
    return tree


def sheet(**changes: Any) -> Sheet:
    """Return a quick clear, or what the changes make of it; two underscores go one table down."""
    dotted = {name.replace("__", "."): value for name, value in changes.items()}
    return Sheet.model_validate(changed(SHEET, dotted))


def stage(name: str, kind: str, /, **fields: Any) -> Stage:
    """Return a stage with what its kind needs."""
    needed = {
        "hand": {"minutes": 10},
        "check": {"minutes": 10},
        "cool": {"minutes": 5},
        "coat": {"sheet": "clear", "coats": 1, "minutes_each": 2},
        "flash": {"sheet": "clear", "until": "lamp"},
        "lamp": {"sheet": "clear"},
    }
    return Stage(**({"id": name, "name": name, "kind": kind} | needed[kind] | fields))


def process(*stages: Stage) -> Process:
    """Return a process of these stages, its roles those they name."""
    roles = dict.fromkeys(s.sheet for s in stages if s.sheet)
    return Process(id="p", name="P", sheets={role: role for role in roles}, stages=stages)


def plan(job, stages, sheets: dict[str, Sheet], kit: Kit = LAMP, policy: Policy | None = None):
    """Return the compiled plan of some stages."""
    return compile_plan(process(*stages), sheets, job, kit, policy or Policy())


def named(found: Plan, index: int | None) -> str | None:
    """Return the id of a stage of a plan."""
    return None if index is None else found.stages[index].id


def ids(found: Plan) -> list[str]:
    """Return the ids of all stages of a plan."""
    return [one.id for one in found.stages]


def held(found: Plan, quantity: str, origin: str | None = None) -> set[tuple[str | None, ...]]:
    """Return from which stage to which a quantity is held, by whom if that is asked."""
    return {
        (named(found, span.first), named(found, span.last))
        for span in found.spans
        if span.check.quantity == quantity and origin in (None, span.check.origin.kind)
    }
