"""``sprayadvisor web new-key``."""

from typer.testing import CliRunner

from sprayadvisor.cli import _app


def test_a_new_key_is_made_and_revoking_says_what_ended(tmp_path, monkeypatch):
    """The file grows by a key, or holds one alone."""
    monkeypatch.setenv("SPRAYADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    for options, count, words in (
        ([], 1, "from now on."),
        ([], 2, "from now on."),
        (["--revoke"], 1, "Every login and every link made before has ended."),
    ):
        done = CliRunner().invoke(_app, ["web", "new-key", *options])
        assert (done.exit_code, done.output.strip().endswith(words)) == (0, True)
        assert len((tmp_path / "web.keys").read_text().split()) == count
    assert not (tmp_path / "sprayadvisor.db").exists()
