"""Two workers, a clock that jumps, and deaths at any moment: nothing lost, every double a doubt."""

from collections import Counter
from datetime import timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from outgoing import NOW, key, outgoing

from sprayadvisor.adapters.store.engine import open_engine, write
from sprayadvisor.adapters.store.outbox import SqlOutbox, Worker
from sprayadvisor.adapters.store.schema import METADATA
from sprayadvisor.services.ports.outbox import Sending

CLAIM = timedelta(minutes=3)
WHO = st.sampled_from([0, 1])
# Most often a claim runs out: that is where two can meet.
MINUTES = [3, 3, 3, 3, 10, 41, -1, -60, 24 * 60, -24 * 60]
DOINGS = ["hand over", "hand over", "mark", "mark", "postpone", "die"]
CLOSED = {Sending.SENT, Sending.FAILED, Sending.EXPIRED}


class TwoWorkers(RuleBasedStateMachine):
    """A mailbox beside the outbox knows what really arrived."""

    def __init__(self):
        super().__init__()
        self.engine = open_engine("sqlite://")
        with write(self.engine) as connection:
            METADATA.create_all(connection)
        self.now = NOW
        self.mailbox = Counter()
        self.put = set()
        self.ended = {}
        self.starts = [0, 1]
        self.held = [None, None]  # claim of each worker, and whether the mail is out

    def teardown(self):
        """Whatever happened, the outbox can be emptied; then all is accounted for."""
        for _ in range(20):
            self.now += timedelta(minutes=41)
            for who in (0, 1):
                self.die(who)
                self.claim(who)
                self.hand_over(who)
                self.mark(who)
        for line in self.outbox(0).ledger():
            assert line.state in CLOSED
        self.every_double_is_a_doubt()
        self.engine.dispose()

    def outbox(self, who):
        worker = Worker("van", 100 + self.starts[who], "x")
        alive = {100 + start for start in self.starts}
        return SqlOutbox(self.engine, worker, running=alive.__contains__)

    @rule(new=st.booleans())
    def enqueue(self, new):
        """What is due anew, or once more by another tick."""
        known_by = key(subject=str(len(self.put) - (not new and len(self.put) > 0)))
        message = outgoing(known_by, expires_at=NOW + timedelta(days=2))
        assert self.outbox(0).enqueue(message, self.now) == (known_by not in self.put)
        self.put.add(known_by)

    @rule(who=WHO, does=st.sampled_from(DOINGS))
    def work(self, who, does):
        """A worker goes on with what it holds, or takes something up."""
        if self.held[who] is None:
            self.enqueue(new=len(self.ended) == len(self.put))
            self.claim(who)
        elif does == "hand over":
            self.hand_over(who)
        elif does == "postpone":
            self.postpone(who)
        elif does == "die":
            self.die(who)
        else:
            self.mark(who)

    @rule(minutes=st.sampled_from(MINUTES))
    def set_clock(self, minutes):
        """On, or back."""
        self.now += timedelta(minutes=minutes)

    def claim(self, who):
        """Take up what is due, if the hands are free."""
        if self.held[who] is None:
            claim = self.outbox(who).claim(self.now, self.now + CLAIM)
            if claim is not None:
                assert claim.outgoing.key not in self.ended
                self.held[who] = (claim, False)

    def hand_over(self, who):
        """The server takes it."""
        if self.held[who] and not self.held[who][1]:
            claim, _ = self.held[who]
            self.mailbox[claim.outgoing.key] += 1
            self.held[who] = (claim, True)

    def mark(self, who):
        """What the server took is sent; what it did not is given up."""
        if self.held[who]:
            claim, out = self.held[who]
            state = Sending.SENT if out else Sending.FAILED
            if self.outbox(who).close(claim, state, self.now):
                assert claim.outgoing.key not in self.ended
                self.ended[claim.outgoing.key] = state
            self.held[who] = None

    def postpone(self, who):
        """No answer, or a refusal for now; where the mail is out it is a doubt."""
        claim, out = self.held[who]
        self.outbox(who).postpone(claim, self.now + 10 * CLAIM, "no", doubtful=out)
        self.held[who] = None

    def die(self, who):
        """Killed, started again under another number, and looked after the dead."""
        self.held[who] = None
        self.starts[who] = max(self.starts) + 1
        assert self.outbox(who).free_dead_claims() <= 1

    @invariant()
    def every_double_is_a_doubt(self):
        """No more arrived than one, and one for every doubt; and what is called sent arrived."""
        for line in self.outbox(0).ledger():
            assert self.mailbox[line.key] <= 1 + line.doubts
            if line.state is Sending.SENT:
                assert self.mailbox[line.key] >= 1

    @invariant()
    def what_ended_stays_ended(self):
        """And nothing that was put in is gone."""
        lines = {line.key: line.state for line in self.outbox(0).ledger()}
        assert set(lines) == self.put
        assert {known_by: lines[known_by] for known_by in self.ended} == self.ended


TestTwoWorkers = TwoWorkers.TestCase
TestTwoWorkers.settings = settings(
    max_examples=60,
    stateful_step_count=50,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
