"""From the outbox on its way: each once, with a growing wait, or told why not."""

import email
import gc
import logging
import weakref
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from email import policy

import pytest
from briefs import brief, told
from clockwork import RHYTHM, Time
from days import DAY, EVENING, ZONE, job, outlook
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from outgoing import ANNA, BEN, NOW, OTHER, key, outgoing, sqlite_outbox
from sqlalchemy import text

from sprayadvisor.adapters.store.engine import write
from sprayadvisor.advice.brief import Brief
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.said import Kind, Notice
from sprayadvisor.errors import DeliveryError, StoreError
from sprayadvisor.services import delivery as delivery_module
from sprayadvisor.services.delivery import Delivery, Report, notice_until, useful_until
from sprayadvisor.services.ports.clock import Post
from sprayadvisor.services.ports.outbox import LONGEST_WAIT, Sending

MINUTE = timedelta(minutes=1)
WET = told(job(), outlook(wet_hour_mm=1.0))
MADE = brief(WET, clashes=())
NOTICE = Notice(Kind.WORSE, WET.judgement, None, EVENING, ())
CHANGE = Key(ANNA, "change", "T1 2026-04-16 1")
NOT_NOW = DeliveryError("Not now.", permanent=False)
NEVER = DeliveryError("Never.", permanent=True)
ALL_SHUT = DeliveryError("Nobody is let in.", permanent=False, for_all=True)
DOUBT = DeliveryError("Perhaps.", permanent=False, doubtful=True, for_all=True)


class Way:
    """A transport whose answers are laid out beforehand; without any it takes everything."""

    longest_s = 60.0

    def __init__(self):
        self.answers, self.sent, self.asked = [], [], 0

    def send(self, message):
        self.asked += 1
        answer = self.answers.pop(0) if self.answers else None
        if answer is None or answer.doubtful:
            self.sent.append(message)
        if answer is not None:
            raise answer

    def keys(self):
        return [message.key for message in self.sent]


@pytest.fixture
def box(tmp_path):
    """Return an empty outbox."""
    with sqlite_outbox(tmp_path, busy_timeout_s=0.02) as opened:
        yield opened


@pytest.fixture
def delivery(box):
    """Return a delivery at half past six in Dublin, with a clock set by hand."""
    return Delivery(
        box, Way(), Time(NOW), RHYTHM, ZONE, "briefs@example.org", business="Curlew",
        tell=lambda _: None, jitter=lambda: 0.5,
    )  # fmt: skip


def put(delivery, *keys, **changes):
    """Put small messages in."""
    for known_by in keys or (key(),):
        assert delivery.outbox.enqueue(outgoing(known_by, **changes), delivery.now())


def states(delivery):
    """Return where each message stands, by kind."""
    return {line.key.kind: line.state.value for line in delivery.outbox.ledger()}


def line(delivery, known_by=None):
    """Return the line of the ledger on a message."""
    return next(one for one in delivery.outbox.ledger() if one.key == (known_by or key()))


def parsed(message):
    """Return a message as a mail."""
    return email.message_from_bytes(message.message, policy=policy.default)


# --- putting in ---------------------------------------------------------------------------------


def test_a_brief_is_put_in_once_for_each_recipient(delivery):
    """Known by its key; what is in is not rendered again."""
    post: Post = delivery
    keys = {Key(who, "evening", str(DAY)) for who in (ANNA, BEN)}
    assert post.known(keys) == set()
    assert [delivery.put(MADE, who) for who in (ANNA, BEN, ANNA)] == [True, True, False]
    assert post.known(keys) == keys


def test_a_brief_for_many_is_rendered_once(delivery, monkeypatch):
    """Charts take longest, and are the same for all."""
    rendered = []
    real = delivery_module.brief_message
    monkeypatch.setattr(
        delivery_module, "brief_message", lambda *given: rendered.append(1) or real(*given)
    )
    for who in (ANNA, BEN):
        delivery.put(MADE, who)
    delivery.put(replace(MADE, business="Other"), "cleo@example.org")
    assert len(rendered) == 2


