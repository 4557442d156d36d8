"""The invented story of the demo: a painter by Galway Bay, two days in April, six bookings.

Business, people, cars and weather are made up. The places are only coordinates around the bay.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

ZONE = "Europe/Dublin"
NOW = datetime(2026, 4, 15, 18, 0, tzinfo=ZoneInfo(ZONE))
FIRST_DAY = date(2026, 4, 16)
SECOND_DAY = date(2026, 4, 17)
BUSINESS = "Curlew Strand Paintwork"
RECIPIENT = "painter@example.org"

# Settings of the demo as the environment would give them; folders and addresses are added.
SETTINGS = {
    "SPRAYADVISOR_BUSINESS": BUSINESS,
    "SPRAYADVISOR_RECIPIENTS": RECIPIENT,
    "SPRAYADVISOR_NOW": NOW.isoformat(),
    "SPRAYADVISOR_FORECAST__PLAN": "own",
    "SPRAYADVISOR_BASE__NAME": "Yard at Curlew Strand",
    "SPRAYADVISOR_BASE__LATITUDE": "53.2700",
    "SPRAYADVISOR_BASE__LONGITUDE": "-8.9300",
    "SPRAYADVISOR_BASE__ZONE": ZONE,
    "SPRAYADVISOR_BASE__ELEVATION_M": "8",
    "SPRAYADVISOR_KIT__LAMP_KW": "1.1",
    "SPRAYADVISOR_KIT__LAMP_AREA_M2": "0.35",
    "SPRAYADVISOR_KIT__WORK_LIGHT": "true",
    "SPRAYADVISOR_KIT__CANOPY": "true",
    "SPRAYADVISOR_KIT__COMPRESSOR_KW": "1.1",
}


@dataclass(frozen=True, slots=True)
class Booking:
    """One booking of the story, in the words a person would type."""

    ref: str
    day: date
    arrive: tuple[str, str]
    process: str
    site: str
    latitude: float
    longitude: float
    surroundings: str
    panels: tuple[tuple[str, str, str], ...]
    heading_deg: float
    customer: str
    power: str = "socket"
    cover: str = "open_sky"
    back_by: str | None = None
    downwind: tuple[str, ...] = ()
    area_m2: float = 0.3


BOOKINGS = (
    Booking(
        "A1",
        FIRST_DAY,
        ("08:00", "08:45"),
        "bumper-corner",
        "Alder Close",
        53.2710,
        -8.9200,
        "suburb",
        (("rear_bumper", "silver", "plastic"),),
        200.0,
        "Mrs Fennimore",
        downwind=("w=neighbour's cars",),
    ),
    Booking(
        "A2",
        FIRST_DAY,
        ("13:00", "14:00"),
        "door-scuff",
        "Rope Walk",
        53.2730,
        -9.0540,
        "dense",
        (("left_door", "dark_grey", "steel"),),
        95.0,
        "Mr Quillane",
        downwind=("w=open windows", "s=pavement"),
    ),
    Booking(
        "A3",
        FIRST_DAY,
        ("14:30", "15:30"),
        "bumper-corner",
        "Slip at Carrick Pier",
        53.2440,
        -9.3000,
        "open",
        (("front_bumper", "black", "plastic"),),
        200.0,
        "Tidewater Hire",
        power="generator",
    ),
    Booking(
        "B1",
        SECOND_DAY,
        ("09:30", "11:00"),
        "door-scuff",
        "Hazel Court",
        53.1400,
        -8.9350,
        "suburb",
        (("right_door", "white", "steel"),),
        290.0,
        "Mr Pardoe",
        back_by="17:00",
    ),
    Booking(
        "B2",
        SECOND_DAY,
        ("13:00", "14:00"),
        "bumper-corner",
        "Garage at Alder Close",
        53.2710,
        -8.9200,
        "suburb",
        (("rear_bumper", "red", "plastic"),),
        20.0,
        "Mrs Fennimore",
        cover="indoors",
    ),
    Booking(
        "B3",
        SECOND_DAY,
        ("15:30", "16:30"),
        "bumper-corner",
        "Lighthouse Lane",
        53.1400,
        -9.9000,
        "open",
        (("front_bumper", "white", "plastic"),),
        0.0,
        "Ms Averill",
    ),
)
