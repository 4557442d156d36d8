"""The page of a brief for eyes that see little: contrast, tables, pictures, dark and light."""

import re
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from briefs import NASTY, brief, entries

from sprayadvisor.render.html import brief_html
from sprayadvisor.render.text import WIDTH, brief_text
from sprayadvisor.units import Display

STYLES = (
    files("sprayadvisor.render").joinpath("templates/brief.html.j2").read_text(encoding="utf-8")
)
LIGHT, DARK = STYLES.split("@media")
PAGE = brief_html(brief(), Display(), {"GO1": "cid:x"})


def luminance(colour):
    """Return the relative luminance of ``#rrggbb``: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Return the contrast ratio of two colours: WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colours(styles, selector):
    """Return background and colour of a rule, None for what it does not set."""
    rule = re.search(rf"(?m)^\s*[^\n{{]*{re.escape(selector)}\b[^\n{{]*{{([^}}]*)}}", styles)[1]
    found = dict(re.findall(r"\b(background|color): (#[0-9a-f]{6})", rule))
    return found.get("background"), found.get("color")


def test_the_contrast_here_is_the_published_one():
    """Black on white is 21:1, and #777777 on white 4.48:1 (WebAIM's checker, from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("styles", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("selector", ["body", ".go", ".care", ".no-go", ".unknown", ".not-judged"])
def test_verdicts_and_text_have_the_highest_contrast_class(styles, selector):
    """7:1, success criterion 1.4.6 of WCAG 2.2, in light and in dark."""
    assert contrast(*colours(styles, selector)) >= 7.0


@pytest.mark.parametrize("styles", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("selector", [".quiet", "a "])
def test_quiet_text_and_links_stand_out_from_the_page(styles, selector):
    """7:1 as well: the small print holds the times."""
    page, _ = colours(styles, "body")
    _, ink = colours(styles, selector.strip())
    assert contrast(page, ink) >= 7.0


class Tags(HTMLParser):
    """Collects the tags of a page with what they carry."""

    def __init__(self):
        """Begin with none."""
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        """Keep a tag."""
        self.found.append((tag, dict(attrs)))


def tags(page, name):
    """Return what each tag of a name carries."""
    parser = Tags()
    parser.feed(page)
    return [attrs for tag, attrs in parser.found if tag == name]


def test_tables_of_layout_say_so_and_tables_of_data_have_heads():
    """The frame is presentation; each table of hours has heads for columns and rows."""
    tables = tags(PAGE, "table")
    assert tables[0]["role"] == "presentation"
    assert all("role" not in table for table in tables[1:])
    charted = [entry for entry in entries() if entry.chart]
    assert len(tables) == 1 + len(charted)
    scopes = [head["scope"] for head in tags(PAGE, "th")]
    assert scopes.count("col") == 4 * len(charted) + 1  # the rain of the no-go has a column
    assert scopes.count("row") == 8 * len(charted)


def test_a_picture_says_what_it_shows_and_brings_its_own_ground():
    """The short twin as alternative text; white behind it also where the page is dark."""
    (picture,) = tags(PAGE, "img")
    assert picture["alt"].startswith("Panel coldest ")
    assert "Starts that fit" in picture["alt"]
    assert "background: #ffffff" in picture["style"]


def test_the_page_is_told_to_be_light_and_dark():
    """Both schemes are named, so that a client does not invert it on its own."""
    names = {meta.get("name"): meta.get("content") for meta in tags(PAGE, "meta")}
    assert names["color-scheme"] == names["supported-color-schemes"] == "light dark"


def test_nothing_depends_on_the_style_sheet():
    """What is left in it are the rules for the dark; the rest stands at each tag."""
    kept = re.findall(r"<style>(.*?)</style>", PAGE, re.DOTALL)
    assert len(kept) == 1
    assert kept[0].lstrip().startswith("@media (prefers-color-scheme: dark)")
    assert not tags(PAGE, "link")
    assert not tags(PAGE, "script")


def test_every_typed_word_is_text_in_the_page_and_stays_in_its_line():
    """Names of business, faults and problems too; a long word does not widen the text."""
    made = brief(
        business=NASTY,
        faults=(f"{NASTY}.toml: bad",),
        weather_problems=(f"GO1: {NASTY}",),
        load=(NASTY, "x" * 120),
        sources=(NASTY,),
    )
    page = brief_html(made, Display(), {})
    assert "<script" not in page
    assert page.count("&lt;script&gt;") >= 5
    assert max(map(len, brief_text(made, Display()).splitlines())) <= WIDTH
