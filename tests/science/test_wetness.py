"""Water on the panel: constants, rain through a cover, flags and gaps."""

import numpy as np
import pytest

from sprayadvisor.science import humidity, wetness


def test_the_film_shares_saturation_with_the_rest_of_the_house():
    """The fast form in kelvin is the same Magnus curve, over ice within 0.1 % down to −25 °C."""
    temps = np.linspace(-25.0, 60.0, 171)
    kelvin = temps + wetness.KELVIN
    over_water = wetness.MAGNUS_SCALE_HPA * np.exp(
        -wetness.MAGNUS_BETA_K / (kelvin - wetness.MAGNUS_OFFSET_K)
    )
    np.testing.assert_allclose(over_water, humidity.saturation_pressure_hpa(temps), rtol=1e-12)
    ice = temps[temps <= 0]
    np.testing.assert_allclose(
        over_water[temps <= 0] * np.exp(wetness.ICE_SLOPE_PER_K * ice),
        humidity.saturation_pressure_ice_hpa(ice),
        rtol=1e-3,
    )


def test_latent_heat_stands_to_convection_as_the_psychrometric_coefficient_says():
    """About 0.6 hPa/K at sea level, and less in the thin air of the hills."""
    assert 1 / wetness.latent_per_hpa(1013.25) == pytest.approx(0.6, abs=0.03)
    assert wetness.latent_per_hpa(850.0) > wetness.latent_per_hpa(1013.25)


def test_a_tree_goes_on_dripping_and_an_open_sky_does_not():
    """Rain in one step is felt for as many more as the cover drips."""
    rain = np.array([[0.0, 1.0, 0.0, 0.0, 0.0, 0.0]])
    assert wetness.rain_on_panel_mm(rain, 1.0, 0).tolist() == rain.tolist()
    assert wetness.rain_on_panel_mm(rain, 0.5, 2).tolist() == [[0, 0.5, 0.5, 0.5, 0, 0]]


def test_an_unknown_rain_leaves_the_drips_unknown_too():
    """NaN drips like rain does: it may have rained."""
    rain = np.array([[np.nan, 0.0, 0.0, 0.0]])
    dripped = wetness.rain_on_panel_mm(rain, 1.0, 2)
    assert np.isnan(dripped).tolist() == [[True, True, True, False]]


def test_flags_tell_wet_white_dry_and_unknown_apart():
    """Wet from a breath of dew on; white only below freezing; unknown is neither."""
    film = np.array([0.0, 0.004, 0.005, 0.1, 0.1, np.nan, 0.1])
    temp = np.array([5.0, 5.0, 5.0, 5.0, -1.0, 5.0, np.nan])
    np.testing.assert_array_equal(wetness.wet_flag(film), [0, 0, 1, 1, 1, np.nan, 1])
    np.testing.assert_array_equal(wetness.white_flag(film, temp), [0, 0, 0, 0, 1, np.nan, np.nan])


def test_a_state_stays_unknown_for_a_while_after_a_gap():
    """Each row has its own gaps; what follows a gap closely is not known either."""
    known = np.ones((8, 2), bool)
    known[2, 0] = False
    known[0, 1] = False
    unknown = wetness.gaps_and_after(known, 3)
    assert unknown[:, 0].tolist() == [False, False, True, True, True, True, False, False]
    assert unknown[:, 1].tolist() == [True, True, True, True, False, False, False, False]


def test_hours_since_count_from_the_last_time_it_happened():
    """Nothing while it happens, infinite before, each row by itself."""
    happened = np.array([[False, True, True, False, False], [False] * 5])
    hours = wetness.hours_since(happened)
    np.testing.assert_array_equal(hours[0], [np.inf, 0.0, 0.0, 0.25, 0.5])
    assert np.isinf(hours[1]).all()
