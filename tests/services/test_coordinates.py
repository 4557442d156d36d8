"""Coordinates as people paste them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.errors import InputError
from sprayadvisor.services.coordinates import coordinates

READ = [
    ("53.27, -8.92", 53.27, -8.92),
    ("53.27 -8.92", 53.27, -8.92),
    ("53.27;-8.92", 53.27, -8.92),
    ("  +53.27 ,\n-8.92 ", 53.27, -8.92),
    ("53.27°, −8.92°", 53.27, -8.92),
    ("53,27 -8,92", 53.27, -8.92),
    ("53,27, -8,92", 53.27, -8.92),
    ("53,27; -8,92", 53.27, -8.92),
    ("53, 27", 53.0, 27.0),
    ("53°16'12\"N 8°55'12\"W", 53.27, -8.92),
    ("53° 16′ 12″ N, 8° 55′ 12″ W", 53.27, -8.92),
    ("53°16'12,0\"N 8°55'12,0\"W", 53.27, -8.92),
    ("53 16.2 N, 8 55.2 W", 53.27, -8.92),
    ("N 53° 16.200 W 008° 55.200", 53.27, -8.92),
    ("N53.27 W8.92", 53.27, -8.92),
    ("8.92W 53.27N", 53.27, -8.92),
    ("33.5s 70.25w", -33.5, -70.25),
    ("geo:53.27,-8.92", 53.27, -8.92),
    ("geo:53.27,-8.92;u=35", 53.27, -8.92),
    ("GEO:53.27,-8.92,12", 53.27, -8.92),
    ("https://maps.example/@53.2700,-8.9200,17z", 53.27, -8.92),
    ("https://maps.example/?q=53.2700%2C-8.9200", 53.27, -8.92),
    ("https://maps.example/?mlat=53.27&mlon=-8.92#map=17/53.3000/-8.9500", 53.27, -8.92),
    ("https://maps.example/#map=17/53.2700/-8.9200", 53.27, -8.92),
]
# RFC 5870, section 6: the address of Vienna's cathedral square in its examples.
READ.append(("geo:48.2010,16.3695,183", 48.2010, 16.3695))
# ISO 6709:2008 annex D writes the same place as degrees, minutes and seconds; value from memory.
READ.append(("50°03'46.461\"S 125°48'26.533\"E", -50.0629058, 125.8073703))


@pytest.mark.parametrize(("text", "north", "east"), READ)
def test_usual_notations_are_read(text: str, north: float, east: float) -> None:
    """Each usual notation means the place it says."""
    assert coordinates(text, "place") == pytest.approx((north, east), abs=1e-6)


@pytest.mark.parametrize(
    "text",
    [
        "", "53.27", "53,27", "hello", "53 16 8 55", "1,2,3", "53.27 N", "53.27N 8.92N",
        "53°75'N 8°10'W", "53.5°16'N 8°55'W", "53.27, -8.92, 12", "😀", "9" * 10_000,
        "https://maps.example/53.2700,-8.9200/to/54.1000,-8.1000", "https://[maps/53.2700,-8.9200",
        "https://maps.example/", "nan, nan", "1e2, 3", "53°°16'N 8°55'W",
    ],
)  # fmt: skip
def test_what_could_mean_two_places_is_refused(text: str) -> None:
    """A text that is no place, or more than one, is refused with what would do."""
    with pytest.raises(InputError, match=r"place: no coordinates .* paste them as"):
        coordinates(text, "place")


@pytest.mark.parametrize("text", ["91, 5", "53, 181", "120°N 5°E", "geo:99,1"])
def test_beyond_the_globe_is_refused(text: str) -> None:
    """A latitude beyond a pole or a longitude beyond the date line is refused, not folded."""
    with pytest.raises(InputError, match="lies beyond the globe; latitude comes first"):
        coordinates(text, "place")


def _sexagesimal(angle: float, letters: str) -> str:
    """Return an angle in degrees, minutes and seconds by whole hundredths of a second."""
    hundredths = round(abs(angle) * 360_000)
    whole, rest = divmod(hundredths, 360_000)
    minutes, rest = divmod(rest, 6_000)
    return f"{whole}°{minutes}'{rest / 100:.2f}\"{letters[angle < 0]}"


@given(st.floats(-89.99, 89.99), st.floats(-179.99, 179.99))
def test_round_trip(north: float, east: float) -> None:
    """What is written out in degrees, minutes and seconds is read back to a hundredth of one."""
    text = f"{_sexagesimal(north, 'NS')} {_sexagesimal(east, 'EW')}"
    assert coordinates(text, "place") == pytest.approx((north, east), abs=2e-6)
    assert coordinates(f"{north:.6f}; {east:.6f}", "place") == pytest.approx(
        (north, east), abs=1e-6
    )
    assert coordinates(f"{north:.6f}, {east:.6f}".replace(".", ","), "place") == pytest.approx(
        (north, east), abs=1e-6
    )
