"""What a page needs to answer: the services, its templates, and whom it answers."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from sprayadvisor.errors import StoreError
from sprayadvisor.render import told as words
from sprayadvisor.render.cautions import AT_THE_TOP
from sprayadvisor.render.html import badge_class
from sprayadvisor.render.words import (
    LABELS,
    SHAPES,
    clock,
    day_and_clock,
    kept_together,
    long_day,
    sentence,
    short_day,
)
from sprayadvisor.web.access import Access
from sprayadvisor.web.kept import KeptPage, KeptPages
from sprayadvisor.web.limiter import Limiter
from sprayadvisor.web.origin import Names
from sprayadvisor.web.statics import Statics

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services

_SAID_FOR = timedelta(minutes=1)
_ONCE_KEPT = 1000


@dataclass(frozen=True, slots=True)
class Nav:
    """An entry of the bar at the bottom: its word, where it leads, and its place from the left."""

    word: str
    path: str
    place: int


@dataclass(frozen=True, slots=True)
class JobLink:
    """A button on the page of each job; ``{ref}`` in its path stands for the job's reference.

    With ``ended`` it is there for jobs that are over too; with ``loud`` it stands out;
    with ``of_the_day`` it is there only on the job's own day.
    """

    word: str
    path: str
    place: int = 50
    ended: bool = False
    loud: bool = False
    of_the_day: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """What a module of ``web/pages`` adds to the pages of others."""

    nav: Nav | None = None
    job_links: tuple[JobLink, ...] = ()


class Once:
    """Remembers which forms were sent, so that a form that is sent twice acts once."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._locks: OrderedDict[str, tuple[threading.Lock, list[str]]] = OrderedDict()

    def act(self, token: str, act: Callable[[], str]) -> str:
        """Return what ``act`` returned for this token the first time.

        Where it raised, nothing is remembered, and the form may be sent again.
        """
        if not token:
            return act()
        with self._lock:
            lock, done = self._locks.setdefault(token[:64], (threading.Lock(), []))
            while len(self._locks) > _ONCE_KEPT:
                self._locks.popitem(last=False)
        with lock:
            if not done:
                done.append(act())
            return done[0]

    def known(self, token: str) -> str:
        """Return where a form led that acted already; empty if it did not."""
        with self._lock:
            _, done = self._locks.get(token[:64], (None, []))
        return done[0] if token and done else ""


@dataclass(frozen=True, slots=True)
class House:
    """What all requests share.

    Attributes:
        services: what the page may call.
        access: who may see it.
        names: what it may be called.
        limiter: how often a login may be tried.
        statics: style, script and icons.
        templates: of the pages.
        navs: the bar at the bottom.
        job_links: buttons on the page of each job.
        once: which forms were sent.
        kept: what came of them, to be gone back to.
    """

    services: Services
    access: Access
    names: Names
    limiter: Limiter
    statics: Statics
    templates: Environment
    navs: tuple[Nav, ...]
    job_links: tuple[JobLink, ...]
    once: Once = field(default_factory=Once)
    kept: KeptPages = field(default_factory=KeptPages)


def environment(statics: Statics) -> Environment:
    """Return the templates, with the words and filters that all of them may use."""
    made = Environment(
        loader=PackageLoader("sprayadvisor.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "badge": badge_class,
        "clock": clock,
        "day_and_clock": day_and_clock,
        "kept_together": kept_together,
        "long_day": long_day,
        "sentence": sentence,
        "short_day": short_day,
    }
    made.globals |= {
        "static": statics.address,
        "shapes": SHAPES,
        "labels": LABELS,
        "at_the_top": AT_THE_TOP,
        "attribution": words.ATTRIBUTION,
        "attribution_url": words.ATTRIBUTION_URL,
        "licence": words.LICENCE,
        "licence_url": words.LICENCE_URL,
        "changes": words.CHANGES,
        "new_once": lambda: secrets.token_urlsafe(12),
    }
    return made


@dataclass(frozen=True, slots=True)
class Desk:
    """Answers one request.

    Attributes:
        request: what was asked.
        house: what all requests share.
    """

    request: Request
    house: House

    @property
    def services(self) -> Services:
        """What the page may call."""
        return self.house.services

    @property
    def is_in(self) -> bool:
        """Whether whoever asks may see and change everything."""
        return self.house.access.is_in(self.request)

    def show(self, template: str, status: int = 200, **values: Any) -> Response:  # noqa: ANN401 - templates take anything
        """Return a page.

        Args:
            template: its file below ``web/templates``.
            status: of the answer.
            values: what the template names.
        """
        said = self._said()
        usual = {
            "path": self.request.url.path,
            "navs": self.house.navs,
            "is_in": self.is_in,
            "may_log_out": self.house.access.needed,
            "said": said,
            "refresh_s": None,
            "renew_s": None,
            "read_only": False,
            "age_min": 0,
        }
        html = self.house.templates.get_template(template).render(usual | values)
        response = HTMLResponse(html, status)
        if said:
            response.delete_cookie("said")
        return response

    def lead_to(self, template: str, status: int = 200, **values: Any) -> Response:  # noqa: ANN401 - as in show
        """Keep what came of something sent, and lead the phone there: it can be gone back to.

        Args:
            template: its file below ``web/templates``.
            status: of the page.
            values: what the template names.
        """
        path, now = self.request.url.path, self.services.now()
        token = self.house.kept.keep(KeptPage(template, status, path, now, values))
        return RedirectResponse(f"/shown/{token}", 303)

    def show_again(self, page: KeptPage) -> Response:
        """Return a page that was kept, with its age in minutes as ``age_min``."""
        age = abs(self.services.now() - page.at).total_seconds() // 60
        own = {"path": page.path, "age_min": int(age)}
        return self.show(page.template, page.status, **(own | dict(page.values)))

    def go(self, path: str, said: str = "") -> Response:
        """Send the phone on to another page after a change.

        Args:
            path: of this page, with its leading slash.
            said: a sentence that the next page shows once.
        """
        response = RedirectResponse(path, 303)
        if said:
            text = self.services.signer.sign("said", [said])
            self.house.access.set_cookie(response, "said", text, _SAID_FOR)
        return response

    def once(self, token: str, act: Callable[[], str], said: str = "") -> Response:
        """Act on a form once, however often it is sent, and go where ``act`` says.

        Args:
            token: of the form, from ``{{ once() }}`` in its template.
            act: makes the change and returns the path to go to.
            said: a sentence that the next page shows once.
        """
        return self.go(self.house.once.act(token, act), said)

    def _said(self) -> str:
        text = self.request.cookies.get("said", "")
        try:
            said = self.services.signer.read("said", text, _SAID_FOR) if text else None
        except StoreError:  # what was done is done; the page itself must not fail over it
            return ""
        return said[0] if said else ""


def desk(request: Request) -> Desk:
    """Return the desk of a request."""
    return Desk(request, request.app.state.house)


Wanted = Annotated[Desk, Depends(desk)]
