"""From hours to quarter hours: what each stamp means, totals, gaps, the sun's path."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.errors import InputError
from sprayadvisor.science.quantities import QUANTITIES, Meaning
from sprayadvisor.science.regrid import to_grid
from sprayadvisor.science.sun import extraterrestrial_wm2, sun_position

PLACE = (53.3, -6.3, 20.0)
NAN = np.nan
INSTANTS = [
    name
    for name, (meaning, _) in QUANTITIES.items()
    if meaning is Meaning.INSTANT and name not in ("wind_from_deg", "weather_code")
]
HELD = [name for name, (meaning, _) in QUANTITIES.items() if meaning is Meaning.MAXIMUM]
MEANS = [name for name, (meaning, _) in QUANTITIES.items() if meaning is Meaning.MEAN]


def hourly(begin="2026-06-01T06:00", **columns):
    """Return an hourly frame with the given columns."""
    length = len(next(iter(columns.values())))
    return pd.DataFrame(columns, index=pd.date_range(begin, periods=length, freq="h", tz="UTC"))


def steps(name, values, begin="2026-06-01T06:00", place=PLACE):
    """Return the steps of one quantity as (hour, 4)."""
    return to_grid(hourly(begin, **{name: values}), *place).values[name].reshape(-1, 4)


def at(grid, name, clock):
    """Return the value of the step that begins at a clock time of the first day."""
    when = np.datetime64(f"{grid.starts_utc[0].astype('datetime64[D]')}T{clock}", "s")
    return grid.values[name][np.flatnonzero(grid.starts_utc == when)[0]]


def test_the_hour_stamped_eight_is_the_hour_from_seven():
    """Rain, gust, probability and radiation stamped 08:00 lie in 07:00 to 08:00; instants do not.

    A shift by one hour would fail here. Source: Open-Meteo's documentation of its hourly
    variables, "preceding hour".
    """
    stamped_eight = [0.0, 0.0, 4.0, 0.0, 0.0]  # stamps 06 to 10
    grid = to_grid(
        hourly(
            rain_mm=stamped_eight,
            gust_10m_ms=stamped_eight,
            rain_probability_pct=stamped_eight,
            ghi_wm2=stamped_eight,
            air_temp_c=stamped_eight,
        ),
        *PLACE,
    )
    for clock, wet in (("06:45", False), ("07:00", True), ("07:45", True), ("08:00", False)):
        assert at(grid, "rain_mm", clock) == (1.0 if wet else 0.0)
        assert at(grid, "gust_10m_ms", clock) == (4.0 if wet else 0.0)
        assert at(grid, "rain_probability_pct", clock) == (4.0 if wet else 0.0)
        assert (at(grid, "ghi_wm2", clock) > 0.0) == wet
    # the instant peaks at the stamp: half an hour each side it is half
    assert at(grid, "air_temp_c", "07:45") == at(grid, "air_temp_c", "08:00") == 3.5
    assert at(grid, "air_temp_c", "06:45") == 0.0
    wet_hours = grid.wet_hour_mm.reshape(-1, 4)
    np.testing.assert_array_equal(wet_hours, np.repeat([[0.0], [4.0], [0.0], [0.0]], 4, axis=1))


def test_the_grid_runs_from_first_to_last_stamp():
    """Four steps an hour, UTC seconds; every quantity is there, those not given all unknown."""
    grid = to_grid(hourly(air_temp_c=[1.0, 2.0, 3.0], suspect_air_temp_c=[False] * 3), *PLACE)
    assert grid.starts_utc.dtype == np.dtype("datetime64[s]")
    assert grid.starts_utc[0] == np.datetime64("2026-06-01T06:00:00")
    assert grid.starts_utc[-1] == np.datetime64("2026-06-01T07:45:00")
    assert set(np.diff(grid.starts_utc).astype(int)) == {900}
    assert set(grid.values) == set(QUANTITIES)
    for name, values in grid.values.items():
        assert values.shape == (8,)
        assert values.dtype == np.float64
        assert np.isnan(values).all() == (name != "air_temp_c")
    assert np.isnan(grid.wet_hour_mm).all()


def test_instants_are_taken_at_the_middle_of_the_step():
    """Between 10 and 14 the four middles are an eighth, three, five and seven eighths on."""
    np.testing.assert_allclose(steps("rh_pct", [10.0, 14.0])[0], [10.5, 11.5, 12.5, 13.5])


@pytest.mark.parametrize(
    ("column", "known"),
    [
        ([0.0, NAN, 2.0], [True, True]),
        ([0.0, NAN, NAN, 3.0], [True, True, True]),
        ([0.0, NAN, NAN, NAN, 4.0], [False] * 4),
        ([NAN, 1.0, 2.0, NAN], [False, True, False]),
        ([NAN, NAN, NAN], [False, False]),
        ([1.0, NAN, NAN], [False, False]),
    ],
)
def test_gaps_of_instants(column, known):
    """Up to three hours between valid stamps are bridged, more are not, and never beyond an end."""
    found = steps("air_temp_c", column)
    np.testing.assert_array_equal(~np.isnan(found).any(axis=1), known)
    np.testing.assert_array_equal(~np.isnan(found).all(axis=1), known)
    straight = (np.arange(found.size).reshape(found.shape) + 0.5) / 4  # one more each hour
    np.testing.assert_allclose(found[known], straight[known])


def test_a_doubted_stamp_is_never_bridged():
    """What failed a check does not come back as a number between its neighbours."""
    frame = hourly(
        air_temp_c=[1.0, 2.0, np.nan, 4.0, 5.0],
        suspect_air_temp_c=[False, False, True, False, False],
    )
    found = to_grid(frame, *PLACE).values["air_temp_c"].reshape(4, 4)
    assert np.isnan(found).all(axis=1).tolist() == [False, True, True, False]
    assert np.isfinite(found[[0, 3]]).all()


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (350.0, 10.0, [352.5, 357.5, 2.5, 7.5]),
        (10.0, 350.0, [7.5, 2.5, 357.5, 352.5]),
        (80.0, 120.0, [85.0, 95.0, 105.0, 115.0]),
        (0.0, 360.0, [0.0, 0.0, 0.0, 0.0]),
    ],
)
def test_wind_direction_turns_the_short_way(first, second, expected):
    """Through north where that is nearer; never through south by way of an average."""
    np.testing.assert_allclose(steps("wind_from_deg", [first, second])[0], expected, atol=1e-9)


def test_weather_codes_are_never_averaged():
    """The nearest stamp's code holds, and a missing one is not filled from further away."""
    found = steps("weather_code", [0.0, 61.0, NAN, 3.0])
    np.testing.assert_array_equal(found, [[0, 0, 61, 61], [61, 61, NAN, NAN], [NAN, NAN, 3, 3]])


