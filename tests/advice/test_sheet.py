"""Product data sheets: what they must say, and what they may not."""

import math

import pytest
from paint import GONE, SHEET, changed, sheet
from pydantic import ValidationError

from sprayadvisor.advice.sheet import Origin, Sheet
from sprayadvisor.advice.sheet_mixing import Choice

NUMBERS = ["limits.rh_pct.inside_max", "flash.between_min", "coats.least", "cure.stall_temp_c"]


def test_the_sheet_the_others_are_changed_from_is_good():
    """Nothing is wrong with it, so that each test below refuses what it changes."""
    assert sheet().limits["gust_ms"].stop_max is None
    assert sheet(lamp=GONE, limits__wind_ms=GONE).lamp is None
    assert sheet(pot_life={"at_20_c_min": 25, "at_30_c_min": 25, "page": 1}).pot_life is not None


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        ("limits.rh_pct.inside_max", 95, "inside_max lies above stop_max; the stop must be"),
        ("limits.panel_temp_c.stop_min", 11, "stop_min lies above inside_min; the stop must"),
        ("limits.panel_temp_c.inside_min", 25, "the lowest allowed value is not below the high"),
        ("limits.gust_ms.inside_max", GONE, "has no bound; give inside_min, inside_max, stop"),
        ("limits.panel_temp_c.stop_max", 121, "is 121; it must lie between -40 and 120 °C"),
        ("limits.rh_pct.stop_max", 101, "is 101; it must lie between 0 and 100 %"),
        ("limits.dew_margin_k", GONE, "is missing; add it; no verdict without it"),
        ("limits.rh_pct", {"inside_min": 35, "page": 1}, "has neither inside_max nor stop_max"),
        ("limits.dew_margin_k", {"stop_max": 9, "page": 1}, "has neither inside_min nor stop_min"),
        ("limits.humidity", {"stop_max": 9, "page": 1}, "is not known; use one of panel_temp_c"),
        ("limits.wind_m", {"stop_max": 9, "page": 1}, "is not known; perhaps “wind_ms” is meant"),
        ("limits.rh_pct.page", 0, "greater than or equal to 1"),
        ("limits.rh_pct.page", GONE, "Field required"),
        ("flash.latest_min", 6, "latest_min is not longer than before_next_min; nothing could"),
        ("flash.quickest_share", 0, "greater than 0"),
        ("flash.between_min", -4, "greater than 0"),
        ("cure.rain_safe_min", 9, "times run backwards; dust_free_min, rain_safe_min"),
        ("cure.workable_min", 29, "times run backwards"),
        ("cure.stall_temp_c", 20, "stall_temp_c is not below reference_temp_c; it would never"),
        ("cure", GONE, "is missing; add it; without it a clear never gets dust-free"),
        ("lamp.metal_temp_c", 71, "metal_temp_c lies above most_temp_c; the bake would harm"),
        ("lamp.plastic_temp_c", 55, "needs both plastic_bake_min and plastic_temp_c; give both"),
        ("lamp.plastic_bake_min", 14, "needs both plastic_bake_min and plastic_temp_c; give both"),
        ("lamp.flash_first_min", 12, "is not shorter than flash.latest_min; nothing could be"),
        ("coats.most", 0, "greater than or equal to 1"),
        ("coats.least", 4, "least is more than most; swap them"),
        ("pot_life", {"at_20_c_min": 10, "at_30_c_min": 20, "page": 1}, "at_30_c_min is longer"),
        ("flash.blower_between_min", 5, "blower_between_min is longer than between_min; swap"),
        ("flash.blower_before_next_min", 7, "blower_before_next_min is longer than before_next"),
        ("flash.blower_between_min", 2, "does not go with a solvent-borne product; remove it"),
        ("edge", {"within_min": 3, "page": 1}, "does not go with a clear; remove it"),
        ("edge", {"within_min": 3, "hot_from_c": 28, "page": 1}, "give both or neither"),
        (
            "edge",
            {"within_min": 3, "hot_within_min": 4, "hot_from_c": 28, "page": 1},
            "hot_within_min is longer than within_min; swap them",
        ),
        ("spread", {"ml_m2_coat": 100, "least_ml": 0, "page": 1}, "greater than 0"),
        ("recoat", {"rekey_after_h": 0, "page": 1}, "greater than 0"),
        ("kind", "polish", "Input should be 'filler'"),
        ("id", "Clear X", "should match pattern"),
        ("name", "two\nlines", "should match pattern"),
        ("name", "", "at least 1 character"),
        ("two_pack", "yes", "valid boolean"),
        ("two_pack", 1, "valid boolean"),
        ("colour", "red", "Extra inputs are not permitted"),
        ("flash.betwen_min", 3, "Extra inputs are not permitted"),
    ],
)
def test_what_cannot_be_is_refused(place, value, told):
    """Each impossible or missing value is refused for what is wrong with it."""
    with pytest.raises(ValidationError) as refused:
        Sheet.model_validate(changed(SHEET, {place: value}))
    assert told in str(refused.value)


