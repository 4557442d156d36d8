"""Whether lamp and compressor can run from the power at a site: 13 A do not carry both at once."""

from __future__ import annotations

from collections.abc import Iterator

from sprayadvisor.advice.model import Job, Kit, Power
from sprayadvisor.advice.process import Process

_SOURCES = {Power.SOCKET: "a socket", Power.GENERATOR: "your generator"}


def power_notes(process: Process, job: Job, kit: Kit) -> Iterator[str]:
    """Yield what of the kit cannot run at a job, or not together with the rest.

    Args:
        process: whether it asks for a lamp and whether anything is sprayed.
        job: the power at its site.
        kit: what lamp and compressor draw.
    """
    power = job.site.power
    lamp = kit.lamp_kw if any(stage.kind == "lamp" for stage in process.stages) else 0.0
    air = _air_kw(process, kit)
    given_kw = kit.supply_kw(power)
    if lamp > given_kw:
        yield (
            f"{_too_much('lamp', lamp, kit, power)}, so it cannot run and the paint air-dries; "
            "agree on a plug, or bring other power"
        )
    if not can_spray(process, job, kit):
        yield (
            f"{_too_much('compressor', air, kit, power)}; nothing can be sprayed there "
            "until you bring a smaller one or other power"
        )
    if max(lamp, air) <= given_kw < lamp + air:
        drawn = f"lamp and compressor draw {lamp + air:.1f} kW together"
        yield (
            f"{drawn}, {_SOURCES[power]} gives {given_kw:.1f}: never run both at once. Fill the "
            "tank, switch the compressor off, then light the lamp"
        )


def can_spray(process: Process, job: Job, kit: Kit) -> bool:
    """Return whether the power at a site runs the compressor, where anything is sprayed.

    Args:
        process: whether anything is sprayed.
        job: the power at its site.
        kit: what the compressor draws; 0 where it needs no plug.
    """
    return _air_kw(process, kit) <= kit.supply_kw(job.site.power)


def _air_kw(process: Process, kit: Kit) -> float:
    return kit.compressor_kw if any(stage.kind == "coat" for stage in process.stages) else 0.0


def _too_much(what: str, draws_kw: float, kit: Kit, power: Power) -> str:
    """Return what draws more than there is."""
    if power not in _SOURCES:
        return f"the {what} draws {draws_kw:.1f} kW and there is no power here"
    gives = f"{_SOURCES[power]} gives {kit.supply_kw(power):.1f}"
    return f"the {what} draws {draws_kw:.1f} kW and {gives}"
