"""From plays in many members to a likelihood and a word.

A weather verdict is never permission. Missing data never becomes *go*: likelihoods are counted once
with the unknown as unfit and once as fit, and where the two would give different words the verdict
is *unknown*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.play import FIT, UNKNOWN, Status
from sprayadvisor.advice.policy import Thresholds


class Word(StrEnum):
    """The verdict in a word."""

    GO = "go"
    CARE = "care"
    NO_GO = "no-go"
    UNKNOWN = "unknown"
    NOT_JUDGED = "not judged"


# From worst to best: which start of an arrival window speaks for the window.
RANKED = (Word.NO_GO, Word.UNKNOWN, Word.CARE, Word.GO)
Ranks = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Likelihoods:
    """How likely the whole job fits, for each level and start.

    Attributes:
        sure: (level, start), members with something unknown counted as unfit.
        open: (level, start), the same members counted as fit.
    """

    sure: Floats
    open: Floats


def worst_panel(status: Status, n_cases: int) -> Status:
    """Return (level, member, start) from (level, case·member, start): a job is its worst panel."""
    levels, rows, starts = status.shape
    by_case = status.reshape(levels, n_cases, rows // n_cases, starts)
    return np.asarray(by_case.min(axis=1))


def likelihoods(status: Status) -> Likelihoods:
    """Return the likelihoods of (level, member, start) plays.

    The estimate (k + ½)/(M + 1) is never 0 or 1: no number of members makes weather certain.
    """
    members = status.shape[1]
    sure = ((status == FIT).sum(axis=1) + 0.5) / (members + 1)
    maybe = ((status >= UNKNOWN).sum(axis=1) + 0.5) / (members + 1)
    return Likelihoods(sure, maybe)


def ranks(chances: Likelihoods, thresholds: Thresholds, *, most: Word = Word.GO) -> Ranks:
    """Return for each start the index of its word in :data:`RANKED`, of ``most`` at the most."""
    sure = _ranks(chances.sure, thresholds)
    maybe = _ranks(chances.open, thresholds)
    rank = np.where(sure == maybe, sure, RANKED.index(Word.UNKNOWN))
    return np.minimum(rank, RANKED.index(most))


def most_of(reservations: Sequence[str]) -> Word:
    """Return the best word there can be where something stands against a job in any weather."""
    return Word.CARE if reservations else Word.GO


def _ranks(chance: Floats, thresholds: Thresholds) -> Ranks:
    """Return the ranks of words as if ``chance`` were all there is to know."""
    go = chance[Level.INSIDE] >= thresholds.go
    care = chance[Level.STOP] >= thresholds.care
    rank = np.where(care, RANKED.index(Word.CARE), RANKED.index(Word.NO_GO))
    return np.where(go, RANKED.index(Word.GO), rank)
