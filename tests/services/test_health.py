"""Whether the clock lives, told by when it last ticked."""

from datetime import UTC, datetime, timedelta

import pytest

from sprayadvisor.services.health import SILENT_AFTER, Health

NOW = datetime(2026, 4, 17, 6, 0, tzinfo=UTC)


def test_a_start_counts_as_a_sign_of_life_for_a_while():
    """Before the first tick has ended."""
    state = Health(lambda: NOW).state
    assert state.ticked_at is None
    assert state.alive(NOW + timedelta(minutes=1))
    assert not state.alive(NOW + SILENT_AFTER)


@pytest.mark.parametrize(
    ("later", "alive"),
    [(timedelta(minutes=14), True), (SILENT_AFTER, False), (-timedelta(days=1), True)],
)
def test_silence_is_death(later, alive):
    """A clock that was set back is not."""
    health = Health(lambda: NOW)
    health.ticked()
    assert health.state.alive(NOW + later) is alive


def test_what_went_wrong_last_stays_with_its_time():
    """A good tick after it does not take it away; a new problem does."""
    times = [NOW + timedelta(minutes=n) for n in range(9)]
    health = Health(lambda: times.pop(0))
    health.ticked(("first", "second"))
    assert (health.state.problem, health.state.problem_at) == ("first", NOW + timedelta(minutes=2))
    health.ticked()
    assert health.state.problem == "first"
    health.failed("third")
    assert health.state.problem == "third"
