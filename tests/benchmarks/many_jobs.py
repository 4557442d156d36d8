"""Decide many jobs at many sites on several cores: time, memory, and whether it grows linearly.

    python tests/benchmarks/many_jobs.py [--jobs 100 1000] [--sites 300] [--workers 2] [--remedies]

Sites shared by jobs are computed once: jobs are dealt out by place, some places at a time, so that
no more weather is held than those need. Invented weather; nothing is asked of any service.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from days import BUMPER, EVENING, KIT, SITE, catalogue, job, outlook

from sprayadvisor.advice.job_climates import Group, job_climates
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.members import draw
from sprayadvisor.advice.model import Colour, Job, Panel, Part
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.remedies import World, remedies
from sprayadvisor.advice.setups import Setup

MEMBERS, DAYS, PLACES_AT_ONCE = 32, 12, 4
PANELS = (BUMPER, Panel(Part.LEFT_DOOR, Colour.BLACK), Panel(Part.RIGHT_WING, Colour.WHITE))
POLICY = Policy()
Batch = tuple[bool, tuple[tuple[int, tuple[int, ...]], ...]]


def batches(jobs: int, sites: int, *, helps: bool) -> Iterator[Batch]:
    """Yield numbers of sites with those of their jobs, some sites at a time."""
    by_site = [(site, tuple(range(site, jobs, sites))) for site in range(min(sites, jobs))]
    for begin in range(0, len(by_site), PLACES_AT_ONCE):
        yield helps, tuple(by_site[begin : begin + PLACES_AT_ONCE])


def group(site: int, numbers: Sequence[int]) -> Group:
    """Return the jobs of one site and their weather, neither like the next."""
    rng = np.random.default_rng(site)
    air, wind, chance = rng.uniform(6, 20), rng.uniform(1, 8), rng.uniform(0, 25)
    weather = outlook(
        DAYS,
        air_temp_c=lambda h: air + 4 * np.sin(np.pi * (h - 8) / 12),
        wind_10m_ms=wind,
        gust_10m_ms=1.6 * wind,
        rain_probability_pct=chance,
    )
    members = draw(weather, MEMBERS, seed=site, origin=weather.provenance.fetched_at)
    here = replace(SITE, name=f"Site {site}", latitude=45 + 0.04 * site)
    return Group([booking(number, here) for number in numbers], members)


def booking(number: int, site) -> Job:
    """Return one invented job."""
    panel = PANELS[number % len(PANELS)]
    return job(ref=f"N{number}", site=site, panels=(panel,), heading_deg=float(number % 8 * 45))


def decide(batch: Batch) -> tuple[Counter[str], int, float, float]:
    """Return the verdicts of a batch, its remedies, its CPU time and the worker's peak, MB."""
    began = time.process_time()
    helps, sites = batch
    groups = [group(*one) for one in sites]
    met = job_climates(groups)
    words: Counter[str] = Counter()
    told = 0
    thresholds, stock = POLICY.thresholds[Moment.EVENING], tuple(catalogue().sheets.values())
    for one in groups:
        world = World(one.members, None, stock, POLICY, thresholds, EVENING)
        for each in one.jobs:
            process = catalogue().processes[each.process]
            setup = Setup(each, KIT, process, catalogue().sheets_of(process))
            here = met[each.ref].climate
            found = judge(each, setup.plan(POLICY), here, POLICY, thresholds, EVENING)
            words[found.word.value] += 1
            told += len(remedies(found, setup, world)) if helps else 0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000  # kilobytes on Linux
    return words, told, time.process_time() - began, peak


def run(jobs: int, sites: int, workers: int, *, helps: bool) -> None:
    """Decide so many jobs and print what it took."""
    began = time.perf_counter()
    words: Counter[str] = Counter()
    told, cpu, peak = 0, 0.0, 0.0
    with ProcessPoolExecutor(workers) as pool:
        for some, remedies_told, took, high in pool.map(decide, batches(jobs, sites, helps=helps)):
            words += some
            told, cpu, peak = told + remedies_told, cpu + took, max(peak, high)
    took = time.perf_counter() - began
    sys.stdout.write(
        f"{jobs} jobs at {min(sites, jobs)} sites, {workers} workers: {took:.1f} s, "
        f"{1000 * took / jobs:.0f} ms a job, CPU {1000 * cpu / jobs:.0f} ms a job, "
        f"peak {peak:.0f} MB each; {dict(words)}"
        f"{f', {told} remedies' if helps else ''}\n"
    )


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--jobs", type=int, nargs="+", default=[100, 1000])
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--remedies", action="store_true", help="what would change it, too")
    asked = parser.parse_args()
    for jobs in asked.jobs:
        run(jobs, asked.sites, asked.workers, helps=asked.remedies)


if __name__ == "__main__":
    main()