def test_a_mail_has_the_headers_that_it_needs(delivery):
    """Date and Message-ID (RFC 5322 section 3.6), Auto-Submitted (RFC 3834 section 5)."""
    delivery.now.now = EVENING
    delivery.put(MADE, ANNA)
    delivery.send()
    (sent,) = delivery.transport.sent
    mail = parsed(sent)
    assert mail["Message-ID"] == sent.message_id
    assert sent.message_id.endswith("@example.org>")
    assert mail["Date"].datetime == EVENING
    assert mail["Auto-Submitted"] == "auto-generated"
    assert (mail["From"], mail["To"]) == ("briefs@example.org", ANNA)
    assert "List-Unsubscribe" not in mail  # there is no link yet that could do it
    assert {part.get_content_type() for part in mail.walk()} >= {"text/plain", "text/html"}
    assert sent.message.isascii()


def test_two_mails_have_different_ids(delivery):
    """Also the same brief to two."""
    for who in (ANNA, BEN):
        delivery.put(MADE, who)
    assert len({one.message_id for one in delivery.outbox.ledger()}) == 2


def test_a_notice_is_put_in_under_its_key(delivery):
    """Once."""
    assert delivery.put_notice(CHANGE, NOTICE, WET)
    assert not delivery.put_notice(CHANGE, NOTICE, WET)
    delivery.now.now = EVENING
    delivery.send()
    assert parsed(delivery.transport.sent[0])["Subject"] == "T1, Hazel Court: no-go now"


# --- until when it is of use --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("moment", "changes", "zone", "expected"),
    [
        (Moment.EVENING, {}, "Europe/Dublin", datetime(2026, 4, 16, 20, 30, tzinfo=UTC)),
        (
            Moment.EVENING,
            {"quiet_from": time(0, 30)},
            "Europe/Dublin",
            datetime(2026, 4, 16, 23, tzinfo=UTC),
        ),
        (
            Moment.EVENING,
            {"quiet_from": time(), "quiet_to": time()},
            "Australia/Brisbane",
            datetime(2026, 4, 16, 14, tzinfo=UTC),
        ),
        (Moment.MORNING, {}, "Europe/Dublin", datetime(2026, 4, 17, 11, tzinfo=UTC)),
        (
            Moment.MORNING,
            {"morning": time(13)},
            "America/New_York",
            datetime(2026, 4, 17, 22, tzinfo=UTC),
        ),
    ],
)
def test_briefs_are_of_use_until(moment, changes, zone, expected):
    """The evening's to the quiet hours or midnight, the morning's to noon, or to the evening."""
    assert useful_until(moment, DAY, replace(RHYTHM, **changes), zone) == expected


def test_the_night_the_clocks_change_counts():
    """London, 29 March 2026: noon is an hour earlier than the day before (tz database)."""
    ends = [
        useful_until(Moment.MORNING, date(2026, 3, d), RHYTHM, "Europe/London") for d in (28, 29)
    ]
    assert ends[1] - ends[0] == timedelta(hours=23)


def test_notices_are_of_use_until():
    """What is to be done at once for half an hour, else until the painter is due or an hour."""
    assert notice_until(replace(NOTICE, kind=Kind.COVER)) == EVENING + 30 * MINUTE
    assert notice_until(NOTICE) == datetime(2026, 4, 17, 10, tzinfo=UTC)  # due by 11:00 in Dublin
    late = datetime(2026, 4, 17, 12, tzinfo=UTC)
    assert notice_until(replace(NOTICE, made_at=late)) == late + 60 * MINUTE


# --- sending ------------------------------------------------------------------------------------


def test_what_is_due_is_sent_once(delivery):
    """The very bytes that were put in; the next round finds nothing."""
    put(delivery, key(), key(recipient=BEN))
    assert delivery.send() == Report(sent=2)
    assert delivery.send() == Report()
    assert delivery.transport.sent == [outgoing(), outgoing(key(recipient=BEN))]
    assert states(delivery) == {"morning": "sent"}


def test_no_transaction_is_open_while_a_mail_is_on_its_way(delivery):
    """Another one may write to the database meanwhile."""
    put(delivery)

    def send(message):
        assert delivery.outbox.enqueue(outgoing(key(recipient=BEN)), NOW)

    delivery.transport.send = send
    assert delivery.send(lambda: len(delivery.outbox.ledger()) > 1) == Report(sent=1)


def test_a_claim_outlasts_the_transport(delivery):
    """Nobody else takes it up while it can still be handed over."""
    put(delivery)
    other = replace(delivery.outbox, worker=OTHER)

    def send(message):
        delivery.now.on(seconds=delivery.transport.longest_s + 60)
        assert other.claim(delivery.now(), delivery.now() + MINUTE) is None

    delivery.transport.send = send
    assert delivery.send() == Report(sent=1)


