"""Delivery as a process of its own, made to be killed: puts in what is due and sends it.

    python killed.py <how many briefs are due> send|drain [early]

It says "ready" once it begins. With ``drain`` it ends when nothing waits any more. With ``early``
it has the fault that must not be: a mail is marked as sent before the server has it.
"""

import sys
import time
from datetime import UTC, date, datetime, timedelta

from sprayadvisor.adapters.store.outbox import SqlOutbox
from sprayadvisor.advice.brief import Brief
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.policy import Moment
from sprayadvisor.bootstrap import build
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import load_settings

RECIPIENT = "anna@example.org"
FIRST_DAY = date(2090, 1, 1)  # none of them becomes useless meanwhile
WAITING = (Sending.READY, Sending.SENDING)


class MarksEarly(SqlOutbox):
    """An outbox with the fault."""

    def claim(self, at, until, *, useless_only=False):
        """Take up a message and call it sent."""
        claim = super().claim(at, until, useless_only=useless_only)
        if claim is not None:
            super().close(claim, Sending.SENT, at)
        return claim

    def close(self, *_given):
        """It is closed already."""
        return True


def due_keys(number):
    """Return the keys of so many briefs."""
    days = [FIRST_DAY + timedelta(days=n) for n in range(number)]
    return [Key(RECIPIENT, Moment.MORNING.value, day.isoformat()) for day in days]


def main(number, how, *faults):
    """Do what a tick does, again and again."""
    services = build(load_settings())
    delivery = services.delivery
    if "early" in faults:
        delivery.outbox = MarksEarly(services.engine, services.outbox.worker)
    print("ready", flush=True)  # noqa: T201 - this is how the other side knows
    while True:
        known = delivery.known(due_keys(number))
        for key in [key for key in due_keys(number) if key not in known]:
            day = date.fromisoformat(key.subject)
            made_at = datetime(2026, 4, 17, 5, 30, tzinfo=UTC)
            delivery.put(Brief(Moment.MORNING, day, made_at, "UTC", "", ()), key.recipient)
            delivery.send()
        delivery.send()
        if how == "drain" and not any(one.state in WAITING for one in delivery.outbox.ledger()):
            return services.close()
        time.sleep(0.01)


if __name__ == "__main__":
    main(int(sys.argv[1]), *sys.argv[2:])
