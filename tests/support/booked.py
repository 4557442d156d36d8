"""Jobs to be stored: an invented plain one, and every job there could be."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone
from types import MappingProxyType

from hypothesis import strategies as st

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Customer,
    Ground,
    Job,
    JobState,
    Material,
    Panel,
    Part,
    Power,
    Site,
    Surface,
    Surroundings,
)

NOW = datetime(2027, 5, 3, 8, 30, 15, 123456, tzinfo=UTC)
MILL_LANE = Site("Mill Lane", 48.1, 11.5, "Europe/Berlin")
PLAIN = Job(
    "J1",
    MILL_LANE,
    (Panel(Part.BONNET, Colour.RED),),
    "wing",
    date(2027, 5, 4),
    time(9),
    time(10, 30),
)

# What a database may hold as text everywhere: PostgreSQL takes no NUL, UTF-8 no lone surrogate.
_texts = st.text(st.characters(exclude_characters="\0", codec="utf-8"), max_size=30)
_times = st.times()
_degrees = st.floats(-180, 180)

sites = st.builds(
    Site,
    name=_texts,
    latitude=_degrees,
    longitude=_degrees,
    zone=_texts,
    elevation_m=st.none() | st.floats(-450, 6000),
    surroundings=st.sampled_from(Surroundings),
    ground=st.sampled_from(Ground),
    cover=st.sampled_from(Cover),
    power=st.sampled_from(Power),
    downwind=st.dictionaries(_texts, _texts, max_size=3).map(MappingProxyType),
    shade_before=st.none() | _times,
    shade_after=st.none() | _times,
    kerb=st.booleans(),
)
panels = st.builds(Panel, *map(st.sampled_from, (Part, Colour, Material, Surface)))
jobs = st.builds(
    Job,
    ref=_texts,
    site=sites,
    panels=st.lists(panels, max_size=4).map(tuple),
    process=_texts,
    day=st.dates(),
    arrive_from=_times,
    arrive_to=_times,
    heading_deg=st.none() | st.floats(0, 360),
    car_there_from=st.none() | _times,
    back_by=st.none() | _times,
    driven_until=st.none() | _times,
    washed_until=st.none() | _times,
    may_move=st.booleans(),
    times_moved=st.integers(0, 1000),
    repair_area_m2=st.floats(0.01, 30),
    state=st.sampled_from(JobState),
    customer=st.builds(Customer, _texts, _texts, _texts, _texts),
)
moments = st.datetimes(
    datetime(1970, 1, 1),  # noqa: DTZ001 - the zone is drawn below
    datetime(2200, 1, 1),  # noqa: DTZ001
    timezones=st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m))),
)