def test_told_to_stop_it_begins_nothing_more(delivery):
    """What is in hand is finished."""
    put(delivery, key(), key(recipient=BEN))
    assert delivery.send(lambda: bool(delivery.transport.sent)) == Report(sent=1)
    assert delivery.send(lambda: True) == Report()
    assert delivery.send() == Report(sent=1)


def test_a_round_does_not_last_for_ever(delivery):
    """With a slow server the clock still comes to what else is due."""
    put(delivery, *(key(subject=str(n)) for n in range(4)))
    seconds = iter(range(0, 10_000, 200))
    delivery.steady = lambda: next(seconds)
    assert delivery.send() == Report(sent=1)


def test_one_refusal_keeps_no_other_back(delivery):
    """The next mail is sent in the same round."""
    put(delivery, key(), key(recipient=BEN))
    delivery.transport.answers = [NOT_NOW]
    assert delivery.send() == Report(sent=1, postponed=1)
    assert delivery.transport.keys() == [key(recipient=BEN)]


def test_waits_grow_to_half_an_hour(delivery):
    """One minute, two, four … thirty at most; nothing is tried before."""
    put(delivery, expires_at=NOW + timedelta(days=2))
    waits = []
    for _ in range(8):
        delivery.transport.answers = [NOT_NOW]
        assert delivery.send() == Report(postponed=1)
        waits.append((line(delivery).next_try_at - delivery.now()) / MINUTE)
        delivery.now.now = line(delivery).next_try_at - timedelta(seconds=1)
        assert delivery.send() == Report()
        delivery.now.on(seconds=1)
    assert waits == [1, 2, 4, 8, 16, 30, 30, 30]
    assert delivery.send() == Report(sent=1)
    assert line(delivery).tries == 9


@given(jitter=st.floats(0, 1), tries=st.integers(1, 10_000), least=st.floats(0, 3600))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_wait_is_within_bounds(delivery, jitter, tries, least):
    """Never under 45 s, nor under what was asked for, nor longer than the outbox believes."""
    delivery.jitter = lambda: jitter
    wait = delivery._wait(tries, least)
    assert timedelta(seconds=45) <= wait <= LONGEST_WAIT
    assert wait >= min(timedelta(seconds=least), LONGEST_WAIT)


def test_a_way_that_is_shut_is_tried_by_one_only(delivery):
    """The others wait with it, and all go once it is open."""
    put(delivery, key(), key(recipient=BEN), key(recipient="cleo@example.org"))
    delivery.transport.answers = [ALL_SHUT]
    assert delivery.send() == Report(postponed=1)
    assert delivery.send() == Report()
    assert delivery.transport.asked == 1
    delivery.now.on(minutes=1)
    assert delivery.send() == Report(sent=3)


def test_a_login_is_not_tried_every_minute(delivery):
    """Where somebody must mend something, the wait is what the way out asks for."""
    put(delivery)
    delivery.transport.answers = [
        DeliveryError("Login.", permanent=False, for_all=True, wait_s=900)
    ]
    delivery.send()
    delivery.now.on(minutes=14, seconds=59)
    assert delivery.send() == Report()
    delivery.now.on(seconds=1)
    assert delivery.send() == Report(sent=1)


@pytest.mark.parametrize("jump", [timedelta(hours=1), timedelta(days=1)])
def test_a_clock_set_back_does_not_keep_the_way_shut(delivery, jump):
    """A wait is never longer than it was meant to be."""
    put(delivery, expires_at=NOW + timedelta(days=3))
    delivery.now.now += jump
    delivery.transport.answers = [ALL_SHUT]
    delivery.send()
    put(delivery, key(recipient=BEN))
    delivery.now.now -= jump
    assert delivery.send() == Report(sent=2)


def test_after_a_restart_everything_is_tried_at_once(delivery):
    """Whoever mended the settings started it again."""
    put(delivery)
    delivery.transport.answers = [ALL_SHUT]
    delivery.send()
    again = replace(delivery, _begun=False, _shut_until=None)
    assert again.send() == Report(sent=1)


# --- what cannot be sent -------------------------------------------------------------------------