def test_a_missing_hour_is_missing_in_its_four_steps_only():
    """Sums, maxima and means: NaN at stamp 08:00 empties 07:00 to 08:00 and nothing else."""
    column = [1.0, 1.0, NAN, 1.0]
    for name in ("rain_mm", *HELD, *MEANS):
        empty = np.isnan(steps(name, column))
        np.testing.assert_array_equal(empty, [[False] * 4, [True] * 4, [False] * 4])


MILLIMETRES = st.floats(0.0, 60.0, allow_subnormal=False)  # halves of those are not exact
AMOUNTS = st.lists(st.one_of(st.just(NAN), MILLIMETRES), min_size=2, max_size=30)


@given(AMOUNTS)
def test_totals_are_kept(column):
    """Each hour's rain is the sum of its steps, exactly, and its maximum is held."""
    grid = to_grid(hourly(rain_mm=column, gust_10m_ms=column), *PLACE)
    expected = np.array(column[1:])
    np.testing.assert_array_equal(grid.values["rain_mm"].reshape(-1, 4).sum(axis=1), expected)
    np.testing.assert_array_equal(grid.values["gust_10m_ms"].reshape(-1, 4).max(axis=1), expected)
    np.testing.assert_array_equal(grid.wet_hour_mm, np.repeat(expected, 4))


