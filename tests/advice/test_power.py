"""What a socket or a small generator can carry."""

from __future__ import annotations

from dataclasses import replace

import pytest
from days import SITE, job
from paint import plan, sheet, stage

from sprayadvisor.advice.model import Kit, Power

KIT = Kit(lamp_kw=1.5, lamp_area_m2=1.0, compressor_kw=1.1)
PAINT = (stage("clear", "coat"), stage("flash", "flash"), stage("bake", "lamp"))


def at(power: Power):
    """Return a job at a site with this power."""
    return job(site=replace(SITE, power=power))


@pytest.mark.parametrize(
    ("power", "kit", "usable", "notes"),
    [
        (Power.SOCKET, KIT, True, ()),
        (
            Power.GENERATOR,
            KIT,
            True,
            ("lamp and compressor draw 2.6 kW together, your generator gives 2.0: never run",),
        ),
        (
            Power.GENERATOR,
            replace(KIT, lamp_kw=2.2),
            False,
            ("the lamp draws 2.2 kW and your generator gives 2.0, so it cannot run and the",),
        ),
        (
            Power.SOCKET,
            replace(KIT, compressor_kw=3.2),
            True,
            ("the compressor draws 3.2 kW and a socket gives 3.0; nothing can be sprayed there",),
        ),
        (
            Power.NONE,
            KIT,
            False,
            (
                "the lamp draws 1.5 kW and there is no power here, so it cannot run and the",
                "the compressor draws 1.1 kW and there is no power here; nothing can be",
            ),
        ),
        (Power.SOCKET, replace(KIT, lamp_kw=3.0), True, ("lamp and compressor draw 4.1 kW",)),
        (Power.SOCKET, replace(KIT, socket_kw=1.4, compressor_kw=0.0), False, ("the lamp draws",)),
        (Power.GENERATOR, replace(KIT, generator_kw=2.6), True, ()),
        (Power.NONE, Kit(), False, ()),
    ],
)
def test_what_the_supply_does_not_carry_is_named(power, kit, usable, notes):
    """A lamp or a compressor too big for it, or both at once; such a lamp is no lamp."""
    booking = at(power)
    assert booking.lamp_usable(kit) is usable
    found = plan(booking, PAINT, {"clear": sheet()}, kit)
    assert found.uses_lamp is usable
    assert found.sprays is (kit.compressor_kw <= kit.supply_kw(power))
    assert len(found.power) == len(notes)
    for told, begins in zip(found.power, notes, strict=True):
        assert told.startswith(begins)


def test_what_a_process_does_not_use_draws_nothing():
    """Hand work needs neither lamp nor compressor."""
    kit = replace(KIT, lamp_kw=9.0, compressor_kw=9.0)
    assert plan(at(Power.SOCKET), (stage("polish", "hand"),), {}, kit).notes == ()
