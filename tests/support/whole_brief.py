"""A whole evening of the story in one process: bookings, forecast, clock, mails in a folder."""

import contextlib
import email
import os
from dataclasses import dataclass, replace
from datetime import UTC
from email import policy
from pathlib import Path

from clockwork import Time

from sprayadvisor.adapters.open_meteo import AIR_QUALITY, OpenMeteo
from sprayadvisor.bootstrap import Services, build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, _near, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.settings import load_settings

EVENING = story.NOW.astimezone(UTC)
NOWHERE = replace(story.BOOKINGS[5], ref="A4", day=story.FIRST_DAY)  # no fixture is near


@dataclass
class Evening:
    """What is at hand.

    Attributes:
        services: with impatient clients.
        server: the weather service.
        time: the clock.
        folder: where mails go.
    """

    services: Services
    server: WeatherServer
    time: Time
    folder: Path

    def mails(self):
        """Return the mails in the folder, oldest first."""
        paths = sorted(self.folder.glob("*.eml"), key=os.path.getmtime)
        return [
            email.message_from_bytes(path.read_bytes(), policy=policy.default) for path in paths
        ]

    def text(self):
        """Return subject and text of the only mail, every run of blanks as one."""
        (mail,) = self.mails()
        return mail["Subject"], words_of(mail)


def words_of(mail):
    """Return the text of a mail without its line breaks."""
    return " ".join(mail.get_body(("plain",)).get_content().split())


def quick_services(environ, time, url, air_url):
    """Return services by this clock whose clients of the weather services wait for nothing long."""
    services = build(load_settings(environ))
    services.now = time
    quick = {"timeout": (0.2, 0.2), "deadline_s": 0.5, "sleep": lambda _: None, "now": time}
    services.forecast = OpenMeteo(url, **quick)
    services.air_quality = OpenMeteo(air_url, service=AIR_QUALITY, **quick)
    return services


@contextlib.contextmanager
def evening(data_dir, bookings=story.BOOKINGS[:3], url=None, air_url=None, **settings):
    """Yield the evening; the three jobs of the story's first day lie at three places."""
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(_near(fixture_answers()), air) as server:
        url = url or server.url
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(data_dir),
            "SPRAYADVISOR_FORECAST__BASE_URL": url,
            **settings,
        }
        time = Time(EVENING)
        services = quick_services(environ, time, url, air_url or url)
        try:
            for booking in bookings:
                services.bookings.add(_form(booking))
            yield Evening(services, server, time, Path(data_dir, "mail"))
        finally:
            services.close()
