"""Stretches of starts in which the play fits."""

import numpy as np
import pytest

from sprayadvisor.advice.verdict import RANKED, Likelihoods, Word
from sprayadvisor.advice.windows import Window, windows

GO, CARE, UNKNOWN, NO = (RANKED.index(w) for w in (Word.GO, Word.CARE, Word.UNKNOWN, Word.NO_GO))


def found(steps, rank, inside=None, stop=None):
    """Return the windows with flat likelihoods unless given."""
    n = len(steps)
    sure = np.array([inside or [0.8] * n, stop or [0.9] * n])
    return windows(np.array(steps), np.array(rank), Likelihoods(sure, sure))


def test_no_starts_no_windows():
    """Nothing to begin at, nothing to offer."""
    assert found([], []) == ()


@pytest.mark.parametrize("rank", [NO, UNKNOWN])
def test_unfit_and_unknown_open_nothing(rank):
    """Only go and care open a window."""
    assert found([1, 2, 3], [rank] * 3) == ()


def test_windows_end_at_breaks_and_at_gaps():
    """A start that does not fit, or one left out of the list, ends a window."""
    got = found([4, 5, 6, 7, 20, 21], [GO, GO, NO, CARE, CARE, CARE])
    assert [(w.first, w.latest) for w in got] == [(4, 5), (7, 7), (20, 21)]


def test_best_start_has_the_best_word_then_likelihood_then_the_middle():
    """Go before care; then the likelier; of equals the one farthest from both ends."""
    steps = list(range(10, 17))
    rank = [CARE, GO, GO, GO, GO, GO, CARE]
    assert found(steps, rank)[0] == Window(10, 13, 16, Word.GO, 0.8)
    inside = [0.7, 0.7, 0.9, 0.7, 0.7, 0.7, 0.95]
    assert found(steps, rank, inside)[0] == Window(10, 12, 16, Word.GO, 0.9)


def test_care_is_told_with_its_likelihood_short_of_the_stops():
    """The likelihood of a care window is that of staying short of the stops."""
    assert found([1], [CARE], [0.2], [0.6])[0] == Window(1, 1, 1, Word.CARE, 0.6)
