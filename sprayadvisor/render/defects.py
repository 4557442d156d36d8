"""What goes wrong when a limit is broken, and the one thing to do about it, in the trade's words.

Common practice, no source.
"""

from __future__ import annotations

from typing import NamedTuple

from sprayadvisor.advice.air_levels import HAZARD_OF, hazard_of
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Level


class Defect(NamedTuple):
    """What is seen afterwards, and what to do beforehand."""

    seen: str
    action: str


_UNBAKED = Defect(
    "metal that never gets warm, and paint that stays soft",
    "break the wind with the van or the canopy's sides, or light a smaller piece at a time",
)
_WARM_LONGER = "hold the lamp on it longer, break the wind, then go straight on"
# (quantity, whether the value is too low)
_DEFECTS = {
    ("panel_temp_c", True): Defect(
        "runs, orange peel and slow flash",
        "warm the panel with the lamp first, then go straight on",
    ),
    ("panel_temp_c", False): Defect(
        "dry edge, craters and boil",
        "shade it, wipe it damp, dry it and read it again, or take it early or late",
    ),
    ("air_temp_c", True): Defect("ice in the gaps and water that will not dry", "come later"),
    ("rh_pct", True): Defect("static that draws dust", "wipe with an anti-static cleaner"),
    ("rh_pct", False): Defect("bloom and slow flash", "warm the panel, or wait for drier air"),
    ("dew_margin_k", True): Defect(
        "bloom, and clear that loses its gloss for good",
        "warm the panel and go straight on, or stop at sanded primer",
    ),
    ("wind_ms", False): Defect(
        "dry spray, dust, and mist on what stands downwind",
        "put the van to windward, or move the job",
    ),
    ("gust_ms", False): Defect(
        "film slapping wet paint, a lamp or the canopy blown over",
        "tape the film down and wait for the lull",
    ),
    ("gust_sustained_ms", False): Defect(
        "dry spray, and film slapping wet paint", "wait until it drops; no lull will be long enough"
    ),
    ("wet_hour_mm", False): Defect(
        "water marks, or a strip and restart if the base is open",
        "put the canopy up before you open anything, or move the job",
    ),
    ("light_lx", True): Defect("a colour you cannot judge", "use daylight, or leave the card"),
    ("diffuse_lx", True): Defect(
        "a card that lies about the colour", "hold it in open shade, or wait for more daylight"
    ),
    ("downwind", False): Defect(
        "mist in somebody's lungs or on somebody's car",
        "wait until the wind turns, or move the job",
    ),
    ("low_sun", False): Defect("glare that hides the colour", "turn the card into open shade"),
    ("elapsed_min", False): Defect(
        "layers that no longer bite, dust in the base", "warm the panel so that it flashes sooner"
    ),
    ("drying", True): Defect("paint that stays wet", "bring a lamp, or wait for a warmer day"),
    ("lamp_temp_c", True): _UNBAKED,
    ("heating", True): _UNBAKED,
    ("off_hours", False): Defect(
        "a car that is not ready, or work in the dark", "start sooner, or ask for another hour"
    ),
}

# The same where no paint is wet: hand work minds other things.
_BY_HAND = {
    ("panel_temp_c", True): Defect(
        "tape that lets go and polish that drags", "warm the panel with the lamp first"
    ),
    ("panel_temp_c", False): Defect(
        "polish that dries on and smears", "let it cool in the shade, and polish it then"
    ),
    ("wet_hour_mm", False): Defect(
        "water in the gaps, under the tape, in filler and sanded primer",
        "put the canopy up first, or move the job",
    ),
    ("dew_margin_k", True): Defect(
        "damp under the tape, in filler and sanded primer",
        "wipe it dry and warm it, or wait until the dew is off",
    ),
}


# What is seen of each hazard; what to do stands with its level.
_SEEN = {
    "insects": "flies in the clear",
    "dust": "nibs and dirt",
    "drips": "craters and water marks",
    "pollen": "yellow nibs",
    "pm10": "fine nibs all over",
}


