"""The things a day is made of: site, panel, kit, job. Plain values without behaviour of their own.

Angles are degrees clockwise from north; a panel's tilt is the angle between its outward normal and
the zenith (0 faces the sky, 90 stands upright).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum
from types import MappingProxyType

from sprayadvisor.science.drying import BLOWER_FACTOR


class Surroundings(StrEnum):
    """What the wind meets on its way to the car."""

    OPEN = "open"
    SUBURB = "suburb"
    DENSE = "dense"


class Ground(StrEnum):
    """What the car stands on."""

    PAVED = "paved"
    GRAVEL = "gravel"
    GRASS = "grass"


class Cover(StrEnum):
    """What is above the panel."""

    OPEN_SKY = "open_sky"
    SHADE = "shade"
    TREES = "trees"
    CANOPY = "canopy"
    INDOORS = "indoors"


class Power(StrEnum):
    """Where the electricity comes from."""

    NONE = "none"
    SOCKET = "socket"
    GENERATOR = "generator"


class Material(StrEnum):
    """What the panel is made of."""

    STEEL = "steel"
    ALUMINIUM = "aluminium"
    PLASTIC = "plastic"


class Colour(StrEnum):
    """Colour classes that differ in how much sun they take up."""

    WHITE = "white"
    SILVER = "silver"
    LIGHT_GREY = "light_grey"
    RED = "red"
    GREEN = "green"
    BLUE = "blue"
    DARK_GREY = "dark_grey"
    BLACK = "black"


class Surface(StrEnum):
    """What lies open to sun and sky where the repair is."""

    PAINT = "paint"
    PRIMER = "primer"
    FILLER = "filler"
    BARE = "bare"


class Part(StrEnum):
    """Parts of a car that differ in the way they face."""

    ROOF = "roof"
    BONNET = "bonnet"
    BOOT_LID = "boot_lid"
    FRONT_BUMPER = "front_bumper"
    REAR_BUMPER = "rear_bumper"
    LEFT_WING = "left_wing"
    RIGHT_WING = "right_wing"
    LEFT_DOOR = "left_door"
    RIGHT_DOOR = "right_door"
    LEFT_QUARTER = "left_quarter"
    RIGHT_QUARTER = "right_quarter"
    LEFT_SILL = "left_sill"
    RIGHT_SILL = "right_sill"


# Tilt of the outward normal and its bearing relative to the car's nose.
# Common practice, no source: read off ordinary saloon shapes, good to about 10 degrees.
_PART_FACES: dict[Part, tuple[float, float]] = {
    Part.ROOF: (3.0, 180.0),
    Part.BONNET: (12.0, 0.0),
    Part.BOOT_LID: (15.0, 180.0),
    Part.FRONT_BUMPER: (85.0, 0.0),
    Part.REAR_BUMPER: (85.0, 180.0),
    Part.LEFT_WING: (75.0, 270.0),
    Part.RIGHT_WING: (75.0, 90.0),
    Part.LEFT_DOOR: (80.0, 270.0),
    Part.RIGHT_DOOR: (80.0, 90.0),
    Part.LEFT_QUARTER: (75.0, 270.0),
    Part.RIGHT_QUARTER: (75.0, 90.0),
    Part.LEFT_SILL: (90.0, 270.0),
    Part.RIGHT_SILL: (90.0, 90.0),
}

# Share of the sun's heat a colour takes up, good to about 0.1. Black: the measured reflectance 0.05
# of Levinson et al. 2011. Silver: that paper's 0.42 is one paint; bonnets read by thermometer ask
# for 0.55 to 0.6. The others are values from memory.
SOLAR_ABSORPTANCE: MappingProxyType[Colour, float] = MappingProxyType(
    {
        Colour.WHITE: 0.25,
        Colour.SILVER: 0.58,
        Colour.LIGHT_GREY: 0.60,
        Colour.RED: 0.70,
        Colour.GREEN: 0.70,
        Colour.BLUE: 0.85,
        Colour.DARK_GREY: 0.85,
        Colour.BLACK: 0.95,
    }
)
WAYS_DEG = (0.0, 90.0, 180.0, 270.0)  # tried where nobody said which way the car stands
LEANS_DEG = 10.0  # what leans less sees the same sun from every side: engineering estimate
PAINT_EMITTANCE = 0.93  # paint .92 to .94, published emissivity tables
# Share of sun taken up and long-wave emittance of what is not painted: grey primer, body filler and
# sanded bare metal, rougher than the cold-rolled steel of .09 in published tables. Values from
# memory, good to about 0.1.
SURFACE_OPTICS: MappingProxyType[Surface, tuple[float, float]] = MappingProxyType(
    {Surface.PRIMER: (0.70, 0.92), Surface.FILLER: (0.60, 0.92)}
)
BARE_OPTICS: MappingProxyType[Material, tuple[float, float]] = MappingProxyType(
    {
        Material.STEEL: (0.55, 0.20),
        Material.ALUMINIUM: (0.40, 0.12),
        Material.PLASTIC: (0.85, 0.93),
    }
)


@dataclass(frozen=True, slots=True)
class Site:
    """A place where a car is repaired.

    ``downwind`` names, for a compass side (``"n"``, ``"ne"`` …), what would get the mist if the
    wind blew towards that side. ``shade_before`` and ``shade_after`` are local clock times: in the
    shade of a house until, and again from. At a ``kerb`` cars pass within a few metres.
    """

    name: str
    latitude: float
    longitude: float
    zone: str
    elevation_m: float | None = None
    surroundings: Surroundings = Surroundings.SUBURB
    ground: Ground = Ground.PAVED
    cover: Cover = Cover.OPEN_SKY
    power: Power = Power.SOCKET
    downwind: MappingProxyType[str, str] = field(default_factory=lambda: MappingProxyType({}))
    shade_before: time | None = None
    shade_after: time | None = None
    kerb: bool = False


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of one car, in its colour and material, and what its surface is where it matters."""

    part: Part
    colour: Colour
    material: Material = Material.STEEL
    surface: Surface = Surface.PAINT

    @property
    def tilt_deg(self) -> float:
        """Angle between the outward normal and the zenith, degrees."""
        return _PART_FACES[self.part][0]

    def azimuth_deg(self, heading_deg: float) -> float:
        """Bearing the panel faces when the car's nose points to ``heading_deg``, degrees."""
        return (_PART_FACES[self.part][1] + heading_deg) % 360.0

    @property
    def absorptance(self) -> float:
        """Share of sunshine taken up, 0 to 1."""
        if self.surface is Surface.PAINT:
            return SOLAR_ABSORPTANCE[self.colour]
        return self._unpainted[0]

    @property
    def emittance(self) -> float:
        """Long-wave emittance, 0 to 1."""
        return PAINT_EMITTANCE if self.surface is Surface.PAINT else self._unpainted[1]

    @property
    def _unpainted(self) -> tuple[float, float]:
        """Absorptance and emittance where there is no paint."""
        return SURFACE_OPTICS.get(self.surface, BARE_OPTICS[self.material])