def test_a_morning_brief_is_useless_at_noon(delivery):
    """It is not sent any more; a short note says so, once, with the reason."""
    put(delivery)
    delivery.transport.answers = [NOT_NOW]
    delivery.send()
    delivery.now.now = NOW + timedelta(hours=6)
    assert delivery.send() == Report(sent=1, expired=1)
    assert states(delivery) == {"morning": "expired", "not_sent": "sent"}
    (note,) = delivery.transport.sent
    mail = parsed(note)
    assert note.key == Key(ANNA, "not_sent", "morning 2026-04-17")
    assert mail["Subject"] == "Not sent: morning brief for Fri 17 Apr"
    words = " ".join(mail.get_content().split())
    assert "The morning brief for Friday 17 April could not be sent in time" in words
    assert "Not now." in words
    assert "No message does not mean go." in words
    assert "product sheets and your local rules" in words
    assert "may have arrived" not in words
    delivery.now.on(hours=1)
    assert delivery.send() == Report()


def test_one_that_slept_over_it_says_so(delivery):
    """Nothing was tried, so there is no other reason."""
    put(delivery)
    delivery.now.now = NOW + timedelta(hours=6)
    assert delivery.send() == Report(sent=1, expired=1)
    assert "was off, asleep or busy" in " ".join(
        parsed(delivery.transport.sent[0]).get_content().split()
    )


def test_what_is_useless_is_closed_while_the_way_is_shut(delivery):
    """The note waits for the way to open."""
    put(delivery, expires_at=NOW + 2 * MINUTE)
    delivery.transport.answers = [DeliveryError("Shut.", permanent=False, for_all=True, wait_s=900)]
    delivery.send()
    delivery.now.on(minutes=3)
    assert delivery.send() == Report(expired=1)
    assert states(delivery) == {"morning": "expired", "not_sent": "ready"}
    delivery.now.on(minutes=15)
    assert delivery.send() == Report(sent=1)


def test_refused_for_good_is_told_in_a_note(delivery):
    """A short note may pass where a brief was too long."""
    put(delivery)
    delivery.transport.answers = [NEVER]
    assert delivery.send() == Report(sent=1, failed=1)
    assert line(delivery).state is Sending.FAILED
    assert line(delivery).problem == "Never."
    assert "Never." in parsed(delivery.transport.sent[0]).get_content()


def test_a_note_has_no_note(delivery):
    """Refused or too old, that is the end of it."""
    put(delivery, key(), key(recipient=BEN))
    delivery.transport.answers = [NEVER, NEVER, NEVER, NOT_NOW]
    assert delivery.send() == Report(failed=3, postponed=1)
    delivery.now.on(hours=25)
    assert delivery.send() == Report(expired=1)
    assert len(delivery.outbox.ledger()) == 4
    assert delivery.transport.sent == []


def test_a_change_notice_has_its_own_words(delivery):
    """By the job it is about."""
    delivery.put_notice(CHANGE, NOTICE, WET)
    delivery.transport.answers = [NEVER]
    delivery.send()
    assert parsed(delivery.transport.sent[0])["Subject"] == "Not sent: change notice on job T1"


def test_trouble_is_told_and_logged_without_the_recipient(delivery, caplog):
    """In a sentence."""
    heard = []
    delivery.tell = heard.append
    put(delivery)
    delivery.transport.answers = [NOT_NOW]
    with caplog.at_level(logging.INFO):
        delivery.send()
        delivery.now.on(minutes=1)
        delivery.send()
    assert heard == ["Not now."]
    assert "Not sent: morning 2026-04-17. Not now." in caplog.text
    assert "Sent: morning 2026-04-17." in caplog.text
    assert ANNA not in caplog.text


# --- doubts -------------------------------------------------------------------------------------


def test_a_doubt_sends_the_same_bytes_again_and_is_counted(delivery):
    """So the other side may see that it is the same."""
    put(delivery)
    delivery.transport.answers = [DOUBT]
    assert delivery.send() == Report(postponed=1, doubts=1)
    delivery.now.on(minutes=1)
    assert delivery.send() == Report(sent=1)
    assert delivery.transport.sent == [outgoing(), outgoing()]
    assert line(delivery).doubts == 1


def test_a_note_on_a_doubt_says_that_it_is_one(delivery):
    """It may lie in the mailbox all the same."""
    put(delivery)
    delivery.transport.answers = [DOUBT]
    delivery.send()
    delivery.now.on(hours=6)
    delivery.send()
    assert "may have arrived all the same" in parsed(delivery.transport.sent[-1]).get_content()


