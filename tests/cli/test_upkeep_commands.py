"""``backup`` and ``purge``."""

import pytest
from typer.testing import CliRunner

from sprayadvisor.cli import _app


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    """A database of the test's own."""
    monkeypatch.setenv("SPRAYADVISOR_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("SPRAYADVISOR_NOW", "2026-04-16T18:00:00+01:00")


def test_backup_and_purge_say_what_they_did(tmp_path):
    """One sentence each."""
    done = CliRunner().invoke(_app, ["backup", str(tmp_path / "copy.db")])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "copy.db").stat().st_size > 0
    done = CliRunner().invoke(_app, ["purge", "--older-than-days", "30"])
    assert done.stdout == "Forgot the customers of 0 jobs and 0 old weather answers.\n"
