"""Rates of a plan's clocks."""

from __future__ import annotations

import numpy as np
import pytest

from sprayadvisor.advice.plan import Clock
from sprayadvisor.advice.rates import clock_rate

# At 20 °C, 50 % and the still air of a booth the printed times hold by their own definition.
REFERENCE = {"panel_temp_c": 20.0, "air_temp_c": 20.0, "rh_pct": 50.0, "wind_ms": 0.5}


def climate(**changes: list[float]) -> dict[str, np.ndarray]:
    """Return a climate of one row at reference but for what is given."""
    return {name: np.array([changes.get(name, [value])]) for name, value in REFERENCE.items()}


@pytest.mark.parametrize(
    "clock",
    [
        Clock("flash", 10.0),
        Clock("flash", 10.0, carrier="water"),
        Clock("cure", 10.0),
        Clock("flash", 10.0, boost=3.0),
        Clock("flash", 10.0, carrier="water", boost=3.0, cap=3.0),
    ],
)
def test_at_reference_a_clock_runs_at_its_cap(clock: Clock) -> None:
    """Printed minutes hold at the reference; a blower lifts the rate and its cap together."""
    np.testing.assert_allclose(clock_rate(clock, climate()), [[clock.cap]], rtol=1e-12)


def test_the_cap_holds_when_it_is_warm_and_not_when_it_is_cold() -> None:
    """A warm panel is no faster than the cap; a cold one is slower than reference."""
    panels = climate(panel_temp_c=[35.0, 5.5])
    for clock in (Clock("flash", 10.0, cap=1.0), Clock("cure", 10.0, cap=1.0)):
        warm, cold = clock_rate(clock, panels)[0]
        assert warm == 1.0
        assert 0.2 < cold < 0.7


def test_cure_doubles_in_ten_kelvin() -> None:
    """50 kJ/mol is about a factor of two between 20 and 30 °C (common rule, no source)."""
    rate = clock_rate(Clock("cure", 10.0, cap=9.0), climate(panel_temp_c=[20.0, 30.0]))[0]
    assert rate[1] / rate[0] == pytest.approx(1.97, abs=0.02)


def test_cure_stands_still_below_its_stall() -> None:
    """Below the stall temperature nothing cures; at it something does."""
    rate = clock_rate(Clock("cure", 10.0, stall_temp_c=8.0), climate(panel_temp_c=[7.9, 8.0]))[0]
    assert rate[0] == 0.0
    assert rate[1] > 0.0


@pytest.mark.parametrize("kind", ["flash", "cure"])
@pytest.mark.parametrize("carrier", ["solvent", "water"])
@pytest.mark.parametrize("name", sorted(REFERENCE))
def test_nan_in_gives_nan_out(kind: str, carrier: str, name: str) -> None:
    """A value that is not known leaves the rate not known wherever the clock needs it."""
    rate = clock_rate(Clock(kind, 10.0, carrier=carrier), climate(**{name: [np.nan]}))
    assert bool(np.isnan(rate[0, 0])) == (kind == "flash" or name == "panel_temp_c")


def test_shared_rows_spread_over_members() -> None:
    """A quantity with one row serves all rows of the others."""
    quantities = climate() | {"panel_temp_c": np.full((3, 1), 20.0)}
    assert clock_rate(Clock("flash", 10.0), quantities).shape == (3, 1)
