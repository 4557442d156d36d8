"""Panel temperature: the steady root, and the moving state of skin, body and film.

    steady_temp_c   absorbed + long-wave = emitted + convection, for one moment
    trace           the same balance in time, with the body behind the skin and the film on it

A step's panel temperature is its *mean over the step*; the film is the most there is in the step.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.errors import InputError
from sprayadvisor.science.panel_balance import Stepper
from sprayadvisor.science.panel_build import Build, State, Weather
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.ranges import Floats, Values, elementwise
from sprayadvisor.science.sky import KELVIN, STEFAN_BOLTZMANN_WM2K4
from sprayadvisor.science.wetness import FILM_MAX_MM, gaps_and_after

_NEWTON_STEPS = 40  # 4 to 9 are used over the whole physical range
_TOLERANCE_K = 1e-7
STEPS_AFTER_GAP = 8  # two hours, in which a held body may still be wrong (engineering estimate)


@overload
def steady_temp_c(
    absorbed_wm2: float,
    air_temp_c: float,
    sky_temp_c: float,
    convection_wm2k: float,
    emittance: float,
    sky_view: float = ...,
) -> float: ...
@overload
def steady_temp_c(
    absorbed_wm2: Values,
    air_temp_c: Values,
    sky_temp_c: Values,
    convection_wm2k: Values,
    emittance: Values,
    sky_view: Values = ...,
) -> Floats: ...
@elementwise
def steady_temp_c(
    absorbed_wm2: Values,
    air_temp_c: Values,
    sky_temp_c: Values,
    convection_wm2k: Values,
    emittance: Values,
    sky_view: Values = 1.0,
) -> Values:
    """Return the temperature at which an insulated panel stops warming or cooling, °C.

    The part of the view that is not sky is at air temperature. The loss is convex in the panel's
    temperature, so that Newton's steps come down to the root from above after the first of them.

    Args:
        absorbed_wm2: sun, or lamp, taken up by the panel, W/m².
        air_temp_c: air temperature, °C.
        sky_temp_c: temperature of a black sky with the same long-wave radiation, °C.
        convection_wm2k: heat transfer coefficient between panel and air, W/m²K.
        emittance: long-wave emittance of the panel, 0 to 1.
        sky_view: share of the panel's view that is sky, 0 to 1.

    Raises:
        RangeError: a scalar outside its physical range.
        InputError: a scalar balance without a root; array elements become NaN instead.

    Source: balance of ASTM E1980 with a view split between sky and surroundings.

    >>> round(steady_temp_c(950.0, 36.85, 26.85, 12.0, 0.9), 1)
    82.5
    """
    emits = emittance * STEFAN_BOLTZMANN_WM2K4
    air_k = air_temp_c + KELVIN
    around_k4 = sky_view * (sky_temp_c + KELVIN) ** 4 + (1.0 - sky_view) * air_k**4
    gain = absorbed_wm2 + emits * around_k4 + convection_wm2k * air_k
    panel_k = air_k + 0.0 * gain
    step = panel_k
    for _ in range(_NEWTON_STEPS):
        slope = 4.0 * emits * panel_k**3 + convection_wm2k
        step = (gain - emits * panel_k**4 - convection_wm2k * panel_k) / slope
        panel_k = panel_k + step
        if not np.any(np.abs(step) > _TOLERANCE_K):
            return panel_k - KELVIN
    if np.ndim(panel_k) == 0:
        raise InputError("No steady panel temperature was found; check the readings.")
    return np.where(np.abs(step) > _TOLERANCE_K, np.nan, panel_k - KELVIN)


@overload
def sky_view(tilt_deg: float) -> float: ...
@overload
def sky_view(tilt_deg: Floats) -> Floats: ...
@elementwise
def sky_view(tilt_deg: Values) -> Values:
    """Return the share of a panel's view that is at the temperature of the open sky.

    The sky near the horizon is nearly as warm as the air and counts as such.

    Args:
        tilt_deg: angle between the panel's normal and the zenith, °.

    Source: EnergyPlus Engineering Reference, F_sky = ½ (1 + cos φ) times β = √(½ (1 + cos φ)).
    """
    half: Values = 0.5 * (1.0 + np.cos(np.radians(tilt_deg)))
    return half**1.5


def longwave_wm2(longwave_down_wm2: Floats, air_temp_c: Floats, view: Values) -> Floats:
    """Return the long-wave radiation that falls on a panel, W/m².

    Ground, houses and the low sky are taken at air temperature: a sunlit yard is warmer, which
    makes this up to 5 K low on upright panels over hot ground.

    Args:
        longwave_down_wm2: from the whole sky on a level surface, W/m².
        air_temp_c: air temperature, °C.
        view: share of the view that is open sky.
    """
    around = STEFAN_BOLTZMANN_WM2K4 * (air_temp_c + KELVIN) ** 4
    return around + view * (longwave_down_wm2 - around)


@dataclass(frozen=True, slots=True)
class Forcing:
    """What many panels meet over time; (step, row) arrays, each step in one piece of memory.

    Attributes:
        gain_wm2: sun taken up plus long-wave radiation taken up, W/m².
        air_temp_c: air temperature, °C.
        vapour_hpa: vapour pressure of the air, hPa.
        forced_wm2k: convection by wind, W/m²K.
        calm_share: what natural convection is multiplied with.
        rain_mm: rain that reaches the panel in the step, mm.
    """

    gain_wm2: Floats
    air_temp_c: Floats
    vapour_hpa: Floats
    forced_wm2k: Floats
    calm_share: Floats
    rain_mm: Floats

    def known(self) -> NDArray[np.bool_]:
        """Return (step, row): whether nothing is missing."""
        known = np.isfinite(self.gain_wm2)
        for other in (self.air_temp_c, self.vapour_hpa, self.forced_wm2k, self.calm_share):
            known &= np.isfinite(other)
        return known & np.isfinite(self.rain_mm)


@dataclass(frozen=True, slots=True)
class Event:
    """Something done to panels at the beginning of a step; None leaves that part as it is.

    Attributes:
        step: index of the step.
        rows: the panels it is done to, a slice or their indices.
        skin_c: skin temperature from then on, of all or of each, °C.
        body_c: temperature of the body behind, °C.
        film_mm: water on the panel, mm: 0 wiped dry, the most there can be after a wash.
    """

    step: int
    rows: slice | NDArray[np.int64]
    skin_c: Values | None = None
    body_c: Values | None = None
    film_mm: Values | None = None


@dataclass(frozen=True, slots=True)
class Trace:
    """What became of the panels; (step, row) arrays.

    Attributes:
        panel_temp_c: mean of the skin over the step, °C.
        body_temp_c: body behind it at the end of the step, °C.
        film_mm: the most water there is on it in the step, mm.
    """

    panel_temp_c: Floats
    body_temp_c: Floats
    film_mm: Floats

    def rows(self, chosen: slice) -> Trace:
        """Return what became of some of the panels."""
        return Trace(
            self.panel_temp_c[:, chosen], self.body_temp_c[:, chosen], self.film_mm[:, chosen]
        )


def trace(
    forcing: Forcing, build: Build, events: Sequence[Event] = (), step_s: float = 60.0 * STEP_MIN
) -> Trace:
    """Follow panels through the weather.

    Skin and body begin at the air temperature of the first step in which nothing is missing, dry;
    whoever wants that forgotten gives the weather of the day before. Through a gap the state is
    held. There, and for ``STEPS_AFTER_GAP`` steps after, the answer is NaN; it may have rained,
    so a full film is counted as present until it has dried.

    Args:
        forcing: (step, row) weather at the panels.
        build: what the panels are made of.
        events: what was done to them.
        step_s: length of a step, s.
    """
    steps, rows = forcing.air_temp_c.shape
    known = forcing.known()
    answer = Trace(*(np.empty((steps, rows)) for _ in range(3)))
    state = _start(forcing, known)
    stepper = Stepper(build, rows, step_s)
    for step, complete in enumerate(np.all(known, axis=1).tolist()):
        for event in events:
            if event.step == step:
                _apply(event, state)
        weather, rain_mm = _weather(forcing, step, None if complete else known[step])
        state.film_mm += rain_mm
        np.minimum(state.film_mm, FILM_MAX_MM, out=state.film_mm)
        np.copyto(answer.film_mm[step], state.film_mm)
        held = None if complete else State(*(part.copy() for part in state.parts()))
        mean_k = stepper.step(state, weather)
        if held is not None:
            _hold(state, held, known[step])
        np.maximum(answer.film_mm[step], state.film_mm, out=answer.film_mm[step])
        np.subtract(mean_k, KELVIN, out=answer.panel_temp_c[step])
        np.subtract(state.body_k, KELVIN, out=answer.body_temp_c[step])
    if not known.all():
        unknown = gaps_and_after(known, STEPS_AFTER_GAP)
        for array in (answer.panel_temp_c, answer.body_temp_c, answer.film_mm):
            array[unknown] = np.nan
    return answer


def _start(forcing: Forcing, known: NDArray[np.bool_]) -> State:
    """Return dry panels at the air temperature of their first complete step."""
    first = known.argmax(axis=0)
    air_c = forcing.air_temp_c[first, np.arange(first.size)]
    start_k = np.where(known.any(axis=0), air_c, 0.0) + KELVIN
    return State(start_k, start_k.copy(), np.zeros_like(start_k))


def _apply(event: Event, state: State) -> None:
    """Do to the panels what was done to them."""
    if event.skin_c is not None:
        state.skin_k[event.rows] = event.skin_c + KELVIN
    if event.body_c is not None:
        state.body_k[event.rows] = event.body_c + KELVIN
    if event.film_mm is not None:
        state.film_mm[event.rows] = event.film_mm


# Any weather will do for a step whose outcome is thrown away.
_FILLER = {
    "gain_wm2": 350.0,
    "air_temp_c": 10.0,
    "vapour_hpa": 8.0,
    "forced_wm2k": 10.0,
    "calm_share": 0.0,
    "rain_mm": 0.0,
}


def _weather(
    forcing: Forcing, step: int, known: NDArray[np.bool_] | None
) -> tuple[Weather, Floats]:
    """Return one step's weather and rain; rows that are not known get filler."""
    now = {name: getattr(forcing, name)[step] for name in _FILLER}
    if known is not None:
        now = {name: np.where(known, row, _FILLER[name]) for name, row in now.items()}
    rain_mm = now.pop("rain_mm")
    air_k = now.pop("air_temp_c") + KELVIN
    return Weather(air_k=air_k, **now), rain_mm


def _hold(state: State, held: State, known: NDArray[np.bool_]) -> None:
    """Put rows without weather back, with the water that may have come meanwhile."""
    for part, before in zip(state.parts(), held.parts(), strict=True):
        part[~known] = before[~known]
    state.film_mm[~known] = FILM_MAX_MM
