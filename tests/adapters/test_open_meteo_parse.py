"""The forecast parser: shape, units, gaps, nulls and values that cannot be true."""

from __future__ import annotations

import json
import math

import numpy as np
import pandas as pd
import pytest
import weather_payloads as weather

from sprayadvisor.adapters.open_meteo import parse_forecast
from sprayadvisor.adapters.open_meteo.fields import FIELDS, FORECAST
from sprayadvisor.errors import WeatherMalformed
from sprayadvisor.science.quantities import PLAIN_NAMES, QUANTITIES

REQUIRED = [name for name, (_, needed) in QUANTITIES.items() if needed]


def test_the_request_asks_for_every_quantity_once_in_the_units_the_parser_expects():
    """The table covers the quantities exactly, and the request names each of its variables."""
    assert sorted(field.name for field in FIELDS) == sorted(QUANTITIES)
    assert FORECAST.request["hourly"].split(",") == [field.asked for field in FIELDS]
    assert len(set(FORECAST.request["hourly"].split(","))) == 14


def test_a_sound_answer_becomes_a_gapless_utc_frame_without_doubts():
    """Index in UTC seconds, one float column a quantity, one mark a quantity, no sentences."""
    frame = parse_forecast(weather.answer(hours=264))
    assert str(frame.index.dtype) == "datetime64[s, UTC]"
    assert frame.index[0] == pd.Timestamp("2026-04-18T00:00Z")
    assert len(frame) == 264
    assert list(frame.columns) == [*QUANTITIES, *(f"suspect_{f.name}" for f in FIELDS)]
    assert frame[list(QUANTITIES)].notna().all().all()
    assert not frame.filter(like="suspect_").any().any()
    assert frame.attrs == {"suspect": (), "missing": (), "source": "Open-Meteo"}


def test_values_arrive_under_our_names_in_our_units():
    """Each variable lands in its own column; cloud becomes a fraction, the rest stays as it is."""
    payload = weather.answer(hours=1)
    for number, field in enumerate(FIELDS, start=1):
        payload["hourly"][field.asked] = [float(number)]
    payload["hourly"] |= {"surface_pressure": [1002.0], "wind_gusts_10m": [4.0]}
    payload["hourly"] |= {"temperature_2m": [20.0], "relative_humidity_2m": [50]}
    # 9.27 °C for 20 °C and 50 %: psychrometric tables of any handbook, value from memory
    payload["hourly"] |= {"dew_point_2m": [9.3]}
    row = parse_forecast(payload).iloc[0]
    expected = {"air_temp_c": 20, "rh_pct": 50, "wind_10m_ms": 3, "gust_10m_ms": 4, "rain_mm": 5}
    expected |= {"ghi_wm2": 6, "dni_wm2": 7, "dhi_wm2": 8, "cloud_fraction": 0.09}
    expected |= {"dew_point_c": 9.3, "rain_probability_pct": 11, "wind_from_deg": 12}
    expected |= {"pressure_hpa": 1002, "weather_code": 14}
    assert row[list(QUANTITIES)].astype(float).to_dict() == pytest.approx(expected)


def test_bytes_and_a_mapping_give_the_same_frame():
    """An answer as it was stored reads like one just decoded."""
    payload = weather.with_hour(5, relative_humidity_2m=None)
    pd.testing.assert_frame_equal(
        parse_forecast(json.dumps(payload).encode()), parse_forecast(payload)
    )


@pytest.mark.parametrize("field", FIELDS, ids=lambda f: f.asked)
def test_a_null_is_unknown_and_never_zero(field):
    """A null hour is NaN in its own column only, and is not called suspect."""
    frame = parse_forecast(weather.with_hour(7, **{field.asked: None}))
    assert math.isnan(frame[field.name].iloc[7])
    assert frame[list(QUANTITIES)].isna().sum().sum() == 1
    assert not frame.filter(like="suspect_").any().any()


@pytest.mark.parametrize("field", FIELDS, ids=lambda f: f.asked)
@pytest.mark.parametrize("shape", ["undefined", "null", "absent"])
def test_a_variable_not_given_is_named_as_missing_if_a_verdict_needs_it(field, shape):
    """A column without values is all NaN; required ones are named, optional ones are not."""
    payload = weather.answer(**{field.asked: None if shape == "absent" else [None] * 48})
    if shape == "undefined":
        payload["hourly_units"][field.asked] = "undefined"
    frame = parse_forecast(payload)
    assert frame[field.name].isna().all()
    assert frame.attrs["missing"] == ((field.name,) if field.name in REQUIRED else ())


