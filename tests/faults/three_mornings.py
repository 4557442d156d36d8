"""Three mornings under load: how long until all briefs are out, and whether memory grows.

python tests/faults/three_mornings.py businesses [300]
python tests/faults/three_mornings.py recipients [300]

``businesses``: so many painters in one process, each with a database, a recipient and three jobs
at a site of their own, all due at the same minute, one after the other on one core.
``recipients``: one business whose three jobs at three sites are told to so many. Forecasts and
mails go over sockets.
"""

import gc
import logging
import resource
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from clockwork import Time
from mail_server import HOST, MailServer

from sprayadvisor.bootstrap import build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import load_settings

MORNING = datetime(2026, 4, 16, 5, 30, tzinfo=UTC)  # half past six in Dublin
MORNINGS = 3
ARRIVALS = (("08:15", "09:00"), ("11:00", "12:00"), ("14:00", "15:00"))


def rss_mb():
    """Return what this process holds in memory, MB."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 2**20


def bookings(number, sites):
    """Return three jobs a day for one business, all at one site or each at its own."""
    for day in range(MORNINGS):
        for n, arrive in enumerate(ARRIVALS):
            place = number + n * 1000 if sites == 3 else number
            yield replace(
                story.BOOKINGS[n],
                ref=f"D{day}{n}",
                day=story.FIRST_DAY + timedelta(days=day),
                arrive=arrive,
                site=f"Site {place}",
                latitude=round(52.5 + place % 20 * 0.05, 3),
                longitude=round(-9.0 + place // 20 * 0.03, 3),
            )


def business(folder, number, recipients, sites, weather, mail, clock):
    """Return the services of one business with its jobs booked."""
    environ = story.SETTINGS | {
        "SPRAYADVISOR_DATA_DIR": str(folder / str(number)),
        "SPRAYADVISOR_RECIPIENTS": ",".join(recipients),
        "SPRAYADVISOR_FORECAST__BASE_URL": weather.url,
        "SPRAYADVISOR_MAIL__HOST": HOST,
        "SPRAYADVISOR_MAIL__PORT": str(mail.port),
        "SPRAYADVISOR_MAIL__SECURITY": "none",
    }
    services = build(load_settings(environ))
    services.now = clock
    for booking in bookings(number, sites):
        services.bookings.add(_form(booking))
    return services


def new_each_day(clock):
    """Return weather that is the same everywhere and another one each day."""
    series = next(iter(fixture_answers().values()))

    def weather(_latitude, _longitude):
        # Pressure alone: it changes no verdict, and nothing comes to contradict anything.
        pressure = [p and round(p + clock().day * 0.1, 1) for p in series["surface_pressure"]]
        return series | {"surface_pressure": pressure}

    return weather


def main(mode, size="300"):
    """Print the figures of each morning."""
    logging.disable(logging.CRITICAL)
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 8192), hard))  # a file or three each
    size, clock = int(size), Time(MORNING)
    air = next(iter(fixture_answers("air_quality").values()))
    names = [f"painter{n}@example.org" for n in range(size)]
    groups, sites = ([[name] for name in names], 1) if mode == "businesses" else ([names], 3)
    with (
        tempfile.TemporaryDirectory() as folder,
        WeatherServer(new_each_day(clock), lambda *_: air) as weather,
        MailServer() as mail,
    ):
        all_of_them = [
            business(Path(folder), n, group, sites, weather, mail, clock)
            for n, group in enumerate(groups)
        ]
        say(f"{mode}: {size} recipients; {rss_mb():.0f} MB before the first morning")
        for day in range(MORNINGS):
            clock.now = MORNING + timedelta(days=day)
            began, cpu, slowest = time.monotonic(), time.process_time(), 0.0
            arrived = size_mb = unknown = 0
            for services in all_of_them:
                tick = time.monotonic()
                services.clock.tick()
                slowest = max(slowest, time.monotonic() - tick)
                arrived += len(mail.mails)
                size_mb += sum(len(one.content) for one in mail.mails) / 2**20
                unknown += sum(b" unknown" in one.content[:400] for one in mail.mails)
                mail.mails.clear()  # what the servers remember is not what is measured
                weather.received.clear()
            took, cpu = time.monotonic() - began, time.process_time() - cpu
            say(
                f"morning {day + 1}: {arrived} mails ({size_mb:.0f} MB) in {took:.0f} s, "
                f"{cpu:.0f} s of them computing, the slowest tick {slowest:.1f} s; "
                f"{rss_mb():.0f} MB afterwards; {unknown} with a job unknown"
            )
        lines = [line for services in all_of_them for line in services.outbox.ledger()]
        sent = sum(line.state is Sending.SENT for line in lines)
        say(f"ledger: {len(lines)} lines, {sent} sent, {sum(line.doubts for line in lines)} doubts")
        for services in all_of_them:
            services.close()


def say(line):
    """Print at once."""
    print(line, flush=True)  # noqa: T201 - a script


if __name__ == "__main__":
    main(*sys.argv[1:])
