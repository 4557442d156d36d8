"""Processes: what stages may and may not do, alone and to each other."""

import pytest
from paint import process, stage
from pydantic import ValidationError

from sprayadvisor.advice.process import PanelRange, Process, Stage

LOOK = stage("look", "hand")
COAT = stage("clear", "coat", coats=2)
FLASH = stage("flash", "flash")
BAKE = stage("bake", "lamp")
COOL = stage("cool", "cool")
WARMS = {"sheet": None, "warm_to_c": 28}
WARM = stage("warm", "lamp", **WARMS)
COAT2 = stage("again", "coat")
TACK = stage("tack", "hand", minutes=3)


def refused(told: str, *stages: Stage) -> None:
    """Hold a process to be refused with these words."""
    with pytest.raises(ValidationError) as error:
        process(*stages)
    assert told in str(error.value)


def test_the_process_the_others_are_changed_from_is_good():
    """Nothing is wrong with it."""
    assert len(process(LOOK, COAT, FLASH, BAKE, COOL).stages) == 5


@pytest.mark.parametrize(
    ("kind", "fields", "told"),
    [
        ("hand", {"minutes": None}, "a hand stage needs minutes; add it"),
        ("check", {"minutes": None}, "a check stage needs minutes; add it"),
        ("cool", {"minutes": None}, "a cool stage needs minutes; add it"),
        ("coat", {"sheet": None}, "a coat stage needs sheet; add it"),
        ("coat", {"coats": None}, "a coat stage needs coats; add it"),
        ("coat", {"minutes_each": None}, "a coat stage needs minutes_each; add it"),
        ("flash", {"until": None}, "a flash stage needs until; add it"),
        ("lamp", {"sheet": None}, "a lamp stage needs either sheet, to bake paint"),
        ("lamp", {"minutes": 5}, "minutes does not go with a lamp stage; remove it"),
        ("hand", {"coats": 2}, "coats does not go with a hand stage; remove it"),
        ("hand", {"sheet": "clear"}, "sheet does not go with a hand stage; remove it"),
        ("coat", {"until": "next"}, "until does not go with a coat stage; remove it"),
        ("coat", {"alongside": "x"}, "alongside does not go with a coat stage; remove it"),
        ("flash", {"may_wait_min": 5}, "may_wait_min does not go with a flash stage; remove"),
        ("cool", {"may_wait_min": 5}, "may_wait_min does not go with a cool stage; remove it"),
        ("flash", {"no_return": True}, "no_return does not go with a flash stage; remove it"),
        ("coat", {"film_up": True}, "film_up does not go with a coat stage; remove it"),
        ("lamp", {"film_down": True}, "film_down does not go with a lamp stage; remove it"),
        ("coat", {"hard": True}, "hard does not go with a coat stage; remove it"),
        ("coat", {"safe_stop": True}, "a coat stage leaves wet paint; remove safe_stop"),
        ("flash", {"safe_stop": True}, "a flash stage leaves wet paint; remove safe_stop"),
        ("hand", {"needs": ("dry", "dry")}, "needs names something twice; name it once"),
        ("hand", {"needs": ("sun",)}, "Input should be 'no_rain'"),
        ("hand", {"may_wait_min": 61}, "less than or equal to 60"),
        ("hand", {"may_wait_min": -1}, "greater than or equal to 0"),
        ("hand", {"may_wait_min": 30, "within_min": 20}, "may_wait_min is longer than within"),
        ("hand", {"alongside": "x", "may_wait_min": 5}, "ends with it; remove may_wait_min"),
        ("hand", {"alongside": "x", "within_min": 5}, "ends with it; remove within_min"),
        ("hand", {"alongside": "x", "safe_stop": True}, "ends with it; remove safe_stop"),
        ("lamp", {"warm_to_c": 28}, "needs either sheet, to bake paint, or warm_to_c, to warm"),
        ("lamp", {"soak_min": 8}, "soak_min goes with warm_to_c alone; add that or remove soak_m"),
        ("lamp", {"warm_below_c": 8}, "warm_below_c goes with warm_to_c alone"),
        ("lamp", WARMS | {"warm_below_c": 28.5}, "warm_below_c is above warm_to_c; lower it"),
        ("lamp", WARMS | {"warm_to_c": 61}, "less than or equal to 60"),
        ("lamp", {"cool_to_c": 30}, "cool_to_c does not go with a lamp stage; remove it"),
        ("cool", {"warm_to_c": 28}, "warm_to_c does not go with a cool stage; remove it"),
        ("hand", {"quench": True}, "quench does not go with a hand stage; remove it"),
        ("hand", {"minutes": 0}, "greater than or equal to 1"),
        ("hand", {"minutes": 4.5}, "valid integer"),
        ("hand", {"minutes": True}, "valid integer"),
        ("hand", {"minutes": float("nan")}, "valid integer"),
        ("hand", {"least_air_c": float("inf")}, "finite number"),
        ("hand", {"least_air_c": "2"}, "valid number"),
        ("hand", {"name": ""}, "at least 1 character"),
        ("hand", {"id": "Big Look"}, "match pattern"),
        ("hand", {"minuets": 4}, "Extra inputs are not permitted"),
        ("hand", {"kind": "spray"}, "Input should be 'hand'"),
    ],
)
def test_a_stage_that_contradicts_itself_is_refused(kind, fields, told):
    """Each kind of stage says what it needs and nothing that only another kind may say."""
    with pytest.raises(ValidationError) as error:
        stage("x", kind, **fields)
    assert told in str(error.value)


