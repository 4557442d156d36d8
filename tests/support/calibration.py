"""Forecasts against what came: likelihoods given by members, outcomes drawn apart from them."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any
from unittest import mock

import numpy as np
from days import SITE, outlook
from numpy.typing import NDArray
from play_parts import HERE, hand, plan_of

from sprayadvisor.advice import members as drawn
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.members import Members, draw
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.outlook import Outlook
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.advice.play import FIT
from sprayadvisor.advice.pull import INSTRUMENT_SIGMA, drawn_to
from sprayadvisor.advice.tables import Tables
from sprayadvisor.advice.verdict import likelihoods
from sprayadvisor.science.wind import gun_height_factor

LEAD_H = 30  # from the evening before to the middle of the day
BINS = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
FEWEST = 20  # in a bin that says anything
SLACK = 0.03  # 32 members give a likelihood to a few hundredths


def two_hours() -> Plan:
    """Return two hours of work that want it mild, calm and dry."""
    checks = (
        Check("air_temp_c", HERE, stop_min=12.0),
        Check("wind_10m_ms", HERE, stop_max=5.0),
        Check("wet_hour_mm", HERE, stop_max=0.1),
    )
    return plan_of([hand(120)], spans=[Span(check, 0, 0) for check in checks])


def forecast(rng: np.random.Generator) -> Outlook:
    """Return an invented forecast that may be well inside all bounds, or near one of them."""
    return outlook(
        2,
        air_temp_c=rng.uniform(11.0, 16.0),
        wind_10m_ms=rng.uniform(2.0, 5.5),
        rain_probability_pct=rng.uniform(0.0, 4.0),
    )


def fits(plan: Plan, members: Members) -> NDArray[np.bool_]:
    """Return (member,) whether the work fits at the lead in question."""
    quantities = dict(members.values) | {"wet_hour_mm": members.wet_hour_mm}
    wanted = {span.check.quantity: quantities[span.check.quantity] for span in plan.spans}
    chain = Chain(Tables.of(plan, wanted, lambda *_: np.ones((1, 1))))
    return np.asarray(chain.status([LEAD_H * 4])[Level.STOP, :, 0] == FIT)


@dataclass(frozen=True)
class Record:
    """What was said and what came: (case,) likelihoods, and outcomes 0 or 1."""

    said: NDArray[np.float64]
    came: NDArray[np.float64]

    def table(self) -> list[tuple[int, float, float, float]]:
        """Return for each bin: cases, mean likelihood, share that came, and what chance allows."""
        rows = []
        for low, high in pairwise(BINS):
            here = (self.said >= low) & (self.said < high)
            n = int(here.sum())
            if n >= FEWEST:
                mean = float(self.said[here].mean())
                allowed = 3.0 * float(np.sqrt(mean * (1.0 - mean) / n)) + SLACK
                rows.append((n, mean, float(self.came[here].mean()), allowed))
        return rows

    @property
    def brier(self) -> float:
        """Mean square of what was said less what came: smaller is better (Brier 1950)."""
        return float(np.mean((self.said - self.came) ** 2))

    @property
    def reliable(self) -> bool:
        """Whether every bin came as often as it was said, within what chance allows."""
        return all(abs(came - mean) <= allowed for _, mean, came, allowed in self.table())


def record(
    cases: int,
    *,
    sigma_times: float = 1.0,
    late_h: float = 0.0,
    one_truth: bool = False,
    read: str = "",
) -> Record:
    """Return what members said of ``cases`` forecasts, and what came.

    Args:
        cases: how many forecasts.
        sigma_times: the true errors are so many times those the members are drawn with.
        late_h: the members take the forecast for so many hours younger than it is.
        one_truth: every outcome is drawn with one and the same seed.
        read: ``here`` where air, humidity and wind were read an hour before with the errors of
            the instruments, ``elsewhere`` where they were read in another truth.
    """
    rng, plan = np.random.default_rng(11), two_hours()
    true_sigma = {k: tuple(sigma_times * s for s in row) for k, row in _table().items()}
    said, came = [], []
    for case in range(cases):
        weather = forecast(rng)
        taken = weather.begins + timedelta(hours=late_h)
        members = draw(weather, 32, seed=case, origin=taken)
        with mock.patch.object(drawn, "SIGMA_BY_LEAD", true_sigma):
            seed = 10_000 + (0 if one_truth else case)
            truth = draw(weather, 2, seed=seed, origin=weather.begins)
        if read:
            there = draw(weather, 2, seed=50_000 + case, origin=weather.begins)
            reading = reading_of(truth if read == "here" else there, rng)
            members = drawn_to(members, reading, SITE)
        said.append(likelihoods(_as_status(fits(plan, members))).sure[Level.STOP, 0])
        came.append(float(fits(plan, truth)[0]))
    return Record(np.array(said), np.array(came))


def reading_of(truth: Members, rng: np.random.Generator) -> Reading:
    """Return what is read in the first of some truths an hour before the work."""
    step = (LEAD_H - 1) * 4
    seconds = int(truth.starts_utc[step].astype("datetime64[s]").astype(np.int64))
    share = gun_height_factor(SITE.surroundings.value)[0]
    error = {name: rng.normal(0.0, size) for name, size in INSTRUMENT_SIGMA.items()}
    return Reading(
        datetime.fromtimestamp(seconds, UTC),
        air_temp_c=float(truth["air_temp_c"][0, step]) + error["air_temp_c"],
        rh_pct=float(np.clip(truth["rh_pct"][0, step] + error["rh_pct"], 1.0, 100.0)),
        wind_ms=share * float(truth["wind_10m_ms"][0, step]) * float(np.exp(error["ln_wind"])),
    )


def _table() -> Mapping[str, tuple[float, float, float]]:
    return dict(drawn.SIGMA_BY_LEAD)


def _as_status(fit: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Return (level, member, start) status."""
    status = np.where(fit, FIT, 0).astype(np.uint8)
    return np.broadcast_to(status[None, :, None], (len(Level), fit.size, 1))


def report() -> str:
    """Return the tables that stand in DEVELOPERS.md."""
    lines = []
    worlds: tuple[tuple[str, dict[str, Any]], ...] = (
        ("same errors", {}),
        ("errors × 1.5", {"sigma_times": 1.5}),
        ("same errors, read an hour before", {"read": "here"}),
    )
    for name, changed in worlds:
        for n, mean, came, allowed in record(1500, **changed).table():
            lines.append(f"| {name} | {n} | {mean:.2f} | {came:.2f} | ±{allowed:.2f} |")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(f"{report()}\n")
