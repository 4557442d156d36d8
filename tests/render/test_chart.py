"""The chart as a picture and its twin in words."""

import io
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from briefs import entries
from PIL import Image

from sprayadvisor.render.chart import chart_png
from sprayadvisor.render.chart_twin import chart_words
from sprayadvisor.units import Display

CHART = entries()[0].chart
RAINY = entries()[2].chart


@pytest.mark.parametrize("chart", [CHART, RAINY], ids=["fair", "rainy"])
@pytest.mark.parametrize("display", [Display(), Display("f", "mph")], ids=["c", "f"])
def test_the_picture_is_a_small_png_and_always_the_same(chart, display):
    """The same chart gives the same bytes; grey, opaque, and it fits a mail."""
    png = chart_png(chart, display)
    assert png == chart_png(chart, display)
    with Image.open(io.BytesIO(png)) as picture:  # read by Pillow
        picture.load()
        assert (picture.size, picture.mode) == ((900, 650), "L")
        assert picture.getextrema() == (0, 255)  # black on white
    assert len(png) < 60_000


def test_the_picture_changes_with_what_it_shows():
    """Other weather, other windows and other work give another picture."""
    png = chart_png(CHART, Display())
    for changed in (
        {"panel_temp_c": CHART.panel_temp_c + 5.0},
        {"wind_ms": CHART.wind_ms + 1.0},
        {"rain_mm": CHART.rain_mm + 1.0},
        {"windows": ()},
        {"stages": CHART.stages[:3]},
    ):
        assert chart_png(replace(CHART, **changed), Display()) != png


def test_gaps_do_not_break_the_picture():
    """A day of which nothing is known still has a chart."""
    nothing = np.full(len(CHART.times), np.nan)
    hollow = replace(
        CHART, panel_temp_c=nothing, dew_point_c=nothing, wind_ms=nothing, rain_mm=nothing,
        stages=(), windows=(),
    )  # fmt: skip
    assert chart_png(hollow, Display()).startswith(b"\x89PNG")
    words = " ".join(chart_words(hollow, Display()))
    for told in ("Panel: not known", "Rain: not known", "No stage can be played", "No start fits"):
        assert told in words


def test_the_twin_tells_every_stage_and_window():
    """Each bar's name and begin, each window's ends, rain by the hour."""
    words = " ".join(chart_words(CHART, Display()))
    assert all(bar.name in words for bar in CHART.stages)
    assert "No rain." in words
    assert chart_words(CHART, Display())[-1].endswith(" done")
    rainy = " ".join(chart_words(RAINY, Display()))
    assert "Rain from 08:00 to 20:30, up to 0.6 mm an hour." in rainy
    assert "here it breaks off" in rainy


def test_a_home_that_cannot_be_written_gets_a_cache_elsewhere(monkeypatch):
    """A service without a home folder draws all the same."""
    from sprayadvisor.render import chart as module

    monkeypatch.delenv("MPLCONFIGDIR", raising=False)
    monkeypatch.setattr(module.os, "access", lambda *_: False)
    module._let_matplotlib_cache()
    assert Path(module.os.environ["MPLCONFIGDIR"]).is_dir()
    monkeypatch.delenv("MPLCONFIGDIR")


def test_the_twin_tells_what_stands_out_and_what_is_not_known():
    """Below the dew point from when to when, the strongest wind, gaps in the rain, every curve."""
    panel, rain = CHART.panel_temp_c.copy(), CHART.rain_mm.copy()
    panel[:4] = CHART.dew_point_c[:4] - 1.0
    rain[:8] = math.nan
    rain[20:28] = 0.4
    odd = replace(CHART, panel_temp_c=panel, rain_mm=rain)
    words = " ".join(chart_words(odd, Display()))
    assert "below the dew point from 06:00 to 07:00." in words
    assert "Rain from 11:00 to 13:00, up to 0.4 mm an hour." in words
    assert "Rain not known from 06:00 to 08:00." in words
    assert "rain unknown" in words
    assert "Wind at the gun at most " in words
    rain[20:28] = 0.0
    dry = " ".join(chart_words(replace(CHART, rain_mm=rain), Display()))
    assert "No rain in what is known." in dry
    for row in chart_words(CHART, Display("f", "mph"))[4:12]:
        assert row.count("°F") == 2
        assert row.endswith(" mph")
