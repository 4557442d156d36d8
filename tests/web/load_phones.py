"""Fifty phones at once: ``python tests/web/load_phones.py [seconds] [phones]``.

A real process serves the story; each phone asks every three seconds: for today, one time in four
for a job, one time in ten with readings whether the clear may go on now. Meanwhile a booking
changes every few seconds, so that the engine hardly rests. Prints how long answers took, and every
answer that was not what it should be.
"""

import contextlib
import http.client
import random
import socket
import sys
import tempfile
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

sys.path[:0] = [str(Path(__file__).parents[1] / "support")]

from page import MORNING  # noqa: E402 - found by the line above
from serving import served, wait_for  # noqa: E402

from sprayadvisor.bootstrap import build  # noqa: E402
from sprayadvisor.demo import story  # noqa: E402
from sprayadvisor.demo.play import _form, _near, fixture_answers  # noqa: E402
from sprayadvisor.demo.weather_server import WeatherServer  # noqa: E402
from sprayadvisor.services.ports import JobForm  # noqa: E402
from sprayadvisor.settings import load_settings  # noqa: E402

EVERY_S, CHANGE_S = 3.0, 4.0
TODAY, JOB, NOW = "/", "/job/A2", "/now/A2"


@contextlib.contextmanager
def running(folder):
    """Yield the port and the services of a process with the story in it."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(_near(fixture_answers()), air) as server:
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(folder),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
            "SPRAYADVISOR_NOW": MORNING,
            "SPRAYADVISOR_WEB__PORT": str(port),
        }
        services = build(load_settings(environ))
        for booking in story.BOOKINGS:
            services.bookings.add(_form(booking))
        with served(environ, page=True) as process:
            threading.Thread(target=process.stderr.read, daemon=True).start()
            wait_for(lambda: ask(port, "/")[1] == 200)
            wait_for(lambda: b"refresh" not in ask(port, "/")[2])
            yield port, services
            process.terminate()
            process.wait(15)
        services.close()


def ask(port, path, form=None):
    """Return seconds, status and body of one request on a connection of its own."""
    here = f"http://127.0.0.1:{port}"
    headers = {"Accept": "text/html", "Accept-Encoding": "gzip"}
    if form:
        headers |= {"Origin": here, "Content-Type": "application/x-www-form-urlencoded"}
    began = time.monotonic()
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        body = urlencode(form) if form else None
        connection.request("POST" if form else "GET", path, body, headers)
        answer = connection.getresponse()
        if answer.status == 303:  # what came of a form stands on a page of its own
            answer.read()
            connection.request("GET", answer.headers["location"], headers=headers)
            answer = connection.getresponse()
        return time.monotonic() - began, answer.status, answer.read()
    except OSError as error:
        return time.monotonic() - began, type(error).__name__, b""
    finally:
        connection.close()


def phone(port, ends, taken, wrong):
    """Ask every few seconds until the end."""
    time.sleep(random.uniform(0, EVERY_S))
    while time.monotonic() < ends:
        (path,) = random.choices((TODAY, JOB, NOW), (65, 25, 10))
        form = {"next": "clear", "panel": f"{random.uniform(12, 20):.1f}", "humidity": "60"}
        seconds, status, _ = ask(port, path, form if path == NOW else None)
        taken[path].append(seconds)
        if status != 200:
            wrong.append((path, status))
        time.sleep(max(0.0, EVERY_S - seconds))


def main(seconds, phones):
    """Run it and print what came of it."""
    with tempfile.TemporaryDirectory() as folder, running(Path(folder)) as (port, services):
        taken, wrong = {TODAY: [], JOB: [], NOW: []}, []
        ends = time.monotonic() + seconds
        threads = [
            threading.Thread(target=phone, args=(port, ends, taken, wrong)) for _ in range(phones)
        ]
        for thread in threads:
            thread.start()
        changes = 0
        while time.monotonic() < ends:
            time.sleep(CHANGE_S)
            changes += 1
            services.bookings.change("A1", JobForm(heading=str(changes % 360)))
        for thread in threads:
            thread.join()
    for path, times in taken.items():
        times.sort()
        p50, p95 = (times[int(len(times) * share)] for share in (0.5, 0.95))
        print(  # noqa: T201 - a script
            f"{path}: {len(times)} asked, median {p50 * 1000:.0f} ms, "
            f"p95 {p95 * 1000:.0f} ms, longest {times[-1] * 1000:.0f} ms"
        )
    print(f"{changes} changes of a booking meanwhile; wrong answers: {wrong}")  # noqa: T201


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*given, *(60, 50)[len(given) :])
