"""What a brief says of its own forecasts: where they came from, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.weather import SiteWeather, place_key


def problems(jobs: Sequence[Job], problems: Mapping[str, str]) -> tuple[str, ...]:
    """Return what went wrong at the places, each problem once, with the jobs it touches."""
    touched: dict[str, list[str]] = {}
    for job in jobs:
        problem = problems[place_key(job.site)]
        if problem:
            touched.setdefault(problem, []).append(job.ref)
    return tuple(f"{', '.join(refs)}: {problem}" for problem, refs in touched.items())


def unknowns(entries: Sequence[Entry]) -> list[Job]:
    """Return the jobs for which it is not known what the weather does."""
    return [e.judgement.job for e in entries if e.judgement.word is Word.UNKNOWN]


def doubt(weather: SiteWeather) -> str:
    """Return what was left out of a forecast because it cannot be true, as one sentence."""
    left_out = weather.outlook.suspect if weather.outlook else ()
    if not left_out:
        return ""
    return f"The forecast holds what cannot be true. Left out: {'; '.join(left_out)}."


def sources(weather: Mapping[str, SiteWeather]) -> list[str]:
    """Return the source of each forecast there is."""
    return [w.outlook.provenance.source for w in weather.values() if w.outlook]
