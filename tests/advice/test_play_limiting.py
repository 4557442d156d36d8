"""What a wait spoils is told with its bound, or as not known."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from play_parts import CALM, DRY, NAN, chain_of, flash, hand, plan_of, sky

from sprayadvisor.advice.best import BestPlay, Limiting, limiting
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.plan import Span
from sprayadvisor.advice.verdict import Word


def limit_of(chain: Chain, word: Word) -> Limiting:
    """Return what limits the start at step 0 of a chain of one row."""
    play = BestPlay(0, Level.STOP, 0, 0, chain.walk(0, Level.STOP), ())
    found = limiting(play, chain.tables, word, SimpleNamespace(n_members=1))
    assert found is not None
    return found


def test_a_block_that_begins_too_late_is_told_with_its_bound() -> None:
    """The flash alone takes longer than the next block may begin after the stage before it."""
    plan = plan_of([hand(5), flash(25)], [hand(5)], wait=10, within=20, since=0)
    found = limit_of(chain_of(plan, sky()), Word.NO_GO)
    assert (found.stage, found.minute, found.value, found.margin) == (2, 30, 25.0, -5.0)
    assert found.check.stop_max == 20


def test_what_is_not_known_in_a_wait_has_no_value() -> None:
    """A value met after the wait does not stand for the one missing in it."""
    spans = [Span(DRY, 0, 1), Span(CALM, 1, 1)]
    plan = plan_of([hand(20)], [hand(10)], spans=spans, wait=60)
    weather = sky(gust_ms={1: 9.0, 2: 9.0}, rh_pct={2: NAN})
    found = limit_of(chain_of(plan, weather), Word.UNKNOWN)
    assert (found.check, found.stage, found.minute) == (DRY, 1, 45)
    assert np.isnan(found.value)
    assert np.isnan(found.margin)
