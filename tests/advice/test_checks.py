"""Checks: bounds at both levels, margins, words."""

from __future__ import annotations

import numpy as np
import pytest

from sprayadvisor.advice.checks import QUANTITY_WORDS, Check, Level
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.sheet_rules import LIMIT_RANGES

HERE = Origin("practice")


@pytest.mark.parametrize(
    ("given", "inside", "stop"),
    [
        ((None, None, None, None), (None, None), (None, None)),
        ((3.0, None, 2.0, None), (3.0, None), (2.0, None)),
        ((None, 6.0, None, 8.0), (None, 6.0), (None, 8.0)),
        ((None, None, 2.0, 8.0), (2.0, 8.0), (2.0, 8.0)),
        ((3.0, 6.0, None, None), (3.0, 6.0), (None, None)),
        ((1.0, 9.0, 2.0, 8.0), (2.0, 8.0), (2.0, 8.0)),
    ],
)
def test_inside_asks_for_the_stricter_bounds(
    given: tuple[float | None, ...], inside: tuple, stop: tuple
) -> None:
    """Inside takes the stricter of both bounds on each side, stop its own alone."""
    check = Check("gust_ms", HERE, *given)
    assert check.bounds(Level.INSIDE) == inside
    assert check.bounds(Level.STOP) == stop


@pytest.mark.parametrize(
    ("low", "high", "margins"),
    [
        (2.0, 8.0, [-1.0, 0.0, 3.0, 0.0, -1.5, np.nan]),
        (2.0, None, [-1.0, 0.0, 3.0, 6.0, 7.5, np.nan]),
        (None, 8.0, [7.0, 6.0, 3.0, 0.0, -1.5, np.nan]),
        (None, None, [np.inf] * 6),
    ],
)
def test_a_margin_is_the_distance_to_the_nearer_bound(
    low: float | None, high: float | None, margins: list[float]
) -> None:
    """Negative outside, NaN for NaN, infinite without a bound."""
    values = np.array([1.0, 2.0, 5.0, 8.0, 9.5, np.nan])
    check = Check("gust_ms", HERE, stop_min=low, stop_max=high)
    np.testing.assert_array_equal(check.margin(values, Level.STOP), margins)


def test_every_quantity_of_a_sheet_has_words() -> None:
    """Whatever a sheet may limit can be spoken of, in the unit the sheet gives it in."""
    for quantity, (_, _, unit) in LIMIT_RANGES.items():
        words = Check(quantity, HERE).words
        assert words.unit == unit
        assert words.label
    assert all(words.scale > 0 for words in QUANTITY_WORDS.values())
