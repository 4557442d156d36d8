"""A job under way: where it is by what was noted, and what is left of it."""

import datetime as dt

import pytest
from page import story_world

from sprayadvisor.advice import under_way
from sprayadvisor.advice.caps import LATE
from sprayadvisor.advice.day import clashes
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import Word
from sprayadvisor.demo import story
from sprayadvisor.services.ports import JobForm

DAY = "2026-04-16"


def at(clock):
    """Return a time of the story's first day."""
    return dt.datetime.fromisoformat(f"{DAY}T{clock}:00+01:00")


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """The story with its first job alone. Its clock is moved by ``left``."""
    folder = tmp_path_factory.mktemp("under_way")
    with story_world(folder, booked=story.BOOKINGS[:1]) as services:
        yield services


def left(services, noted, noted_at, now):
    """Return what is said of the job at ``now`` where one stage was noted before."""
    from dataclasses import replace

    process = services.catalogue.processes["bumper-corner"]
    ids = [stage.id for stage in process.stages]
    report = under_way.Report(tuple(ids[ids.index(noted) :]), at(noted_at))
    briefs = replace(services.briefs, now=lambda: at(now), report=lambda _: report)
    return briefs.make(at(now).date(), Moment.MORNING)


@pytest.mark.parametrize(
    ("noted", "noted_at", "now", "stage", "due"),
    [
        ("promoter", "09:50", "09:51", "adhesion promoter", False),
        ("promoter", "09:50", "09:55", "adhesion promoter flashes", False),
        # The next product was not noted, so it is what comes next.
        ("promoter", "09:50", "10:30", "primer, coat 1", True),
        ("base", "11:20", "11:50", "flash to an even matt", False),
        ("base", "11:20", "12:10", "clear, coat 1", True),
        # The edge is blended with the gun in hand: nobody notes that.
        ("clear", "12:05", "12:30", "lamp on the clear", False),
        ("clear", "12:05", "17:00", "last look, photos, aftercare", False),
        # Hand work beside a bake: he is at the bake.
        ("mask-paint", "10:50", "10:51", "lamp on the primer", False),
    ],
)
def test_it_is_where_was_noted_or_as_much_further_on_as_goes_by_itself(
    world, noted, noted_at, now, stage, due
):
    """The stage at hand, judged from there; never unknown because the arrival is past."""
    (entry,) = left(world, noted, noted_at, now).entries
    assert (entry.under_way.stage, entry.under_way.due) == (stage, due)
    assert entry.judgement.plan.stages[0].name == stage
    assert entry.judgement.word is not Word.UNKNOWN
    assert entry.chart.stages[-1].end > at(now)


def test_a_coat_that_should_have_begun_long_ago_is_a_no(world):
    """The promoter takes primer for 45 minutes by its sheet; an hour on nothing else is said."""
    entry = left(world, "promoter", "09:50", "10:50").entries[0]
    assert entry.under_way.by == at("10:37")
    assert (entry.judgement.word, entry.judgement.why) == (Word.NO_GO, LATE)
    early = left(world, "promoter", "09:50", "10:30").entries[0]
    assert early.judgement.why == ""


def test_without_a_note_the_same_job_is_not_judged_at_that_time(world):
    """What the note is for: then the agreed arrival is past and nobody came."""
    from dataclasses import replace

    briefs = replace(world.briefs, now=lambda: at("10:30"), report=lambda _: None)
    (entry,) = briefs.make(at("10:30").date(), Moment.MORNING).entries
    assert (entry.judgement.word, entry.under_way) == (Word.UNKNOWN, None)


def test_with_the_base_open_there_is_no_way_back_from_now_to_the_end_of_the_bake(world):
    """And the coats to come are no go on a forecast alone, however good it is."""
    (entry,) = left(world, "base", "11:20", "11:50").entries
    begin, end = entry.commitment
    assert begin <= at("11:50") < end
    bake = next(bar for bar in entry.chart.stages if bar.kind == "lamp")
    assert end == bake.end
    assert entry.judgement.word is Word.CARE


def test_a_coat_that_was_not_read_is_never_a_go(world, monkeypatch):
    """The most a forecast can say once the base is on."""
    real = under_way.judge_from
    from dataclasses import replace

    monkeypatch.setattr(
        under_way, "judge_from", lambda *g: (replace((f := real(*g))[0], word=Word.GO), f[1])
    )
    (entry,) = left(world, "base", "11:20", "11:50").entries
    assert (entry.judgement.word, entry.judgement.reserved) == (Word.CARE, (under_way.UNREAD,))


def test_what_follows_the_bake_is_shown_only_where_it_fits_too(world, monkeypatch):
    """Polishing in the dark is another day's work, and no reason against the clear."""
    from dataclasses import replace

    real = under_way._judged

    def dark_after_the_bake(*given):
        found = real(*given)
        return replace(found, word=Word.NO_GO) if given[-1] == len(given[1].stages) else found

    monkeypatch.setattr(under_way, "_judged", dark_after_the_bake)
    (entry,) = left(world, "base", "11:20", "11:50").entries
    assert entry.judgement.word is Word.CARE
    assert entry.judgement.plan.stages[-1].name == "lamp on the clear"


def test_nothing_left_is_told_as_that(world):
    """A stage that this plan has no more of, with all that follow it."""
    from dataclasses import replace

    report = under_way.Report(("gone",), at("11:00"))
    briefs = replace(world.briefs, now=lambda: at("11:10"), report=lambda _: report)
    (entry,) = briefs.make(at("11:10").date(), Moment.MORNING).entries
    assert entry.judgement.why == under_way.ALL_DONE
    assert entry.under_way is None


def test_two_pack_indoors_is_not_judged_under_way_either(tmp_path):
    """Whatever was noted."""
    with story_world(tmp_path, booked=story.BOOKINGS[:1]) as services:
        services.bookings.change("A1", JobForm(cover="indoors"))
        (entry,) = left(services, "base", "11:20", "11:50").entries
    assert entry.judgement.word is Word.NOT_JUDGED


def test_a_job_under_way_is_neither_offered_another_day_nor_late(tmp_path):
    """Its customer has the van at the door."""
    from dataclasses import replace

    with story_world(tmp_path, booked=story.BOOKINGS[:1]) as services:
        brief = left(services, "base", "11:20", "11:50")
        no = left(services, "clear", "14:29", "14:30")
    (entry,) = brief.entries
    twice = (entry, replace(entry, under_way=None))
    assert [clash.second_ref for clash in clashes(twice)] == ["A1"]
    assert clashes(tuple(reversed(twice))) == ()
    assert no.entries[0].judgement.word is Word.NO_GO
    assert (no.ring, no.heads_up) == ((), ())
