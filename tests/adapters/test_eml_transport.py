"""Mails as files: each whole, under a name of its own, and the same again for the same mail."""

from dataclasses import replace

import pytest
from outgoing import ANNA, BEN, key, outgoing

from sprayadvisor.adapters.eml_transport import EmlTransport, file_name
from sprayadvisor.errors import DeliveryError
from sprayadvisor.services.ports.outbox import Transport


def test_a_mail_is_a_file(tmp_path):
    """The folder is made; the name says what it is and not whose."""
    way: Transport = EmlTransport(tmp_path / "mail")
    way.send(outgoing())
    (path,) = (tmp_path / "mail").iterdir()
    assert path.read_bytes() == outgoing().message
    assert path.name.startswith("2026-04-17-morning-")
    assert "anna" not in path.name


def test_the_same_mail_again_is_the_same_file(tmp_path):
    """So a doubt leaves no double."""
    for _ in range(2):
        EmlTransport(tmp_path).send(outgoing())
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize(
    "other",
    [
        outgoing(key(recipient=BEN)),
        outgoing(key(kind="evening")),
        outgoing(key(subject="2026-04 17")),
        replace(outgoing(), message_id="<another@example.org>"),
    ],
)
def test_another_mail_never_takes_its_place(other):
    """Not even one that reads alike, or one of an earlier database under the same key."""
    assert outgoing().key.recipient == ANNA
    assert file_name(other) != file_name(outgoing())


def test_a_reference_cannot_leave_the_folder():
    """A job may be called anything."""
    assert "/" not in file_name(outgoing(key(subject="../../etc/x 2026-04-17 1", kind="change")))


def test_a_folder_that_cannot_be_written_is_a_sentence(tmp_path):
    """It passes once somebody frees some space, and it is the same for every mail."""
    (tmp_path / "mail").write_text("a file where the folder should be")
    with pytest.raises(
        DeliveryError, match=r"mail cannot be written to .*; free some space"
    ) as caught:
        EmlTransport(tmp_path / "mail").send(outgoing())
    assert (caught.value.permanent, caught.value.for_all) == (False, True)
