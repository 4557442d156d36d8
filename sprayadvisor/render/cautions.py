"""The cautions that go with every verdict. They defer to local rules and licensed practice."""

from __future__ import annotations

from collections.abc import Sequence

from sprayadvisor.advice.brief import Entry

AT_THE_TOP = "Weather only, never permission. What else counts stands under “Before you spray”."
WEATHER_ONLY = (
    "This is about the weather and nothing else. A go is not permission: your product sheets, "
    "your local rules on air, water, fire and work, and licensed practice come first."
)
TWO_PACK = (
    "Two-pack paint holds isocyanates. Sprayed outside a booth they can give you asthma for life, "
    "and it may be forbidden where you are. Air-fed mask, skin covered, nobody near or downwind, "
    "or do not spray."
)
FIRE = "Solvent and mist burn: no flame, no cigarette, lamp only when the flash-off is over."
KERB = "At the kerb the traffic is the danger: van behind you, cones out, a vest on."
CARS = "Where cars pass the traffic is the danger: van behind you, cones out, a vest on."


def cautions(entries: Sequence[Entry]) -> tuple[str, ...]:
    """Return the cautions for these jobs; the first and the last always hold.

    Of a site that is not said to be at a kerb it may only not have been said.
    """
    plans = [entry.judgement.plan for entry in entries]
    two_pack = any(s.two_pack for plan in plans if plan for s in plan.sheets.values())
    # A job without a plan may well be two-pack: say it rather than leave it out.
    unknown = any(plan is None for plan in plans)
    middle = (TWO_PACK,) if two_pack or unknown else ()
    burns = unknown or any(plan.sheets or plan.uses_lamp for plan in plans if plan)
    kerb = any(entry.judgement.job.site.kerb for entry in entries)
    return (WEATHER_ONLY, *middle, *((FIRE,) if burns else ()), KERB if kerb else CARS)
