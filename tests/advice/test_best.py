"""What decides a play, where it cannot be read off a stage."""

import numpy as np

from sprayadvisor.advice.best import BestPlay, best_play, limiting
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.plan import Block, Plan, PlanStage, Span
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.tables import Tables
from sprayadvisor.advice.verdict import Word

PROCESS = Origin("process", "small")
DEW = Check("dew_margin_k", PROCESS, stop_min=2.0)
WIND = Check("wind_ms", PROCESS, stop_max=4.0)


def test_what_is_not_known_in_a_wait_is_told_of_the_stage_behind_it():
    """Wind forbids going on at once, and over the wait the dew is not known: so is the job."""
    stages = (
        PlanStage("a", "sand", "hand", None, minutes=10),
        PlanStage("b", "tack", "hand", None, minutes=10),
    )
    plan = Plan(
        "small",
        stages,
        (Block(0, 1), Block(1, 2, may_wait_min=60)),
        (Span(DEW, 0, 1), Span(WIND, 1, 1)),
    )
    steps = np.datetime64("2026-04-17T08:00:00") + np.arange(8) * np.timedelta64(900, "s")
    dew, wind = np.full((1, 8), 5.0), np.full((1, 8), 2.0)
    dew[0, 1], wind[0, :2] = np.nan, 9.0
    quantities = {"dew_margin_k": dew, "wind_ms": wind}
    climate = Climate(steps, quantities, 1, 1)
    chain = Chain(Tables.of(plan, quantities, lambda *_: np.ones((1, 8))))
    play = best_play(chain, 0, Level.STOP, climate)
    assert isinstance(play, BestPlay)
    found = limiting(play, chain.tables, Word.UNKNOWN, climate)
    assert (found.check, found.stage) == (DEW, 1)
    assert np.isnan(found.value)
    assert np.isnan(found.margin)


def test_what_decides_is_read_in_the_middle_member_of_those_it_spoils():
    """Of winds of 9, 3, 6, 5 and 7 m/s over a stop at 4 m/s, 6 m/s is told, not the first."""
    plan = Plan(
        "small",
        (PlanStage("a", "spray", "hand", None, minutes=10),),
        (Block(0, 1),),
        (Span(WIND, 0, 0),),
    )
    steps = np.datetime64("2026-04-17T08:00:00") + np.arange(2) * np.timedelta64(900, "s")
    wind = np.repeat(np.array([[9.0], [3.0], [6.0], [5.0], [7.0]]), 2, axis=1)
    for panels in (1, 2):  # a second panel in a little more wind is the one that counts
        rows = np.concatenate([wind + 0.5 * panel for panel in range(panels)])
        climate = Climate(steps, {"wind_ms": rows}, panels, 5)
        chain = Chain(Tables.of(plan, climate.values, lambda *_: np.ones((1, 2))))
        play = best_play(chain, 0, Level.STOP, climate)
        found = limiting(play, chain.tables, Word.NO_GO, climate)
        assert (found.value, found.panel) == (6.0 + 0.5 * (panels - 1), panels - 1)
        assert found.share == 0.8
