"""A brief as a mail: text first, then HTML with its charts inside."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.policy import SMTP

from sprayadvisor.advice.brief import Brief
from sprayadvisor.render.chart import chart_png
from sprayadvisor.render.html import NO_LINKS, MailLinks, told_html
from sprayadvisor.render.text import told_text
from sprayadvisor.render.told import tell
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class Rendered:
    """A brief ready to be sent.

    Attributes:
        subject: one line.
        text: complete in itself.
        html: refers to the charts as ``cid:…``; empty where the text is all there is.
        charts: PNG pictures by the job's reference.
    """

    subject: str
    text: str
    html: str
    charts: dict[str, bytes] = field(default_factory=dict)


def brief_message(brief: Brief, display: Display, links: MailLinks = NO_LINKS) -> Rendered:
    """Return a brief as subject, text, HTML and pictures."""
    told = tell(brief, display)
    charts = {
        entry.judgement.job.ref: chart_png(entry.chart, display)
        for entry in brief.entries
        if entry.chart is not None
    }
    places = {ref: f"cid:{chart_cid(ref)}" for ref in charts}
    return Rendered(told.subject, told_text(told, links), told_html(told, places, links), charts)


def chart_cid(ref: str) -> str:
    """Return the content id of a job's chart."""
    return f"chart-{re.sub(r'[^A-Za-z0-9]+', '-', ref)}@sprayadvisor.invalid"


def to_email_message(
    rendered: Rendered,
    recipient: str,
    sender: str,
    message_id: str,
    date: str,
    stop: str = "",
) -> EmailMessage:
    """Return the mail.

    Args:
        rendered: what it says.
        recipient: address; empty leaves the header out.
        sender: address.
        message_id: with its angle brackets; the same again for the same mail.
        date: as RFC 5322 writes it.
        stop: address of somebody who takes a recipient out; empty leaves the header out.

    Raises:
        ValueError: a header holds a line break.
    """
    message = EmailMessage(policy=SMTP)
    message["Subject"] = rendered.subject
    message["From"] = sender
    if recipient:
        message["To"] = recipient
    message["Date"] = date
    message["Message-ID"] = message_id
    message["Auto-Submitted"] = "auto-generated"
    if stop:
        # Not one click: recipients stand in the settings, and a person takes one out there.
        message["List-Unsubscribe"] = f"<mailto:{stop}?subject=stop>"
    message.set_content(rendered.text, cte="quoted-printable")
    if rendered.html:
        _add_html(message, rendered)
    return message


def _add_html(message: EmailMessage, rendered: Rendered) -> None:
    """Add the page, and inside it its charts."""
    message.add_alternative(rendered.html, subtype="html", cte="quoted-printable")
    html = message.get_body(("html",))
    assert html is not None  # noqa: S101 - it was added two lines above
    for ref, png in rendered.charts.items():
        html.add_related(png, "image", "png", cid=f"<{chart_cid(ref)}>", filename=f"{ref}.png")
