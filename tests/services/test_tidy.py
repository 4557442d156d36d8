"""Forgetting what is old."""

import logging
from datetime import UTC, datetime

import pytest

from sprayadvisor.services.tidy import Tidy

NOW = datetime(2026, 4, 17, 5, 30, tzinfo=UTC)


class Store:
    """Counts, and remembers what it was asked."""

    def __init__(self, count):
        self.count, self.asked = count, []

    def forget_weather(self, before):
        self.asked.append(("weather", (NOW - before).days))
        return self.count

    def forget_calls(self, before):
        self.asked.append(("calls", (NOW - before).days))
        return self.count

    def forget_messages(self, before):
        self.asked.append(("messages", (NOW - before).days))
        return self.count


@pytest.mark.parametrize(("count", "lines"), [(0, 0), (3, 1)])
def test_weather_goes_after_a_fortnight_and_the_ledger_after_a_year(count, lines, caplog):
    """Both ages are counted from now, and the log tells what went, if anything did."""
    store = Store(count)
    with caplog.at_level(logging.INFO):
        Tidy(store, lambda: NOW)()
    assert store.asked == [("weather", 14), ("messages", 400), ("calls", 40)]
    assert len(caplog.records) == lines
