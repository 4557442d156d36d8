"""Members from the runs of a true ensemble instead of drawn errors.

A run knows what the errors of a forecast only guess: how that day its wind, cloud and rain hang
together. What a run leaves out, by hours or altogether, is filled from a drawn member; what no
ensemble has, the errors of convection and of the sky, is always drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from sprayadvisor.advice.members import Members, draw
from sprayadvisor.advice.outlook import Floats, Outlook
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import STEP_MIN

LEAST_RUNS = 10  # fewer tell less than drawn errors do; EE
# Quantities that are taken from a run together or not at all, so that they fit each other.
_TOGETHER = (
    ("air_temp_c", "rh_pct"),
    ("wind_10m_ms", "gust_10m_ms"),
    ("rain_mm", "wet_hour_mm"),
    ("cloud_fraction", "ghi_wm2", "dni_wm2", "dhi_wm2"),
)


def members_of(outlook: Outlook, runs: Sequence[Outlook], n: int, *, seed: int) -> Members:
    """Return the weathers that may come: an ensemble's runs, or ``n`` drawn ones without enough.

    Args:
        outlook: the forecast.
        runs: of an ensemble; empty where there is none.
        n: how many are drawn, even.
        seed: decides what is drawn.
    """
    origin = outlook.provenance.fetched_at
    if len(runs) >= LEAST_RUNS:
        return from_runs(outlook, runs, seed=seed, origin=origin)
    return draw(outlook, n, seed=seed, origin=origin)


def from_runs(outlook: Outlook, runs: Sequence[Outlook], *, seed: int, origin: datetime) -> Members:
    """Return one member for each run of an ensemble.

    Args:
        outlook: the forecast; its grid is that of the members.
        runs: the same place's weather in each run, on any grid of quarter hours.
        seed: decides what is drawn.
        origin: when the forecast was made, aware: lead counts from here.
    """
    even = len(runs) + len(runs) % 2
    drawn = draw(outlook, even, seed=seed, origin=origin)
    values = {name: np.array(array[: len(runs)]) for name, array in drawn.values.items()}
    values["wet_hour_mm"] = np.array(drawn.wet_hour_mm[: len(runs)])
    for row, run in enumerate(runs):
        _take(values, row, run, outlook)
    values["dew_point_c"] = dew_point_c(values["air_temp_c"], values["rh_pct"])
    return replace(
        drawn,
        wet_hour_mm=values.pop("wet_hour_mm"),
        values=values,
        sky_emissivity_offset=drawn.sky_emissivity_offset[: len(runs)],
        ln_convection=drawn.ln_convection[: len(runs)],
    )


def _take(values: dict[str, Floats], row: int, run: Outlook, outlook: Outlook) -> None:
    """Put what a run knows into a member's row."""
    for names in _TOGETHER:
        known = [_on_grid(run, name, outlook) for name in names]
        have = np.isfinite(known).all(axis=0)
        for name, series in zip(names, known, strict=True):
            values[name][row, have] = series[have]


def _on_grid(run: Outlook, name: str, outlook: Outlook) -> Floats:
    """Return (step,) a run's quantity on the forecast's grid, NaN outside it."""
    series = run.wet_hour_mm if name == "wet_hour_mm" else run[name]
    found = np.full(len(outlook), np.nan)
    first = run.minute_of(outlook.begins) // STEP_MIN  # step of the run in which the grid begins
    begin, stop = max(0, -first), min(len(outlook), len(series) - first)
    if begin < stop:
        found[begin:stop] = series[begin + first : stop + first]
    return found
