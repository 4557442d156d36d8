"""Drying, wind and what is in the air against the outside world, as rows of the table."""

import numpy as np
import test_airborne_reference as air_rows
import test_drying_reference as rows
import test_wind_reference as wind_rows
from outside import POOR, Check, columns, within

from sprayadvisor.science import airborne, drying, wind

PERRY = "n-butyl acetate, DIPPR-101 in Perry's Chemical Engineers' Handbook"
DALTON = "Dalton's law by hand; reference ISO 554, ISO 3270"
ARRHENIUS = "Arrhenius by hand; published energies 29 to 84 kJ/mol"
PROFILE = "ASHRAE profile, EnergyPlus engineering reference"
BEAUFORT = "WMO, value from memory"
PRACTICE = "common practice, no source"


def _solvent(temp):
    return drying.flash_rate("solvent", temp, temp, 50.0, rows.CALM)


def _pressure():
    temp, pascals, _ = columns(rows.BUTYL_ACETATE)
    return drying.butyl_acetate_pressure_pa(temp) - pascals


def _solvent_rates():
    temp, _, over_20 = columns(rows.BUTYL_ACETATE)
    return _solvent(temp) - over_20


def _solvent_times_pct():
    temp, longer = columns(rows.SOLVENT_TIMES)
    return 100.0 * (1.0 / _solvent(temp) / longer - 1.0)


def _slope_pct():
    temp = np.array([10.0, 30.0])
    inverse = 1 / 293.15 - 1 / (temp + 273.15)
    expected = np.exp(43.6 / drying.GAS_CONSTANT_KJ_MOL_K * inverse)
    return 100.0 * (_solvent(temp) / expected - 1.0)


def _water_pct():
    temp, rh, longer = columns(rows.WATER_TIMES)
    rate = drying.flash_rate("water", temp, temp, rh, rows.CALM, 23.0, 50.0)
    return 100.0 * (1.0 / rate / longer - 1.0)


def _prewarmed_pct():
    cold = drying.flash_rate("water", 10.0, 10.0, 80.0, rows.CALM, 23.0, 50.0)
    return 100.0 * (drying.flash_minutes(15.0, cold) / 86.0 - 1.0)


def _wind_exponent():
    return np.log(drying.wind_factor(3.0) / drying.wind_factor(1.0)) / np.log(3.0)


def _cure():
    errors = []
    for kj_mol, *longer, from_60 in rows.ARRHENIUS:
        minutes = drying.cure_minutes(1.0, np.array([5.0, 10.0, 30.0, 60.0]), 20.0, kj_mol)
        errors.append(np.subtract(minutes[:3], longer))
        errors.append(np.full(3, (1.0 / minutes[3] - from_60) / 10.0))  # printed to 0.1
    return errors


def _per_ten_kelvin():
    return [
        drying.cure_minutes(1.0, low, 20.0, drying.DUST_FREE_KJ_MOL)
        / drying.cure_minutes(1.0, low + 10.0, 20.0, drying.DUST_FREE_KJ_MOL)
        for low in (10.0, 20.0)
    ]


def _profiles():
    """Return this project's mean wind at the gun less the profile's, by surroundings."""
    return {name: wind.gun_height_factor(name)[0] - share for name, _, _, share in wind_rows.ASHRAE}


def _profile_arithmetic():
    ashrae = [
        wind_rows.ashrae_share(wind_rows.GUN_M, *row[1:3]) - row[3] for row in wind_rows.ASHRAE
    ]
    log = [
        wind_rows.log_share(height, row[0]) - row[place]
        for row in wind_rows.LOG_LAW
        for height, place in ((wind_rows.GUN_M, 1), (2.0, 2))
    ]
    return ashrae + log


def _open_less_log():
    mean, _ = wind.gun_height_factor("open")
    return [mean - row[1] for row in wind_rows.LOG_LAW if row[0] <= 0.03]


def _beaufort():
    number, low, high = columns(wind_rows.BEAUFORT)
    return [wind.beaufort(low) - number, wind.beaufort(high) - number]


def _insects():
    """Return by how many levels each row lies outside of what is published."""
    air, wind_ms, to_sunset, least, greatest = columns(air_rows.FLIGHT)
    level = airborne.insect_level(air, wind_ms, 2.0, to_sunset, 7.0)
    return level - np.clip(level, least, greatest)