@pytest.mark.parametrize("place", NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, "4", True, None, [4], 1e999])
def test_what_is_no_number_is_refused(place, value):
    """Text, truth, lists, NaN and infinity are no numbers, whatever they look like."""
    if value is None and place.startswith("limits"):
        value = "nothing"  # a bound may be left out
    with pytest.raises(ValidationError, match=place.rsplit(".", 1)[-1]):
        Sheet.model_validate(changed(SHEET, {place: value}))


@pytest.mark.parametrize(
    ("bake_min", "temp_c", "told"),
    [
        (14, 55, None),
        (9, 60, None),
        (8, 65, None),  # hotter, so shorter
        (8, 60, "plastic_bake_min is shorter than bake_min though the plastic is no hotter; swap"),
        (14, 71, "plastic_temp_c is 71; plastic bears 70 °C at most"),
    ],
)
def test_a_bake_that_plastic_does_not_bear_is_refused(bake_min, temp_c, told):
    """Plastic is baked no hotter than it bears, and not shorter where it is cooler."""
    lamp = {"lamp__plastic_bake_min": bake_min, "lamp__plastic_temp_c": temp_c}
    if told is None:
        assert sheet(**lamp).lamp.bakes_plastic()
        return
    with pytest.raises(ValidationError, match=told):
        sheet(**lamp)
    if temp_c > 70:  # a lamp for hot metal raises nothing for plastic
        with pytest.raises(ValidationError, match="bears 70 °C"):
            sheet(**lamp, lamp__most_temp_c=90)


def test_a_hot_bake_without_a_word_on_plastic_is_not_for_plastic():
    """Metal may be baked at 80 °C; plastic is not, unless the sheet has a bake for it."""
    hot = {"lamp__metal_temp_c": 80, "lamp__most_temp_c": 90}
    assert not sheet(**hot).lamp.bakes_plastic()
    mild = {"lamp__plastic_bake_min": 20, "lamp__plastic_temp_c": 60}
    assert sheet(**hot, **mild).lamp.bakes_plastic()
    assert sheet().lamp.bakes_plastic()


@pytest.mark.parametrize(
    ("low", "high", "panel_c", "suits"),
    [
        (None, None, 20.0, True),
        (15, 25, 15.0, True),
        (15, 25, 14.9, False),
        (15, 25, 25.0, False),
        (None, 15, -10.0, True),
        (25, None, 60.0, True),
        (None, None, math.nan, False),
    ],
)
def test_which_choice_suits_a_panel(low, high, panel_c, suits):
    """From is included, below is not; what is not known suits nothing."""
    choice = Choice(what="thinner", name="x", from_c=low, below_c=high, page=1)
    assert choice.suits(panel_c) is suits


def test_a_choice_for_no_temperature_is_refused():
    """From must lie below below."""
    with pytest.raises(ValidationError, match="from_c is not below below_c; swap them"):
        Choice(what="hardener", name="x", from_c=20, below_c=20, page=1)


def test_a_table_names_page_and_revision_it_was_read_from():
    """A table's own revision wins over the sheet's."""
    found = sheet(flash__revision="8b", flash__page=3)
    assert str(found.origin(found.flash)) == "Clear X, rev. 8b, p. 3"
    assert str(found.origin(found.coats)) == "Clear X, rev. 7, p. 1"


@pytest.mark.parametrize(
    ("origin", "words"),
    [
        (Origin("process", "Door"), "process “Door”"),
        (Origin("policy"), "your own policy"),
        (Origin("booking"), "the booking"),
        (Origin("site"), "what you said of the site"),
        (Origin("practice"), "common practice"),
    ],
)
def test_every_origin_has_words(origin, words):
    """A verdict can name where a bound comes from."""
    assert str(origin) == words


@pytest.mark.parametrize(
    ("panel_c", "rh_pct", "suits"),
    [(20.0, 50.0, False), (20.0, 39.0, True), (28.0, 80.0, True), (20.0, math.nan, False)],
)
def test_a_choice_may_be_for_dry_air_too(panel_c, rh_pct, suits):
    """Warm enough or dry enough; what is not known speaks for nothing."""
    slow = Choice(what="additive", name="slow", from_c=27, or_drier_than_pct=40, page=1)
    assert slow.suits(panel_c, rh_pct) is suits
