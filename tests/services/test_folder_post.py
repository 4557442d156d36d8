"""Messages in a folder: each once, whole and named by what it is; or not there and still due."""

import email
from email import policy

import pytest
from briefs import brief, told
from days import DAY, EVENING, job, outlook

from sprayadvisor.adapters.whole_files import write_whole
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.said import Kind, Notice
from sprayadvisor.errors import StoreError
from sprayadvisor.services.folder_post import FolderPost
from sprayadvisor.units import Display

ANNA, BEN = "anna@example.org", "ben@example.org"
WET = told(job(), outlook(wet_hour_mm=1.0))
MADE = brief(WET, clashes=())
NOTICE = Notice(Kind.WORSE, WET.judgement, None, EVENING, ())
CHANGE = Key(ANNA, "change", "T1 2026-04-16 1")


@pytest.fixture
def post(tmp_path):
    """A post over a folder that is not there yet."""
    return FolderPost(tmp_path / "mail", write_whole, "s@example.org", "Curlew", Display())


def files(post):
    """Return the mails in the folder, parsed."""
    paths = sorted(post.folder.glob("*.eml"))
    return [email.message_from_bytes(path.read_bytes(), policy=policy.default) for path in paths]


def test_a_brief_is_written_once_for_each_recipient(post):
    """Putting it in again changes nothing; the ledger knows it by its key."""
    keys = [Key(who, "evening", str(DAY)) for who in (ANNA, BEN)]
    assert post.known(keys) == set()
    for who in (ANNA, BEN, ANNA):
        post.put(MADE, who)
    assert post.known(keys) == set(keys)
    assert post.known([keys[0]._replace(kind="morning")]) == set()
    assert sorted(mail["To"] for mail in files(post)) == [ANNA, BEN]
    assert len({mail["Message-ID"] for mail in files(post)}) == 2


def test_a_notice_is_written_under_its_key(post):
    """It says what changed."""
    post.put_notice(CHANGE, NOTICE, WET)
    post.put_notice(CHANGE, NOTICE, WET)
    (mail,) = files(post)
    assert mail["Subject"] == "T1, Hazel Court: no-go now"
    assert (mail["To"], mail["From"]) == (ANNA, "s@example.org")
    assert post.known([CHANGE]) == {CHANGE}
    (path,) = post.folder.iterdir()
    assert path.name.startswith("T1-2026-04-16-1-change-")


def test_keys_that_read_alike_are_different_files(post):
    """A reference may hold anything that is not a letter."""
    alike = [CHANGE, CHANGE._replace(subject="T1-2026-04-16 1")]
    for key in alike:
        post.put_notice(key, NOTICE, WET)
    assert len(files(post)) == 2
    assert post.known(alike) == set(alike)


def test_what_cannot_be_written_is_not_in_the_ledger(post):
    """So it is still due once it can be."""
    post.folder.write_text("a file where the folder should be")
    with pytest.raises(StoreError, match="cannot be written to"):
        post.put(MADE, ANNA)
    post.folder.unlink()
    assert post.known([Key(ANNA, "evening", str(DAY))]) == set()
    post.put(MADE, ANNA)
    assert len(files(post)) == 1


def test_nothing_waits_to_be_sent(post):
    """What was put in is where it shall be."""
    post.send(lambda: False)
    assert not post.folder.exists()
