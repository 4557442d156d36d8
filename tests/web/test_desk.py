"""What a page is given: forms that act once, a sentence shown once, buttons and bars."""

import threading
import time
import types
from typing import Annotated

import pytest
from fastapi import APIRouter, Form
from page import browser, story_world

from sprayadvisor.errors import InputError
from sprayadvisor.web import app as web_app
from sprayadvisor.web.desk import JobLink, Nav, Once, Page, Wanted


@pytest.fixture
def acted():
    """What the page below did."""
    return []


@pytest.fixture
def client(tmp_path, monkeypatch, acted):
    """The page with another one added, as a module of ``web/pages`` would be."""
    router = APIRouter()

    @router.post("/trial")
    def trial(desk: Wanted, once: Annotated[str, Form()] = "", word: Annotated[str, Form()] = ""):
        def act():
            acted.append(word)
            if word == "bad":
                raise InputError("word is bad; write another.")
            return f"/nothing?{len(acted)}"

        return desk.once(once, act, said=f"“{word}” <b>is kept.")

    module = types.SimpleNamespace(
        router=router,
        PAGE=Page(
            nav=Nav("Trial", "/trial", 5),
            job_links=(
                JobLink("Try", "/trial/{ref}", loud=True),
                JobLink("Record", "/r/{ref}", ended=True),
            ),
        ),
    )
    usual = web_app._pages()
    monkeypatch.setattr(web_app, "_pages", lambda: [*usual, module])
    from sprayadvisor.demo import story

    with story_world(tmp_path, booked=story.BOOKINGS[:1]) as services:
        yield browser(web_app.create_app(services))
        services.bookings.cancel("A1")


def send(client, **form):
    """Send the form and stay."""
    return client.post("/trial", data=form, follow_redirects=False)


def test_a_form_sent_twice_acts_once(client, acted):
    """The second answer leads where the first one did; another form acts again."""
    first, second = send(client, once="t1", word="a"), send(client, once="t1", word="a")
    assert acted == ["a"]
    assert first.status_code == second.status_code == 303
    assert first.headers["location"] == second.headers["location"] == "/nothing?1"
    send(client, once="t2", word="b")
    send(client, word="c")
    send(client, word="c")
    assert acted == ["a", "b", "c", "c"]


def test_a_form_that_failed_may_be_sent_again(client, acted):
    """Nothing was recorded, so nothing is remembered."""
    for _ in range(2):
        answer = client.post("/trial", data={"once": "t1", "word": "bad"})
        assert answer.status_code == 422
        assert "word is bad; write another." in answer.text
    assert acted == ["bad", "bad"]


def test_a_sentence_is_shown_once_and_cannot_be_forged(client):
    """By the next page, as text; a cookie of somebody else's making says nothing."""
    send(client, once="t1", word="a")
    assert "“a” &lt;b&gt;is kept." in client.get("/").text
    assert "is kept." not in client.get("/").text
    client.cookies.set("said", "W10.forged.words")
    assert 'role="status">W10' not in client.get("/").text


def test_bar_and_buttons_come_from_the_module(client):
    """In their order; a button takes the job's reference along."""
    text = client.get("/job/A1").text
    assert text.index(">Trial</a>") < text.index(">Today</a>")
    assert '<a class="button" href="/trial/A1">Try</a>' in text
    assert '<a class="button quiet" href="/r/A1">Record</a>' in text


def test_two_at_once_act_once_and_old_tokens_are_let_go_of(monkeypatch):
    """The second waits for the first; memory is bounded."""
    once, acted = Once(), []

    def slow():
        time.sleep(0.05)  # in which all the others come
        acted.append(1)
        return "/x"

    threads = [threading.Thread(target=once.act, args=("t", slow)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(2)
    assert acted == [1]
    for number in range(1100):
        once.act(f"n{number}", lambda: "/y")
    assert len(once._locks) == 1000
