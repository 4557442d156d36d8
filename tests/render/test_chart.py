"""The chart as a picture and its twin in words."""

import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from briefs import entries

from sprayadvisor.render.chart import chart_png
from sprayadvisor.render.chart_twin import chart_words
from sprayadvisor.units import Display

CHART = entries()[0].chart
RAINY = entries()[2].chart


@pytest.mark.parametrize("chart", [CHART, RAINY], ids=["fair", "rainy"])
@pytest.mark.parametrize("display", [Display(), Display("f", "mph")], ids=["c", "f"])
def test_the_picture_is_a_small_png_and_always_the_same(chart, display):
    """The same chart gives the same bytes; it fits a mail."""
    png = chart_png(chart, display)
    assert png == chart_png(chart, display)
    assert png.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", png[16:24])
    assert 800 <= width <= 1200
    assert 500 <= height <= 900
    assert len(png) < 80_000


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
