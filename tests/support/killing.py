"""Kill delivery at any instant, start it again, and hold the mailbox against the ledger."""

import os
import random
import subprocess
import sys
import time
from collections import Counter, defaultdict
from email import message_from_bytes
from pathlib import Path
from typing import NamedTuple

from mail_server import HOST, MailServer

from sprayadvisor.bootstrap import build
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import load_settings

ENTRY = Path(__file__).parents[1] / "faults" / "killed.py"
EACH_TIME = 4  # briefs that fall due from one start to the next
LONGEST_S = 0.3  # by then it has sent them all
THINKING_S = 0.005  # a server takes its time, and that is when a kill leaves a doubt


class Counts(NamedTuple):
    """What a trial came to.

    Attributes:
        killed: how often the process was killed.
        due: briefs.
        arrived: mails in the mailbox.
        lost: briefs of which none arrived.
        doubled: mails that were one too many.
        doubts: as the ledger counts them.
        wrong: what may not be, a sentence each.
    """

    killed: int
    due: int
    arrived: int
    lost: int
    doubled: int
    doubts: int
    wrong: tuple[str, ...]


def trial(folder, cycles, seed, at=None, faults=()):
    """Kill so many times and return what came of it.

    Args:
        folder: for the database.
        cycles: how often to start and kill.
        seed: of the instants.
        at: kill at this step of a conversation; random instants if left out.
        faults: of the process.
    """
    chance = random.Random(seed)
    with MailServer(delay_s=THINKING_S) as server:
        environ = {
            "SPRAYADVISOR_DATA_DIR": str(folder),
            "SPRAYADVISOR_MAIL__HOST": HOST,
            "SPRAYADVISOR_MAIL__PORT": str(server.port),
            "SPRAYADVISOR_MAIL__SECURITY": "none",
        }
        for cycle in range(cycles):
            with _started(environ, (cycle + 1) * EACH_TIME, "send", *faults) as process:
                if at is None:
                    time.sleep(chance.uniform(0, LONGEST_S))
                else:
                    server.on_step = lambda step, one=process: one.kill() if step == at else None
                    process.wait(30)
                    server.on_step = lambda _step: None
                process.kill()
        with _started(environ, cycles * EACH_TIME, "drain", *faults) as process:
            assert process.wait(120) == 0
    return _counted(environ, cycles, server.mails)


def _started(environ, *arguments):
    """Return the process once it has begun to work."""
    plain = {name: text for name, text in os.environ.items() if "SPRAYADVISOR" not in name}
    command = [sys.executable, str(ENTRY), *map(str, arguments)]
    process = subprocess.Popen(command, env=plain | environ, stdout=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "ready\n"
    return process


def _counted(environ, cycles, mails):
    """Hold the mailbox against the ledger."""
    services = build(load_settings(environ))
    lines = services.outbox.ledger()
    services.close()
    by_id = defaultdict(list)
    for mail in mails:
        by_id[message_from_bytes(mail.content)["Message-ID"]].append(mail)
    copies = {line.key: by_id.pop(line.message_id, []) for line in lines}
    due = cycles * EACH_TIME
    wrong = [f"{len(lines)} of {due} in the ledger"] if len(lines) != due else []
    wrong += [f"in no ledger: {message_id}" for message_id in by_id]
    for line in lines:
        what, arrived = f"{line.key.kind} {line.key.subject}", copies[line.key]
        if line.state is not Sending.SENT:
            wrong.append(f"{what} is {line.state.value}")
        if not arrived:
            wrong.append(f"{what} is lost")
        if len(arrived) > 1 + line.doubts:
            wrong.append(f"{what} came {len(arrived)} times with {line.doubts} doubts")
        if len(set(arrived)) > 1:
            wrong.append(f"{what} came in different words")
    times = Counter(len(arrived) for arrived in copies.values())
    return Counts(
        killed=cycles,
        due=due,
        arrived=len(mails),
        lost=times[0] + due - len(lines),
        doubled=sum((n - 1) * many for n, many in times.items() if n),
        doubts=sum(line.doubts for line in lines),
        wrong=tuple(wrong),
    )
