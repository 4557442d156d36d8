"""Briefs for tests of their words: real judgements on a small invented day."""

from dataclasses import replace
from functools import cache

from days import DAY, EVENING, KIT, SITE, ZONE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.brief import Brief, Clash
from sprayadvisor.advice.day import air_line, load, offers
from sprayadvisor.advice.entries import entry
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.model import Cover, Customer
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.van import VanTemps
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
NASTY = '<script>alert("x")</script>'


def told(booking, weather=None, moment=Moment.EVENING):
    """Return the entry of a job."""
    weather = weather or outlook()
    found = judge(
        booking,
        plan_for(booking),
        climate_for(booking, weather),
        POLICY,
        POLICY.thresholds[moment],
        EVENING,
    )
    return entry(found, weather, POLICY)


@cache
def entries():
    """Return a job of every verdict, in the order go, care, no-go, unknown, not judged."""
    indoors = replace(SITE, name="Garage", cover=Cover.INDOORS)
    wet = outlook()
    wet.wet_hour_mm[2 * 96 + 28 : 3 * 96] = 0.6  # from 8 local on the day; fine on the next
    return (
        told(job(ref="GO1")),
        told(job(ref="CA2"), outlook(rh_pct=82.0)),
        told(job(ref="NO3", customer=Customer(name="Ms Vale", phone="(no number)")), wet),
        replace(told(job(ref="UN4")), judgement=_unknown(), coats=(), chart=None, windows=()),
        told(job(ref="NJ5", site=indoors)),
    )


def _unknown():
    return Judgement(job(ref="UN4"), Word.UNKNOWN, "no answer from the forecast service")


def brief(*some, moment=Moment.EVENING, **changes) -> Brief:
    """Return a brief with these entries, or with one of every verdict."""
    chosen = some or entries()
    usual = {
        "moment": moment,
        "day": DAY,
        "made_at": EVENING,
        "zone": ZONE,
        "business": "Curlew Strand",
        "entries": tuple(chosen),
        "ring": offers(chosen),
        "clashes": (Clash("GO1", "CA2", 35),),
        "load": load(chosen, KIT),
        "van": VanTemps(2.4, 18.0),
        "air_line": air_line(chosen),
        "sources": ("invented",),
    }
    return Brief(**(usual | changes))
