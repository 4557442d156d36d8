"""From plays to a likelihood and a word."""

import numpy as np
import pytest

from sprayadvisor.advice.play import FAIL, FIT, UNKNOWN
from sprayadvisor.advice.policy import Thresholds
from sprayadvisor.advice.verdict import (
    RANKED,
    Likelihoods,
    Word,
    likelihoods,
    ranks,
    worst_panel,
)

EVENING = Thresholds(0.70, 0.45)
# inside sure, inside open, stop sure, stop open, word
WORDS = [
    (0.90, 0.90, 0.95, 0.95, Word.GO),
    (0.70, 0.70, 0.70, 0.70, Word.GO),
    (0.69, 0.69, 0.90, 0.90, Word.CARE),
    (0.02, 0.02, 0.98, 0.98, Word.CARE),
    (0.02, 0.02, 0.45, 0.45, Word.CARE),
    (0.02, 0.02, 0.44, 0.44, Word.NO_GO),
    (0.02, 0.98, 0.02, 0.98, Word.UNKNOWN),
    (0.02, 0.20, 0.30, 0.60, Word.UNKNOWN),
    (0.50, 0.80, 0.60, 0.90, Word.UNKNOWN),
    (0.72, 0.98, 0.80, 0.99, Word.GO),
    (0.02, 0.10, 0.02, 0.30, Word.NO_GO),
    (0.50, 0.60, 0.60, 0.90, Word.CARE),
]


@pytest.mark.parametrize(("inside", "inside_open", "stop", "stop_open", "word"), WORDS)
def test_words(inside, inside_open, stop, stop_open, word):
    """Two different words mean unknown; go needs only what is sure."""
    chances = Likelihoods(np.array([[inside], [stop]]), np.array([[inside_open], [stop_open]]))
    assert RANKED[ranks(chances, EVENING)[0]] is word


@pytest.mark.parametrize("members", [1, 4, 32])
def test_likelihood_is_never_certain(members):
    """With every member fitting, or none, the likelihood still is not 1 or 0."""
    status = np.stack([np.full((members, 1), FIT), np.full((members, 1), FAIL)]).astype(np.uint8)
    sure = likelihoods(status).sure
    assert sure[0, 0] == pytest.approx((members + 0.5) / (members + 1))
    assert sure[1, 0] == pytest.approx(0.5 / (members + 1))


def test_unknown_members_count_once_each_way():
    """A member with something unknown is unfit in one count and fit in the other."""
    status = np.array([[[FIT], [UNKNOWN], [FAIL]]] * 2, dtype=np.uint8)
    chances = likelihoods(status)
    assert chances.sure[0, 0] == pytest.approx(1.5 / 4)
    assert chances.open[0, 0] == pytest.approx(2.5 / 4)


def test_a_job_is_its_worst_panel():
    """A member fits only if every panel fits in it; a failure outweighs the unknown."""
    one = [FIT, FIT, FIT, UNKNOWN]
    other = [FIT, UNKNOWN, FAIL, FAIL]
    status = np.array([one + other] * 2, dtype=np.uint8)[:, :, np.newaxis]
    assert worst_panel(status, 2)[0, :, 0].tolist() == [FIT, UNKNOWN, FAIL, FAIL]
