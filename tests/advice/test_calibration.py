"""What is said to be likely comes as often as it is said, if the errors are as large as thought."""

import pytest
from calibration import record

CASES = 500


def test_likelihoods_are_reliable_in_a_world_with_the_errors_they_are_drawn_with():
    """In each of five bins the share that came lies within what chance allows: the plumbing holds.

    This says nothing about real forecasts: their errors are engineering estimates.
    """
    found = record(CASES)
    assert len(found.table()) == 5
    assert found.reliable


def test_with_true_errors_half_as_large_again_sure_things_come_less_often():
    """The likelihoods are then too sure, and the check sees it; figures are in DEVELOPERS.md."""
    found = record(CASES, sigma_times=1.5)
    assert not found.reliable
    surest = found.table()[-1]
    assert surest[2] < surest[1] - 0.05


@pytest.mark.parametrize("wrong", [{"late_h": 30.0}, {"one_truth": True}])
def test_a_wrong_lead_or_seed_is_seen(wrong):
    """Members drawn as if the forecast were new, or one luck for all outcomes, break the check."""
    assert not record(CASES, **wrong).reliable


def test_a_reading_an_hour_before_keeps_it_reliable_and_makes_it_sharper():
    """With the errors of the instruments; the Brier score falls by a tenth of its size at least."""
    blind, seen = record(CASES), record(CASES, read="here")
    assert seen.reliable
    assert seen.brier < 0.9 * blind.brier


def test_a_reading_of_another_place_is_seen():
    """Drawn to weather that is not there, the sure things come less often."""
    elsewhere = record(CASES, read="elsewhere")
    assert not elsewhere.reliable
    assert elsewhere.brier > record(CASES).brier
