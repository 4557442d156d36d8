"""How long a whole brief takes, from the store to files; run with ``pytest tests/benchmarks``.

Nothing here asserts a time.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from dataclasses import replace

import pytest

from sprayadvisor.advice.policy import Moment
from sprayadvisor.bootstrap import build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.ports import JobForm
from sprayadvisor.settings import load_settings

pytest.importorskip("pytest_benchmark")

JOBS = (1, 3, 6, 12)
DAY = story.FIRST_DAY


def booking(number: int) -> JobForm:
    """Return an invented job; each at a place of its own, with its own weather."""
    usual = _form(story.BOOKINGS[number % 3])
    return replace(
        usual,
        ref=f"N{number}",
        day=DAY.isoformat(),
        site=f"Yard {number}",
        latitude=f"{53.10 + 0.04 * number:.2f}",
    )


@pytest.fixture
def prepared(request, tmp_path):
    """Return settings of a store that has so many jobs and fresh forecasts of their places."""
    (answer, *_), (air, *_) = (
        fixture_answers(kind).values() for kind in ("weather", "air_quality")
    )
    with WeatherServer(lambda *_: answer, lambda *_: air) as server:
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(tmp_path / "data"),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
        }
        services = build(load_settings(environ))
        for number in range(request.param):
            services.bookings.add(booking(number))
        services.briefs.make(DAY, Moment.EVENING)
        services.close()
    return environ  # the server is gone: from here on the store alone gives the weather


def with_all(made, jobs: int) -> None:
    """Every job was judged by its weather."""
    assert len(made.entries) == jobs
    assert made.weather_problems == ()
    assert all(one.judgement.plan is not None for one in made.entries)


@pytest.mark.benchmark(group="brief")
@pytest.mark.parametrize("prepared", JOBS, indirect=True)
def test_bench_brief_from_stored_weather(benchmark, prepared, request):
    """Bookings and forecasts from the store, judged and worded, by a process that has started."""
    services = build(load_settings(prepared))

    def whole():
        made = services.briefs.make(DAY, Moment.EVENING)
        services.brief_texts.as_text(made)
        return made

    made = benchmark.pedantic(whole, rounds=5, warmup_rounds=1)
    with_all(made, request.node.callspec.params["prepared"])
    services.close()


@pytest.mark.parametrize("prepared", [12], indirect=True)
def test_bench_files_of_a_brief(benchmark, prepared, tmp_path):
    """Mail, page and a chart of each of twelve jobs."""
    services = build(load_settings(prepared))
    made = services.briefs.make(DAY, Moment.EVENING)
    files = benchmark.pedantic(
        services.brief_files.put, (made, tmp_path), rounds=3, warmup_rounds=1
    )
    assert len(files) > 2
    services.close()


@pytest.mark.parametrize("prepared", [12], indirect=True)
def test_bench_brief_command(benchmark, prepared):
    """The command of twelve jobs from its start to its last line; and its memory."""
    command = [sys.executable, "-m", "sprayadvisor", "brief", "--day", DAY.isoformat()]
    environ = {name: value for name, value in os.environ.items() if "SPRAYADVISOR" not in name}

    def whole():
        return subprocess.run(
            command, env=environ | prepared, capture_output=True, encoding="utf-8", check=False
        )

    told = benchmark.pedantic(whole, rounds=3, warmup_rounds=1)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    benchmark.extra_info["peak_mb"] = round(peak / 1000)  # kilobytes on Linux
    assert told.returncode in (0, 4)  # all judged, whatever the words
    assert told.stdout.count("Yard ") >= 12