@dataclass(frozen=True, slots=True)
class Kit:
    """What is in the van, and what it can be plugged into. Zero means: not there.

    ``blower_factor`` is how much faster water-borne paint flashes under the blower. ``socket_kw``
    is what one household socket bears, ``generator_kw`` what the generator gives.
    """

    lamp_kw: float = 0.0
    lamp_area_m2: float = 0.0
    blower: bool = False
    canopy: bool = False
    work_light: bool = False
    compressor_kw: float = 0.0
    blower_factor: float = BLOWER_FACTOR
    socket_kw: float = 3.0  # 13 A at 230 V: common practice
    generator_kw: float = 2.0  # a small one: common practice

    def supply_kw(self, power: Power) -> float:
        """Return what can be drawn from a source of power, kW."""
        return {Power.SOCKET: self.socket_kw, Power.GENERATOR: self.generator_kw}.get(power, 0.0)


@dataclass(frozen=True, slots=True)
class Customer:
    """Whom to ring. Every field may be empty; none of it is ever logged."""

    name: str = ""
    phone: str = ""
    email: str = ""
    note: str = ""


class JobState(StrEnum):
    """Where a booking stands."""

    BOOKED = "booked"
    DONE = "done"
    SPOILED = "spoiled"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Job:
    """One booking.

    Times of day are local to the site. The arrival window is what was agreed with the customer;
    the repair may begin anywhere inside it. ``heading_deg`` is where the car's nose points; None
    where nobody said, and then the worst of ``WAYS_DEG`` counts.
    ``driven_until`` and ``washed_until`` say when the car's last drive or wash of that day ends:
    what is stated overrides the model.
    """

    ref: str
    site: Site
    panels: tuple[Panel, ...]
    process: str
    day: date
    arrive_from: time
    arrive_to: time
    heading_deg: float | None = None
    car_there_from: time | None = None
    back_by: time | None = None
    driven_until: time | None = None
    washed_until: time | None = None
    may_move: bool = True
    times_moved: int = 0
    repair_area_m2: float = 0.2
    state: JobState = JobState.BOOKED
    customer: Customer = field(default_factory=Customer)

    @property
    def ways_deg(self) -> tuple[float, ...]:
        """Every way the car may stand, where its nose points, degrees; the sky looks all the same.

        A roof sees the same sun whichever way it stands.
        """
        if self.heading_deg is not None:
            return (self.heading_deg,)
        flat = all(panel.tilt_deg < LEANS_DEG for panel in self.panels)
        return WAYS_DEG[:1] if flat else WAYS_DEG

    def panel_of(self, case: int) -> Panel:
        """Return the panel of a case: the panels in their order, again for each way."""
        return self.panels[case % len(self.panels)]

    def lamp_usable(self, kit: Kit) -> bool:
        """Return whether a lamp is in the van and there is power enough to run it."""
        return 0 < kit.lamp_kw <= kit.supply_kw(self.site.power)
