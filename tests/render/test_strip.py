"""The day as a strip, and the chart as shapes: both from the values of the mail's picture."""

import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from briefs import entries

from sprayadvisor.render.chart_svg import (
    LEFT,
    RIGHT,
    TEMP_LOW,
    TEMP_TOP,
    WIND_LOW,
    WIND_TOP,
    drawing,
)
from sprayadvisor.render.strip import strip
from sprayadvisor.units import Display

CHART = entries()[0].chart
RAINY = entries()[2].chart
QUARTER = timedelta(minutes=15)


def test_places_are_shares_of_the_day():
    """The beginning is 0, the end 1000, noon in between where the clock has it."""
    made = strip(CHART)
    assert made.begins == CHART.times[0]
    assert made.ends == CHART.times[-1] + QUARTER
    assert made.place(made.begins) == 0.0
    assert made.place(made.ends) == 1000.0
    assert made.place(made.begins - QUARTER) is None
    hours = {hour: x for x, hour in made.ticks}
    middle = made.begins + (made.ends - made.begins) / 2
    assert made.place(middle) == pytest.approx(500.0)
    assert hours["08"] < hours["12"] < hours["16"]
    assert hours["12"] - hours["10"] == pytest.approx(hours["14"] - hours["12"], abs=0.2)


def test_windows_carry_their_word_and_stages_their_sort():
    """Everything drawn is one of the chart's, in its place."""
    made = strip(CHART)
    assert len(made.windows) == len(CHART.windows)
    for bar, window in zip(made.windows, CHART.windows, strict=True):
        assert bar.look == window.word.value
        assert bar.x == pytest.approx(made.x(window.first), abs=0.1)
        assert bar.x + bar.width == pytest.approx(made.x(window.latest + QUARTER), abs=0.2)
    looks = {stage.kind: bar.look for bar, stage in zip(made.stages, CHART.stages, strict=True)}
    assert looks["coat"] == looks["flash"] == "wet"
    assert looks["lamp"] == "lamp"
    assert looks["hand"] == "other"
    assert made.label.startswith("Starts that fit: ")
    assert "Work from " in made.label


def test_what_lies_outside_of_the_strip_is_cut_off():
    """A window that goes on over midnight ends at the edge; one wholly outside is left out."""
    window = CHART.windows[0]
    over = replace(window, latest=CHART.times[-1] + timedelta(hours=5))
    outside = replace(window, first=over.latest, best=over.latest, latest=over.latest)
    made = strip(replace(CHART, windows=(over, outside)))
    assert len(made.windows) == 1
    assert made.windows[0].x + made.windows[0].width == pytest.approx(1000.0, abs=0.1)


def test_a_day_without_work_says_so():
    """No window and no stage; and where the play breaks off."""
    assert strip(replace(CHART, windows=(), stages=())).label == "No start fits that day."
    assert strip(replace(CHART, whole=False)).label.endswith(", where it breaks off.")


def points(path):
    """Return the places of a path."""
    return [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.-]+)", path)]


@pytest.mark.parametrize("display", [Display(), Display("f", "mph")], ids=["c", "f"])
def test_curves_lie_where_the_scale_says(display):
    """Each value of the panel's curve, read back by the ticks, is the chart's own."""
    made = drawing(CHART, display)
    (low, low_value), (high, high_value) = [
        (t.y, float(t.label)) for t in (made.temps[0], made.temps[-1])
    ]
    (line,) = [line for line in made.lines if line.look == "panel-line"]
    places = points(line.path)
    assert len(places) == len(CHART.times)
    for (_, y), value in zip(places, CHART.panel_temp_c, strict=True):
        shown = value if display.temperature == "c" else value * 1.8 + 32
        read = low_value + (high_value - low_value) * (y - low) / (high - low)
        assert read == pytest.approx(shown, abs=0.15)
    for line in made.lines:
        for x, y in points(line.path):
            assert LEFT <= x <= RIGHT
            top, bottom = (WIND_TOP, WIND_LOW) if "wind" in line.look else (TEMP_TOP, TEMP_LOW)
            assert top <= y <= bottom
    assert (made.temp_unit, made.wind_unit) == ((f"°{display.temperature.upper()}"), made.wind_unit)


def test_what_is_not_known_is_a_gap():
    """The line breaks where a value is missing, and is not there where all are."""
    gap = CHART.panel_temp_c.copy()
    gap[10:12] = np.nan
    made = drawing(replace(CHART, panel_temp_c=gap), Display())
    panel = made.lines[0]
    assert panel.path.count("M") == 2
    assert len(points(panel.path)) == len(gap) - 2
    nothing = np.full(len(gap), np.nan)
    hollow = drawing(
        replace(CHART, panel_temp_c=nothing, dew_point_c=nothing, wind_ms=nothing, rain_mm=nothing),
        Display(),
    )
    assert [line.path for line in hollow.lines] == ["", "", ""]
    assert (hollow.rain, hollow.most_rain) == ((), "")
    assert hollow.temps


def test_rain_stands_on_the_floor_and_is_told():
    """A bar for each wet quarter hour, and how much falls at most."""
    made = drawing(RAINY, Display())
    assert len(made.rain) == int((np.nan_to_num(RAINY.rain_mm) >= 0.05).sum())
    assert all(y + height == pytest.approx(WIND_LOW, abs=0.1) for _, y, height in made.rain)
    assert made.most_rain == f"rain up to {np.nanmax(RAINY.rain_mm):.1f} mm/h"
    assert drawing(CHART, Display()).most_rain == ""
