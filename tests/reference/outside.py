"""One check against the outside world: what, by whom, how closely, and what the code reaches."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

POOR = "poor agreement: "  # what is said begins like this wherever a figure is out of bounds


@dataclass(frozen=True)
class Check:
    """A row of the table of outside checks.

    Attributes:
        what: what is checked.
        source: the published source by name, "common practice, no source" or "value from memory".
        reached: gives the figures of the running code.
        unit: unit of figures and bounds.
        low: lowest figure allowed.
        high: highest figure allowed.
        places: decimals shown; one coarser than where two builds of numpy could differ.
        said: what else must be known, beginning with ``POOR`` where the bounds are not kept.
    """

    what: str
    source: str
    reached: Callable[[], ArrayLike]
    unit: str
    low: float = -math.inf
    high: float = math.inf
    places: int = 2
    said: str = ""

    def span(self) -> tuple[float, float]:
        """Return the lowest and the highest figure."""
        figures = np.asarray(self.reached(), dtype=float)
        return float(figures.min()), float(figures.max())

    def is_held(self) -> bool:
        """Return whether every figure lies within the bounds; NaN does not."""
        lowest, highest = self.span()
        return self.low <= lowest and highest <= self.high

    def tolerance(self) -> str:
        """Return the bounds in words."""
        if self.low == self.high == 0.0:
            return "exact"
        if self.low == self.high:
            return self._with_unit(f"{self.low:g}")
        if math.isinf(self.low) and math.isinf(self.high):
            return "none"
        if self.low == -self.high:
            return self._with_unit(f"±{self.high:g}")
        if math.isinf(self.low):
            return self._with_unit(f"≤ {_plain(self.high)}")
        if math.isinf(self.high):
            return self._with_unit(f"≥ {_plain(self.low)}")
        return self._with_unit(f"{_plain(self.low)} to {_plain(self.high)}")

    def figures(self) -> str:
        """Return what is reached in words, rounded to ``places``."""
        lowest, highest = (self._rounded(figure) for figure in self.span())
        text = lowest if lowest == highest else f"{lowest} to {highest}"
        return self._with_unit(text) + (f"; {self.said}" if self.said else "")

    def row(self) -> str:
        """Return the row of a Markdown table."""
        return f"| {self.what} | {self.source} | {self.tolerance()} | {self.figures()} |"

    def _with_unit(self, text: str) -> str:
        return f"{text} {self.unit}".strip()

    def _rounded(self, figure: float) -> str:
        return _plain(f"{round(figure, self.places) + 0.0:.{self.places}f}")


def _plain(figure: float | str) -> str:
    """Return a number with a typographer's minus."""
    text = figure if isinstance(figure, str) else f"{figure:g}"
    return text.replace("-", "−")


def within(
    what: str,
    source: str,
    tolerance: float,
    unit: str,
    errors: Callable[[], ArrayLike],
    places: int = 2,
    said: str = "",
) -> Check:
    """Return a check whose figures are errors, none of them greater than the tolerance."""
    return Check(what, source, errors, unit, -tolerance, tolerance, places, said)


def columns(rows: ArrayLike) -> list[np.ndarray]:
    """Return the columns of a table of numbers."""
    return list(np.array(rows, dtype=float).T)


def rms(errors: ArrayLike) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(np.square(errors))))


_FIGURE = re.compile(r"−?\d+(?:\.(\d+))?")


def same_but_for_rounding(printed: str, kept: str) -> bool:
    """Return whether two rows say the same, each figure reached to one unit in its last place.

    A figure on the edge between two roundings may fall either way with another build of numpy.
    What is checked, sources, tolerances and words may not differ at all.
    """
    (words, figures), (other_words, other_figures) = _parts(printed), _parts(kept)
    shape, other_shape = (_FIGURE.sub("#", text) for text in (figures, other_figures))
    if words != other_words or shape != other_shape:
        return False
    pairs = zip(_FIGURE.finditer(figures), _FIGURE.finditer(other_figures), strict=True)
    return all(_as_near_as_shown(*pair) for pair in pairs)


def _parts(row: str) -> tuple[tuple[str, str], str]:
    """Return what a row says besides its figures, and these."""
    before, _, reached = row.strip().rpartition(" | ")
    figures, _, said = reached.partition(";")
    return (before, said), figures


def _as_near_as_shown(ours: re.Match[str], theirs: re.Match[str]) -> bool:
    decimals = [len(one[1] or "") for one in (ours, theirs)]
    values = [float(one[0].replace("−", "-")) for one in (ours, theirs)]
    return decimals[0] == decimals[1] and abs(values[0] - values[1]) <= 1.01 * 10 ** -decimals[0]
