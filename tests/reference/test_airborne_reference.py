"""Insects, dust, pollen and fine dust at the thresholds that are published."""

import numpy as np
import pytest

from sprayadvisor.science import airborne

# Air °C, wind m/s, hours to sunset, least and greatest level in July.
# Aphids: no take-off at 10 °C, take-off from 16 °C (Walters & Dixon 1984). Midges: from 13 °C,
# most at 16 to 18 °C, peak just after sunset (Parasites & Vectors 2018); less active above
# 2.7 m/s (reported for the Highland midge).
FLIGHT = (
    (9.9, 0.5, 0.0, airborne.LOW, airborne.LOW),
    (13.5, 0.5, -0.5, airborne.SOME, airborne.SOME),
    (16.0, 0.5, -0.5, airborne.HIGH, airborne.HIGH),
    (18.0, 2.4, 1.5, airborne.HIGH, airborne.HIGH),
    (18.0, 2.7, -0.5, airborne.LOW, airborne.SOME),
    (18.0, 6.0, -0.5, airborne.LOW, airborne.LOW),
)

# Kind, grains/m³ at the top of low, at the bottom of moderate, at the bottom of high: National
# Allergy Bureau. It is a scale for health; other services differ by a factor of 2 to 5.
POLLEN = (("grass", 4.0, 5.0, 20.0), ("tree", 14.0, 15.0, 90.0), ("weed", 9.0, 10.0, 50.0))


@pytest.mark.parametrize(("air", "wind", "to_sunset", "least", "greatest"), FLIGHT)
def test_insects_at_published_thresholds(air, wind, to_sunset, least, greatest):
    """Flight by temperature and wind around sunset. Source: the three named above the table."""
    level = airborne.insect_level(air, wind, 2.0, to_sunset, 7)
    assert least <= level <= greatest


def test_insects_as_arrays():
    """The whole table in one call. Source: the three named above it."""
    air, wind, to_sunset, least, greatest = (
        np.array(column, dtype=float) for column in zip(*FLIGHT, strict=True)
    )
    level = airborne.insect_level(air, wind, 2.0, to_sunset, 7.0)
    assert np.all((least <= level) & (level <= greatest))


def test_dust_rises_from_beaufort_4():
    """5.5 m/s raises dust and loose paper on dry ground. Source: WMO, value from memory."""
    assert airborne.dust_level(5.5, 100.0, ground="paved") == airborne.HIGH
    assert airborne.dust_level(5.4, 100.0, ground="paved") < airborne.HIGH


@pytest.mark.parametrize(("kind", "low", "moderate", "high"), POLLEN)
def test_pollen_classes(kind, low, moderate, high):
    """Both bounds of each kind. Source: National Allergy Bureau, a scale for health."""
    grains = np.array([low, moderate, high])
    np.testing.assert_array_equal(airborne.pollen_level(grains, kind=kind), [0.0, 1.0, 2.0])


def test_fine_dust_guideline():
    """From 45 µg/m³ it is worth a word. Source: WHO air quality guidelines 2021, PM10, 24 h."""
    np.testing.assert_array_equal(airborne.pm10_level(np.array([44.9, 45.0])), [0.0, 1.0])
