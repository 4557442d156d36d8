"""The app: pages from ``web/pages``, behind the guard, with the clock ticking beside it."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractContextManager, asynccontextmanager, nullcontext
from types import ModuleType
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware

from sprayadvisor.web import errors, pages
from sprayadvisor.web.access import Access
from sprayadvisor.web.desk import House, Page, environment
from sprayadvisor.web.guard import Guard
from sprayadvisor.web.limiter import Limiter
from sprayadvisor.web.origin import Names
from sprayadvisor.web.statics import Statics

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services

Background = Callable[[], AbstractContextManager[object]]


def create_app(services: Services, background: Background = nullcontext) -> FastAPI:
    """Return the page as an ASGI app.

    Args:
        services: what it may call.
        background: what runs while the app does: begun before the first request, ended after the
            last one.

    Raises:
        StoreError: the keys that sign logins cannot be read or made.
    """

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        running = background()
        await run_in_threadpool(running.__enter__)
        try:
            yield
        finally:
            await run_in_threadpool(running.__exit__, None, None, None)

    app = FastAPI(
        title="Sprayadvisor",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        redirect_slashes=False,  # it would answer with whatever host was asked for
        lifespan=lifespan,
    )
    modules = _pages()
    house = _house(services, modules)
    app.state.house = house
    for module in modules:
        app.include_router(module.router)
    errors.install(app)
    app.add_middleware(Guard, house=house)
    app.add_middleware(GZipMiddleware, minimum_size=500)
    return app


def _pages() -> list[ModuleType]:
    """Return the modules of ``web/pages``, each of which has a ``router``."""
    names = sorted(found.name for found in pkgutil.iter_modules(pages.__path__))
    return [importlib.import_module(f"{pages.__name__}.{name}") for name in names]


def _house(services: Services, modules: list[ModuleType]) -> House:
    web = services.settings.web
    statics = Statics()
    added: list[Page] = [module.PAGE for module in modules if hasattr(module, "PAGE")]
    _touch(services)
    return House(
        services=services,
        access=Access(services),
        names=Names(web.host.lower(), web.address or "", web.allowed_hosts),
        limiter=Limiter(services.now),
        statics=statics,
        templates=environment(statics),
        navs=tuple(sorted((p.nav for p in added if p.nav), key=lambda nav: nav.place)),
        job_links=tuple(
            sorted((link for p in added for link in p.job_links), key=lambda link: link.place)
        ),
    )


def _touch(services: Services) -> None:
    """Build what the pages use before threads do, who might build it twice."""
    services.keys.keys()
    _ = (services.clock, services.board, services.links, services.said, services.bookings)
    _ = (services.progress, services.health, services.places, services.history)
