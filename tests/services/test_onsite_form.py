"""What is typed at the car: commas, units and signs are read, nonsense gets one sentence."""

from datetime import UTC, datetime, timedelta

import pytest
from days import job
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.advice.model import Colour, Cover, Panel, Part
from sprayadvisor.errors import InputError
from sprayadvisor.services.onsite_form import OnSiteForm, read_form, temperature, wind
from sprayadvisor.units import Display

NOW = datetime(2026, 4, 17, 11, 7, tzinfo=UTC)
METRIC, OTHER = Display(), Display("f", "mph")


def read(display=METRIC, booking=None, **typed):
    """Return what was asked with some fields typed."""
    return read_form(OnSiteForm(**typed), booking or job(), NOW, display)


@pytest.mark.parametrize(
    ("typed", "celsius"),
    [
        ("14.5", 14.5),
        (" 14,5 °C ", 14.5),
        ("14,5c", 14.5),
        ("14.5°", 14.5),
        ("-3", -3.0),
        ("−3 °C", -3.0),
        ("+2", 2.0),
        (",5", 0.5),
        ("58F", 14.44),
        ("58 °F", 14.44),
        ("58 Fahrenheit", 14.44),
        ("", None),
        ("   ", None),
    ],
)
def test_temperatures_come_in_many_dresses(typed, celsius):
    """Decimal comma, degree sign, °F, a typographic minus."""
    found = temperature(typed, "panel", METRIC)
    assert found == (celsius if celsius is None else pytest.approx(celsius, abs=0.01))


@pytest.mark.parametrize(
    ("typed", "degrees"), [("", None), ("  ", None), ("ne", 45.0), ("North", 0.0), ("200", 200.0)]
)
def test_where_the_wind_comes_from_is_a_side_or_degrees(typed, degrees):
    """As the nose of a car is told."""
    assert read(wind_from=typed).reading.wind_from_deg == degrees
    assert read(all_clear=True).all_clear
    assert not read().all_clear


@pytest.mark.parametrize(
    ("typed", "ms"),
    [
        ("2", 2.0),
        ("2 m/s", 2.0),
        ("2,5 m / s", 2.5),
        ("5 mph", 2.2352),
        ("10 km/h", 2.7778),
        ("4 kn", 2.0578),
        ("4kts", 2.0578),
        ("", None),
    ],
)
def test_winds_too(typed, ms):
    """In the units people's meters show."""
    found = wind(typed, "wind", METRIC)
    assert found == (ms if ms is None else pytest.approx(ms, abs=1e-3))


def test_a_number_without_a_unit_is_in_the_user_s_own():
    """Who reads °F and mph types them."""
    assert temperature("58", "panel", OTHER) == pytest.approx(14.44, abs=0.01)
    assert temperature("14.5 C", "panel", OTHER) == 14.5
    assert wind("5", "wind", OTHER) == pytest.approx(2.2352)


@pytest.mark.parametrize(
    "field", ["panel", "air", "humidity", "wind", "at", "matt", "shelter", "mist", "stripe", "part"]
)
@pytest.mark.parametrize("typed", ["warm", "1e5", "14.5.2", "🔥", "12 parsec", "<b>", "x" * 10_000])
def test_nonsense_is_refused_in_one_sentence_that_names_the_field(field, typed):
    """However long it is; nothing is guessed."""
    with pytest.raises(InputError, match=f"^{field} ") as refused:
        read(**{field: typed})
    assert len(str(refused.value)) < 400 or field in ("at", "matt", "shelter", "part")


def test_all_fields_reach_the_question():
    """Times are clock times of today at the site."""
    two = job(panels=(Panel(Part.ROOF, Colour.RED), Panel(Part.LEFT_DOOR, Colour.RED)))
    asked = read(
        booking=two,
        next=" clear ",
        panel="14,5",
        air="12",
        humidity="71 %",
        wind="2 m/s",
        at="11:50",
        matt="12:01",
        shelter="open sky",
        lamp=True,
        mist="4 s",
        stripe="12 min",
        part="Left door",
        sure=True,
    )
    reading = asked.reading
    assert (reading.panel_temp_c, reading.air_temp_c, reading.rh_pct) == (14.5, 12.0, 71.0)
    assert (reading.wind_ms, reading.panel) == (2.0, 1)
    assert reading.taken_at == NOW - timedelta(minutes=17)
    assert asked.matt_at == NOW - timedelta(minutes=6)
    assert (asked.next_stage, asked.shelter, asked.lamp) == ("clear", Cover.OPEN_SKY, True)
    assert (asked.mist_s, asked.stripe_min, asked.sure) == (4.0, 12.0, True)


def test_what_is_left_out_is_not_said():
    """The reading is of now, of the first panel, and holds nothing."""
    asked = read()
    assert asked.reading.taken_at == NOW
    assert (asked.reading.measured, asked.reading.panel) == ((), 0)
    assert (asked.matt_at, asked.mist_s, asked.shelter, asked.lamp) == (None, None, None, None)
    assert read(matt="now").matt_at == NOW


@given(st.text(max_size=30))
def test_any_text_is_a_number_or_a_sentence(typed):
    """Nothing else comes out."""
    for reader in (temperature, wind):
        said = ""
        found = None
        try:
            found = reader(typed, "panel", METRIC)
        except InputError as refused:
            said = str(refused)
        assert said.startswith("panel is ") or found is None or isinstance(found, float)
