"""What a brief says, as values: one entry for each job of the day, and what the day needs.

Words and pictures are made of these elsewhere; nothing here is a sentence except reasons that
other parts of the advice already gave as one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from types import MappingProxyType

from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.downwind import Side
from sprayadvisor.advice.first_night import FirstNight
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.outlook import Floats, Provenance
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.two_visits import TwoVisits
from sprayadvisor.advice.under_way import UnderWay
from sprayadvisor.advice.van import VanTemps
from sprayadvisor.advice.verdict import Word
from sprayadvisor.advice.wet_morning import Wet
from sprayadvisor.science.airborne import HAZARDS, Hazard


@dataclass(frozen=True, slots=True)
class StageBar:
    """One stage of the best play on the chart, UTC."""

    name: str
    kind: str
    begin: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class WindowBar:
    """One window: earliest, best and latest start, UTC, and its word."""

    first: datetime
    best: datetime
    latest: datetime
    word: Word


@dataclass(frozen=True, slots=True)
class ChartData:
    """What the chart of one job shows; every fact of it is also told in words.

    All arrays are (step,), in the member and for the panel of the best play; NaN leaves a gap.
    ``whole`` says whether the play reaches its end; otherwise it breaks off in its last stage.
    """

    zone: str
    times: tuple[datetime, ...]
    panel_temp_c: Floats
    dew_point_c: Floats
    wind_ms: Floats
    rain_mm: Floats
    stages: tuple[StageBar, ...]
    windows: tuple[WindowBar, ...]
    whole: bool = True


@dataclass(frozen=True, slots=True)
class DayWeather:
    """The working day at one site in a few numbers, in the middle member."""

    air_low_c: float
    air_high_c: float
    wind_high_ms: float
    gust_high_ms: float
    rain_hours: tuple[datetime, ...]
    rain_chance_pct: float
    cloud_fraction: float
    dew_point_high_c: float = float("nan")


@dataclass(frozen=True, slots=True)
class AirLevel:
    """What lands in wet paint, where the best play meets it worst.

    Attributes:
        hazard: a name of ``science.airborne.HAZARDS``.
        level: 0 low, 1 some, 2 high; NaN if not known.
        at: when, UTC; None if not known.
        stage: name of the stage.
    """

    hazard: str
    level: float
    at: datetime | None
    stage: str

    @property
    def words(self) -> Hazard:
        """Name, reasons and protective action."""
        return HAZARDS[self.hazard]


class DownwindAnswer(StrEnum):
    """What to do about what stands downwind."""

    CLEAR = "clear"
    LOOK = "feel the wind"
    MOVE_VAN = "move the van"
    OTHER_END = "other end of the drive"
    WAIT = "wait"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Downwind:
    """Where the mist of the best play goes.

    Attributes:
        answer: what to do.
        at: when it is worst, UTC.
        stage: name of the coat then.
        towards: side the wind blows to; empty where the direction is not known.
        sides: what stands there; all that is named where the direction is not known.
        clear_from: from when that day the mist would reach nothing; None if not.
    """

    answer: DownwindAnswer
    at: datetime
    stage: str
    towards: str
    sides: tuple[Side, ...]
    clear_from: datetime | None = None


@dataclass(frozen=True, slots=True)
class House:
    """What spends the night in the house and is carried out last.

    Attributes:
        water_borne: names of products that frost spoils.
        hardeners: whether any paint is hardened with isocyanate, which damp spoils.
        warm_box: whether the day is so cold that paint must be kept warm on the way.
    """

    water_borne: tuple[str, ...] = ()
    hardeners: bool = False
    warm_box: bool = False


class AirLine(StrEnum):
    """How much water the compressor's line takes up that day."""

    USUAL = "usual"
    STICKY = "sticky"
    FROST = "frost"


