"""What is asked at the car, and what is answered, as values.

    Asked ─ Reading ──→ Doubt: a kind question, and nothing is judged yet
                    └─→ OnSiteAnswer: word, odds, margins, dust-free, danger, ways, safe stop

A reading that is odd is asked about and never used in silence.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.advice.onsite_facts import AsRead, DustFree, FlashOff, StageNow
from sprayadvisor.advice.outlook import Provenance
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word

# How long breath mist may stay on a panel that is dry enough, and from when on it is too damp; how
# long a wiped damp stripe may take to dry: old trade rules, no source.
MIST_FINE_S, MIST_DAMP_S = 5.0, 10.0
STRIPE_DRY_MIN = 15.0


@dataclass(frozen=True, slots=True)
class Reading:
    """What was measured at the car; None means: not measured.

    Attributes:
        taken_at: when, aware, UTC.
        panel_temp_c: panel temperature, °C.
        air_temp_c: air temperature, °C.
        rh_pct: humidity of the air, %.
        wind_ms: mean wind at the gun, m/s.
        wind_from_deg: where the wind comes from at the car, degrees clockwise from north.
        panel: index of the panel that was read; the others are moved by as
            much, as far as the model may be wrong.
    """

    taken_at: datetime
    panel_temp_c: float | None = None
    air_temp_c: float | None = None
    rh_pct: float | None = None
    wind_ms: float | None = None
    wind_from_deg: float | None = None
    panel: int = 0

    @property
    def measured(self) -> tuple[str, ...]:
        """Names of the quantities that were measured."""
        return tuple(name for name in QUANTITIES if getattr(self, name) is not None)


QUANTITIES = ("panel_temp_c", "air_temp_c", "rh_pct", "wind_ms")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the painter asks, and says.

    Attributes:
        reading: what was measured.
        next_stage: the stage of the process that comes next; empty for what was said last.
        shelter: what is above the car now, where that is not what the booking says.
        all_clear: nobody is where the mist may go, and what stands there is covered or gone.
        lamp: whether a lamp will be used; None for as the kit allows.
        matt_at: when the last coat had turned matt all over: its flash-off counts anew from then.
        mist_s: how long breath mist stayed on the panel, seconds.
        stripe_min: how long a wiped damp stripe took to dry, minutes.
        sure: use readings that look odd all the same.
    """

    reading: Reading
    next_stage: str = ""
    shelter: Cover | None = None
    all_clear: bool = False
    lamp: bool | None = None
    matt_at: datetime | None = None
    mist_s: float | None = None
    stripe_min: float | None = None
    sure: bool = False


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that cannot be, or hardly.

    Attributes:
        field: what it is about: a name of ``Reading``, or ``mist_s`` and the like.
        question: one sentence.
        may_insist: whether the painter may use it all the same.
    """

    field: str
    question: str
    may_insist: bool = True


class Felt(StrEnum):
    """What breath mist and damp stripe say of the panel."""

    NOTHING = ""
    FINE = "fine"
    BETWEEN = "between"
    DAMP = "damp"


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the panel meets now, in the middle of the members; NaN where not known."""

    panel_temp_c: float
    air_temp_c: float
    rh_pct: float
    dew_point_c: float
    dew_margin_k: float
    wind_ms: float


@dataclass(frozen=True, slots=True)
class Margin:
    """How one check stands in the rest of the work, at its worst.

    Attributes:
        check: quantity, bounds, origin.
        value: the worst value.
        inside_margin: distance to the inside bound, negative beyond; infinite without one.
        stop_margin: distance to the stop.
        at: when, UTC.
        stage: name of the stage.
    """

    check: Check
    value: float
    inside_margin: float
    stop_margin: float
    at: datetime
    stage: str


@dataclass(frozen=True, slots=True)
class Danger:
    """What would break a bound next, whether the work is over by then or not.

    Attributes:
        check: the bound.
        level: whether it is the stop or the inside bound.
        at: when, UTC.
        share: share of members in which it is broken then.
        too_low: whether the value is too low rather than too high.
    """

    check: Check
    level: Level
    at: datetime
    share: float
    too_low: bool


