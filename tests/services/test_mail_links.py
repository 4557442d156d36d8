"""Links in mails: where they stand, what header goes with them, and that none is there without."""

import email
from email import policy

import pytest
from page import PASSPHRASE, page_of, story_world

from sprayadvisor.demo import story

EVENING = "2026-04-15T18:00:00+01:00"
PUBLIC = "https://jobs.example.org"
SENDER = "briefs@example.org"


def mail(tmp_path, **settings):
    """Return the evening brief as it leaves, and the services."""
    with story_world(tmp_path, now=EVENING, booked=story.BOOKINGS[1:3], **settings) as services:
        services.clock.tick()
        (path,) = (tmp_path / "mail").glob("*.eml")
        message = email.message_from_bytes(path.read_bytes(), policy=policy.default)
        text, page = (message.get_body((kind,)).get_content() for kind in ("plain", "html"))
        yield message, text, page, services


def test_each_brief_opens_its_day_and_its_jobs(tmp_path):
    """Text and HTML carry the same links, and they open what they say, without a login."""
    settings = {"WEB__ADDRESS": PUBLIC, "WEB__PASSPHRASE": PASSPHRASE, "MAIL__SENDER": SENDER}
    for message, text, page, services in mail(tmp_path, **settings):
        found = [line for line in text.splitlines() if line.startswith(PUBLIC)]
        assert len(found) == 3  # the day and two jobs
        assert all(f'href="{address}"' in page for address in found)
        assert message["List-Unsubscribe"] == f"<mailto:{SENDER}?subject=stop>"
        assert "List-Unsubscribe-Post" not in message
        client = page_of(services, PUBLIC)
        for address, words in zip(
            found, ("Thursday 16 April", "A2, Rope Walk", "A3, Slip"), strict=True
        ):
            assert words in client.get(address).text


@pytest.mark.parametrize(
    ("settings", "header"),
    [({}, False), ({"MAIL__SENDER": SENDER}, False),
     ({"WEB__ADDRESS": "http://127.0.0.1:8420"}, False),
     ({"WEB__ADDRESS": "http://127.0.0.1:8420", "MAIL__SENDER": SENDER}, True)],
)  # fmt: skip
def test_without_an_address_there_is_no_link_and_without_a_sender_no_header(
    tmp_path, settings, header
):
    """Nothing is promised that leads nowhere."""
    for message, text, page, _ in mail(tmp_path, **settings):
        linked = "WEB__ADDRESS" in settings
        assert ("/v/" in text) is ("/v/" in page) is linked
        assert ("List-Unsubscribe" in message) is header
