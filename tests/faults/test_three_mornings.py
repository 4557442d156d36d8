"""The script that measures the load still runs, and what it sends is what it is there to send."""

import logging

import three_mornings


def test_a_morning_of_few(monkeypatch, capsys):
    """Three recipients, one morning: three mails, each job judged, no doubt."""
    monkeypatch.setattr(three_mornings, "MORNINGS", 1)
    before = logging.root.manager.disable
    try:
        three_mornings.main("recipients", "3")
    finally:
        logging.disable(before)
    shown = capsys.readouterr().out
    assert "morning 1: 3 mails" in shown
    assert "0 with a job unknown" in shown
    assert "ledger: 3 lines, 3 sent, 0 doubts" in shown