# What hot metal does to each kind of product.
HOT = {
    "filler": "it sets on the knife and pulls",
    "promoter": "it dries before it wets out, and the primer peels",
    "primer": "dry spray and pinholes",
    "base": "dry spray and a patchy colour",
    "clear": "craters and boil, and an edge that dries on you",
    "blender": "a dry, rough edge",
}
# Where a product suffers in its own way: the limit and the side, and the kind of product.
_BY_PRODUCT = {
    ("panel_temp_c", True, "filler"): "filler that stays soft and sinks",
    ("panel_temp_c", True, "promoter"): "primer that peels off the plastic",
    ("panel_temp_c", True, "blender"): "an edge that will not melt in",
    ("dew_margin_k", True, "filler"): "damp in the filler, and blisters weeks later",
    ("dew_margin_k", True, "promoter"): "damp under the primer, and peeling",
    ("dew_margin_k", True, "primer"): "damp under the primer, and blisters",
    ("wet_hour_mm", False, "filler"): "filler that drinks water, and blisters weeks later",
    ("wet_hour_mm", False, "primer"): "water in the primer, and blisters",
    ("elapsed_min", False, "blender"): "a dry edge that only flatting back takes out",
}
_SECOND_GUN = "have the second gun filled before the last clear"


# What can still be done once a base lies open: it cannot be left, nor moved.
_OVER_OPEN_PAINT = {
    ("wet_hour_mm", False): (
        "cover it now without touching it, lay nothing; a drop that landed is left to dry and "
        "flatted out, never wiped"
    ),
    ("wind_ms", False): "lay nothing until it drops, the van to windward meanwhile",
    ("gust_ms", False): "lay nothing until the lull, film and canopy held down",
    ("gust_sustained_ms", False): "lay nothing until it drops; no lull will be long enough",
    ("downwind", False): "lay nothing until the wind turns, or whoever is there has gone",
    ("panel_temp_c", True): "wait for sun or shelter; no lamp on base that has not flashed off",
    ("panel_temp_c", False): "lay nothing until it has cooled in shade; wipe no open base",
    ("rh_pct", False): "lay nothing until the air is drier, or the base flashed off and warmed",
    ("dew_margin_k", True): "lay no clear over dew; once it has flashed off warm it, then go on",
}


def defect(
    limiting: Limiting, kind: str = "coat", product: str = "", *, over_open: bool = False
) -> Defect | None:
    """Return what goes wrong beyond the bound that is broken or nearest; None if nothing fits.

    Args:
        limiting: what decides.
        kind: of the stage it falls into.
        product: kind of the product that is wet there, if any.
        over_open: whether a base lies open at this moment.
    """
    quantity = limiting.check.quantity
    if quantity in HAZARD_OF:
        hazard = HAZARD_OF[quantity]
        action = hazard_of(quantity)
        return Defect(_SEEN[hazard], action.action.rstrip(".")) if action else None
    side = (quantity, _too_low(limiting))
    by_hand = _BY_HAND.get(side) if kind in ("hand", "check", "cool") else None
    found = by_hand or _DEFECTS.get(side)
    # A panel that was warmed already is not helped by hearing so again.
    if found and not by_hand:
        found = _of_product(found, side, product)
    if found and over_open and side in _OVER_OPEN_PAINT:
        return found._replace(action=_OVER_OPEN_PAINT[side])
    cold_after_lamp = limiting.check.array and side[1]
    return found._replace(action=_WARM_LONGER) if found and cold_after_lamp else found


def _of_product(found: Defect, side: tuple[str, bool], product: str) -> Defect:
    """Return a defect as it shows in one kind of product."""
    if side == ("panel_temp_c", False):
        return found._replace(seen=HOT.get(product, found.seen))
    action = _SECOND_GUN if (side[0], product) == ("elapsed_min", "blender") else found.action
    return Defect(_BY_PRODUCT.get((*side, product), found.seen), action)


def _too_low(limiting: Limiting) -> bool:
    """Return whether the value is at the lower of its bounds rather than the upper."""
    if limiting.check.quantity in ("drying", "heating"):
        return True
    low, high = limiting.check.bounds(Level(limiting.level))
    if low is None or high is None:
        return low is not None
    return abs(limiting.value - low) <= abs(limiting.value - high)
