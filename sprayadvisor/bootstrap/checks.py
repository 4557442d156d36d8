"""The checks of ``doctor`` over the services that were built."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from sprayadvisor.advice.model import Site
from sprayadvisor.bootstrap.services import Services
from sprayadvisor.errors import WeatherError
from sprayadvisor.services import checkup
from sprayadvisor.services.checkup import Check, Finding, State
from sprayadvisor.services.weather import place_key


def checks(built: Services, *, offline: bool) -> list[Check]:
    """Return every check; none is made yet.

    Args:
        built: the services.
        offline: leave out what goes over the network.
    """
    return [
        ("settings", lambda: _settings(built)),
        ("plan", lambda: [checkup.plan_finding(built.settings.forecast.effective_plan)]),
        ("time zone", lambda: _zone(built)),
        ("disk", lambda: _disk(built)),
        ("database", lambda: _database(built)),
        ("sheets", lambda: _catalogue(built)),
        *(() if offline else _over_the_network(built)),
        ("calls", lambda: checkup.budget_findings(built.budget.used(built.now()))),
        ("messages", lambda: checkup.message_findings(built.outbox.ledger(), built.now())),
    ]


def _over_the_network(built: Services) -> list[Check]:
    return [
        ("mail", lambda: _mail(built)),
        ("forecast", lambda: _forecast(built)),
        ("clock", lambda: _clock(built)),
    ]


def _settings(built: Services) -> Iterator[Finding]:
    own = built.settings
    if not own.recipients:
        words = "There are no recipients, so no brief reaches anyone; name at least one address."
        yield Finding("settings", State.BROKEN, words)
    if own.base is None:
        words = "There is no [base], so nobody knows when your evening is; add place and zone."
        yield Finding("settings", State.BROKEN, words)
    if own.recipients and own.base:
        yield Finding("settings", State.FINE, f"Recipients of briefs: {len(own.recipients)}.")


def _zone(built: Services) -> Iterable[Finding]:
    try:
        source = f"tzdata {version('tzdata')}"
    except PackageNotFoundError:
        source = "this system's zone data"
    return [checkup.zone_finding(built.settings.zone.key, built.now(), source)]


def _disk(built: Services) -> Iterable[Finding]:
    folder = built.settings.data_dir
    there = next((path for path in (folder, *folder.parents) if path.exists()), Path("/"))
    return [checkup.disk_finding(shutil.disk_usage(there).free, str(there))]


def _database(built: Services) -> Iterable[Finding]:
    facts = built.upkeep.facts()
    if facts.damage:
        words = f"The database is damaged ({facts.damage}); put a backup in its place."
        return [Finding("database", State.BROKEN, words)]
    where = f" It is {facts.file}." if facts.file else ""
    words = f"It can be read and written ({facts.kind}, {facts.size_mb:.1f} MB).{where}"
    found = [Finding("database", State.FINE, words)]
    # Where permissions are not told in these bits, nobody is warned of them.
    if facts.file and os.name == "posix" and facts.file.stat().st_mode & 0o077:
        words = (
            "Others on this computer can read the database, with your customers' names in it; run "
            f"chmod 600 on {facts.file}."
        )
        found.append(Finding("database", State.LOOK, words))
    return found


def _catalogue(built: Services) -> Iterator[Finding]:
    found = built.catalogue
    yield from (Finding("sheets", State.BROKEN, str(fault)) for fault in found.faults)
    words = f"{len(found.sheets)} sheets and {len(found.processes)} processes can be used."
    yield Finding("sheets", State.FINE, words)
    invented = sorted(name for name, sheet in found.sheets.items() if sheet.invented)
    if invented:
        words = (
            f"{len(invented)} sheets hold invented demo values ({', '.join(invented)}); "
            "put in what your makers print before you trust a verdict."
        )
        yield Finding("sheets", State.LOOK, words)


def _mail(built: Services) -> Iterable[Finding]:
    return [Finding("mail", State.FINE, f"Messages can leave by {built.transport.probe()}.")]


def _forecast(built: Services) -> Iterable[Finding]:
    base = built.settings.base
    if base is None:
        words = "No forecast was asked for, as there is no [base]; add place and zone."
        return [Finding("forecast", State.LOOK, words)]
    site = Site(**base.model_dump())
    found = built.weather.for_sites([site], built.policy, refresh=True)[place_key(site)]
    if found.outlook is None:
        raise WeatherError(found.problem)
    hours = len(found.outlook) // 4
    words = f"It was asked and answered with {hours} hours for {base.name}."
    told = [Finding("forecast", State.FINE, words)] if not found.problem else []
    problems = filter(None, (found.problem, found.air_problem))
    return told + [Finding("forecast", State.LOOK, problem) for problem in problems]


def _clock(built: Services) -> Iterable[Finding]:
    is_fixed = built.settings.now is not None
    return [checkup.clock_finding(built.forecast.skew_s, is_fixed=is_fixed)]
