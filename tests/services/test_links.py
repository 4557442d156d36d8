"""Links that open one day or one job."""

from datetime import date, timedelta

import pytest

from sprayadvisor.errors import StoreError
from sprayadvisor.render.html import NO_LINKS
from sprayadvisor.services.links import LASTS, Links, Opens

DAY = date(2026, 4, 16)


class Plain:
    """Signs nothing, but tells the purposes apart."""

    def __init__(self):
        self.fault = None
        self.longest = None

    def sign(self, purpose, value):
        if self.fault:
            raise self.fault
        return f"{purpose}:{'|'.join(value)}"

    def read(self, purpose, text, longest):
        self.longest = longest
        mark, _, rest = text.partition(":")
        return rest.split("|") if mark == purpose else None


@pytest.mark.parametrize("opens", [Opens(DAY), Opens(DAY, "A1")])
def test_a_link_opens_what_it_was_made_for(opens):
    """Day and job come back; it lasts a week."""
    signer = Plain()
    links = Links(signer, "https://jobs.example.org")
    address = links.to(opens)
    assert address.startswith("https://jobs.example.org/v/")
    assert links.read(address.removeprefix("https://jobs.example.org/v/")) == opens
    assert signer.longest == LASTS == timedelta(days=7)


@pytest.mark.parametrize("token", ["", "login:2026-04-16|", "link:2026-04-16", "link:a|b|c"])
def test_what_is_no_link_opens_nothing(token):
    """Of another purpose or another shape."""
    assert Links(Plain()).read(token) is None


def test_without_an_address_there_are_none():
    """The page is not reached from outside."""
    links = Links(Plain())
    assert links.to(Opens(DAY)) == ""
    assert links.mail(DAY, ["A1"]) is NO_LINKS


def test_a_mail_gets_one_for_the_day_and_one_for_each_job():
    """By reference."""
    made = Links(Plain(), "https://x").mail(DAY, ["A1", "A2"])
    assert made.day == "https://x/v/link:2026-04-16|"
    assert dict(made.jobs) == {
        "A1": "https://x/v/link:2026-04-16|A1",
        "A2": "https://x/v/link:2026-04-16|A2",
    }


def test_a_key_that_cannot_be_read_costs_the_links_and_not_the_mail(caplog):
    """The reason is in the log."""
    signer = Plain()
    signer.fault = StoreError("web.keys cannot be read; mend it.")
    assert Links(signer, "https://x").mail(DAY, ["A1"]) is NO_LINKS
    assert "A mail goes without its links. web.keys cannot be read" in caplog.text
