"""How fast each clock of a plan runs in a climate."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Clock
from sprayadvisor.science.drying import cure_rate, flash_rate


def clock_rate(clock: Clock, quantities: Mapping[str, Floats]) -> Floats:
    """Return the (row, step) rate of a clock, at most its cap; NaN where the weather is NaN.

    Args:
        clock: the clock; its ``boost`` multiplies the rate before the cap is applied.
        quantities: needs ``panel_temp_c``; a flash also ``air_temp_c``, ``rh_pct``, ``wind_ms``.
    """
    panel_temp_c = quantities["panel_temp_c"]
    if clock.kind == "cure":
        rate = cure_rate(
            panel_temp_c, clock.reference_temp_c, clock.activation_kj_mol, clock.stall_temp_c
        )
    else:
        rate = clock.boost * flash_rate(
            clock.carrier,
            panel_temp_c,
            quantities["air_temp_c"],
            quantities["rh_pct"],
            quantities["wind_ms"],
            clock.reference_temp_c,
            clock.reference_rh_pct,
        )
    return np.minimum(rate, clock.cap)  # minimum keeps NaN
