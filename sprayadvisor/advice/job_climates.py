"""The climates of many jobs at many places, all their panels taken through the weather together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sprayadvisor.advice.case import Case, cases_of
from sprayadvisor.advice.climate import Climate, Scene, climates
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.outlook import AirQuality
from sprayadvisor.advice.wet_morning import wiped_cases


@dataclass(frozen=True, slots=True)
class Group:
    """Jobs at one place.

    Attributes:
        jobs: no reference twice, in all groups together.
        members: the weathers that may come there.
        air_quality: pollen and fine dust there; None where nothing is known of them.
    """

    jobs: Sequence[Job]
    members: Members
    air_quality: AirQuality | None = None


@dataclass(frozen=True, slots=True)
class JobClimate:
    """What the panels of one job meet; ``wiped`` where one is wet on arrival: wiped dry then."""

    climate: Climate
    wiped: Climate | None = None


def job_climates(groups: Sequence[Group]) -> dict[str, JobClimate]:
    """Return the climate of every job by reference: one case for each panel, in their order."""
    starts = [group.members.starts_utc for group in groups]
    cases = [
        {job.ref: cases_of(job, grid) for job in group.jobs}
        for group, grid in zip(groups, starts, strict=True)
    ]
    plain = _together(groups, cases)
    wiped = [
        {job.ref: wiped_cases(job, its[job.ref], plain[job.ref]) for job in group.jobs}
        for group, its in zip(groups, cases, strict=True)
    ]
    dry = _together(groups, wiped)
    return {ref: JobClimate(climate, dry.get(ref)) for ref, climate in plain.items()}


def _together(
    groups: Sequence[Group], cases: Sequence[Mapping[str, Sequence[Case]]]
) -> dict[str, Climate]:
    """Return the climates of the jobs that have cases."""
    busy = [
        (group, {ref: its for ref, its in of_group.items() if its})
        for group, of_group in zip(groups, cases, strict=True)
        if any(of_group.values())
    ]
    scenes = [
        Scene(group.members, [case for its in of_jobs.values() for case in its], group.air_quality)
        for group, of_jobs in busy
    ]
    found: dict[str, Climate] = {}
    for (_, of_jobs), whole in zip(busy, climates(scenes), strict=True):
        first = 0
        for ref, its in of_jobs.items():
            found[ref] = whole.cases(first, first + len(its))
            first += len(its)
    return found
