"""A brief as HTML for a phone's mail client: one column, nothing remote, light and dark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from sprayadvisor.advice.brief import Brief
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render import told as words
from sprayadvisor.render.cautions import AT_THE_TOP
from sprayadvisor.render.told import Told, tell
from sprayadvisor.render.words import LABELS, SHAPES, kept_together, number_to_ring, sentence
from sprayadvisor.units import Display

if TYPE_CHECKING:
    from css_inline import CSSInliner
    from jinja2 import Environment


def brief_html(brief: Brief, display: Display, charts: Mapping[str, str]) -> str:
    """Return a brief as HTML.

    Args:
        brief: what to say.
        display: units.
        charts: where the picture of each job's chart is, by the job's reference: ``cid:…`` in a
            mail, a file's name on a page.
    """
    return told_html(tell(brief, display), charts)


@dataclass(frozen=True, slots=True)
class MailLinks:
    """Where the page shows what a mail says; empty where it is not reached from outside.

    Attributes:
        day: address of the day.
        jobs: address of each job, by its reference.
    """

    day: str = ""
    jobs: Mapping[str, str] = field(default_factory=dict)


NO_LINKS = MailLinks()


def told_html(told: Told, charts: Mapping[str, str], links: MailLinks = NO_LINKS) -> str:
    """Return a brief that was told as HTML, its styles inlined."""
    page = (
        _environment()
        .get_template("brief.html.j2")
        .render(
            told=told,
            charts=charts,
            links=links,
            shapes=SHAPES,
            labels=LABELS,
            at_the_top=AT_THE_TOP,
            attribution=words.ATTRIBUTION,
            attribution_url=words.ATTRIBUTION_URL,
            licence=words.LICENCE,
            licence_url=words.LICENCE_URL,
            changes=words.CHANGES,
        )
    )
    return _inliner().inline(kept_together(page))


def badge_class(word: Word) -> str:
    """Return the class of a verdict's badge."""
    return word.value.replace(" ", "-")


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("sprayadvisor.render"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["sentence"] = sentence
    environment.filters["badge"] = badge_class
    environment.filters["to_ring"] = number_to_ring
    return environment


@cache
def _inliner() -> CSSInliner:
    # Mail clients drop <style>; what stays in it are the rules that cannot be inlined.
    from css_inline import CSSInliner

    return CSSInliner(keep_style_tags=False, keep_at_rules=True, load_remote_stylesheets=False)
