"""What is in the air and what stands downwind, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from sprayadvisor.advice.air_levels import level_word
from sprayadvisor.advice.brief import (
    AirLevel,
    AirLine,
    Brief,
    DayWeather,
    Downwind,
    DownwindAnswer,
    Entry,
)
from sprayadvisor.advice.downwind import Side
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import clock, from_to, listed, odds, sentence
from sprayadvisor.units import Display

PAINT_IN_BELOW_C = 5.0  # water-borne paint is spoilt by frost, all paint is slow from the cold
PAINT_OUT_ABOVE_C = 35.0  # pot life, thinners and aerosols suffer: common practice
_AIR_LINE = {
    AirLine.USUAL: (
        "Air line: drain tank and trap on arrival and before the clear, blow the hose off into "
        "the air for 20 s."
    ),
    AirLine.STICKY: (
        "Air line, sticky air: drain tank and trap twice at each stop and again before the "
        "clear, blow the hose off into the air for 20 s each time."
    ),
    AirLine.FROST: (
        "Air line, frost: traps and hoses freeze. Carry them warm, drain them on arrival and "
        "before the clear, blow them dry before you pack."
    ),
}
_DO = {
    DownwindAnswer.MOVE_VAN: "put the van on that side, and have what stands there covered.",
    DownwindAnswer.OTHER_END: (
        "have it moved or covered, or take the other end of the drive if that is 15 m off; else no."
    ),
    DownwindAnswer.NO: "no, not while anybody may be there.",
}


def in_the_air(entry: Entry) -> str:
    """Return what may land in the wet paint, each with its reason and one thing to do."""
    zone = entry.judgement.job.site.zone
    told = [_level(one, zone) for one in entry.air if one.level >= 1.0]
    unknown = [one.words.name for one in entry.air if math.isnan(one.level)]
    if unknown:
        told.append(sentence(f"{listed(unknown)} not known"))
    return " ".join(told)


def _level(one: AirLevel, zone: str) -> str:
    words = one.words
    reason = words.high if one.level > 1.0 else words.some
    at = f" at {clock(one.at, zone)} during “{one.stage}”" if one.at else ""
    return sentence(f"{words.name}: {level_word(one.level)}{at}; {reason}") + f" {words.action}"


def downwind(entry: Entry) -> str:
    """Return where the mist goes and what to do about what stands there."""
    found = entry.downwind
    if found is None:
        return ""
    zone = entry.judgement.job.site.zone
    if found.answer is DownwindAnswer.CLEAR:
        return f"Your mist goes {found.towards}, clear of what you named. Look before each coat."
    if found.answer is DownwindAnswer.LOOK:
        return (
            "Where your mist goes cannot be told. Feel the wind before each coat: "
            f"{_standing(found.sides)}."
        )
    at = f"At {clock(found.at, zone)} during “{found.stage}” your mist goes {found.towards}"
    do = _do(found, zone)
    wanted_to_windward = any(one.change is Change.WIND_BREAK for one in entry.remedies)
    if found.answer is DownwindAnswer.MOVE_VAN and wanted_to_windward:
        do = "have what stands there covered or moved; the van is wanted on the windward side."
    return f"{at}: {_standing(found.sides)}. {sentence(do)}"


def _standing(sides: Sequence[Side]) -> str:
    return listed([f"{side.what} ({side.name})" for side in sides])


def _do(found: Downwind, zone: str) -> str:
    """Return the one thing to do."""
    if found.answer is DownwindAnswer.WAIT and found.clear_from is not None:
        return f"wait: it blows clear from {clock(found.clear_from, zone)}."
    return _DO[found.answer]


def van_and_air_line(brief: Brief, display: Display) -> list[str]:
    """Return the lines of the day about the parked van and the compressor."""
    lines = []
    low_c, high_c = brief.van
    if low_c < PAINT_IN_BELOW_C:
        lines.append(
            "Take the paint indoors tonight, water-borne first: the van falls to about "
            f"{display.temp(low_c)}."
        )
    if math.isnan(low_c) and brief.moment is Moment.EVENING:
        lines.append("How cold the van gets tonight is not known: take the paint indoors.")
    if high_c > PAINT_OUT_ABOVE_C:
        lines.append(
            f"The van gets to about {display.temp(high_c)} in the sun: shade it, and keep paint, "
            "hardeners and aerosols cool."
        )
    if brief.air_line is not None:
        lines.append(_AIR_LINE[brief.air_line])
    return lines


def ask_at_the_car(brief: Brief) -> list[str]:
    """Return what to ask where nobody said whether the car is driven or washed before the work."""
    jobs = [e.judgement.job for e in brief.entries if e.judgement.word in (Word.GO, Word.CARE)]
    unsaid = [job.ref for job in jobs if not (job.driven_until or job.washed_until)]
    if brief.moment is not Moment.MORNING or not unsaid:
        return []
    asked = f"Ask at the car ({listed(unsaid)}): driven or washed within the hour?"
    return [f"{asked} Then bonnet and wings are hot, or water sits in every gap."]


def from_the_house(brief: Brief) -> list[str]:
    """Return what is carried out of the house last, and how it is kept on the way."""
    kept = list(brief.house.water_borne)
    if brief.house.hardeners:
        kept.append("hardeners, dry and shut")
    lines = [f"Out of the house last: {listed(kept)}."] if kept else []
    if brief.house.warm_box:
        lines.append("Cold day: carry the paint in a warm box, so that the cup is at 18 to 22 °C.")
    return lines


def day_weather(entry: Entry, display: Display) -> str:
    """Return the working day's weather in one line."""
    weather = entry.weather
    if weather is None:
        return ""
    zone = entry.judgement.job.site.zone
    return (
        f"{display.temp(weather.air_low_c)} to {display.temp(weather.air_high_c)}, wind to "
        f"{display.speed(weather.wind_high_ms)}, gusts to {display.speed(weather.gust_high_ms)} "
        f"(at 10 m), {_day_rain(entry, weather, zone)}."
    )


def _day_rain(entry: Entry, weather: DayWeather, zone: str) -> str:
    """Return the rain of the working day; what is not known is never called dry."""
    if weather.rain_hours:
        return f"rain {from_to(weather.rain_hours, timedelta(hours=1), zone)}"
    if entry.chart is None:
        return "for rain look at the radar"
    if any(math.isnan(mm) for mm in entry.chart.rain_mm):
        return "rain not known throughout"
    if weather.rain_chance_pct >= 10:
        return f"dry, but a shower chance up to {weather.rain_chance_pct:.0f} %"
    limiting = entry.judgement.limiting
    if limiting is not None and limiting.check.quantity == "wet_hour_mm" and limiting.share:
        return f"dry by the forecast, yet it rains in {odds(limiting.share)} of what may come"
    return "no rain forecast"
