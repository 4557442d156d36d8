"""A slow reference for the play: one start, one row, plain loops, nothing shared with the package.

It follows the rules, not the code. A stage begins when the one before it ends, or with the stage it
runs alongside; it lasts its minutes, or until its clock, counted minute by minute, has grown by its
need, or as long as its pace says for the quarter hour it begins in. Every quarter hour it overlaps
counts whole. The first stage with something broken or unknown decides, broken before unknown.
Waiting is tried out: going on at once, then every later quarter hour of the grid that is still
allowed, each with everything that may follow it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Block, Clock, Pace, Plan, PlanStage, Span

FAIL, UNKNOWN, FIT = 0, 1, 2
DRYING, HEATING, FORECAST, ELAPSED = "drying", "heating", "forecast", "elapsed_min"
QUARTER = 15
TOLERANCE_MIN = 1e-6  # drying this close to its need is done

Weather = Mapping[str, Sequence[float]]
SlowRate = Callable[[Clock, Mapping[str, float]], float]
SlowPace = Callable[[Pace, Mapping[str, float]], float]


@dataclass(frozen=True)
class SlowPlay:
    """How one play ends: times of what is reached, and the first event by stage and checks."""

    outcome: int
    begins: dict[int, int]
    ends: dict[int, int]
    stage: int | None = None
    checks: frozenset[Check | str] = frozenset()


@dataclass
class _Stretch:
    """One block as far as it is played."""

    begins: dict[int, int] = field(default_factory=dict)
    ends: dict[int, int] = field(default_factory=dict)
    broken: dict[int, set[Check | str]] = field(default_factory=dict)
    unknown: dict[int, set[Check | str]] = field(default_factory=dict)


class SlowPlayer:
    """Plays one plan in one row of the weather at one level."""

    def __init__(
        self, plan: Plan, weather: Weather, rate: SlowRate, pace: SlowPace, level: Level
    ) -> None:
        """Keep what is played.

        ``rate`` gives a clock's capped rate in one quarter hour, ``pace`` the whole minutes of
        work with the lamp that begins in it.
        """
        self.plan = plan
        self.weather = weather
        self.level = level
        self.quarters = len(next(iter(weather.values())))
        self.grid_end = self.quarters * QUARTER
        self._rate = rate
        self._pace = pace
        self._rates: dict[Clock, list[float]] = {}
        self._known: dict[tuple[int, int], SlowPlay] = {}

    def play(self, start_min: int) -> SlowPlay:
        """Return how a start at ``start_min`` ends if one waits well."""
        return self._from_block(0, start_min)

    def _from_block(self, number: int, begin: int) -> SlowPlay:
        if (number, begin) not in self._known:
            self._known[number, begin] = self._work_out(number, begin)
        return self._known[number, begin]

    def _work_out(self, number: int, begin: int) -> SlowPlay:
        block = self.plan.blocks[number]
        stretch = self._play_block(block, begin)
        for stage in range(block.first, block.stop):
            if stretch.broken.get(stage):
                return self._stops(FAIL, stretch, stage, stretch.broken[stage])
            if stretch.unknown.get(stage):
                return self._stops(UNKNOWN, stretch, stage, stretch.unknown[stage])
        if number + 1 == len(self.plan.blocks):
            return SlowPlay(FIT, stretch.begins, stretch.ends)
        best = max(self._ways_on(number + 1, stretch), key=lambda way: way.outcome)  # first of ties
        return SlowPlay(
            best.outcome,
            stretch.begins | best.begins,
            stretch.ends | best.ends,
            best.stage,
            best.checks,
        )

    @staticmethod
    def _stops(outcome: int, stretch: _Stretch, stage: int, checks: set[Check | str]) -> SlowPlay:
        return SlowPlay(outcome, stretch.begins, stretch.ends, stage, frozenset(checks))

    # -- waiting ---------------------------------------------------------------------------------

    def _ways_on(self, number: int, before: _Stretch) -> Iterator[SlowPlay]:
        """Yield what comes of going on at once and of every wait allowed, the earliest first."""
        block = self.plan.blocks[number]
        end = max(before.ends.values())
        latest = end + block.may_wait_min
        if block.within_min is not None:
            latest = min(latest, before.ends[block.within_since] + block.within_min)
        if end > latest:
            late = self._play_block(block, end)
            yield self._stops(FAIL, late, block.first, {ELAPSED})
            return
        yield self._from_block(number, end)
        for quarter in range(self.quarters):
            if end < quarter * QUARTER <= latest:
                yield self._after_wait(block, number, end, quarter)

    def _after_wait(self, block: Block, number: int, end: int, quarter: int) -> SlowPlay:
        """Return what comes of waiting from ``end`` to ``quarter``."""
        rest = self._from_block(number, quarter * QUARTER)
        unknown: set[Check | str] = set()
        for span in self.plan.spans:
            if span.first < block.first <= span.last:
                for step in range(end // QUARTER, quarter):
                    match self._judge(span.check, step):
                        case 0:
                            return SlowPlay(FAIL, {}, {})
                        case 1:
                            unknown.add(span.check)
        if unknown and rest.outcome > FAIL:
            started = self._play_block(block, quarter * QUARTER)
            return self._stops(UNKNOWN, started, block.first, unknown)
        return rest

    # -- one block -------------------------------------------------------------------------------

    def _play_block(self, block: Block, begin: int) -> _Stretch:
        out = _Stretch()
        stopped: set[int] = set()
        for index in range(block.first, block.stop):
            stage = self.plan.stages[index]
            if stage.alongside is not None:
                if stage.alongside not in out.begins:
                    continue
                behind = stage.after
                starts = out.begins[stage.alongside] if behind is None else out.ends[behind]
            elif stage.after is None:
                starts = begin
            elif stage.after in stopped or stage.after not in out.begins:
                continue
            else:
                starts = out.ends[stage.after]
            self._play_stage(out, index, starts, stopped)
        for index in out.begins:
            self._late(out, index)
            for span in self.plan.spans:
                self._hold(out, span, index)
        return out

    def _play_stage(self, out: _Stretch, index: int, starts: int, stopped: set[int]) -> None:
        """Work out when a stage ends, and note a clock or a grid that runs out."""
        stage = self.plan.stages[index]
        least = starts + stage.least_min
        out.begins[index] = starts
        if stage.pace is not None:
            ends = self._with_lamp(out, index, stage, starts, stopped)
        elif stage.clock is None:
            ends = max(starts + (stage.minutes or 0), least)
        else:
            since = starts if stage.clock.since is None else out.ends[stage.clock.since]
            state, minute = self._run_clock(stage.clock, since)
            ends = max(minute, starts, least)
            if state == "never":
                out.broken.setdefault(index, set()).add(DRYING)
            if state == "cut off":
                out.unknown.setdefault(index, set()).add(FORECAST)
            if state == "unknown":
                # Up to here it was certainly still drying; how long it goes on nobody knows.
                ends = max(minute + 1, starts, least)
                out.unknown.setdefault(index, set()).add(FORECAST)
            if state != "done":
                stopped.add(index)
        if ends > self.grid_end and index not in stopped:
            stopped.add(index)
            if stage.alongside is None:
                out.unknown.setdefault(index, set()).add(FORECAST)
        out.ends[index] = min(ends, self.grid_end)

    def _with_lamp(
        self, out: _Stretch, index: int, stage: PlanStage, starts: int, stopped: set[int]
    ) -> int:
        """Return when work with the lamp ends, and note one that cannot be done or is not known."""
        least = starts + max(stage.minutes or 0, stage.least_min)
        step = starts // QUARTER
        minutes = math.nan
        if step < self.quarters:
            now = {name: values[step] for name, values in self.weather.items()}
            minutes = self._pace(stage.pace, now)
        if math.isfinite(minutes):
            return max(starts + int(minutes), least)
        stopped.add(index)
        if math.isnan(minutes):
            out.unknown.setdefault(index, set()).add(FORECAST)
        else:
            out.broken.setdefault(index, set()).add(HEATING)
        return least

    def _run_clock(self, clock: Clock, since: int) -> tuple[str, int]:
        """Return how a clock ends, and the minute it ends at or its rate is first not known at."""
        if clock not in self._rates:
            self._rates[clock] = [
                self._rate(clock, {name: values[i] for name, values in self.weather.items()})
                for i in range(self.quarters)
            ]
        grown = 0.0
        for minute in range(since, self.grid_end + 1):
            if grown >= clock.need_min - TOLERANCE_MIN:
                return "done", minute
            if minute - since >= clock.given_up_min:
                return "never", minute
            if minute == self.grid_end:
                break
            rate = self._rates[clock][minute // QUARTER]
            if math.isnan(rate):
                return "unknown", minute
            grown += rate
        return "cut off", self.grid_end

    def _late(self, out: _Stretch, index: int) -> None:
        for deadline in self.plan.deadlines:
            if deadline.stage != index or deadline.since not in out.ends:
                continue
            if out.begins[index] - out.ends[deadline.since] > deadline.minutes:
                out.broken.setdefault(index, set()).add(ELAPSED)

    # -- spans -----------------------------------------------------------------------------------

    def _hold(self, out: _Stretch, span: Span, index: int) -> None:
        """Hold a span against the part of it that falls to one stage."""
        if not span.first <= index <= span.last:
            return
        stages = self.plan.stages
        host = stages[index].alongside
        until = out.ends[index]
        if host is not None and host < span.first:
            if stages[span.first].alongside is None:
                return  # over before the span begins
            # Begun in mid-flash, the span goes on to the next stage: what lies between is held too.
            if any(stages[j].alongside is None for j in range(index, span.last + 1)):
                before = [j for j in out.ends if j < index and stages[j].alongside is None]
                until = out.ends[before[-1]]
        for step in range(self.quarters):
            overlaps = step * QUARTER < until and out.begins[index] < (step + 1) * QUARTER
            if overlaps and out.begins[index] < until:
                match self._judge(span.check, step):
                    case 0:
                        out.broken.setdefault(index, set()).add(span.check)
                    case 1:
                        out.unknown.setdefault(index, set()).add(span.check)

    def _judge(self, check: Check, step: int) -> int:
        """Return whether a check fails, is unknown or holds in one quarter hour."""
        lows, highs = [check.stop_min], [check.stop_max]
        if self.level is Level.INSIDE:
            lows.append(check.inside_min)
            highs.append(check.inside_max)
        low = max((bound for bound in lows if bound is not None), default=None)
        high = min((bound for bound in highs if bound is not None), default=None)
        if low is None and high is None:
            return FIT
        value = self.weather[check.read_from][step]
        if math.isnan(value):
            return UNKNOWN
        outside = (low is not None and value < low) or (high is not None and value > high)
        return FAIL if outside else FIT
