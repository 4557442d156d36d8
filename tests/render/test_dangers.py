"""What to look out for, in the order in which it comes."""

from dataclasses import replace
from datetime import timedelta

from briefs import entries

from sprayadvisor.render.dangers import day_dangers, next_danger
from sprayadvisor.units import Display

GO, CARE, NO, UNKNOWN, NOT_JUDGED = entries()
HOUR = timedelta(hours=1)


def test_each_job_that_may_be_done_has_its_tightest_check():
    """A job that will not be done has no dangers."""
    found = day_dangers((GO, CARE, NO, UNKNOWN, NOT_JUDGED), Display())
    assert {danger.line.partition(",")[0] for danger in found} == {"GO1", "CA2"}
    assert list(found) == sorted(found, key=lambda danger: danger.at)


def test_rain_is_told_once_with_its_hours():
    """Two jobs at one place; hours that follow each other are one stretch."""
    at = GO.weather.rain_hours or (GO.coats[0].at.replace(minute=0),)
    wet = replace(GO, weather=replace(GO.weather, rain_hours=(at[0], at[0] + HOUR)))
    rain = [d for d in day_dangers((wet, wet), Display()) if d.line.startswith("Rain")]
    assert len(rain) == 1
    assert rain[0].until - rain[0].at == 2 * HOUR
    assert rain[0].line.startswith("Rain at Hazel Court from ")
    assert "may come an hour sooner or later" in rain[0].line


def test_the_next_one_is_the_first_that_is_not_over():
    """And none once all are."""
    found = day_dangers((GO, CARE), Display())
    assert next_danger(found, found[0].at - HOUR) is found[0]
    assert next_danger(found, max(d.until for d in found)) is None
    assert next_danger((), found[0].at) is None