def test_what_a_dead_process_held_is_sent_again(delivery):
    """At the start, without waiting for its claim to run out."""
    put(delivery)
    replace(delivery.outbox, worker=OTHER).claim(NOW, NOW + 60 * MINUTE)
    assert delivery.send() == Report()
    delivery.outbox = replace(delivery.outbox, running=lambda _pid: False)
    assert delivery.send() == Report(sent=1, doubts=1)


def test_a_claim_of_another_computer_runs_out(delivery):
    """Nobody can ask there; then it is a doubt."""
    put(delivery)
    replace(delivery.outbox, worker=OTHER).claim(NOW, NOW + 2 * MINUTE)
    delivery.now.on(minutes=2)
    assert delivery.send() == Report(sent=1, doubts=1)


def test_taken_over_while_being_sent_it_is_the_others(delivery, caplog):
    """Who was too slow changes nothing and says so."""
    put(delivery)
    other = replace(delivery.outbox, worker=OTHER)

    def send(message):
        delivery.now.on(hours=1)
        assert other.claim(delivery.now(), delivery.now() + MINUTE).taken_over

    delivery.transport.send = send
    delivery.send()
    assert "morning 2026-04-17 was taken over while being sent" in caplog.text
    assert (line(delivery).state, line(delivery).doubts) == (Sending.SENDING, 1)


# --- a database that will not --------------------------------------------------------------------

FILL = (
    "CREATE TRIGGER fill AFTER UPDATE OF closed_at ON outbox "
    "BEGIN INSERT INTO snapshots (place, kind, fetched_at, request, payload_gz) "
    "VALUES ('', '', '2026-04-17', '', zeroblob(100000)); END"
)


def test_a_full_disk_after_the_server_took_it_doubles_nothing(delivery):
    """The mark is written before anything else is sent, once there is room for it."""
    put(delivery, key(), key(recipient=BEN))
    with write(delivery.outbox.engine) as connection:
        connection.execute(text(FILL))
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages + 2}")
    for _ in range(2):
        with pytest.raises(StoreError, match="no room left to write"):
            delivery.send()
    assert delivery.transport.asked == 1
    with write(delivery.outbox.engine) as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1000000")
        connection.execute(text("DROP TRIGGER fill"))
    delivery.now.on(hours=1)
    assert delivery.send() == Report(sent=1)
    assert delivery.transport.sent == [outgoing(), outgoing(key(recipient=BEN))]
    assert {one.doubts for one in delivery.outbox.ledger()} == {0}


def test_a_database_locked_after_the_server_took_it_doubles_nothing(delivery):
    """The same with another writer in the way."""
    put(delivery)
    held = delivery.outbox.engine.raw_connection()

    def send(message):
        delivery.transport.sent.append(message)
        held.driver_connection.execute("BEGIN IMMEDIATE")

    delivery.transport.send = send
    with pytest.raises(StoreError, match="is being written by another program"):
        delivery.send()
    held.driver_connection.execute("ROLLBACK")
    held.close()
    assert delivery.send() == Report()
    assert len(delivery.transport.sent) == 1
    assert (line(delivery).state, line(delivery).doubts) == (Sending.SENT, 0)


def test_a_full_disk_while_putting_in_leaves_it_due(delivery):
    """The key is not known, so the clock puts it in again."""
    with write(delivery.outbox.engine) as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages + 2}")
    with pytest.raises(StoreError, match="no room left to write"):
        delivery.put(brief(), ANNA)
    assert delivery.outbox.ledger() == ()


def test_a_brief_that_was_never_made_is_owned_up_to_once(delivery):
    """The note says why, and stands under the same key as that of a brief that ran out."""
    missed = key()
    assert delivery.put_missed(missed)
    assert not delivery.put_missed(missed)
    (line,) = delivery.outbox.ledger()
    assert line.key == Key(missed.recipient, "not_sent", f"morning {missed.subject}")
    claim = delivery.outbox.claim(delivery.now(), delivery.now() + timedelta(minutes=1))
    assert b"This computer was off, asleep or busy when" in claim.outgoing.message


class Watched(Brief):
    """A brief of which one can see whether anybody still holds it."""


def test_a_brief_is_let_go_once_it_is_put_in(delivery):
    """It holds the weather of every panel in every member; between briefs nobody needs that."""
    made = Watched(Moment.MORNING, DAY, NOW, "UTC", "", ())
    held = weakref.ref(made)
    delivery.put(made, ANNA)
    delivery.put(made, BEN)
    delivery.send()
    del made
    gc.collect()
    assert held() is None