@dataclass(frozen=True, slots=True)
class Way:
    """One thing that would make it better, as computed.

    Attributes:
        change: what is done otherwise; ``LATER`` is to wait.
        word: the verdict then.
        likelihood: that it fits then: inside the sheets for *go*, else short of their stops.
        before: the same likelihood as things stand.
        at: when to begin, UTC, for waiting.
        to_c: what to warm the metal to, °C, for warming.
        about: the product or stage concerned.
    """

    change: Change
    word: Word
    likelihood: float
    before: float
    at: datetime | None = None
    to_c: float | None = None
    about: str = ""


@dataclass(frozen=True, slots=True)
class SafeStop:
    """Where the job can be left.

    Attributes:
        stage: name of the stage to end with.
        at: when that is done, UTC; None where it is done already.
        word: the verdict on the way there.
        likelihood: that it fits, at the level of the word; NaN where nothing is left to do.
    """

    stage: str
    at: datetime | None
    word: Word
    likelihood: float


@dataclass(frozen=True, slots=True)
class OnSiteAnswer:
    """The answer at the car.

    Attributes:
        job: the booking, under the shelter it stands under now.
        asked: what was asked.
        made_at: UTC.
        word: the verdict on what remains.
        why: plain reason where no weather decided.
        moment: which thresholds counted.
        likelihood: that what remains fits: inside the sheets for *go*, else short of their stops.
        stage: id of the stage that comes next.
        stage_name: its name.
        said_at: when the painter said so by ``job at``; None where it was asked with it.
        until: name of the stage with which what was judged ends.
        doubts: readings to look at first; then nothing is judged.
        filled: quantities taken from the forecast for want of a reading.
        felt: what breath mist and damp stripe say.
        conditions: what the panel meets now.
        as_read: what was read, against the sheet of the coat that comes next.
        stage_now: how long the stage lasts that comes next, where lamp or cooling decide.
        margins: the tightest first, each quantity once.
        dust_free: None where no wet coat is ahead.
        danger: None where none is in sight.
        ways: what would make it safe, best first.
        safe_stop: None where there is none, or it is not needed.
        only_as_far: word and odds are about the work up to the safe stop; beyond is a *no-go*.
        flash_off: the one that counts since the coat was matt, or was begun; None where none does.
        latest: by when the next coat must be on after the last; None where that is not known.
        judgement: what all this rests on.
        provenance: where the weather came from.
        weather_problem: a sentence if older weather stands in.
    """

    job: Job
    asked: Asked
    made_at: datetime
    word: Word
    why: str = ""
    moment: Moment = Moment.BEFORE_BASE
    likelihood: float = float("nan")
    stage: str = ""
    stage_name: str = ""
    said_at: datetime | None = None
    until: str = ""
    doubts: tuple[Doubt, ...] = ()
    filled: tuple[str, ...] = ()
    felt: Felt = Felt.NOTHING
    conditions: Conditions | None = None
    as_read: AsRead | None = None
    stage_now: StageNow | None = None
    margins: tuple[Margin, ...] = ()
    dust_free: DustFree | None = None
    danger: Danger | None = None
    ways: tuple[Way, ...] = ()
    safe_stop: SafeStop | None = None
    only_as_far: bool = False
    flash_off: FlashOff | None = None
    latest: datetime | None = None
    judgement: Judgement | None = field(default=None, repr=False)
    provenance: Provenance | None = None
    weather_problem: str = ""


def felt(mist_s: float | None, stripe_min: float | None) -> Felt:
    """Return what breath mist and damp stripe say; the damper of the two counts."""
    found = {Felt.NOTHING}
    if mist_s is not None:
        damp = Felt.DAMP if mist_s > MIST_DAMP_S else Felt.BETWEEN
        found.add(Felt.FINE if mist_s < MIST_FINE_S else damp)
    if stripe_min is not None:
        found.add(Felt.FINE if stripe_min <= STRIPE_DRY_MIN else Felt.DAMP)
    return max(found, key=list(Felt).index)
