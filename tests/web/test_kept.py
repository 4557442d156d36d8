"""What came of something sent is kept for a day of work, and not without end."""

from datetime import UTC, datetime, timedelta

from sprayadvisor.web import kept
from sprayadvisor.web.kept import KEPT_FOR, KeptPage, KeptPages

NOON = datetime(2026, 4, 16, 11, tzinfo=UTC)


def page(at=NOON, **values):
    """Return what came of something."""
    return KeptPage("now/now.html.j2", 200, "/now/A1", at, values)


def test_a_page_is_found_by_its_token_alone():
    """Which is another for each, and says nothing of what stands there."""
    pages = KeptPages()
    one, two = pages.keep(page(panel=14.5)), pages.keep(page(panel=14.5))
    assert one != two
    assert pages.of(one, NOON) == page(panel=14.5)
    assert pages.of("", NOON) is None


def test_a_page_is_kept_for_a_day_of_work_by_any_clock():
    """A clock that was set back by more than that ends it as well."""
    pages = KeptPages()
    token = pages.keep(page())
    second = timedelta(seconds=1)
    for off in (KEPT_FOR, -KEPT_FOR):
        assert pages.of(token, NOON + off) is not None
    for off in (KEPT_FOR + second, -KEPT_FOR - second):
        assert pages.of(token, NOON + off) is None


def test_the_oldest_makes_room(monkeypatch):
    """Memory is bounded."""
    monkeypatch.setattr(kept, "_MOST", 3)
    pages = KeptPages()
    tokens = [pages.keep(page(number=number)) for number in range(5)]
    found = [pages.of(token, NOON) is not None for token in tokens]
    assert found == [False, False, True, True, True]
