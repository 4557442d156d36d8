"""Who stands at the car goes first."""

import threading

import pytest

from sprayadvisor.services import courtesy
from sprayadvisor.services.courtesy import Courtesy


def test_nobody_waiting_holds_nobody_up():
    """Without anything urgent giving way is nothing."""
    Courtesy().give_way()


def test_the_background_waits_until_the_last_answer_is_there():
    """Two ask; only when both have their answer does the work go on."""
    who, went_on = Courtesy(), threading.Event()

    def background():
        who.give_way()
        went_on.set()

    first, second = who.urgent(), threading.Event()
    with first:
        asker = threading.Thread(target=lambda: _ask(who, second))
        asker.start()
        worker = threading.Thread(target=background)
        worker.start()
        assert not went_on.wait(0.05)
    second.set()
    asker.join()
    worker.join()
    assert went_on.is_set()


def _ask(who, may_end):
    with who.urgent():
        may_end.wait(5)


def test_answers_come_one_after_the_other():
    """Never two at once."""
    who, inside, most = Courtesy(), [], []

    def answer():
        with who.urgent():
            inside.append(1)
            most.append(len(inside))
            inside.pop()

    askers = [threading.Thread(target=answer) for _ in range(8)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    assert most == [1] * 8


def test_the_background_does_not_wait_for_ever(monkeypatch):
    """It goes on after a while; and an answer that fails holds nobody up."""
    monkeypatch.setattr(courtesy, "LONGEST_S", 0.01)
    who = Courtesy()
    with who.urgent():
        who.give_way()
    with pytest.raises(ZeroDivisionError), who.urgent():
        raise ZeroDivisionError
    monkeypatch.setattr(courtesy, "LONGEST_S", 60)
    who.give_way()
