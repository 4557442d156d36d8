"""Whether processes go with their sheets."""

import pytest
from days import catalogue
from paint import GONE, process, sheet, stage

from sprayadvisor.advice.fits import misfits
from sprayadvisor.advice.flaw import mend_name

SHEETS = {
    "base": sheet(id="base", kind="base", cure=GONE, lamp=GONE, flash__latest_min=60),
    "clear": sheet(),
    "edge": sheet(id="edge", kind="blender", cure=GONE, lamp=GONE),
    "limp": sheet(id="limp", kind="base", cure=GONE),
}
BASE = stage("base", "coat", sheet="base")
MATT = stage("matt", "flash", sheet="base", until="next")
CLEAR, FLASH, BAKE = stage("clear", "coat"), stage("flash", "flash"), stage("bake", "lamp")
WARM = stage("warm", "lamp", sheet=None, warm_to_c=24)
USUAL = (BASE, MATT, CLEAR, FLASH, BAKE)


def test_what_comes_along_fits():
    """Shipped processes go with shipped sheets; so does the one changed below."""
    for found in catalogue().processes.values():
        assert misfits(found, catalogue().sheets) == []
    assert misfits(process(*USUAL), SHEETS) == []


@pytest.mark.parametrize(
    ("stages", "place", "told"),
    [
        (
            (stage("c", "coat", sheet="clar"),),
            ("sheets", "clar"),
            "there is no usable sheet “clar”; perhaps “clear” is meant",
        ),
        (
            (stage("c", "coat", sheet="zinc"),),
            ("sheets", "zinc"),
            "there is no usable sheet “zinc”; add the sheet or correct the name",
        ),
        (
            (stage("c", "coat", coats=4), FLASH, BAKE),
            ("sheets", "clear"),
            "4 coats are planned; “clear-x” allows 1 to 3",
        ),
        (
            (
                stage("a", "coat", sheet="limp"),
                stage("f", "flash", sheet="limp"),
                stage("l", "lamp", sheet="limp"),
            ),
            ("stages", 2),
            "stage “l” needs [cure] of “limp”, which has none; complete the sheet or change",
        ),
        (
            (CLEAR, stage("e", "coat", sheet="edge"), stage("f", "flash", sheet="edge"), BAKE),
            ("stages", 2),
            "stage “f” needs [lamp] of “edge”, which has none; complete the sheet or change",
        ),
        (
            (BASE, CLEAR, FLASH, BAKE),
            ("stages", 1),
            "stage “clear” follows “base” before that has flashed off; put a flash stage with unt",
        ),
        (
            (BASE, stage("f", "flash", sheet="base", until="coat"), CLEAR, FLASH, BAKE),
            ("stages", 2),
            'put a flash stage with until = "next" between them',
        ),
        (
            (BASE, stage("drop", "coat", sheet="base"), MATT, CLEAR, FLASH, BAKE),
            ("stages", 1),
            'put a flash stage with until = "coat" between them',
        ),
        (
            (CLEAR, BAKE),
            ("stages", 1),
            'put a flash stage with until = "lamp" between them',
        ),
        (
            (BASE, MATT, CLEAR, FLASH),
            ("stages", 2),
            "nothing dries what stage “clear” sprays; put a lamp stage behind it; where no lamp",
        ),
        (
            (BASE, MATT, stage("mix", "hand", may_wait_min=10), CLEAR, FLASH, BAKE),
            ("stages", 2),
            "stage “mix” may wait over wet paint; remove may_wait_min",
        ),
        (
            (BASE, MATT, stage("clear", "coat", within_min=5), FLASH, BAKE),
            ("stages", 2),
            "stage “clear” begins 6 minutes after “base” at best, 5 are allowed (process “P”); sh",
        ),
        (
            (CLEAR, FLASH, stage("mop", "hand", minutes=20, alongside="flash"), BAKE),
            ("stages", 3),
            "stage “bake” begins 20 minutes after “clear” at best, 12 are allowed (Clear X, rev. 7",
        ),
        (
            (
                WARM,
                BASE,
                MATT,
                stage("again", "lamp", sheet=None, warm_to_c=24),
                CLEAR,
                FLASH,
                BAKE,
            ),
            ("stages", 3),
            "stage “again” warms the panel while “base” is wet; bake that first, or warm before it",
        ),
        (
            (stage("hot", "lamp", sheet=None, warm_to_c=28), CLEAR, FLASH, BAKE),
            ("stages", 0),
            "stage “hot” warms to 28 °C; “clear-x” wants 25 °C at most",
        ),
    ],
)
def test_what_does_not_fit_is_told_with_its_place(stages, place, told):
    """Sheets, coats, flashes, lamps, waits and times are held against each other."""
    (flaw,) = misfits(process(*stages), SHEETS)
    assert flaw.place == place
    assert told in f"{flaw.problem}; {flaw.remedy}"


def test_plastic_is_warmed_again_over_promoter_that_has_flashed_off():
    """It is thin and dry by then; before its flash-off it is not."""
    thin = sheet(id="thin", kind="promoter", cure=GONE, lamp=GONE)
    spray = stage("thin", "coat", sheet="thin")
    matt = stage("f", "flash", sheet="thin", until="next")
    assert misfits(process(spray, matt, WARM, CLEAR, FLASH, BAKE), SHEETS | {"thin": thin}) == []
    flaws = misfits(process(spray, WARM, CLEAR, FLASH, BAKE), SHEETS | {"thin": thin})
    assert "stage “warm” warms the panel while “thin” is wet" in {f.problem for f in flaws}


def test_an_edge_is_blended_into_wet_clear():
    """Without a flash between; the lamp's flash follows both."""
    edge = stage("edge", "coat", sheet="edge", within_min=3)
    assert misfits(process(CLEAR, edge, FLASH, BAKE), SHEETS) == []


def test_a_longer_flash_than_needed_is_nobodys_fault():
    """A drop coat may follow a flash to matt."""
    stages = (
        BASE,
        MATT,
        stage("drop", "coat", sheet="base"),
        stage("m", "flash", sheet="base", until="next"),
    )
    assert misfits(process(*stages, CLEAR, FLASH, BAKE), SHEETS) == []


def test_metal_may_be_warmed_before_any_coat_that_bears_it():
    """Before the first coat, and again before one on baked paint; without an upper bound too."""
    primer = stage("primer", "coat", sheet="primer")
    primed = (primer, stage("p", "flash", sheet="primer"), stage("l", "lamp", sheet="primer"))
    open_above = sheet(id="base", kind="primer", limits__panel_temp_c__inside_max=GONE)
    sheets = SHEETS | {"primer": open_above}
    warm = stage("again", "lamp", sheet=None, warm_to_c=24)
    hot = stage("hot", "lamp", sheet=None, warm_to_c=40)
    assert misfits(process(hot, *primed, warm, *USUAL), sheets) == []


def test_what_is_left_out_without_a_lamp_may_wait():
    """A polish that is another day's work is in no plan without a lamp."""
    slow = SHEETS | {"clear": sheet(cure__workable_min=960)}
    polish = stage("polish", "hand", hard=True, may_wait_min=30)
    assert misfits(process(*USUAL, polish), slow) == []


@pytest.mark.parametrize(
    ("name", "mend"), [("clar", "perhaps “clear” is meant"), ("zzz", "remove it")]
)
def test_a_name_is_mended_by_the_nearest(name, mend):
    """Or by what else can be done."""
    assert mend_name(name, ["base", "clear"], "remove it") == mend
