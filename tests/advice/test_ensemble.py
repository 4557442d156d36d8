"""Members from the runs of an ensemble."""

from datetime import UTC, datetime

import numpy as np
import pytest
from days import outlook

from sprayadvisor.advice.ensemble import from_runs, members_of
from sprayadvisor.advice.members import draw
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import STEP_MIN

ORIGIN = datetime(2026, 4, 16, 17, tzinfo=UTC)
FORECAST = outlook()


def runs(count=11, **changes):
    """Return runs that differ in temperature by a degree each."""
    return [outlook(air_temp_c=5.0 + number, **changes) for number in range(count)]


def members(found, seed=3):
    """Return the members of some runs."""
    return from_runs(FORECAST, found, seed=seed, origin=ORIGIN)


def test_a_member_is_its_run():
    """Each run is one member, an odd number too; the dew point fits its own air."""
    found = runs(11)
    made = members(found)
    assert len(made) == 11
    for row, run in enumerate(found):
        np.testing.assert_array_equal(made["air_temp_c"][row], run["air_temp_c"])
        np.testing.assert_array_equal(made["gust_10m_ms"][row], run["gust_10m_ms"])
        np.testing.assert_array_equal(made.wet_hour_mm[row], run.wet_hour_mm)
    np.testing.assert_allclose(
        made["dew_point_c"], dew_point_c(made["air_temp_c"], made["rh_pct"]), atol=1e-9
    )


def test_what_no_ensemble_has_is_drawn():
    """Convection and sky differ from member to member as in drawn weathers of the same seed."""
    drawn = draw(FORECAST, 12, seed=3, origin=ORIGIN)
    made = members(runs(11))
    np.testing.assert_array_equal(made.ln_convection, drawn.ln_convection[:11])
    np.testing.assert_array_equal(made.sky_emissivity_offset, drawn.sky_emissivity_offset[:11])


@pytest.mark.parametrize("name", ["rh_pct", "gust_10m_ms", "dni_wm2", "rain_mm"])
def test_what_a_run_lacks_is_drawn_together_with_what_belongs_to_it(name):
    """Without its gusts a run's wind is not used either, and its other quantities are."""
    partners = {
        "rh_pct": "air_temp_c", "gust_10m_ms": "wind_10m_ms", "dni_wm2": "cloud_fraction",
        "rain_mm": "rain_mm",
    }  # fmt: skip
    found = runs(10)
    for run in found:
        run.values[name][40:60] = np.nan
    drawn, made = draw(FORECAST, 10, seed=3, origin=ORIGIN), members(found)
    for each in (name, partners[name]):
        np.testing.assert_array_equal(made[each][:, 40:60], drawn[each][:, 40:60])
        assert np.isfinite(made[each]).all()
    other = "air_temp_c" if name != "rh_pct" else "wind_10m_ms"
    np.testing.assert_array_equal(made[other][4], found[4][other])


def test_a_run_on_another_grid_is_laid_over_the_forecasts():
    """It may begin later and end earlier; beyond it the weather is drawn."""
    found = runs(10)
    cut = [
        type(run)(
            run.starts_utc[8:100],
            {name: array[8:100] for name, array in run.values.items()},
            run.wet_hour_mm[8:100],
            run.provenance,
        )
        for run in found
    ]
    made, drawn = members(cut), draw(FORECAST, 10, seed=3, origin=ORIGIN)
    assert made["air_temp_c"].shape == (10, len(FORECAST))
    np.testing.assert_array_equal(made["air_temp_c"][2, 8:100], found[2]["air_temp_c"][8:100])
    np.testing.assert_array_equal(made["air_temp_c"][:, :8], drawn["air_temp_c"][:, :8])
    np.testing.assert_array_equal(made["air_temp_c"][:, 100:], drawn["air_temp_c"][:, 100:])


def test_a_run_of_another_time_says_nothing():
    """Without a shared hour all is drawn."""
    found = runs(10)
    late = np.timedelta64(len(FORECAST) * STEP_MIN, "m")
    moved = [
        type(run)(run.starts_utc + late, run.values, run.wet_hour_mm, run.provenance)
        for run in found
    ]
    drawn = draw(FORECAST, 10, seed=3, origin=ORIGIN)
    np.testing.assert_array_equal(members(moved)["air_temp_c"], drawn["air_temp_c"])


def test_what_neither_knows_stays_unknown():
    """A gap in the forecast that no run fills is a gap in every member."""
    gap = outlook()
    gap.values["wind_10m_ms"][50:54] = np.nan
    found = runs(10)
    for run in found:
        run.values["wind_10m_ms"][52:54] = np.nan
    made = from_runs(gap, found, seed=3, origin=ORIGIN)
    assert np.isnan(made["wind_10m_ms"][:, 52:54]).all()
    assert np.isfinite(made["wind_10m_ms"][:, 50:52]).all()


def test_too_few_runs_are_no_ensemble():
    """Then the weathers are drawn, as many as wanted."""
    made = members_of(FORECAST, runs(9), 32, seed=3)  # cannot tell 9 in 10
    assert len(made) == 32
    assert len(members_of(FORECAST, runs(10), 32, seed=3)) == 10
    assert len(members_of(FORECAST, (), 32, seed=3)) == 32
