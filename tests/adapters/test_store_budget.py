"""What was asked of the weather services, counted in windows of UTC."""

from datetime import UTC, datetime, timedelta

import pytest

from sprayadvisor.adapters.open_meteo import AIR_QUALITY, FORECAST, PLACE_SEARCH
from sprayadvisor.adapters.store.budget import SqlBudget
from sprayadvisor.adapters.store.engine import migrate, open_engine
from sprayadvisor.adapters.store.upkeep import SqlUpkeep
from sprayadvisor.services.ports.budget import LIMITS, Limits, call_weight, windows

NOW = datetime(2026, 4, 16, 17, 5, 30, tzinfo=UTC)


@pytest.fixture
def engine(tmp_path):
    """A database with its tables."""
    made = open_engine(f"sqlite:///{tmp_path / 'live.db'}")
    migrate(made)
    yield made
    made.dispose()


# Examples in the tests of the service's own public source and in its documentation, 2026.
@pytest.mark.parametrize(
    ("days", "places", "variables", "weight"),
    [
        (7, 1, 1, 1.0), (7, 1, 2, 1.0), (7, 1, 15, 1.5), (7, 1, 30, 3.0),
        (31, 2, 15, 6.643), (31, 2, 30, 13.286), (16, 1, 10, 1.143), (14, 1, 10, 1.0),
    ],
)  # fmt: skip
def test_weight_is_as_the_service_counts_it(days, places, variables, weight):
    """Ten variables over a fortnight are one call for each place, and never less than one."""
    assert call_weight(variables, days, places) == pytest.approx(weight, abs=0.001)


def test_our_own_calls_are_weighed_by_what_they_ask_for():
    """Fourteen variables of twelve days; seven of five; a search."""
    assert FORECAST.weight(1) == pytest.approx(1.4)
    assert FORECAST.weight(50) == pytest.approx(70.0)
    assert AIR_QUALITY.weight(3) == 3.0
    assert PLACE_SEARCH.weight(1) == 1.0


@pytest.mark.parametrize(
    ("at", "ends"),
    [
        (NOW, ["17:06 16", "18:00 16", "00:00 17", "00:00 01"]),
        (datetime(2026, 12, 31, 23, 59, 59, tzinfo=UTC), ["00:00 01"] * 4),
        (datetime(2028, 2, 29, 12, tzinfo=UTC), ["12:01 29", "13:00 29", "00:00 01", "00:00 01"]),
    ],
)
def test_windows_are_fixed_and_in_utc(at, ends):
    """Each ends at the top of its unit, also over the ends of months and years."""
    found = list(windows(LIMITS["free"], at))
    assert [f"{window.ends:%H:%M %d}" for window in found] == ends
    assert [window.allowed for window in found] == [480, 4_000, 8_000, 240_000]
    assert all(window.begins <= at < window.ends for window in found)
    assert [window.name for window in windows(LIMITS["customer"], at)] == ["month"]
    assert list(windows(LIMITS["own"], at)) == []


@pytest.mark.parametrize(
    ("limits", "step"),
    [
        (Limits(minute=10), timedelta(minutes=1)),
        (Limits(hour=10), timedelta(hours=1)),
        (Limits(day=10), timedelta(days=1)),
        (Limits(month=10), timedelta(days=31)),
    ],
)
def test_four_fifths_of_a_limit_are_used(engine, limits, step):
    """The call that would go beyond is refused and not counted; the next window is open again."""
    budget = SqlBudget(engine, limits)
    assert [budget.take(2.0, NOW) for _ in range(4)] == [None] * 4
    full = budget.take(0.1, NOW)
    assert full.allowed == 8
    assert budget.used(NOW) == [(full, 8.0)]
    assert budget.take(2.0, NOW + step) is None
    assert budget.take(0.1, full.begins) == full


def test_a_restart_and_another_process_go_on_counting(tmp_path):
    """The count lies in the database."""
    for count in range(5):
        engine = open_engine(f"sqlite:///{tmp_path / 'shared.db'}")
        migrate(engine)
        refused = SqlBudget(engine, Limits(day=10)).take(2.0, NOW + timedelta(seconds=count))
        engine.dispose()
    assert refused.name == "day"


def test_old_counts_are_forgotten(engine):
    """What no window reaches any more goes."""
    budget = SqlBudget(engine, LIMITS["free"])
    budget.take(1.0, NOW - timedelta(days=41))
    budget.take(1.0, NOW)
    assert SqlUpkeep(engine).forget_calls(NOW - timedelta(days=40)) == 1
    assert budget.used(NOW)[-1][1] == 1.0
