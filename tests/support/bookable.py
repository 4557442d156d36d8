"""Jobs that a form can bring about, with the texts that files find hardest."""

from dataclasses import fields
from datetime import date, time
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

_letters = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"], codec="utf-8")
_hard = st.sampled_from(
    ["=1+1", "'=x", "''-a", "-5", "+49 1", "@a", "Müller; A", 'a "b", c', "a|b\\", "'"]
)
_lines = (st.text(_letters, max_size=20) | _hard).map(str.strip)
_names = _lines.filter(bool)
_notes = _lines.map(lambda text: " ".join(text.split()))
_clocks = st.times().map(lambda at: at.replace(second=0, microsecond=0))

sites = st.builds(
    Site,
    name=_names,
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    zone=st.sampled_from(["Europe/Berlin", "America/St_Johns", "Etc/GMT+5"]),
    elevation_m=st.none() | st.floats(-450, 6000),
    surroundings=st.sampled_from(Surroundings),
    ground=st.sampled_from(Ground),
    cover=st.sampled_from(Cover),
    power=st.sampled_from(Power),
    downwind=st.dictionaries(st.sampled_from(["n", "sw", "e"]), _names).map(MappingProxyType),
    shade_before=st.none() | _clocks,
    shade_after=st.none() | _clocks,
    kerb=st.booleans(),
)


@st.composite
def bookable_jobs(draw, first_day=date(2027, 5, 10)):
    """Return a job that a form and its record can say in full."""
    first, last = sorted([draw(_clocks), draw(_clocks)])
    later = [time(minute // 60, minute % 60) for minute in range(1440)][
        last.hour * 60 + last.minute + 1 :
    ]
    panels = st.builds(
        Panel,
        st.sampled_from(Part),
        st.sampled_from(Colour),
        st.sampled_from(Material),
        st.sampled_from(Surface),
    )
    said = {
        "ref": draw(st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}", fullmatch=True)),
        "site": draw(sites),
        "panels": tuple(draw(st.lists(panels, min_size=1, max_size=3))),
        "process": "wing",
        "day": draw(st.dates(min_value=first_day)),
        "arrive_from": first,
        "arrive_to": last,
        "heading_deg": draw(st.none() | st.floats(0, 360, exclude_max=True)),
        "car_there_from": draw(st.none() | st.just(first)),
        "back_by": draw(st.none() | st.sampled_from(later)) if later else None,
        "driven_until": draw(st.none() | st.just(last)),
        "washed_until": draw(st.none() | st.just(first)),
        "may_move": draw(st.booleans()),
        "times_moved": draw(st.integers(0, 999)),
        "repair_area_m2": draw(st.floats(0.01, 5)),
        "state": draw(st.sampled_from(JobState)),
        "customer": Customer(
            draw(_lines),
            draw(_lines),
            draw(st.sampled_from(["", "a@sample.invalid", "=a@b"])),
            draw(_notes),
        ),
    }
    assert said.keys() == {field.name for field in fields(Job)}, "draw the new field too"
    return Job(**said)
