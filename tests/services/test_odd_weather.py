"""Odd weather through the whole brief: no NumPy warning, no crash, and never a go from nothing.

Warnings are errors in every test; these look for the data that would raise one.
"""

from dataclasses import replace

import numpy as np
import pytest
from days import DAY, EVENING, KIT, SITE, ZONE, catalogue, job, outlook

from sprayadvisor.advice.model import Colour, Cover, Material, Panel, Part
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.email import brief_message
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.text import brief_text
from sprayadvisor.services.brief import Briefs
from sprayadvisor.services.weather import SiteWeather, place_key
from sprayadvisor.units import Display

NAMES = tuple(outlook(1).values)
STEPS = 5 * 96
# The edges of what the range checks of the forecast let through, each in places and all along.
EDGES = {
    "air_temp_c": (-60.0, 55.0),
    "rh_pct": (0.0, 100.0),
    "wind_10m_ms": (0.0, 75.0),
    "gust_10m_ms": (0.0, 115.0),
    "rain_mm": (0.0, 60.0),
    "ghi_wm2": (0.0, 1400.0),
    "dni_wm2": (0.0, 1400.0),
    "dhi_wm2": (0.0, 1400.0),
    "cloud_fraction": (0.0, 1.0),
    "rain_probability_pct": (0.0, 100.0),
    "pressure_hpa": (500.0, 1080.0),
    "wind_from_deg": (0.0, 360.0),
}


def briefed(weather, *, drawn=False):
    """Return the brief of two jobs in some weather, worded, as JSON and with charts if wanted."""

    class Jobs:
        def list(self, *_days):
            tree = replace(SITE, name="Tree", cover=Cover.TREES, kerb=True, elevation_m=None)
            bonnet = Panel(Part.BONNET, Colour.BLACK, Material.ALUMINIUM)
            return job(ref="A"), job(ref="B", site=tree, panels=(bonnet,), process="door-scuff")

    class Sky:
        def for_sites(self, sites, _policy):
            return {place_key(site): SiteWeather(weather) for site in sites}

    briefs = Briefs(
        Jobs(), Sky(), catalogue(), Policy(), KIT, "Curlew Strand", SITE, ZONE, lambda: EVENING
    )
    made = briefs.make(DAY, Moment.EVENING)
    brief_json(made)
    (brief_message if drawn else brief_text)(made, Display())
    return made


@pytest.mark.parametrize("name", sorted(EDGES))
def test_the_edges_of_what_is_let_through_raise_no_warning(name):
    """Jumping from one edge to the other every few hours."""
    low, high = EDGES[name]
    jumping = np.where(np.arange(STEPS) // 13 % 2, low, high)
    weather = outlook(**{name: jumping})
    if name == "rain_mm":
        weather = replace(weather, wet_hour_mm=4.0 * jumping)
    assert len(briefed(weather).entries) == 2


@pytest.mark.parametrize("seed", range(3))
def test_holes_everywhere_raise_no_warning(seed):
    """Values missing at random, one by one and for hours, in every quantity."""
    rng = np.random.default_rng(seed)
    weather = outlook()
    for array in (*weather.values.values(), weather.wet_hour_mm):
        array[rng.random(STEPS) < 0.02] = np.nan
        begin = rng.integers(0, STEPS - 40)
        array[begin : begin + rng.integers(4, 40)] = np.nan
    assert len(briefed(weather, drawn=True).entries) == 2


@pytest.mark.parametrize("name", NAMES)
def test_a_quantity_that_is_never_there_raises_no_warning(name):
    """What needs it is unknown; what can do without it is judged."""
    weather = outlook(**{name: np.nan})
    if name == "rain_mm":
        weather.wet_hour_mm[:] = np.nan
    found = {entry.judgement.word for entry in briefed(weather).entries}
    can_do_without = {"dew_point_c", "rain_probability_pct", "wind_from_deg", "pressure_hpa"}
    if name in can_do_without | {"weather_code"}:
        assert Word.UNKNOWN not in found
    else:
        assert found <= {Word.UNKNOWN, Word.NO_GO}


def test_nothing_at_all_is_unknown():
    """All values missing all along."""
    weather = outlook(**dict.fromkeys(NAMES, np.nan), wet_hour_mm=np.nan)
    assert {entry.judgement.word for entry in briefed(weather, drawn=True).entries} == {
        Word.UNKNOWN
    }
