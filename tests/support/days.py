"""Builders of small worlds for tests: a site, a job, a day of weather, the shipped catalogue."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache

import numpy as np

from sprayadvisor.adapters.sheet_files import Catalogue, load_catalogue
from sprayadvisor.advice.case import cases_of
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.members import single
from sprayadvisor.advice.model import (
    Colour,
    Customer,
    Job,
    Kit,
    Material,
    Panel,
    Part,
    Site,
)
from sprayadvisor.advice.outlook import Outlook, Provenance
from sprayadvisor.advice.policy import Policy
from sprayadvisor.shipped import shipped

ZONE = "Europe/Dublin"
DAY = date(2026, 4, 17)
EVENING = datetime(2026, 4, 16, 17, 0, tzinfo=UTC)
MORNING = datetime(2026, 4, 17, 5, 30, tzinfo=UTC)
GRID_BEGINS = datetime(2026, 4, 15, tzinfo=UTC)
KIT = Kit(lamp_kw=1.1, lamp_area_m2=0.35, canopy=True, work_light=True, compressor_kw=1.1)
SITE = Site("Hazel Court", 53.14, -8.935, ZONE, 14.0)
BUMPER = Panel(Part.REAR_BUMPER, Colour.SILVER, Material.PLASTIC)


@cache
def catalogue() -> Catalogue:
    """Return the shipped sheets and processes."""
    found = load_catalogue([shipped("config/sheets")], [shipped("config/processes")])
    assert found.faults == ()
    return found


def job(**changes) -> Job:
    """Return a bumper corner on a drive, changed as wanted."""
    usual = Job(
        ref="T1",
        site=SITE,
        panels=(BUMPER,),
        process="bumper-corner",
        day=DAY,
        arrive_from=time(9, 30),
        arrive_to=time(11, 0),
        heading_deg=0.0,
        repair_area_m2=0.3,
        customer=Customer(name="Ms Test"),
    )
    return replace(usual, **changes)


def outlook(days: int = 5, **changes) -> Outlook:
    """Return fair, mild, dull weather with a light wind, some quantities replaced.

    A change is a number for all steps, or a function of the array of local-less UTC hours.
    """
    steps = days * 96
    starts = np.datetime64(GRID_BEGINS.replace(tzinfo=None), "s") + np.arange(
        steps
    ) * np.timedelta64(900, "s")
    hours = (np.arange(steps) / 4.0) % 24.0
    sun = np.clip(np.sin(np.pi * (hours - 6.0) / 14.0), 0.0, None)
    values = {
        "air_temp_c": 13.0 + 4.0 * sun,
        "rh_pct": 74.0 - 12.0 * sun,
        "wind_10m_ms": 2.0,
        "gust_10m_ms": 4.0,
        "rain_mm": 0.0,
        "ghi_wm2": 320.0 * sun,
        "dni_wm2": 0.0,
        "dhi_wm2": 320.0 * sun,
        "cloud_fraction": 0.95,
        "dew_point_c": np.nan,
        "rain_probability_pct": 5.0,
        "wind_from_deg": 240.0,
        "pressure_hpa": 1015.0,
        "weather_code": 3.0,
    }
    wet = changes.pop("wet_hour_mm", 0.0)
    values |= {k: v(hours) if callable(v) else v for k, v in changes.items()}
    arrays = {k: np.broadcast_to(np.asarray(v, float), (steps,)).copy() for k, v in values.items()}
    return Outlook(
        starts,
        arrays,
        np.broadcast_to(np.asarray(wet, float), (steps,)).copy(),
        Provenance("invented", EVENING - timedelta(minutes=20)),
    )


def plan_for(booking: Job, policy: Policy | None = None, kit: Kit = KIT):
    """Return the compiled plan of a job."""
    process = catalogue().processes[booking.process]
    sheets = catalogue().sheets_of(process)
    return compile_plan(process, sheets, booking, kit, policy or Policy())


def climate_for(booking: Job, weather: Outlook):
    """Return the climate at all panels of a job in a single member."""
    return climate(single(weather), cases_of(booking, weather.starts_utc))
