"""The runs of an ensemble, read from one answer."""

import json
from datetime import UTC, datetime

import numpy as np
import pytest
import weather_payloads as weather

from sprayadvisor.adapters.open_meteo import OpenMeteo, ensemble_service, read_runs
from sprayadvisor.adapters.open_meteo.ensemble import ENSEMBLE_FIELDS
from sprayadvisor.advice.model import Site
from sprayadvisor.errors import WeatherMalformed
from sprayadvisor.services.ports import Place

SITE = Site("Yard", 52.051, 1.051, "Europe/London", elevation_m=31.0)
AT = datetime(2026, 4, 18, 12, tzinfo=UTC)


def answer(runs=3, hours=72):
    """Return an answer in the service's shape: a plain column and one for each further run."""
    whole = weather.answer(hours, weather.BEGIN)
    hourly, units = {"time": whole["hourly"]["time"]}, {"time": "iso8601"}
    for field in ENSEMBLE_FIELDS:
        for run in range(runs):
            name = field.asked + (f"_member{run:02d}" if run else "")
            column = whole["hourly"][field.asked]
            if field.name == "air_temp_c":
                column = [value + run for value in column]
            hourly[name], units[name] = column, whole["hourly_units"][field.asked]
    return whole | {"hourly": hourly, "hourly_units": units}


def read(payload):
    """Return the runs of an answer."""
    return read_runs(json.dumps(payload).encode(), SITE, fetched_at=AT, stale=False)


def test_every_run_is_an_outlook_the_control_first():
    """A degree apart, as they were sent; quantities that were not asked for are not known."""
    control, first, second = read(answer())
    np.testing.assert_allclose(first["air_temp_c"] - control["air_temp_c"], 1.0, atol=1e-9)
    np.testing.assert_allclose(second["air_temp_c"] - control["air_temp_c"], 2.0, atol=1e-9)
    assert control.provenance.fetched_at == AT
    assert np.isnan(control["weather_code"]).all()


def test_a_variable_the_model_does_not_have_is_not_known():
    """Null columns and absent ones are both gaps, and the rest can be used."""
    payload = answer(2)
    for name in ("wind_gusts_10m", "wind_gusts_10m_member01"):
        payload["hourly"][name] = [None] * 72
        payload["hourly_units"][name] = "undefined"
    del payload["hourly"]["cloud_cover_member01"]
    control, first = read(payload)
    assert np.isnan(control["gust_10m_ms"]).all()
    assert np.isnan(first["cloud_fraction"]).all()
    assert np.isfinite(first["air_temp_c"][:100]).all()


def test_what_cannot_be_true_of_a_run_is_emptied():
    """Each run is checked by itself."""
    payload = answer(2)
    payload["hourly"]["temperature_2m_member01"][30] = 88.0
    control, first = read(payload)
    assert first.suspect
    assert not control.suspect
    assert np.isnan(first["air_temp_c"]).any()


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"{", "not valid JSON"),
        (b"[]", "holds no hours"),
        (b'{"hourly": {"time": []}}', "hourly_units is missing"),
        (json.dumps(answer(2, 1)).encode(), "too short"),
    ],
)
def test_an_answer_of_another_shape_is_refused(body, words):
    """With what is wrong, and the way to do without."""
    with pytest.raises(WeatherMalformed, match=words):
        read_runs(body, SITE, fetched_at=AT, stale=False)


def test_one_model_is_asked_for_and_weighed_by_its_runs():
    """Nine variables of up to 64 runs count as 57.6 calls a place."""
    service = ensemble_service("icon_seamless_eps")
    client = OpenMeteo("http://ensemble.invalid", service=service)
    url = client.url([Place("a", 52.1, 1.1, 31.0)])
    client.close()
    assert url.startswith("http://ensemble.invalid/v1/ensemble?")
    assert "models=icon_seamless_eps" in url
    assert "elevation=31" in url
    assert service.weight(1) == pytest.approx(57.6)
