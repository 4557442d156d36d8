"""Files are written whole or not at all."""

import os

import pytest

from sprayadvisor.adapters.whole_files import write_whole
from sprayadvisor.errors import StoreError


def test_a_file_is_written_with_its_folder(tmp_path):
    """Folders that are not there are made."""
    path = tmp_path / "a" / "b" / "c.eml"
    write_whole(path, b"words")
    assert path.read_bytes() == b"words"
    assert list(path.parent.iterdir()) == [path]


def test_folders_and_files_that_are_made_are_their_owner_s(tmp_path):
    """As the XDG Base Directory Specification 0.8 has it; what was there stays as it is."""
    tmp_path.chmod(0o755)
    write_whole(tmp_path / "a" / "b" / "c.eml", b"words")
    modes = [(tmp_path / name).stat().st_mode & 0o777 for name in (".", "a", "a/b", "a/b/c.eml")]
    assert modes == [0o755, 0o700, 0o700, 0o600]


def test_a_file_is_replaced_whole(tmp_path):
    """An older file gives way."""
    path = tmp_path / "c.eml"
    write_whole(path, b"old")
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_path_below_a_file_is_refused(tmp_path):
    """A folder that cannot be one is named."""
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StoreError, match=r"file cannot be written to .*choose another folder"):
        write_whole(tmp_path / "file" / "c.eml", b"words")


@pytest.mark.parametrize("broken", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch, broken):
    """When the disk is full half way, the old file stays and nothing else does."""
    path = tmp_path / "c.eml"
    write_whole(path, b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    target = os if broken == "fsync" else type(path)
    monkeypatch.setattr(target, broken, full)
    with pytest.raises(StoreError, match=r"no space left on device\); free some space"):
        write_whole(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
