"""One step of a panel's heat and water balance, for many panels at once.

    skin   Cs dT/dt = gain − ε σ T⁴ + h (Ta − T) + k (B − T) + latent(film)
    body   Cb dB/dt = k (T − B) + hb (Ta − B)

Each step is linearised where a first estimate puts its mean, and then solved exactly: two nodes
have a matrix exponential in closed form, so that no step is too long to be stable, and the heat of
the linearised fluxes is kept to rounding. All arrays are rows of one step, worked on in place.
Temperatures are kelvin here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.science.convection import natural_coefficients
from sprayadvisor.science.panel_build import Build, State, Weather
from sprayadvisor.science.ranges import Floats, Values
from sprayadvisor.science.sky import KELVIN, STEFAN_BOLTZMANN_WM2K4
from sprayadvisor.science.wetness import (
    FILM_MAX_MM,
    ICE_SLOPE_PER_K,
    LATENT_J_KG,
    MAGNUS_BETA_K,
    MAGNUS_OFFSET_K,
    MAGNUS_SCALE_HPA,
    latent_per_hpa,
)


@dataclass(slots=True)
class Linear:
    """The balance of the skin, made linear: Cs dT/dt = pull − loss × T + k B.

    ``wet`` is 1 where the film takes part all through the step, 0 where there is none or where it
    dries up within the step, its remaining heat then spread over it.
    """

    loss: Floats
    pull: Floats
    convection: Floats
    radiation: Floats
    vapour: Floats
    slope: Floats
    latent: Floats
    wet: NDArray[np.bool_]
    scratch: tuple[Floats, Floats, Floats]

    @classmethod
    def of(cls, rows: int) -> Linear:
        """Return work arrays for so many rows."""

        def empty() -> Floats:
            return np.empty(rows)

        return cls(
            loss=empty(),
            pull=empty(),
            convection=empty(),
            radiation=empty(),
            vapour=empty(),
            slope=empty(),
            latent=empty(),
            wet=np.empty(rows, bool),
            scratch=(empty(), empty(), empty()),
        )


class Stepper:
    """The balance of a set of panels, ready to be stepped; holds constants and work arrays."""

    def __init__(self, build: Build, rows: int, step_s: float) -> None:
        def row(value: Values) -> Floats:
            return np.ascontiguousarray(np.broadcast_to(np.asarray(value, float), (rows,)))

        self.step_s = step_s
        warm, cold = natural_coefficients(row(build.tilt_deg))
        self._warm_cubed = build.natural * warm**3
        self._cold_cubed = -build.natural * cold**3
        self._four_emits = 4.0 * STEFAN_BOLTZMANN_WM2K4 * row(build.emittance)
        self._latent_per_h = build.film * latent_per_hpa(row(build.pressure_hpa))
        self._exchange = row(build.exchange_wm2k)
        self._skin = row(build.skin_j_m2k)
        body = row(build.body_j_m2k)
        self._skin_rate = self._exchange / self._skin
        self._body_rate = self._exchange / body
        self._body_air_rate = row(build.body_air_wm2k) / body
        self._body_decay = self._body_rate + self._body_air_rate
        self._cross = self._skin_rate * self._body_rate
        self._mm_per_wm2 = step_s / LATENT_J_KG
        self.linear = Linear.of(rows)
        self.mean_k = np.empty(rows)
        self._work = tuple(np.empty(rows) for _ in range(8))

    def step(self, state: State, weather: Weather) -> Floats:
        """Move the state on by one step and return the skin's mean temperature over it, K.

        The array returned is used again by the next call.
        """
        self._linearise(state.skin_k, state, weather)
        self._first_mean(state)
        self._linearise(self.mean_k, state, weather)
        about = self._work[7]
        np.copyto(about, self.mean_k)
        self._solve(state, weather)
        self._move_film(state, weather, about)
        return self.mean_k

    def _linearise(self, about_k: Floats, state: State, weather: Weather) -> None:
        """Make every flux of the skin linear about a temperature."""
        self._convection_about(about_k, weather)
        self._vapour_about(about_k, state, weather)
        it = self.linear
        part = it.scratch[0]
        np.multiply(about_k, about_k, out=it.radiation)
        it.radiation *= about_k
        it.radiation *= self._four_emits
        np.multiply(it.latent, it.slope, out=it.loss)
        np.subtract(weather.vapour_hpa, it.vapour, out=part)
        part *= it.latent
        it.pull += part  # holds the heat a vanishing film still takes
        it.pull += weather.gain_wm2
        np.multiply(it.radiation, 0.75, out=part)
        part += it.loss
        part *= about_k
        it.pull += part
        np.multiply(it.convection, weather.air_k, out=part)
        it.pull += part
        it.loss += it.convection
        it.loss += it.radiation
        it.loss += self._exchange

    def _convection_about(self, about_k: Floats, weather: Weather) -> None:
        """Write the convection coefficient."""
        it = self.linear
        warmer = it.scratch[0]
        np.subtract(about_k, weather.air_k, out=it.convection)
        np.multiply(it.convection, self._warm_cubed, out=warmer)
        it.convection *= self._cold_cubed
        np.maximum(it.convection, warmer, out=it.convection)
        np.cbrt(it.convection, out=it.convection)
        it.convection *= weather.calm_share
        it.convection += weather.forced_wm2k

    def _vapour_about(self, about_k: Floats, state: State, weather: Weather) -> None:
        """Write vapour pressure at the skin, its slope, and how far the film takes part."""
        it = self.linear
        lift, frozen, gone = it.scratch
        np.subtract(about_k, MAGNUS_OFFSET_K, out=lift)
        np.divide(MAGNUS_BETA_K, lift, out=lift)
        np.subtract(about_k, KELVIN, out=frozen)
        np.minimum(frozen, 0.0, out=frozen)
        frozen *= ICE_SLOPE_PER_K
        frozen -= lift
        np.exp(frozen, out=it.vapour)
        it.vapour *= MAGNUS_SCALE_HPA
        np.multiply(lift, lift, out=it.slope)
        it.slope *= it.vapour
        it.slope *= 1.0 / MAGNUS_BETA_K
        np.multiply(it.convection, self._latent_per_h, out=it.latent)
        np.subtract(it.vapour, weather.vapour_hpa, out=gone)
        gone *= it.latent
        gone *= self._mm_per_wm2
        np.less_equal(gone, state.film_mm, out=it.wet)
        it.latent *= it.wet
        np.subtract(it.wet, 1.0, out=it.pull)  # −1 where the film vanishes in this step
        it.pull *= state.film_mm
        it.pull *= 1.0 / self._mm_per_wm2

    def _first_mean(self, state: State) -> None:
        """Estimate the skin's mean over the step with the body held."""
        it, mean = self.linear, self.mean_k
        decay, share = it.scratch[0], it.scratch[1]
        np.multiply(self._exchange, state.body_k, out=mean)
        mean += it.pull
        mean /= it.loss
        np.divide(it.loss, self._skin, out=decay)
        decay *= -self.step_s
        np.expm1(decay, out=share)
        share /= decay
        np.subtract(state.skin_k, mean, out=decay)
        decay *= share
        mean += decay

    def _solve(self, state: State, weather: Weather) -> None:
        """Write the exact end of the step into the state and the exact mean into ``mean_k``."""
        loss, slow, spread, fast, rest, skin_gap, body_gap, _ = self._work
        np.divide(self.linear.loss, self._skin, out=loss)
        # Where the linear balance would come to rest.
        np.multiply(loss, self._body_decay, out=fast)
        fast -= self._cross  # the determinant
        np.divide(self.linear.pull, self._skin, out=rest)
        rest *= self._body_decay
        np.multiply(weather.air_k, self._body_air_rate, out=slow)
        np.multiply(slow, self._skin_rate, out=spread)
        rest += spread
        rest /= fast
        np.multiply(rest, self._body_rate, out=spread)
        spread += slow
        spread /= self._body_decay  # the body's rest
        np.subtract(state.skin_k, rest, out=skin_gap)
        np.subtract(state.body_k, spread, out=body_gap)
        np.copyto(self.mean_k, rest)
        np.copyto(rest, state.skin_k)  # from here on: the skin at the beginning
        np.copyto(self.linear.scratch[0], state.body_k)
        np.copyto(state.skin_k, self.mean_k)
        np.copyto(state.body_k, spread)
        np.multiply(fast, self.step_s, out=self.linear.scratch[1])
        self._decay(loss, slow, spread, fast)
        self._approach(state, skin_gap, body_gap, slow, spread, fast)
        # mean = rest + A⁻¹ (end − beginning) / step
        np.subtract(state.skin_k, rest, out=skin_gap)
        skin_gap *= self._body_decay
        np.subtract(state.body_k, self.linear.scratch[0], out=body_gap)
        body_gap *= self._skin_rate
        skin_gap += body_gap
        skin_gap /= self.linear.scratch[1]
        self.mean_k -= skin_gap

    def _decay(self, loss: Floats, even: Floats, odd: Floats, half: Floats) -> None:
        """Write the parts of exp(A t) = even I + odd (A + m I), m being the mean decay."""
        np.subtract(loss, self._body_decay, out=half)
        half *= 0.5
        np.multiply(half, half, out=odd)
        odd += self._cross
        np.sqrt(odd, out=odd)  # half the distance of the two rates
        loss += self._body_decay
        loss *= 0.5
        np.subtract(odd, loss, out=even)
        loss += odd
        loss *= -self.step_s
        even *= self.step_s
        np.exp(even, out=even)
        np.exp(loss, out=loss)
        odd *= 2.0
        np.subtract(even, loss, out=self.linear.scratch[2])
        np.divide(self.linear.scratch[2], odd, out=odd)
        even += loss
        even *= 0.5

    def _approach(
        self,
        state: State,
        skin_gap: Floats,
        body_gap: Floats,
        even: Floats,
        odd: Floats,
        half: Floats,
    ) -> None:
        """Add what is left of the gaps to the rest state."""
        part, half_odd = self.linear.scratch[2], half
        half_odd *= odd
        np.subtract(even, half_odd, out=part)
        part *= skin_gap
        state.skin_k += part
        np.multiply(odd, self._skin_rate, out=part)
        part *= body_gap
        state.skin_k += part
        np.multiply(odd, self._body_rate, out=part)
        part *= skin_gap
        state.body_k += part
        even += half_odd
        even *= body_gap
        state.body_k += even

    def _move_film(self, state: State, weather: Weather, about_k: Floats) -> None:
        """Let the film grow or dry by the same fluxes the skin was given."""
        it = self.linear
        flux = it.scratch[0]
        np.subtract(about_k, self.mean_k, out=flux)
        flux *= it.slope
        flux += weather.vapour_hpa
        flux -= it.vapour
        flux *= it.latent
        flux *= self._mm_per_wm2
        state.film_mm += flux
        state.film_mm *= it.wet
        np.clip(state.film_mm, 0.0, FILM_MAX_MM, out=state.film_mm)
