"""Play the story on the true path: settings, database, client, parser, engine, files."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sprayadvisor.advice.policy import Moment
from sprayadvisor.bootstrap import Services, build
from sprayadvisor.demo import story
from sprayadvisor.demo.weather_answers import Series, Source
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.ports import JobForm
from sprayadvisor.settings import load_settings
from sprayadvisor.shipped import shipped

NEAR_DEG = 0.06  # a place further than this from every fixture has no weather: that is the story


@dataclass(frozen=True, slots=True)
class Played:
    """What the demo made.

    Attributes:
        texts: the brief of each day.
        files: mails, pages and charts.
        briefs: the same for a machine, by day.
    """

    texts: tuple[str, ...]
    files: tuple[Path, ...]
    briefs: tuple[dict[str, Any], ...]


def fixture_answers(kind: str = "weather") -> dict[tuple[float, float], Series]:
    """Return the invented ``weather`` or ``air_quality`` by latitude and longitude."""
    found = {}
    for path in sorted(shipped(f"fixtures/{kind}").glob("*.json")):
        answer = json.loads(path.read_text(encoding="utf-8"))
        found[answer["latitude"], answer["longitude"]] = answer["hourly"]
    return found


def play_story(out: Path, answers: Mapping[tuple[float, float], Series] | None = None) -> Played:
    """Book the story's jobs, fetch its weather from a loopback server and make its briefs.

    Args:
        out: folder for mails, pages and charts.
        answers: weather by latitude and longitude instead of the shipped one.

    Raises:
        SprayadvisorError: something could not be read or written.
    """
    with (
        WeatherServer(
            _near(answers or fixture_answers()), _near(fixture_answers("air_quality"))
        ) as server,
        tempfile.TemporaryDirectory() as data,
    ):
        environ = {
            **story.SETTINGS,
            "SPRAYADVISOR_DATA_DIR": data,
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
        }
        services = build(load_settings(environ))
        try:
            return _play(services, out)
        finally:
            services.close()


def _play(services: Services, out: Path) -> Played:
    for booking in story.BOOKINGS:
        services.bookings.add(_form(booking), by="demo")
    texts, briefs = [], []
    files: list[Path] = []
    for day in (story.FIRST_DAY, story.SECOND_DAY):
        made = services.briefs.make(day, Moment.EVENING)
        texts.append(services.brief_texts.as_text(made))
        briefs.append(services.brief_texts.as_json(made))
        files += services.brief_files.put(made, out)
    return Played(tuple(texts), tuple(files), tuple(briefs))


def _near(answers: Mapping[tuple[float, float], Series]) -> Source:
    """Return a source that has weather only close to a fixture."""

    def source(latitude: float, longitude: float) -> Series | None:
        for (lat, lon), series in answers.items():
            if abs(lat - latitude) < NEAR_DEG and abs(lon - longitude) < NEAR_DEG:
                return series
        return None

    return source


def _form(booking: story.Booking) -> JobForm:
    """Return a booking as a person would type it."""
    return JobForm(
        ref=booking.ref,
        process=booking.process,
        day=booking.day.isoformat(),
        arrive="-".join(booking.arrive),
        site=booking.site,
        latitude=str(booking.latitude),
        longitude=str(booking.longitude),
        zone=story.ZONE,
        elevation_m="8",
        surroundings=booking.surroundings,
        cover=booking.cover,
        power=booking.power,
        downwind=booking.downwind,
        panels=tuple(":".join(panel) for panel in booking.panels),
        heading=str(booking.heading_deg),
        back_by=booking.back_by,
        repair_area_m2=str(booking.area_m2),
        customer=booking.customer,
    )
