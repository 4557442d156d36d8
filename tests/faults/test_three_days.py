"""Three days over the true path among random faults: each brief once, or a note why not."""

from three_days_world import JOBS, KINDS, three_days


def test_three_days_among_faults(tmp_path):
    """Forecast and mail faults, restarts, deaths, locks, sleep and a clock that is set."""
    counts = three_days(tmp_path, seed=1, jobs=JOBS[1:2])  # the script has a job each day
    print(counts)  # noqa: T201 - shown when asked for
    assert counts.wrong == ()
    assert counts.lost == 0
    assert counts.doubled <= counts.doubts
    assert counts.due >= 10
    assert all(counts.faults[kind] for kind in KINDS)
