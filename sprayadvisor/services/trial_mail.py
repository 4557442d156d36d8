"""A mail that shows whether mail arrives."""

from __future__ import annotations

from datetime import datetime, timedelta
from email.policy import SMTP
from email.utils import format_datetime, make_msgid

from sprayadvisor.advice.due import Key
from sprayadvisor.render.email import Rendered, to_email_message
from sprayadvisor.services.ports.outbox import Outgoing

_USE = timedelta(hours=1)
_TEXT = """\
This is a trial. Your briefs will come this way, the evening before and in the
morning, from this address; add it to those that your mail program trusts.

No verdict is in this mail, and none is in any mail that does not come.
"""


def trial_mail(recipient: str, sender: str, at: datetime) -> Outgoing:
    """Return a mail to one recipient that says it is a trial.

    Args:
        recipient: address.
        sender: address it comes from.
        at: now, aware.
    """
    message_id = make_msgid(domain="sprayadvisor.invalid")
    rendered = Rendered("Trial: mail from Sprayadvisor arrives", _TEXT, "")
    mail = to_email_message(rendered, recipient, sender, message_id, format_datetime(at))
    key = Key(recipient, "trial", at.date().isoformat())
    return Outgoing(key, message_id, mail.as_bytes(policy=SMTP), at + _USE)