@pytest.mark.parametrize(
    ("least", "most", "told"),
    [
        (None, None, "has neither least nor most; give one or remove the table"),
        (30, 30, "least is not below most; swap or mend them"),
        (31, 30, "least is not below most; swap or mend them"),
    ],
)
def test_a_range_that_holds_nothing_is_refused(least, most, told):
    """A range of panel temperatures has a bound, and room between two."""
    with pytest.raises(ValidationError, match=told):
        PanelRange(least=least, most=most)
    assert PanelRange(least=3).most is None
    assert PanelRange(most=3).least is None


@pytest.mark.parametrize(
    ("stages", "told"),
    [
        ((LOOK, LOOK), "stage “look” stands twice; give each stage its own id"),
        (
            (COAT, stage("clear-1", "hand")),
            "stage “clear-1” is called like “clear-1”, which stage “clear” makes; give it another",
        ),
        ((COAT, stage("clear-1-flash", "hand")), "is called like “clear-1-flash”"),
        ((COAT, BAKE, stage("bake-dust-free", "hand")), "is called like “bake-dust-free”"),
        ((COAT, BAKE, stage("bake-rain-safe", "hand")), "is called like “bake-rain-safe”"),
        ((COAT, BAKE, stage("bake-workable", "hand")), "is called like “bake-workable”"),
        ((FLASH, COAT), "stage “flash” comes before any coat of “clear”; move it behind one"),
        ((BAKE, COAT), "stage “bake” comes before any coat of “clear”; move it behind one"),
        ((COAT, COOL), "stage “cool” cools what no lamp has heated; move it behind the lamp"),
        ((COOL,), "stage “cool” cools what no lamp has heated"),
        ((stage("x", "hand", film_down=True),), "takes masking film down before any is up; set"),
        ((stage("x", "hand", within_min=5),), "is first and follows nothing; remove within_min"),
        ((stage("x", "hand", may_wait_min=5),), "is first and follows nothing; remove may_wait"),
        ((COAT, FLASH, BAKE, WARM), "stage “warm” warms metal for no coat; put it right before a"),
        ((WARM, BAKE), "stage “warm” warms metal for no coat"),
        ((WARM, COOL, COAT), "stage “cool” cools what no lamp has heated"),
        ((WARM, LOOK, COAT), "stage “warm” is over 10 minutes before the coat; leave 5 at most"),
        (
            (LOOK, WARM, stage("x", "hand", minutes=2, may_wait_min=9), COAT),
            "stage “x” may wait while the metal cools; remove may_wait_min",
        ),
        (
            (LOOK, WARM, stage("c", "coat", may_wait_min=9)),
            "stage “c” may wait while the metal cools",
        ),
        (
            (LOOK, stage("x", "hand", alongside="bake")),
            "runs alongside “bake”, which does not come before it; move it behind it",
        ),
        (
            (COAT, BAKE, stage("x", "hand", alongside="bakes")),
            "runs alongside “bakes”, which does not come before it; perhaps “bake” is meant",
        ),
        (
            (LOOK, stage("x", "hand", alongside="look")),
            "runs alongside “look”, where no hands are free; choose a flash, lamp or cool stage",
        ),
        (
            (COAT, FLASH, BAKE, stage("x", "hand", alongside="flash")),
            "runs alongside “flash” but does not follow it; move it there",
        ),
        (
            (stage("c", "coat", no_return=True), stage("x", "hand", may_wait_min=5)),
            "stage “x” may wait after “c”, the point of no return; remove may_wait_min",
        ),
        (
            (stage("c", "coat", no_return=True), stage("x", "hand", safe_stop=True)),
            "stage “x” may be left after “c”, the point of no return; remove safe_stop",
        ),
    ],
)
def test_stages_that_contradict_each_other_are_refused(stages, told):
    """Each is refused with the stage, what is wrong and the mend."""
    refused(told, *stages)