@given(AMOUNTS)
def test_instants_stay_within_their_neighbours(column):
    """No step lies outside the valid stamps around it, and a long gap stays a gap."""
    found = steps("cloud_fraction", column)
    for hour, row in enumerate(found):
        before = [value for value in column[: hour + 1] if not np.isnan(value)][-1:]
        after = [value for value in column[hour + 1 :] if not np.isnan(value)][:1]
        if not before or not after:
            assert np.isnan(row).all()
            continue
        known = row[~np.isnan(row)]
        low, high = min(before + after), max(before + after)
        assert np.all((known >= low - 1e-9) & (known <= high + 1e-9))
        if not np.isnan(column[hour]) and not np.isnan(column[hour + 1]):
            assert len(known) == 4


RADIATION = st.lists(st.one_of(st.just(NAN), st.floats(0.0, 900.0)), min_size=3, max_size=30)


@pytest.mark.parametrize("name", MEANS)
@given(column=RADIATION, latitude=st.floats(-80.0, 80.0), hour=st.integers(0, 23))
def test_means_of_radiation_are_kept(name, column, latitude, hour):
    """Whatever the hour, place and amount: same mean, nothing negative, NaN stays NaN."""
    begin = f"2026-03-20T{hour:02d}:00"
    found = steps(name, column, begin, (latitude, -6.3, 0.0))
    np.testing.assert_allclose(found.mean(axis=1), column[1:], rtol=1e-9, atol=1e-9)
    assert not np.any(found < 0.0)


def test_no_radiation_while_the_sun_is_down():
    """At sunrise the whole of the hour's mean goes to the steps with a sun."""
    starts = np.datetime64("2026-09-22T00:00", "s") + np.arange(92) * np.timedelta64(900, "s")
    down = sun_position(starts + np.timedelta64(450, "s"), *PLACE).zenith_deg >= 90.0
    for name in MEANS:
        found = steps(name, np.full(24, 5.0), "2026-09-22T00:00")
        down_hours = down.reshape(-1, 4)
        partly = down_hours.any(axis=1) & ~down_hours.all(axis=1)
        assert partly.sum() == 2  # the hours of sunrise and of sunset
        assert np.all(found[partly][down_hours[partly]] == 0.0)
        assert np.all(found[partly][~down_hours[partly]] > 0.0)


def test_radiation_follows_the_sun_within_the_hour():
    """In the morning each step is brighter than the one before, in the evening darker."""
    column = [0.0, 300.0, 400.0]
    assert np.all(np.diff(steps("ghi_wm2", column, "2026-06-01T06:00").ravel()[:4]) > 0)
    assert np.all(np.diff(steps("dhi_wm2", column, "2026-06-01T06:00").ravel()[:4]) > 0)
    assert np.all(np.diff(steps("ghi_wm2", column, "2026-06-01T18:00").ravel()[:4]) < 0)
    beam = steps("dni_wm2", column, "2026-06-01T10:00")[0]
    np.testing.assert_allclose(beam, 300.0, rtol=0.02)  # a high sun's beam hardly changes


def test_a_mean_without_a_sun_is_shared_evenly():
    """By night there is no path to follow: the hour is shared as it is."""
    for name in MEANS:
        np.testing.assert_array_equal(steps(name, [0.0, 8.0], "2026-06-01T00:00"), [[8.0] * 4])


# Dublin at the equinox, 06:00 to 07:00 UTC: the sun is down for two steps, then 1° and 3° up.
SUNRISE = "2026-03-20T06:00"


@pytest.mark.parametrize(
    ("name", "mean"), [("ghi_wm2", 80.0), ("dhi_wm2", 40.0), ("dni_wm2", 800.0)]
)
def test_a_mean_the_sunlit_steps_cannot_hold_is_shared_evenly(name, mean):
    """The source then sees another horizon than the formula; no step is blown up."""
    np.testing.assert_array_equal(steps(name, [0.0, mean], SUNRISE), [[mean] * 4])