def _dust():
    levels = airborne.dust_level(np.array([5.5, 5.4]), 100.0, ground="paved")
    return [levels[0] - airborne.HIGH, max(levels[1] - airborne.SOME, 0.0)]


def _pollen():
    return [
        airborne.pollen_level(np.array(grains), kind=kind) - np.arange(3.0)
        for kind, *grains in air_rows.POLLEN
    ]


CHECKS = (
    within("vapour pressure, seven rows from 5 to 40 °C", PERRY, 0.6, "Pa", _pressure, 1),
    within(
        "solvent flash rate over that at 20 °C, the same rows", PERRY, 0.006, "", _solvent_rates, 3
    ),
    within(
        "solvent flash time, ×1.9 at 10 °C and ×0.55 at 30 °C",
        PERRY,
        8.0,
        "%",
        _solvent_times_pct,
        1,
    ),
    within(
        "solvent flash rate at 10 and 30 °C by the heat of vaporisation",
        "NIST WebBook, n-butyl acetate (C123864)",
        4.0,
        "%",
        _slope_pct,
        1,
    ),
    within(
        "water-borne flash time, nine rows over 23 °C and 50 %",
        DALTON,
        2.0,
        "%",
        _water_pct,
        1,
        said="with the film at its wet bulb the cold rows would be up to a third shorter",
    ),
    within("printed 15 min at 10 °C and 80 %: 86 min", DALTON, 5.0, "%", _prewarmed_pct, 1),
    Check(
        "exponent of the wind in flash-off",
        "Woodward 2002 (0.10) to Mackay & Matsugu 1973 (0.78), as reported",
        _wind_exponent,
        "",
        0.10 - 1e-9,
        0.78,
        said="the sources disagree widely; the low side is taken",
    ),
    within(
        "cure times at 5, 10, 30 °C and from 60 °C, four energies (the last in tenths)",
        ARRHENIUS,
        0.0061,
        "",
        _cure,
        4,
    ),
    Check(
        "dust-free time, ratio for 10 K",
        "paintcenter.org (R. Joseph 2009): halved",
        _per_ten_kelvin,
        "",
        1.88,
        2.12,
    ),
    Check(
        "30 min at 60 °C as hours at 20 °C",
        f"{PRACTICE}: 12 to 16 h",
        lambda: 0.5 * drying.cure_minutes(1.0, 20.0, 60.0, drying.THROUGH_CURE_KJ_MOL),
        "h",
        12.0,
        18.0,
        places=1,
    ),
    within(
        "arithmetic of the ASHRAE and the logarithmic profile at 1.5 and 2 m",
        f"{PROFILE}; EPA monitoring guidance, table 6-10",
        0.001,
        "",
        _profile_arithmetic,
        4,
    ),
    within(
        "mean wind at the gun, open ground and suburb",
        PROFILE,
        0.01,
        "",
        lambda: [_profiles()["open"], _profiles()["suburb"]],
        3,
    ),
    within(
        "mean wind at the gun, dense streets",
        PROFILE,
        0.01,
        "",
        lambda: _profiles()["dense"],
        2,
        said=f"{POOR}meant: wind channels in streets, trade judgement, no source",
    ),
    within(
        "mean wind at the gun, open ground against sea, mud and open grass",
        "EPA monitoring guidance, table 6-10",
        0.10,
        "",
        _open_less_log,
    ),
    within("Beaufort number, both ends of 13 rows", BEAUFORT, 0.0, "", _beaufort, 0),
    within(
        "insect level, six rows of temperature and wind",
        "Walters & Dixon 1984; Parasites & Vectors 2018; Highland midge as reported",
        0.0,
        "levels",
        _insects,
        0,
    ),
    within("dust from Beaufort 4, 5.5 m/s", BEAUFORT, 0.0, "levels", _dust, 0),
    within(
        "pollen classes, three kinds, both bounds",
        "National Allergy Bureau",
        0.0,
        "levels",
        _pollen,
        0,
        said="a scale for health; others differ by a factor of 2 to 5",
    ),
    within(
        "fine dust from 45 µg/m³",
        "WHO air quality guidelines 2021",
        0.0,
        "levels",
        lambda: airborne.pm10_level(np.array([44.9, 45.0])) - np.arange(2.0),
        0,
    ),
)
