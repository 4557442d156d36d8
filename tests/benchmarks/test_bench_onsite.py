"""How long an answer at the car takes, from the stored weather on; run with ``tests/benchmarks``.

Nothing here asserts a time.
"""

from __future__ import annotations

import pytest

from sprayadvisor.bootstrap import build
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.onsite_form import OnSiteForm
from sprayadvisor.settings import load_settings

pytest.importorskip("pytest_benchmark")

QUESTIONS = {
    "all is well": OnSiteForm(next="clear", panel="14.5", air="12", humidity="60", wind="1"),
    "all ways out": OnSiteForm(next="primer", panel="7", humidity="84", lamp=False),
}


@pytest.mark.parametrize("asked", QUESTIONS)
def test_answer_at_the_car(benchmark, tmp_path, asked):
    """The story's first job in the forenoon; 32 members, its weather in the store."""
    (answer, *_), (air, *_) = (
        fixture_answers(kind).values() for kind in ("weather", "air_quality")
    )
    with WeatherServer(lambda *_: answer, lambda *_: air) as server:
        environ = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(tmp_path),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
            "SPRAYADVISOR_NOW": "2026-04-16T11:20:00+01:00",
        }
        services = build(load_settings(environ))
        services.bookings.add(_form(story.BOOKINGS[0]))
        onsite = services.onsite

        def ask() -> str:
            return onsite.as_text(onsite.ask("A1", onsite.asked("A1", QUESTIONS[asked])))

        text = benchmark(ask)
        services.close()
    assert text