@dataclass(frozen=True, slots=True)
class Entry:
    """One job of the brief.

    Attributes:
        judgement: verdict, windows, best play.
        windows: of the coming days, in order.
        coats: first coat of each product in the best play.
        commitment: from the first coat without return to the end of its bake, UTC; None without.
        latest_opening: when it would begin from the latest start that fits, UTC; None if not.
        there_from: when the painter can be there after the job before, UTC, where that binds him.
        wet: how long dew, frost or rain stands on the panels that morning; None if dry.
        weather: the day's weather there; None without a forecast.
        air: worst level of what lands in wet paint, in the best play.
        downwind: where its mist goes; None where the site names nothing downwind.
        two_visits: how it could be split, where the whole does not fit; None where it cannot be.
        first_night: what may wet the fresh clear too soon; None where none is laid.
        chart: None without a forecast.
        provenance: where the weather came from; None without a forecast.
        remedies: what would make it likelier to come out right, best first.
        under_way: where the job is, where it was begun; then its rest is judged.
    """

    judgement: Judgement
    windows: tuple[WindowBar, ...] = ()
    coats: tuple[CoatLine, ...] = ()
    commitment: tuple[datetime, datetime] | None = None
    latest_opening: datetime | None = None
    there_from: datetime | None = None
    wet: Wet | None = None
    weather: DayWeather | None = None
    air: tuple[AirLevel, ...] = ()
    downwind: Downwind | None = None
    two_visits: TwoVisits | None = None
    first_night: FirstNight | None = None
    chart: ChartData | None = None
    provenance: Provenance | None = None
    remedies: tuple[Remedy, ...] = ()
    under_way: UnderWay | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A job whose customer should be rung, and the slots that can be offered instead, UTC."""

    ref: str
    slots: tuple[WindowBar, ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """Two jobs that cannot both be kept: the second is reached ``late_min`` too late."""

    first_ref: str
    second_ref: str
    late_min: int


@dataclass(frozen=True, slots=True)
class Brief:
    """The evening or the morning brief of one day.

    Attributes:
        moment: evening (for tomorrow) or morning.
        day: the local day it is about.
        made_at: UTC.
        zone: of the base.
        business: name of the business.
        entries: one for each job, in the order of the day.
        ring: whom to ring, with slots to offer.
        heads_up: jobs that are kept, but whose customers should know tonight that they may move.
        clashes: jobs that run into each other.
        load: what goes into the van.
        house: what of it spends the night in the house.
        van: how cold the parked van gets in the night at hand, and how hot on the day.
        air_line: how the air line is kept dry; None where nothing is sprayed.
        sources: name of each forecast source used.
        weather_problems: sentences about weather that could not be had or is old.
        air_problems: sentences about pollen and fine dust that could not be had or are old.
        odds_problems: sentences about an ensemble that could not be had or is old.
        runs: runs of an ensemble that the odds come from, 0 where errors were drawn.
        faults: sentences about sheets and processes that could not be used.
    """

    moment: Moment
    day: date
    made_at: datetime
    zone: str
    business: str
    entries: tuple[Entry, ...]
    ring: tuple[Offer, ...] = ()
    heads_up: tuple[str, ...] = ()
    clashes: tuple[Clash, ...] = ()
    load: tuple[str, ...] = ()
    house: House = field(default_factory=House)
    van: VanTemps = field(default_factory=VanTemps)
    air_line: AirLine | None = None
    sources: tuple[str, ...] = ()
    weather_problems: tuple[str, ...] = ()
    air_problems: tuple[str, ...] = ()
    odds_problems: tuple[str, ...] = ()
    runs: int = 0
    faults: tuple[str, ...] = ()

    @property
    def tally(self) -> MappingProxyType[Word, int]:
        """How many jobs have each verdict."""
        words = [entry.judgement.word for entry in self.entries]
        return MappingProxyType({word: words.count(word) for word in Word})

    @property
    def first_coat(self) -> datetime | None:
        """When the first paint of the day goes on in the best plays; None if none can."""
        doable = (Word.GO, Word.CARE)
        coats = [c.at for e in self.entries if e.judgement.word in doable for c in e.coats]
        return min(coats, default=None)
