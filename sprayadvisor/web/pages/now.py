"""The check at the car: may the next stage begin now?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Form, Response
from fastapi.responses import RedirectResponse
from pydantic import BaseModel

from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services.onsite import Next
from sprayadvisor.services.onsite_form import OnSiteForm
from sprayadvisor.web.desk import Desk, JobLink, Nav, Page, Wanted

router = APIRouter()
PAGE = Page(nav=Nav("Now", "/now", 20), job_links=(JobLink("Now", "/now/{ref}", 10),))

# One tap in place of an instrument: label, and what it stands for. Trade judgements.
_NOT_SAID = ("Not said", "")
WINDS = (
    _NOT_SAID,
    ("Still", "0.3 m/s"),
    ("Just felt", "1.5 m/s"),
    ("Leaves move", "3 m/s"),
    ("Dust lifts", "6 m/s"),
)
MISTS = (_NOT_SAID, ("Gone at once", "4 s"), ("Slowly", "8 s"), ("It stays", "12 s"))
STRIPES = (_NOT_SAID, ("Dry within 15 min", "14 min"), ("Still damp", "20 min"))
COVERS = (
    (Cover.OPEN_SKY, "open sky"),
    (Cover.SHADE, "shade"),
    (Cover.TREES, "under trees"),
    (Cover.CANOPY, "my canopy is up"),
    (Cover.INDOORS, "indoors"),
)


# What an instrument or the eye said at this minute; where the car stands and the lamp stay.
READ_NOW = (
    "panel", "air", "humidity", "wind", "wind_usual", "at", "matt", "mist", "mist_usual", "stripe",
    "stripe_usual",
)  # fmt: skip


class NowFields(BaseModel):
    """What the form sends; all of it text, so that the services can say what is wrong with it."""

    next: str = ""
    panel: str = ""
    air: str = ""
    humidity: str = ""
    wind: str = ""
    wind_usual: str = ""
    at: str = ""
    matt: str = ""
    matt_now: str = ""
    shelter: str = ""
    lamp: str = ""
    mist: str = ""
    mist_usual: str = ""
    stripe: str = ""
    stripe_usual: str = ""
    part: str = ""
    sure: str = ""

    def as_form(self) -> OnSiteForm:
        """Return the form as the services take it; what was typed counts before a tap."""
        return OnSiteForm(
            next=self.next,
            panel=self.panel,
            air=self.air,
            humidity=self.humidity,
            wind=self.wind.strip() or self.wind_usual,
            at=self.at,
            matt=self.matt.strip() or ("now" if self.matt_now else ""),
            shelter=self.shelter,
            lamp={"yes": True, "no": False}.get(self.lamp),
            mist=self.mist.strip() or self.mist_usual,
            stripe=self.stripe.strip() or self.stripe_usual,
            part=self.part,
            sure=bool(self.sure),
        )


@router.get("/now")
def pick(desk: Wanted) -> Response:
    """Ask which car it is; with one job today there is nothing to ask."""
    services = desk.services
    today = services.board.today()
    jobs = services.bookings.list(today, today)
    if len(jobs) == 1:
        return RedirectResponse(f"/now/{jobs[0].ref}", 303)
    return desk.show("now/pick.html.j2", jobs=jobs)


@router.get("/now/{ref}")
def ask(desk: Wanted, ref: str) -> Response:
    """Show the form for one job."""
    return _form(desk, _job(desk, ref), NowFields(), {})


@router.post("/now/{ref}")
def answer(desk: Wanted, ref: str, form: Annotated[NowFields, Form()]) -> Response:
    """Answer, and keep what was read."""
    onsite = desk.services.onsite
    job = _job(desk, ref)
    try:
        found = onsite.ask(ref, onsite.asked(ref, form.as_form()))
    except InputError as error:
        return _form(desk, job, form, _at_field(str(error)), 422)
    may_insist = any(doubt.may_insist for doubt in found.doubts)
    # A reading counts for the minute it was taken in, and one that was right all the same for this
    # answer alone: asked again later, neither may pass for a new one.
    over = {} if may_insist else dict.fromkeys(READ_NOW, "")
    again = form.model_copy(
        update={**over, "sure": "", "matt_now": "", "next": form.next or found.stage}
    )
    return _form(
        desk,
        job,
        again,
        {},
        told=onsite.told(found),
        may_insist=may_insist,
    )


@router.post("/now/{ref}/begin")
def begin(desk: Wanted, ref: str, stage: Annotated[str, Form()] = "") -> Response:
    """Note that a stage begins now, and go on."""
    _, begun = desk.services.progress.at(ref, stage, by="page")
    return desk.go(f"/now/{ref}", f"Noted: “{begun.name}” begins now.")


def _job(desk: Desk, ref: str) -> Job:
    """Return a booked job.

    Raises:
        BookingError: there is none of this reference, or it is over.
    """
    job = desk.services.bookings.get(ref)
    if job.day != desk.services.board.today():
        raise BookingError(
            f"Job {ref} is on {job.day:%A} {job.day}; what is read at the car counts on its day."
        )
    return desk.services.bookings.booked(ref)


def _form(
    desk: Desk,
    job: Job,
    typed: NowFields,
    errors: dict[str, str],
    status: int = 200,
    **answered: Any,  # noqa: ANN401 - what the template shows of an answer
) -> Response:
    """Return the form, below the answer if there is one."""
    onsite = desk.services.onsite
    stages = onsite.stages(job.ref)
    usual = _usual_next(stages, onsite.next_of(job.ref))
    return desk.show(
        "now/now.html.j2",
        status,
        job=job,
        typed=typed,
        errors=errors,
        stages=stages,
        next=typed.next or usual,
        parts=[panel.part for panel in job.panels],
        winds=WINDS,
        mists=MISTS,
        stripes=STRIPES,
        covers=COVERS,
        lamp_usable=job.lamp_usable(desk.services.kit),
        kept=tuple(reversed(onsite.kept(job.ref))),
        display=desk.services.display,
        **({"told": None, "may_insist": False} | answered),
    )


def _usual_next(stages: Sequence[Next], begun: str) -> str:
    """Return the coat that is asked about next: the first one after the stage that was begun."""
    ids = [stage.id for stage in stages]
    after = ids.index(begun) + 1 if begun in ids else 0
    return next((stage.id for stage in stages[after:] if stage.wet), begun)


def _at_field(sentence: str) -> dict[str, str]:
    """Return a sentence at the field it begins with, or above all of them."""
    name = sentence.split(" ", 1)[0].rstrip(":").replace("stage", "next")
    known = name in NowFields.model_fields
    return {name if known else "all": sentence}
