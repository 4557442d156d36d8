"""Stretches of starts in which the play fits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.tables import Ints
from sprayadvisor.advice.verdict import RANKED, Likelihoods, Ranks, Word


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of quarter hours at each of which the repair may begin.

    Attributes:
        first: earliest start, step of the grid.
        best: start with the best word and the highest likelihood, the middle one of equals.
        latest: latest start, step of the grid.
        word: the word of the best start.
        likelihood: of the best start; inside the sheets for *go*, short of their stops for *care*.
    """

    first: int
    best: int
    latest: int
    word: Word
    likelihood: float


def windows(steps: Ints, rank: Ranks, chances: Likelihoods) -> tuple[Window, ...]:
    """Return the windows among ``steps``, (start,) ascending, with their (start,) ranks."""
    open_ = rank >= RANKED.index(Word.CARE)
    breaks = np.flatnonzero((np.diff(steps) > 1) | np.diff(open_)) + 1
    groups = np.split(np.arange(steps.size), breaks) if steps.size else []
    return tuple(_window(group, steps, rank, chances) for group in groups if open_[group[0]])


def _window(group: Ints, steps: Ints, rank: Ranks, chances: Likelihoods) -> Window:
    best = best_of(group, rank, chances)
    word = RANKED[rank[best]]
    level = Level.INSIDE if word is Word.GO else Level.STOP
    return Window(
        int(steps[group[0]]),
        int(steps[best]),
        int(steps[group[-1]]),
        word,
        float(chances.sure[level, best]),
    )


def best_of(group: Ints, rank: Ranks, chances: Likelihoods) -> int:
    """Return the index with the best word, then likelihoods; of equals the middle one.

    The middle of a stretch is farthest from both its ends, which forgives a late arrival most.
    """
    keys = np.stack(
        [
            rank[group].astype(np.float64),
            chances.sure[Level.INSIDE, group],
            chances.sure[Level.STOP, group],
            chances.open[Level.STOP, group],
        ]
    )
    equal = np.ones(group.size, dtype=np.bool_)
    for key in keys:
        equal &= key == key[equal].max()
    ties = group[equal]
    return int(ties[(ties.size - 1) // 2])
