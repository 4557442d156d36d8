"""What a phone loads and keeps: style, script, icons, the service worker."""

import gzip
import io
import json
import re

import pytest
from PIL import Image

from sprayadvisor.web.statics import Statics

FIRST_LOAD = 60 * 1024


def links(text):
    """Return the addresses of all that a page loads."""
    found = re.findall(r'<link rel="(?:stylesheet|icon|manifest)"[^>]*?href="([^"]+)"', text)
    return [*found, *re.findall(r'<script src="([^"]+)"', text)]


def test_a_first_load_is_small(page):
    """Today with everything it loads, the service worker and the icons for the home screen too."""
    answer = page.get("/")
    total = len(gzip.compress(answer.content))
    for path in [*links(answer.text), "/sw.js", *_icons(page)]:
        got = page.get(path)
        assert got.status_code == 200, path
        total += min(len(gzip.compress(got.content)), len(got.content))
    assert total <= FIRST_LOAD, total


def _icons(page):
    return [icon["src"] for icon in page.get("/manifest.webmanifest").json()["icons"]]


def test_files_are_kept_for_a_year_under_a_name_that_changes_with_them(page):
    """Immutable, packed, of the right kind; the old name is gone."""
    css = links(page.get("/").text)[0]
    assert re.fullmatch(r"/static/app\.[0-9a-f]{12}\.css", css)
    answer = page.get(css)
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert answer.headers["content-type"] == "text/css; charset=utf-8"
    assert answer.headers["content-encoding"] == "gzip"
    plain = page.get(css, headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.content == answer.content
    assert page.get("/static/app.000000000000.css").status_code == 404


def test_the_manifest_names_icons_that_are_there(page):
    """Their sizes are what it says; one may be cut round."""
    manifest = page.get("/manifest.webmanifest").json()
    assert (manifest["start_url"], manifest["display"]) == ("/", "standalone")
    for icon in manifest["icons"]:
        answer = page.get(icon["src"])
        assert answer.headers["content-type"] == icon["type"]
        if icon["type"] == "image/png":
            with Image.open(io.BytesIO(answer.content)) as picture:
                assert f"{picture.width}x{picture.height}" == icon["sizes"]
    assert any(icon.get("purpose") == "maskable" for icon in manifest["icons"])
    assert page.get("/favicon.ico").headers["content-type"] == "image/png"


def test_the_service_worker_is_asked_for_anew_and_names_what_there_is(page):
    """Its files exist; it keeps today only, and nothing that says what is true now."""
    answer = page.get("/sw.js")
    assert answer.headers["Cache-Control"] == "no-cache"
    assert answer.headers["content-type"].startswith("text/javascript")
    (files,) = re.findall(r"const FILES = (\[.*?\]);", answer.text)
    for path in json.loads(files):
        assert page.get(path).status_code == 200
    assert "{{" not in answer.text
    assert re.findall(r"\.put\(([^,]+),", answer.text) == ['"/"']
    assert re.findall(r"importScripts\(\"([^\"]+)", answer.text) == [links(page.get("/").text)[-1]]


def test_only_the_page_of_today_may_be_kept(page):
    """Every other page carries no such mark."""
    assert page.get("/").headers["X-Keep"] == "brief"
    for path in ("/job/A1", "/healthz", "/nothing"):
        assert "X-Keep" not in page.get(path).headers


def test_the_names_change_when_a_file_does(monkeypatch):
    """A changed style has another address, and the worker another mark."""
    before = Statics()
    content = before._by_name["app.css"].content
    import sprayadvisor.web.statics as module

    monkeypatch.setattr(module, "_hash", lambda c: "x" * 12 if c == content else "y" * 12)
    assert Statics().address("app.css") == f"/static/app.{'x' * 12}.css"


def luminance(colour):
    """Return the relative luminance of ``#rrggbb``: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Return the contrast ratio of two colours: WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


PAIRS = [
    ("ink", "ground"), ("soft", "ground"), ("link", "ground"), ("ink", "panel"), ("on-go", "go"),
    ("on-care", "care"), ("on-no", "no"), ("on-open", "open"), ("ink", "danger"),
    ("danger-edge", "ground"), ("on-mark", "mark"), ("ink", "mark"),
]  # fmt: skip


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), PAIRS)
def test_every_pair_of_ink_and_ground_reaches_the_highest_class(scheme, ink, ground):
    """7:1, success criterion 1.4.6 of WCAG 2.2."""
    css = Statics()._by_name["app.css"].content.decode()
    sets = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", sets[scheme]))
    if (ink, ground) == ("ink", "mark"):
        ink = "on-mark"
    assert contrast(colours[ink], colours[ground]) >= 7.0


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["ground", "panel"])
def test_bars_of_other_work_stand_out_from_their_ground(scheme, ground):
    """3:1, success criterion 1.4.11 of WCAG 2.2; the rules that draw them use that colour."""
    css = Statics()._by_name["app.css"].content.decode()
    colours = dict(
        re.findall(
            r"--([\w-]+): (#[0-9a-f]{6})", re.findall(r":root \{(.*?)\}", css, re.DOTALL)[scheme]
        )
    )
    assert contrast(colours["other"], colours[ground]) >= 3.0
    rules = re.findall(r"(?:\.work|\.chart|\.swatch)[ .]*other \{ \w+: var\(--(\w+)\)", css)
    assert rules == ["other"] * 3
