"""``serve`` as a process of its own, at six in the evening of the story with a job for tomorrow."""

import contextlib
import os
import subprocess
import sys
import time

from sprayadvisor.bootstrap import build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _near, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.ports import JobForm
from sprayadvisor.settings import load_settings

SERVE = [sys.executable, "-c", "from sprayadvisor.cli import main; main()", "serve"]
JOB = JobForm(
    ref="K1", process="door-scuff", day="2026-04-16", arrive="09:30-11:00", site="Hazel Court",
    latitude="53.14", longitude="-8.935", zone="Europe/Dublin", panels=("right_door:white",),
    heading="290", customer="Zebedee Quux", phone="0555 0100",
)  # fmt: skip


@contextlib.contextmanager
def evening_world(data_dir):
    """Yield environment, weather server and mail folder; the job is booked."""
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(_near(fixture_answers()), air) as server:
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(data_dir),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
        }
        services = build(load_settings(environ))
        services.bookings.add(JOB)
        services.close()
        yield environ, server, data_dir / "mail"


@contextlib.contextmanager
def served(environ, *options, page=False, prefix=()):
    """Run ``serve``, without the page unless it is wanted; it is gone afterwards in any case.

    ``prefix`` is a command that runs it.
    """
    plain = {name: text for name, text in os.environ.items() if "SPRAYADVISOR" not in name}
    command = [*prefix, *SERVE, *([] if page else ["--no-web"]), *options]
    process = subprocess.Popen(command, env=plain | environ, stderr=subprocess.PIPE, text=True)
    try:
        yield process
    finally:
        process.kill()
        process.wait()
        process.stderr.close()


def wait_for(what, seconds=60):
    """Wait until something is true."""
    ends = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < ends, "waited in vain"
        time.sleep(0.05)


def wait_for_line(process, words):
    """Read the log up to a line."""
    for line in process.stderr:
        if words in line:
            return
    raise AssertionError(f"it ended without {words!r}")


def mails(folder):
    """Return the mails in a folder."""
    return sorted(folder.glob("*.eml"))