def test_an_hour_left_out_becomes_a_row_of_nan():
    """A gap in time is filled with unknown weather instead of being drawn together."""
    payload = weather.answer()
    for column in payload["hourly"].values():
        del column[10:12]
    frame = parse_forecast(payload)
    assert len(frame) == 48
    assert frame[list(QUANTITIES)].iloc[10:12].isna().all().all()
    assert frame["air_temp_c"].iloc[12] == parse_forecast(weather.answer())["air_temp_c"].iloc[12]
    assert frame.filter(like="suspect_").dtypes.eq(bool).all()


def test_minus_zero_is_zero():
    """−0.0 is a number like any other and keeps no sign."""
    frame = parse_forecast(weather.with_hour(3, precipitation=-0.0, temperature_2m=None))
    assert math.copysign(1.0, frame["rain_mm"].iloc[3]) == 1.0


def without(payload: dict, *path: str) -> dict:
    """Return the answer without one part."""
    inner = payload
    for key in path[:-1]:
        inner = inner[key]
    del inner[path[-1]]
    return payload


def with_units(**units: object) -> dict:
    """Return an answer that states other units."""
    payload = weather.answer()
    payload["hourly_units"] |= units
    return payload


def with_time(*stamps: object) -> dict:
    """Return an answer with its own stamps."""
    payload = weather.answer(hours=len(stamps))
    payload["hourly"]["time"] = list(stamps)
    return payload


H = "2026-04-18T"
MALFORMED = [
    ("not JSON", b"<html>", "not valid JSON"),
    ("cut off", json.dumps(weather.answer()).encode()[:-40], "not valid JSON"),
    ("no text", b"\xff\xfe", "not valid JSON"),
    ("NaN literal", b'{"utc_offset_seconds":0,"elevation":NaN}', "NaN, which is not a number"),
    ("Infinity literal", b'{"elevation":-Infinity}', "-Infinity, which is not a number"),
    ("number beyond floats", b'{"elevation":1e999}', "1e999, which is not a number"),
    ("nested without end", b"[" * 200_000, "nested too deeply"),
    ("a list", json.dumps([weather.answer()]).encode(), "not one place's object"),
    (
        "an error",
        {"error": True, "reason": "Invalid timezone"},
        "it is an error, not a forecast .Invalid timezone",
    ),
    ("an error beside data", weather.answer() | {"error": True}, "it is an error"),
    ("an offset", weather.answer() | {"utc_offset_seconds": 7200}, "utc_offset_seconds is 7200"),
    ("no offset", without(weather.answer(), "utc_offset_seconds"), "utc_offset_seconds is None"),
    ("offset false", weather.answer() | {"utc_offset_seconds": False}, "utc_offset_seconds is Fal"),
    ("no hourly", without(weather.answer(), "hourly"), "the part hourly is missing"),
    ("no units", without(weather.answer(), "hourly_units"), "the part hourly_units is missing"),
    ("hourly a list", weather.answer() | {"hourly": []}, "the part hourly is missing"),
    ("no time", without(weather.answer(), "hourly", "time"), "hourly.time is not a list"),
    ("no hours", weather.answer(hours=0), "hourly.time is not a list"),
    ("epoch stamps", with_time(1776470400, 1776474000), "hourly.time is not a list of times"),
    ("epoch unit", with_units(time="unixtime"), "unit of time is 'unixtime'"),
    ("odd stamps", with_time(H + "00:00", "tomorrow"), "hourly.time holds something"),
    ("zoned stamps", with_time(H + "00:00Z", H + "01:00Z"), "hourly.time holds something"),
    ("half hours", with_time(H + "00:00", H + "00:30"), "not full hours"),
    ("backwards", with_time(H + "01:00", H + "00:00"), "runs backwards or repeats"),
    ("twice", with_time(H + "01:00", H + "01:00"), "runs backwards or repeats"),
    ("centuries", with_time(H + "01:00", "9826-04-18T01:00"), "spans more than 120 days"),
    ("wind in km/h", with_units(wind_speed_10m="km/h"), "wind_speed_10m is 'km/h' where 'm/s'"),
    ("°F", with_units(temperature_2m="°F"), "temperature_2m is '°F' where '°C'"),
    (
        "no unit",
        without(weather.answer(), "hourly_units", "precipitation"),
        "precipitation is None",
    ),
    ("undefined with data", with_units(cloud_cover="undefined"), "cloud_cover is 'undefined'"),
    ("one short", weather.answer(precipitation=[0.0] * 47), "precipitation has 47 values for 48"),
    ("one long", weather.answer(cloud_cover=[0.0] * 49), "cloud_cover has 49 values for 48"),
    ("no list", weather.answer(cloud_cover=7), "cloud_cover is not a list"),
    ("text", weather.with_hour(2, precipitation="0.0"), "precipitation holds '0.0'"),
    ("true", weather.with_hour(2, precipitation=False), "precipitation holds 'False'"),
    ("all empty", weather.answer(**{f.asked: [None] * 48 for f in FIELDS}), "holds no weather"),
]


