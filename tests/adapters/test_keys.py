"""Keys in a file, and what is signed with them."""

import stat
from datetime import timedelta

import pytest
from clockwork import Time, utc

from sprayadvisor.adapters.keys import KEPT, KeyFile
from sprayadvisor.adapters.signing import TimedSigner
from sprayadvisor.errors import StoreError

WEEK = timedelta(days=7)


@pytest.fixture
def keys(tmp_path):
    """Keys in a file that is not there yet."""
    return KeyFile(tmp_path / "data" / "web.keys")


def test_the_first_key_is_made_when_it_is_needed_and_is_for_the_owner_alone(keys):
    """A file of mode 0600 with one long key, the same ever after."""
    (key,) = keys.keys()
    assert len(key) >= 43  # 256 bits
    assert stat.S_IMODE(keys.path.stat().st_mode) == 0o600
    assert keys.keys() == KeyFile(keys.path).keys() == (key,)


def test_a_new_key_signs_and_a_few_old_ones_are_known(keys):
    """Rotation keeps the newest; revoking keeps none; another process sees it at once."""
    (first,) = keys.keys()
    other = KeyFile(keys.path)
    assert other.keys() == (first,)
    for _ in range(KEPT):
        keys.renew(revoke=False)
    known = other.keys()
    assert len(known) == KEPT
    assert first not in known
    keys.renew(revoke=True)
    assert len(other.keys()) == 1
    assert other.keys() == keys.keys()


def test_a_new_key_can_be_the_first(keys):
    """Before anything was signed."""
    keys.renew(revoke=False)
    assert len(keys.keys()) == 1


@pytest.mark.parametrize("content", [b"", b"\n", b"short\n", b"\xff\xfe", b"x" * 40 + b"\nshort\n"])
def test_a_file_that_holds_no_keys_is_named_with_the_mend(keys, content):
    """Never an empty key, with which anybody could sign."""
    keys.path.parent.mkdir()
    keys.path.write_bytes(content)
    with pytest.raises(StoreError, match=r"web.keys .*; make new ones with .* --revoke"):
        keys.keys()
    keys.renew(revoke=True)
    assert len(keys.keys()) == 1


def test_a_folder_in_the_way_is_told(tmp_path):
    """The file cannot be read."""
    (tmp_path / "web.keys").mkdir()
    with pytest.raises(StoreError, match=r"web.keys cannot be read"):
        KeyFile(tmp_path / "web.keys").keys()


@pytest.fixture
def signer(keys):
    """A signer whose clock can be set."""
    return TimedSigner(keys.keys, Time(utc("16 06:30")))


def test_what_was_signed_is_read_again_for_its_purpose_and_time(signer):
    """And for no other."""
    text = signer.sign("link", ["2026-04-16", "A1"])
    assert signer.read("link", text, WEEK) == ["2026-04-16", "A1"]
    assert signer.read("login", text, WEEK) is None
    signer.now.on(days=7)
    assert signer.read("link", text, WEEK) == ["2026-04-16", "A1"]
    signer.now.on(seconds=1)
    assert signer.read("link", text, WEEK) is None


def test_a_time_to_come_is_not_believed(signer):
    """A clock set back: nothing signed later is good yet."""
    text = signer.sign("link", [])
    signer.now.on(hours=-1)
    assert signer.read("link", text, WEEK) is None


def test_every_single_changed_letter_spoils_it(signer):
    """All places of value, time and signature, save bits that base64 does not use."""
    text = signer.sign("link", ["2026-04-16", "A1"])
    for at in range(len(text) - 1):
        other = "A" if text[at] != "A" else "B"
        assert signer.read("link", text[:at] + other + text[at + 1 :], WEEK) is None


@pytest.mark.parametrize("value", ["text", {"a": 1}, [1, 2], None])
def test_a_signed_value_of_another_shape_is_none(signer, value):
    """Only lists of words are values."""
    assert signer.read("link", signer.sign("link", value), WEEK) is None


def test_the_signature_is_hmac_by_sha_256_of_the_standard_library(signer, keys):
    """RFC 2104 with SHA-256 by Python's hmac; the key derived as itsdangerous documents it."""
    import base64
    import hashlib
    import hmac

    body, _, signature = signer.sign("link", []).rpartition(".")
    key = hashlib.sha256(b"link" + b"signer" + keys.keys()[-1].encode()).digest()
    expected = hmac.new(key, body.encode(), hashlib.sha256).digest()
    assert base64.urlsafe_b64decode(signature + "=") == expected
