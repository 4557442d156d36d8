"""Metal hotter than a sheet wants, and what goes wrong beyond each limit of each shipped sheet."""

from dataclasses import replace

import pytest
from briefs import brief, entries, told
from days import catalogue, job, outlook

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.render.defects import HOT, defect
from sprayadvisor.render.hot_metal import hot_metal
from sprayadvisor.render.told import tell
from sprayadvisor.units import Display

DISPLAY = Display()


def test_each_coat_on_hot_metal_is_told_with_what_to_do():
    """Clear wants 25 °C at most; on 29 it boils, the edge dries, and the lamp must wait."""
    hot = told(job(), outlook(air_temp_c=23.0, rh_pct=50.0))
    said = hot_metal(hot, DISPLAY)
    for words in ("Clear at ", "the sheet wants 25 °C at most: craters and boil",
                  "Shade it 20 to 30 minutes", "half the area"):  # fmt: skip
        assert words in said
    assert "Primer at" not in said
    facts = {f.label: f.text for f in tell(brief(hot, clashes=(), ring=()), DISPLAY).jobs[0].facts}
    assert facts["Hot metal"] == said


def test_the_lamp_waits_for_what_it_bakes():
    """The last hot product's own flash-off, where a lamp bakes it; an edge has none."""
    go = entries()[0]
    coats = {coat.role: coat for coat in go.coats}
    clear, edge = (replace(coats[role], panel_temp_c=33.0) for role in ("clear", "blender"))
    assert "Lamp no sooner than 6 min" in hot_metal(replace(go, coats=(clear,)), DISPLAY)
    said = hot_metal(replace(go, coats=(clear, edge)), DISPLAY)
    assert "Blender at" in said
    assert "a dry, rough edge" in said
    assert "Lamp no sooner" not in said


def test_what_the_lamp_leaves_counts_and_mild_metal_says_nothing():
    """Warmed metal is as warm as it is met; without a plan there is nothing to hold it against."""
    go = entries()[0]
    assert hot_metal(go, DISPLAY) == ""
    primer = next(coat for coat in go.coats if coat.role == "primer")
    warm = replace(go, coats=(replace(primer, panel_temp_c=10.0, met_temp_c=34.0),))
    assert "Primer at" in hot_metal(warm, DISPLAY)
    assert hot_metal(entries()[3], DISPLAY) == ""


SIDES = [
    (sheet, quantity, low)
    for sheet in catalogue().sheets.values()
    for quantity, limit in sheet.limits.items()
    for low, bound in ((True, limit.inside_min), (False, limit.inside_max))
    if bound is not None
]


@pytest.mark.parametrize(("sheet", "quantity", "low"), SIDES)
def test_beyond_every_limit_of_every_sheet_something_goes_wrong(sheet, quantity, low):
    """One defect in the trade's words, and one action: common practice, no source."""
    limit = sheet.limits[quantity]
    bounds = (limit.inside_min, limit.inside_max, limit.stop_min, limit.stop_max)
    check = Check(quantity, sheet.origin(limit), *bounds)
    value = (limit.inside_min or 0.0) - 1.0 if low else (limit.inside_max or 0.0) + 1.0
    found = defect(Limiting(check, 0, 0, value, -1.0, Level.INSIDE, 1.0, 0), "coat", sheet.kind)
    assert found is not None
    assert found.seen
    assert found.action
    if (quantity, low) == ("panel_temp_c", False):
        assert found.seen == HOT[sheet.kind]


def test_an_edge_that_comes_late_asks_for_a_second_gun():
    """Not for warmer metal, as base that waits does."""
    check = Check("elapsed_min", catalogue().sheets["blending-solvent"].origin(
        catalogue().sheets["blending-solvent"].coats
    ), stop_max=3.0)  # fmt: skip
    late = Limiting(check, 0, 0, 5.0, -2.0, Level.STOP, 1.0, 0)
    assert "second gun" in defect(late, "coat", "blender").action
    assert "warm the panel" in defect(late, "coat", "clear").action