@pytest.mark.parametrize(
    ("payload", "problem"), [case[1:] for case in MALFORMED], ids=[case[0] for case in MALFORMED]
)
def test_a_wrong_shape_or_unit_is_refused_in_one_sentence(payload, problem):
    """What cannot be read with certainty is not read at all, and the sentence names the field."""
    with pytest.raises(WeatherMalformed, match=problem) as caught:
        parse_forecast(payload, source="the test service")
    assert str(caught.value).startswith("The answer from the test service cannot be used: ")
    assert "\n" not in str(caught.value)


IMPOSSIBLE = [
    ("temperature_2m", 55.1, "air_temp_c", "55.1 is above 55"),
    ("temperature_2m", -60.1, "air_temp_c", "-60.1 is below -60"),
    ("relative_humidity_2m", 104, "rh_pct", "104 is above 100"),
    ("relative_humidity_2m", 101.01, "rh_pct", "101 is above 100"),
    ("relative_humidity_2m", -1, "rh_pct", "-1 is below 0"),
    ("wind_speed_10m", 60.5, "wind_10m_ms", "60.5 is above 60"),
    ("wind_speed_10m", -0.1, "wind_10m_ms", "-0.1 is below 0"),
    ("wind_gusts_10m", 512.0, "gust_10m_ms", "512 is above 90"),
    ("precipitation", -0.1, "rain_mm", "-0.1 is below 0"),
    ("precipitation", 151, "rain_mm", "151 is above 150"),
    ("shortwave_radiation", -1.1, "ghi_wm2", "-1.1 is below 0"),
    ("shortwave_radiation", 1401, "ghi_wm2", "1401 is above 1400"),
    ("direct_normal_irradiance", 1501, "dni_wm2", "1501 is above 1500"),
    ("diffuse_radiation", -2, "dhi_wm2", "-2 is below 0"),
    ("diffuse_radiation", 10**400, "dhi_wm2", "inf is above 1400"),
    ("cloud_cover", 101, "cloud_fraction", "1.01 is above 1"),
    ("cloud_cover", -1, "cloud_fraction", "-0.01 is below 0"),
    ("dew_point_2m", 41, "dew_point_c", "41 is above 40"),
    ("precipitation_probability", 101, "rain_probability_pct", "101 is above 100"),
    ("wind_direction_10m", 361, "wind_from_deg", "361 is above 360"),
    ("surface_pressure", 499, "pressure_hpa", "499 is below 500"),
    ("surface_pressure", 1101, "pressure_hpa", "1101 is above 1100"),
    ("weather_code", 100, "weather_code", "100 is above 99"),
]


@pytest.mark.parametrize(("asked", "value", "name", "problem"), IMPOSSIBLE)
def test_an_impossible_value_is_emptied_marked_and_told(asked, value, name, problem):
    """The hour is NaN and suspect in that quantity alone, and one sentence says why."""
    frame = parse_forecast(weather.with_hour(9, **{asked: value}))
    assert math.isnan(frame[name].iloc[9])
    marks = frame.filter(like="suspect_")
    assert marks.sum().sum() == 1
    assert marks[f"suspect_{name}"].iloc[9]
    assert frame.attrs["suspect"] == (
        f"{PLAIN_NAMES[name]} 2026-04-18 09:00 UTC: {problem} (1 hour)",
    )


@pytest.mark.parametrize(
    ("asked", "value", "name", "kept"),
    [
        ("relative_humidity_2m", 100.6, "rh_pct", 100.0),
        ("relative_humidity_2m", 101, "rh_pct", 100.0),
        ("shortwave_radiation", -1.0, "ghi_wm2", 0.0),
        ("direct_normal_irradiance", -0.2, "dni_wm2", 0.0),
        ("wind_speed_10m", 60.0, "wind_10m_ms", 60.0),
        ("cloud_cover", 100, "cloud_fraction", 1.0),
        ("precipitation", 150.0, "rain_mm", 150.0),
    ],
)
def test_rounding_is_brought_back_and_the_bounds_themselves_are_kept(asked, value, name, kept):
    """A value within rounding of its range is set to the bound without a doubt being raised."""
    columns = {asked: value, "wind_gusts_10m": 75.0}
    if asked == "relative_humidity_2m":
        columns |= {"temperature_2m": 9.0, "dew_point_2m": 9.0}
    frame = parse_forecast(weather.with_hour(9, **columns))
    assert frame[name].iloc[9] == kept
    assert frame.attrs["suspect"] == ()


