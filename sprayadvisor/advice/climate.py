"""The climate: what panels meet, in every member of the weather and every case.

    members ─┬─ sky, sun, wind, water: once per site ─┐
    cases ───┴─ facing, cover, material, history ─────┴─ one trace of all panels ── Climate

A case is a variant to compare: another panel, heading, cover, or something done to the car. All
cases meet the same members, so that a difference between two cases is never chance. Panels in
different weathers go through one trace as well: a step costs the same for one as for a hundred.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.case import Case, events
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.met import Air, Ground, Here, middles, spot, where
from sprayadvisor.advice.outlook import AirQuality, Floats, Times
from sprayadvisor.science import humidity, panel, wetness
from sprayadvisor.science.panel_build import SKIN_HEAT_J_M2K, Build
from sprayadvisor.science.sun_track import Place, sun_tracks

# Panels traced at once: more in one go are hardly quicker, and their forcing fills the memory.
MOST_ROWS = 1024


@dataclass(frozen=True, slots=True)
class Climate:
    """What the panels meet.

    Attributes:
        starts_utc: (step,) beginnings of the steps, UTC.
        values: (case × member, step) arrays by quantity; the row of a member in a case is
            ``case * n_members + member``. ``panel_temp_c`` is the mean over the step;
            ``panel_wet``, ``panel_white`` and ``low_sun`` are 1, 0 or NaN for unknown.
        n_cases: number of cases.
        n_members: number of members.
    """

    starts_utc: Times
    values: dict[str, Floats]
    n_cases: int
    n_members: int

    def __getitem__(self, quantity: str) -> Floats:
        """Return the (case × member, step) array of one quantity."""
        return self.values[quantity]

    def case(self, quantity: str, index: int) -> Floats:
        """Return the (member, step) array of one quantity in one case."""
        return self.values[quantity][index * self.n_members : (index + 1) * self.n_members]

    def cases(self, first: int, stop: int) -> Climate:
        """Return the climate of the cases from ``first`` up to but not including ``stop``."""
        rows = slice(first * self.n_members, stop * self.n_members)
        values = {name: array[rows] for name, array in self.values.items()}
        return Climate(self.starts_utc, values, stop - first, self.n_members)


@dataclass(frozen=True, slots=True)
class Scene:
    """Cases that stand in one weather.

    Attributes:
        members: the possible weathers.
        cases: at least one.
        air_quality: pollen and fine dust there; None where nothing is known of them.
    """

    members: Members
    cases: Sequence[Case]
    air_quality: AirQuality | None = None

    @property
    def rows(self) -> int:
        """Rows of its climate."""
        return len(self.cases) * len(self.members)


def climate(
    members: Members, cases: Sequence[Case], air_quality: AirQuality | None = None
) -> Climate:
    """Return what every panel meets in every member; see ``Scene`` for the arguments."""
    return climates([Scene(members, cases, air_quality)])[0]


def climates(scenes: Sequence[Scene]) -> list[Climate]:
    """Return the climate of each scene, as if each were alone; their panels are traced together.

    Args:
        scenes: their grids may begin and end when they like.
    """
    found: dict[int, Climate] = {}
    for together in _batches(scenes):
        _ask_for_the_sun(scenes[index] for index in together)
        heres = [_here(scenes[index]) for index in together]
        traced = _traced([scenes[index] for index in together], heres)
        for index, here, part in zip(together, heres, traced, strict=True):
            found[index] = _climate(scenes[index], here, part)
    return [found[index] for index in range(len(scenes))]


def _batches(scenes: Sequence[Scene]) -> Iterator[list[int]]:
    """Yield the indices of scenes to trace together: as many steps, and not too many rows."""
    by_steps: dict[int, list[int]] = {}
    for index, scene in enumerate(scenes):
        by_steps.setdefault(len(scene.members.starts_utc), []).append(index)
    for indices in by_steps.values():
        batch: list[int] = []
        rows = 0
        for index in indices:
            if batch and rows + scenes[index].rows > MOST_ROWS:
                yield batch
                batch, rows = [], 0
            batch.append(index)
            rows += scenes[index].rows
        yield batch


def _ask_for_the_sun(scenes: Iterable[Scene]) -> None:
    """Place the sun for all sites on one grid at once; each then finds its own at no cost."""
    by_grid: dict[bytes, tuple[Times, list[Place]]] = {}
    for scene in scenes:
        times = middles(scene.members.starts_utc)
        places = by_grid.setdefault(times.tobytes(), (times, []))[1]
        places += [where(case.site) for case in scene.cases]
    for times, places in by_grid.values():
        sun_tracks(times, places)


def _here(scene: Scene) -> list[Here]:
    """Return what each case of a scene meets."""
    air = Air(scene.members, scene.air_quality)
    sites = {spot(case.site): case.site for case in scene.cases}
    suns = sun_tracks(air.middles, [where(site) for site in sites.values()])
    known = {
        key: Ground(air, site, sun) for (key, site), sun in zip(sites.items(), suns, strict=True)
    }
    return [Here(air, known[spot(case.site)], case) for case in scene.cases]


def _traced(scenes: Sequence[Scene], heres: Sequence[Sequence[Here]]) -> Iterator[panel.Trace]:
    """Yield what becomes of the panels of each scene, traced together."""
    everybody = [here for of_scene in heres for here in of_scene]
    done: list[panel.Event] = []
    first = 0
    for scene in scenes:
        done += events(scene.cases, scene.members, first)
        first += scene.rows
    whole = panel.trace(_forcing(everybody), _build(everybody), done)
    first = 0
    for scene in scenes:
        yield whole.rows(slice(first, first + scene.rows))
        first += scene.rows


def _climate(scene: Scene, heres: Sequence[Here], traced: panel.Trace) -> Climate:
    """Return the climate of one scene once its panels are traced."""
    tables = [here.values() for here in heres]
    values = {name: np.concatenate([table[name] for table in tables]) for name in tables[0]}
    panel_temp_c = np.ascontiguousarray(traced.panel_temp_c.T)
    film_mm = np.ascontiguousarray(traced.film_mm.T)
    values |= {
        "panel_temp_c": panel_temp_c,
        "film_mm": film_mm,
        "panel_wet": wetness.wet_flag(film_mm),
        "panel_white": wetness.white_flag(film_mm, panel_temp_c),
        "dew_margin_k": panel_temp_c - values["dew_point_c"],
        "surface_rh_pct": humidity.surface_rh_pct(
            values["air_temp_c"], values["rh_pct"], panel_temp_c
        ),
    }
    return Climate(scene.members.starts_utc, values, len(scene.cases), len(scene.members))


def _forcing(heres: Sequence[Here]) -> panel.Forcing:
    """Return the weather at all panels, (step, row)."""
    winds = [at.convection() for at in heres]

    def rows(parts: Sequence[Floats]) -> Floats:
        return np.ascontiguousarray(np.concatenate(parts).T)

    return panel.Forcing(
        gain_wm2=rows([at.gain_wm2() for at in heres]),
        air_temp_c=rows([at.air.members["air_temp_c"] for at in heres]),
        vapour_hpa=rows([at.air.vapour_hpa for at in heres]),
        forced_wm2k=rows([forced for forced, _ in winds]),
        calm_share=rows([calm for _, calm in winds]),
        rain_mm=rows([at.rain_mm(at.air.members["rain_mm"]) for at in heres]),
    )


def _build(heres: Sequence[Here]) -> Build:
    """Return what the panels of all rows are made of."""
    members = [len(at.air.members) for at in heres]
    panels = [at.case.panel for at in heres]

    def rows(values: Sequence[float]) -> Floats:
        return np.repeat(np.asarray(values, dtype=np.float64), members)

    return Build(
        emittance=rows([shown.emittance for shown in panels]),
        tilt_deg=rows([shown.tilt_deg for shown in panels]),
        skin_j_m2k=rows([SKIN_HEAT_J_M2K[shown.material.value] for shown in panels]),
        pressure_hpa=rows([at.air.pressure_hpa(at.case.site) for at in heres]),
    )