def test_all_that_is_wrong_with_the_order_is_told_at_once():
    """Two stages that are wrong are both told."""
    with pytest.raises(ValidationError) as error:
        process(FLASH, COAT, stage("x", "hand", alongside="look"))
    assert "stage “flash” comes before" in str(error.value)
    assert "stage “x” runs alongside" in str(error.value)


@pytest.mark.parametrize(
    ("roles", "told"),
    [
        ({}, "stage “clear” uses the sheet role “clear”; add it to [sheets]"),
        ({"claer": "c"}, "uses the sheet role “clear”; perhaps “claer” is meant"),
        ({"clear": "c", "base": "b"}, "is used by no stage; remove it"),
    ],
)
def test_roles_and_stages_go_together(roles, told):
    """A role that is used is named in [sheets], and one that is named is used."""
    with pytest.raises(ValidationError) as error:
        Process(id="p", name="P", sheets=roles, stages=(COAT,))
    assert told in str(error.value)


def test_a_process_has_stages():
    """One at least."""
    with pytest.raises(ValidationError, match="at least 1 item"):
        Process(id="p", name="P", sheets={}, stages=())


def test_waiting_and_leaving_are_free_again_once_baked():
    """The lamp ends the commitment, and work alongside the lamp or the flash is no waiting."""
    found = process(
        stage("c", "coat", no_return=True),
        FLASH,
        stage("mix", "hand", alongside="flash"),
        BAKE,
        stage("tidy", "hand", alongside="bake"),
        stage("pack", "hand", alongside="bake"),
        stage("cool", "cool", safe_stop=True),
        stage("polish", "hand", may_wait_min=60, within_min=60, safe_stop=True, hard=True),
    )
    assert [s.id for s in found.stages if s.safe_stop] == ["cool", "polish"]


@pytest.mark.parametrize(
    ("made", "names"),
    [
        (LOOK, ("look",)),
        (stage("c", "coat"), ("c",)),
        (COAT, ("clear", "clear-1", "clear-2", "clear-1-flash")),
        (BAKE, ("bake", "bake-dust-free", "bake-rain-safe", "bake-workable")),
        (WARM, ("warm",)),
    ],
)
def test_the_names_a_stage_can_have_in_a_plan(made, names):
    """Coats are counted, air-drying has its goals."""
    assert made.compiled_ids == names


def test_metal_is_warmed_before_a_coat_with_a_tack_in_between():
    """Hand work alongside the lamp does not count, nor does a wait before it."""
    mix = stage("mix", "hand", minutes=9, alongside="warm")
    wash = stage("wash", "hand", may_wait_min=30)
    found = process(LOOK, wash, WARM, mix, TACK, COAT, FLASH, BAKE, COOL)
    assert [s.bakes for s in found.stages if s.kind == "lamp"] == [False, True]


def test_paint_cools_in_two_steps():
    """To be unmasked while it is warm, and to be polished when it is not."""
    last = stage("cold", "cool", minutes=1, cool_to_c=30)
    assert len(process(COAT, FLASH, BAKE, COOL, LOOK, last).stages) == 6
    refused("“cold” cools what no lamp has heated", COAT, FLASH, BAKE, COOL, TACK, COAT2, last)