@pytest.mark.parametrize(
    ("name", "mean"), [("ghi_wm2", 50.0), ("dhi_wm2", 30.0), ("dni_wm2", 400.0)]
)
def test_what_a_step_cannot_hold_goes_to_the_others(name, mean):
    """By the sun's path alone the last step would hold nearly all: it stops at what is possible.

    Source of the limits: Baseline Surface Radiation Network, Long & Dutton 2002, value from memory.
    """
    middles = np.datetime64(SUNRISE, "s") + np.arange(4) * np.timedelta64(900, "s")
    middles = middles + np.timedelta64(450, "s")
    height = np.cos(np.radians(sun_position(middles, *PLACE).zenith_deg))[3]
    outside = extraterrestrial_wm2(middles)[3]
    limit = {
        "ghi_wm2": 1.5 * outside * height**1.2 + 100.0,
        "dhi_wm2": 0.95 * outside * height**1.2 + 50.0,
        "dni_wm2": outside,
    }[name]
    found = steps(name, [0.0, mean], SUNRISE)[0]
    assert found[3] == pytest.approx(limit)
    np.testing.assert_allclose(found, [0.0, 0.0, 4 * mean - limit, limit])


def test_diffuse_follows_global():
    """Both are shared in the same proportion, so that their ratio does not jump."""
    column = [0.0, 100.0, 180.0, 250.0]
    for begin in ("2026-06-01T05:00", "2026-09-22T07:00"):
        np.testing.assert_allclose(
            steps("dhi_wm2", column, begin), steps("ghi_wm2", column, begin), rtol=1e-9
        )


@pytest.mark.parametrize(
    ("index", "sentence"),
    [
        (pd.RangeIndex(3), "no UTC time index"),
        (pd.date_range("2026-06-01", periods=3, freq="h"), "no UTC time index"),
        (pd.date_range("2026-06-01", periods=3, freq="h", tz="Europe/Dublin"), "no UTC time index"),
        (pd.date_range("2026-06-01", periods=3, freq="30min", tz="UTC"), "one hour apart"),
        (pd.date_range("2026-06-01", periods=1, freq="h", tz="UTC"), "two stamps or more"),
        (pd.date_range("2026-06-01", periods=0, freq="h", tz="UTC"), "two stamps or more"),
    ],
)
def test_frames_that_are_not_hourly_utc_are_refused(index, sentence):
    """One sentence says what is wrong and what to do."""
    frame = pd.DataFrame({"air_temp_c": np.zeros(len(index))}, index=index)
    with pytest.raises(InputError, match=sentence):
        to_grid(frame, *PLACE)


def test_elevation_may_be_unknown():
    """None counts as sea level."""
    frame = hourly(ghi_wm2=[0.0, 300.0, 400.0])
    at_sea = to_grid(frame, 53.3, -6.3, 0.0).values["ghi_wm2"]
    np.testing.assert_array_equal(to_grid(frame, 53.3, -6.3).values["ghi_wm2"], at_sea)


def test_every_instant_goes_the_same_way():
    """No instant is held or split by mistake: all follow the straight line."""
    frame = hourly(**{name: [1.0, 2.0] for name in INSTANTS})
    for name in INSTANTS:
        np.testing.assert_allclose(
            to_grid(frame, *PLACE).values[name], [1.125, 1.375, 1.625, 1.875], err_msg=name
        )


def test_whole_number_and_missing_columns_of_any_type():
    """Integers and pandas' own missing value are taken as numbers and NaN."""
    frame = hourly(weather_code=pd.array([1, None, 3], dtype="Int64"), rh_pct=[50, 60, 70])
    grid = to_grid(frame.set_index(frame.index), *PLACE)
    np.testing.assert_array_equal(np.isnan(grid.values["weather_code"]), [0, 0, 1, 1, 1, 1, 0, 0])
    assert grid.values["rh_pct"][0] == 51.25
