"""The sun placed once for many places."""

from __future__ import annotations

import numpy as np
import pytest

from sprayadvisor.science import sun_track
from sprayadvisor.science.sun import sun_position
from sprayadvisor.science.sun_track import sun_tracks

TIMES = np.arange("2026-04-16", "2026-04-18", 15, dtype="datetime64[m]")
GALWAY, OSLO = (53.27, -9.05, 20.0), (59.91, 10.75, 5.0)


@pytest.fixture(autouse=True)
def _nothing_kept(monkeypatch):
    monkeypatch.setattr(sun_track, "_kept", {})


@pytest.fixture
def asked(monkeypatch):
    """Return how many places each working-out was for."""
    counted: list[int] = []

    def counting(times, latitude, *rest):
        counted.append(len(latitude))
        return sun_position(times, latitude, *rest)

    monkeypatch.setattr(sun_track, "sun_position", counting)
    return counted


def test_each_place_has_the_very_sun_it_would_have_alone():
    """Working places out together changes nothing, to the last bit."""
    for place, track in zip((GALWAY, OSLO), sun_tracks(TIMES, [GALWAY, OSLO]), strict=True):
        for together, alone in zip(track, sun_position(TIMES, *place), strict=True):
            assert np.array_equal(together, alone)


def test_a_place_is_worked_out_once_for_a_grid(asked):
    """Asked again, in another unit of time too, it is there; another day or height is not."""
    first = sun_tracks(TIMES, [GALWAY, GALWAY])
    again = sun_tracks(TIMES.astype("datetime64[ns]"), [OSLO, GALWAY])
    assert again[1].zenith_deg is first[0].zenith_deg is first[1].zenith_deg
    assert asked == [1, 1]
    sun_tracks(TIMES + np.timedelta64(1, "D"), [GALWAY])
    sun_tracks(TIMES, [(*GALWAY[:2], 21.0)])
    assert asked == [1, 1, 1, 1]


def test_what_is_kept_cannot_be_written_to():
    """A track is lent to many."""
    (track,) = sun_tracks(TIMES, [GALWAY])
    with pytest.raises(ValueError, match="read-only"):
        track.zenith_deg[0] = 0.0


def test_only_so_many_are_kept(monkeypatch, asked):
    """What is kept is bounded, and what was asked for just now is never missing."""
    monkeypatch.setattr(sun_track, "MOST_KEPT", 3)
    places = [(float(north), 0.0, 0.0) for north in range(5)]
    for place in places:
        sun_tracks(TIMES, [place])
        assert len(sun_track._kept) <= 3
    assert len(sun_tracks(TIMES, places)) == 5
    assert asked[-1] == 3  # the last two were still there


def test_an_unknown_place_has_no_sun():
    """NaN in, NaN out; and the other places keep theirs."""
    unknown, known = sun_tracks(TIMES, [(np.nan, 0.0, 0.0), GALWAY])
    assert np.isnan(unknown.zenith_deg).all()
    assert np.isfinite(known.zenith_deg).all()