def test_hours_with_the_same_fault_share_one_sentence():
    """Three hours beyond the range are told once, with the first time and the count."""
    payload = weather.answer()
    payload["hourly"]["relative_humidity_2m"][20:23] = [103, 105, 104]
    frame = parse_forecast(payload)
    assert frame.attrs["suspect"] == (
        "humidity 2026-04-18 20:00 UTC: 103 is above 100 (the first of 3 hours)",
    )
    assert frame["rh_pct"].isna().sum() == 3


@pytest.mark.parametrize(
    ("wind", "gust", "expected"),
    [(5.0, 4.0, 5.0), (5.0, 3.0, 5.0), (5.0, 2.9, math.nan), (5.0, 5.0, 5.0), (5.0, 9.0, 9.0)],
)
def test_a_gust_is_never_under_the_mean_wind(wind, gust, expected):
    """A gust a little under the wind is lifted to it; one far under it is not believed."""
    frame = parse_forecast(weather.with_hour(9, wind_speed_10m=wind, wind_gusts_10m=gust))
    assert frame["gust_10m_ms"].iloc[9] == pytest.approx(expected, nan_ok=True)
    assert frame["wind_10m_ms"].iloc[9] == wind
    told = ("gusts 2026-04-18 09:00 UTC: gust 2.9 is far under the mean wind 5 (1 hour)",)
    assert frame.attrs["suspect"] == (told if math.isnan(expected) else ())


@pytest.mark.parametrize(("wind", "gust"), [(None, 4.0), (4.0, None)])
def test_a_gust_is_not_compared_with_an_unknown_wind(wind, gust):
    """With one of the two unknown the other stays as it is."""
    frame = parse_forecast(weather.with_hour(9, wind_speed_10m=wind, wind_gusts_10m=gust))
    assert frame["gust_10m_ms"].iloc[9] == pytest.approx(gust or math.nan, nan_ok=True)
    assert frame.attrs["suspect"] == ()


def test_a_dew_point_that_contradicts_empties_all_three():
    """Which of temperature, humidity and dew point is wrong cannot be told: none is used."""
    payload = weather.with_hour(9, temperature_2m=20.0, relative_humidity_2m=50, dew_point_2m=11.0)
    frame = parse_forecast(payload)
    for name in ("air_temp_c", "rh_pct", "dew_point_c"):
        assert math.isnan(frame[name].iloc[9])
        assert frame[f"suspect_{name}"].iloc[9]
    assert frame.filter(like="suspect_").sum().sum() == 3
    (sentence,) = frame.attrs["suspect"]
    assert sentence == (
        "dew point 2026-04-18 09:00 UTC: 11 does not fit 20 °C and 50 % (they give 9.255) (1 hour)"
    )


@pytest.mark.parametrize(
    ("air", "rh", "offset_k", "doubted"),
    [
        (20.0, 50.0, 0.45, False),
        (20.0, 50.0, -0.45, False),
        (20.0, 50.0, 0.75, True),
        (20.0, 50.0, -0.75, True),
        (30.0, 8.0, 0.9, False),  # half a percent is 0.8 K here
        (30.0, 8.0, 1.6, True),
        (30.0, 0.4, 2.0, False),  # below it the dew point has no lower end
        (-15.0, 80.0, 0.7, True),
    ],
)
def test_the_dew_point_may_differ_by_half_a_kelvin_beyond_rounding(air, rh, offset_k, doubted):
    """The slack is 0.5 K, plus what rounding humidity to a whole percent can make in dry air."""
    theirs = weather.dew_point(air, rh) + offset_k
    columns = {"temperature_2m": air, "relative_humidity_2m": rh, "dew_point_2m": theirs}
    frame = parse_forecast(weather.with_hour(9, **columns))
    assert bool(frame["suspect_dew_point_c"].iloc[9]) is doubted


def test_zero_humidity_has_no_dew_point_to_compare():
    """Bone-dry air is left alone: there is nothing to check it against."""
    frame = parse_forecast(weather.with_hour(9, relative_humidity_2m=0))
    assert frame["rh_pct"].iloc[9] == 0
    assert frame.attrs["suspect"] == ()


def test_the_answer_handed_in_is_not_changed():
    """Parsing is pure: a second reading of the same answer gives the same frame."""
    payload = weather.with_hour(9, relative_humidity_2m=101, wind_gusts_10m=900)
    before = json.dumps(payload)
    first = parse_forecast(payload)
    assert json.dumps(payload) == before
    np.testing.assert_array_equal(first["rh_pct"], parse_forecast(payload)["rh_pct"])
