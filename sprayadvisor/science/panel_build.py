"""What a panel is made of, what it meets in one step and the state it is in: plain arrays."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.science.ranges import Floats, Values

# 0.8 mm of steel (7850 kg/m³, 480 J/kgK), 1.0 mm of aluminium (2700, 900), 3 mm of polypropylene
# (910, 1800): handbook values from memory, J/m²K.
SKIN_HEAT_J_M2K = {"steel": 3000.0, "aluminium": 2430.0, "plastic": 5000.0}
# The shell behind the skin: frame, inner panel, lining, what they enclose. Engineering estimates
# that give it a time constant of 75 min: 36 kJ/m²K, radiation and enclosed air between painted
# sheets, and its own way to the air.
BODY_HEAT_J_M2K = 36_000.0
EXCHANGE_WM2K = 5.0
BODY_AIR_WM2K = 3.0


@dataclass(frozen=True, slots=True)
class Build:
    """What panels are made of; each field a number or a (row,) array.

    Attributes:
        emittance: long-wave emittance of the paint.
        tilt_deg: angle between the panel's normal and the zenith, °, up to 90.
        skin_j_m2k: heat capacity of the skin, J/m²K.
        body_j_m2k: heat capacity of the shell behind it, J/m²K.
        exchange_wm2k: between skin and shell, W/m²K; 0 is an insulated skin.
        body_air_wm2k: between shell and air, W/m²K.
        natural: 0 takes natural convection away; for tests of what it does.
        pressure_hpa: air pressure, hPa.
        film: 0 takes condensation and evaporation away; for tests of what they do.
    """

    emittance: Values
    tilt_deg: Values
    skin_j_m2k: Values = SKIN_HEAT_J_M2K["steel"]
    body_j_m2k: Values = BODY_HEAT_J_M2K
    exchange_wm2k: Values = EXCHANGE_WM2K
    body_air_wm2k: Values = BODY_AIR_WM2K
    natural: float = 1.0
    pressure_hpa: Values = 1013.25
    film: float = 1.0


@dataclass(slots=True)
class Weather:
    """What the panels meet in one step; (row,) arrays.

    Attributes:
        gain_wm2: sun taken up plus long-wave radiation taken up, W/m².
        air_k: air temperature, K.
        vapour_hpa: vapour pressure of the air, hPa.
        forced_wm2k: convection by wind, W/m²K.
        calm_share: what natural convection is multiplied with.
    """

    gain_wm2: Floats
    air_k: Floats
    vapour_hpa: Floats
    forced_wm2k: Floats
    calm_share: Floats


@dataclass(slots=True)
class State:
    """Skin and body temperature, K, and film, mm; (row,) arrays, changed in place."""

    skin_k: Floats
    body_k: Floats
    film_mm: Floats

    def parts(self) -> tuple[Floats, Floats, Floats]:
        """Return the three arrays."""
        return self.skin_k, self.body_k, self.film_mm
