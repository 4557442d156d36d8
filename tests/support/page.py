"""The page in a test: the story's bookings and weather behind it, and a browser's manners."""

import contextlib

from fastapi.testclient import TestClient

from sprayadvisor.bootstrap import build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, _near, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.settings import load_settings
from sprayadvisor.web.app import create_app

HERE = "http://127.0.0.1:8420"
MORNING = "2026-04-16T07:30:00+01:00"  # three jobs today, three tomorrow
PASSPHRASE = "a long enough passphrase"


@contextlib.contextmanager
def story_world(data_dir, now=MORNING, booked=story.BOOKINGS, **settings):
    """Yield services at a time of the story, its weather on a loopback server."""
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(_near(fixture_answers()), air) as server:
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(data_dir),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
            "SPRAYADVISOR_NOW": now,
        }
        environ |= {f"SPRAYADVISOR_{name}": text for name, text in settings.items()}
        services = build(load_settings(environ))
        try:
            for booking in booked:
                services.bookings.add(_form(booking))
            yield services
        finally:
            services.close()


def browser(app, address=HERE):
    """Return a client that says where its forms come from, as a browser does."""
    return TestClient(
        app,
        base_url=address,
        headers={"Origin": address, "Sec-Fetch-Site": "same-origin", "Accept": "text/html"},
        raise_server_exceptions=False,
    )


def page_of(services, address=HERE):
    """Return a client of the page of some services."""
    return browser(create_app(services), address)
