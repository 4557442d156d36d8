"""A real Chromium the size of a phone: what is seen, tapped and read aloud, and kept offline."""

import time
from itertools import pairwise

import pytest
from axe import faults
from page import PASSPHRASE, story_world
from phone import CHROMIUM, at_a_socket, phone
from serving import wait_for

from sprayadvisor.demo import story
from sprayadvisor.services.links import Opens

pytest.importorskip("playwright", reason="the browser extra is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM, reason="there is no Chromium on this machine"),
]
PATHS = [
    "/", "/job/A1", "/job/A3", "/job/B2", "/job/B3", "/nothing",
    "/now", "/now/A2", "/job/A2/record",
    "/bookings", "/bookings/new", "/job/A1/change", "/job/A1/goes", "/job/A1/cancel",
    "/sheets", "/sheets/clear-2k-quick", "/processes/bumper-corner",
]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page(browser, address, scheme):
    """In light and dark, with everything unfolded; and no script of ours complains."""
    tab = phone(browser, address, scheme)
    problems = []
    tab.on("console", lambda said: problems.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: problems.append(str(error)))
    for path in PATHS:
        tab.goto(path)
        tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        assert faults(tab) == [], path
    assert [p for p in problems if "404" not in p] == []
    tab.context.close()


def test_axe_finds_nothing_on_the_login(browser, tmp_path):
    """With its fault shown."""
    with (
        story_world(tmp_path, booked=(), WEB__PASSPHRASE=PASSPHRASE) as services,
        at_a_socket(services) as found,
    ):
        tab = phone(browser, found)
        tab.goto("/job/A1")
        tab.get_by_label("Passphrase").fill("wrong wrong")
        tab.keyboard.press("Enter")
        tab.get_by_text("That is not the passphrase.").wait_for()
        assert faults(tab) == []
        tab.get_by_label("Passphrase").fill(PASSPHRASE)
        tab.get_by_role("button", name="Log in").tap()
        tab.get_by_role("heading", name="There is nothing here").wait_for()
        tab.goto("/")
        tab.get_by_role("button", name="Log out").tap()
        tab.get_by_role("heading", name="Log in").wait_for()
        tab.context.close()


@pytest.mark.parametrize("width", [320, 390, 195, 1200])
def test_nothing_sticks_out_sideways(browser, address, width):
    """A small phone, a usual one, a usual one at 200 % zoom, a desk."""
    tab = phone(browser, address, viewport={"width": width, "height": 800})
    for path in PATHS:
        tab.goto(path)
        over = tab.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert over <= 0, path
    tab.context.close()


def test_what_is_tapped_is_large(browser, address):
    """48 px at least for every button, bar entry, fold and job; gloves are on."""
    tab = phone(browser, address)
    for path in PATHS:
        tab.goto(path)
        sizes = tab.eval_on_selector_all(
            "button, .button, .bar a, summary, .card h3 a",
            "all => all.map((one) => [one.innerText, one.getBoundingClientRect().height])",
        )
        assert [size for size in sizes if size[1] < 48] == [], path
    tab.context.close()


def test_everything_is_reached_by_keyboard_in_the_order_it_is_read(browser, address):
    """The skip link first, then the jobs in order."""
    tab = phone(browser, address)
    tab.goto("/")
    order = []
    for _ in range(5):
        tab.keyboard.press("Tab")
        order.append(tab.evaluate("document.activeElement.innerText.split('\\n').pop()"))
    assert order[0] == "Skip to the content"
    assert [word[:2] for word in order[1:4]] == ["A1", "A2", "A3"]
    tab.keyboard.press("Shift+Tab")
    tab.keyboard.press("Enter")
    tab.get_by_role("heading", name="A3, Slip at Carrick Pier").wait_for()
    tab.context.close()


def test_it_works_without_scripts(browser, address):
    """All that is on a page is there without them."""
    tab = phone(browser, address, java_script_enabled=False)
    tab.goto("/")
    tab.get_by_role("link", name="A2 Rope Walk").tap()
    tab.get_by_role("heading", name="A2, Rope Walk").wait_for()
    assert tab.locator("svg.chart path.panel-line").count() == 1
    tab.context.close()


def test_without_a_connection_the_last_brief_is_shown_as_old_and_nothing_else(browser, address):
    """The band tells its age; no job and no answer to now is ever kept."""
    tab = phone(browser, address)
    tab.goto("/")
    wait_for(lambda: tab.evaluate("navigator.serviceWorker.controller !== null"), 10)
    tab.reload()  # through the worker, which keeps it
    found = "caches.open('brief').then((c) => c.match('/')).then(Boolean)"
    wait_for(lambda: tab.evaluate(found), 10)
    tab.goto("/job/A2")
    tab.context.set_offline(True)
    tab.goto("/")
    band = tab.get_by_role("alert")
    assert "OLD. There is no connection: this was loaded 0 min ago" in band.inner_text()
    assert "do not decide by it alone" in band.inner_text()
    assert tab.get_by_role("link", name="A2 Rope Walk").is_visible()
    assert faults(tab) == []
    for path in ("/job/A2", "/now", "/bookings"):
        tab.goto(path)
        assert tab.get_by_role("heading", name="No connection").is_visible()
        assert "GO" not in tab.inner_text("main")
    kept = tab.evaluate(
        "caches.keys().then((names) => Promise.all(names.map((name) => caches.open(name)"
        ".then((c) => c.keys())))).then((all) => all.flat().map((r) => new URL(r.url).pathname))"
    )
    assert [path for path in kept if not path.startswith("/static/")] == ["/"]
    tab.context.set_offline(False)
    tab.goto("/")
    assert tab.get_by_role("alert").count() == 0
    tab.context.close()


def test_it_is_read_within_a_second_on_a_slow_line(browser, address):
    """First paint with words on it at 1.6 Mbit/s and 150 ms, nothing kept; the best of three."""
    assert min(first_paint_ms(browser, address) for _ in range(3)) <= 1000


def first_paint_ms(browser, address):
    """Return when the first words are seen on a slow line; for ever if the browser does not say."""
    tab = phone(browser, address, service_workers="block")
    line = tab.context.new_cdp_session(tab)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", {
        "offline": False, "latency": 150, "downloadThroughput": 1.6e6 / 8, "uploadThroughput": 9e4,
    })  # fmt: skip
    tab.goto("/")
    paints = "performance.getEntriesByName('first-contentful-paint').map((one) => one.startTime)"
    ends = time.monotonic() + 3
    while not (told := tab.evaluate(paints)) and time.monotonic() < ends:
        tab.wait_for_timeout(20)
    tab.context.close()
    return told[0] if told else float("inf")


def test_it_prints_without_buttons_and_bar(browser, address):
    """Cautions and verdicts stay."""
    tab = phone(browser, address)
    tab.goto("/job/A2")
    tab.emulate_media(media="print")
    assert not tab.locator(".bar").is_visible()
    assert tab.get_by_role("heading", name="Before you spray").is_visible()
    tab.context.close()


def test_no_field_is_hidden_at_twice_the_size(browser, address):
    """A phone at 200 %: what has the focus is not under the bar (WCAG 2.2, 2.4.11)."""
    tab = phone(browser, address, reduced_motion="reduce", viewport={"width": 195, "height": 422})
    for path in ("/now/A2", "/bookings/new"):
        tab.goto(path)
        seen = 0
        for _ in range(25):
            tab.keyboard.press("Tab")
            if not tab.evaluate("document.activeElement.matches('main *')"):
                continue
            tab.wait_for_timeout(20)
            box = tab.evaluate(
                "(() => { const one = document.activeElement.getBoundingClientRect();"
                "const bar = document.querySelector('.bar').getBoundingClientRect();"
                "return [one.top, one.bottom, bar.top]; })()"
            )
            seen += 1
            assert box[1] >= 0, (path, box)
            assert (box[0] + box[1]) / 2 < min(box[2], 422), (path, box)
        assert seen > 5
    tab.context.close()


def test_the_skip_link_is_out_of_sight_until_it_has_the_focus(browser, address):
    """At twice the size too, where it once peeked out."""
    tab = phone(browser, address, viewport={"width": 195, "height": 422})
    tab.goto("/")
    place = "(() => { const box = document.querySelector('.skip').getBoundingClientRect();"
    place += "return box.bottom > 0 && box.right > 0; })()"
    assert tab.evaluate(place) is False
    tab.keyboard.press("Tab")
    assert tab.evaluate(place) is True
    tab.context.close()


def test_the_hours_of_a_strip_do_not_run_into_each_other(browser, address):
    """On a small phone, and at twice the size."""
    for width in (320, 195):
        tab = phone(browser, address, viewport={"width": width, "height": 800})
        tab.goto("/")
        boxes = tab.eval_on_selector_all(
            ".strip text",
            "all => all.filter((one) => getComputedStyle(one).display !== 'none').map((one) => {"
            "const box = one.getBoundingClientRect();"
            "return [Math.round(box.top), box.left, box.right]; })",
        )
        assert len(boxes) > 6
        for (top, _, right), (below, left, _) in pairwise(boxes):
            assert top != below or left >= right, width
        tab.context.close()


@pytest.mark.parametrize(
    "path", ["/", "/job/A2", "/now/A2", "/bookings/new", "/job/A2/goes", "/job/A2/record"]
)
def test_the_focus_is_seen_on_every_kind_of_control(browser, address, path):
    """An outline of 3 px at least, and nothing that is taken out of the keyboard's way."""
    tab = phone(browser, address)
    tab.goto(path)
    tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    out = tab.eval_on_selector_all(
        "main button, main a, main input, main select, main textarea, main summary, .bar a",
        "all => all.filter((one) => one.tabIndex < 0).map((one) => one.outerHTML)",
    )
    assert out == []
    kinds = {}
    for _ in range(80):
        tab.keyboard.press("Tab")
        kind, width, style = tab.evaluate(
            "(() => { const one = document.activeElement;"
            "const chip = one.type === 'radio' && one.closest('label').lastElementChild;"
            "const seen = chip || one;"
            "const of = (what) => getComputedStyle(what);"
            "const best = [one, seen].find((x) => of(x).outlineStyle !== 'none') || one;"
            "return [one.tagName + ':' + (one.type || ''), parseFloat(of(best).outlineWidth),"
            "of(best).outlineStyle]; })()"
        )
        if kind.startswith("BODY"):
            break
        kinds[kind] = (width, style)
    assert len(kinds) >= 1
    unseen = {k: found for k, found in kinds.items() if found[0] < 3 or found[1] == "none"}
    assert unseen == {}
    tab.context.close()


def test_what_is_typed_into_and_picked_is_as_large_as_what_is_tapped(browser, address):
    """48 px for fields, lists and chips."""
    tab = phone(browser, address)
    for path in ("/now/A2", "/bookings/new"):
        tab.goto(path)
        tab.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        sizes = tab.eval_on_selector_all(
            "main input:not([type=hidden], [type=radio], [type=checkbox]), main select,"
            "main textarea, .chips label span, label.check",
            "all => all.map((one) => [one.outerHTML.slice(0, 80),"
            "one.getBoundingClientRect().height]).filter((one) => one[1] > 0)",
        )
        assert len(sizes) > 5
        assert [size for size in sizes if size[1] < 48] == [], path
    tab.context.close()


@pytest.mark.parametrize(("motion", "how"), [("reduce", "auto"), ("no-preference", "smooth")])
def test_nothing_glides_for_who_wants_no_motion(browser, address, motion, how):
    """What the phone asks for."""
    tab = phone(browser, address, reduced_motion=motion)
    tab.goto("/")
    found = tab.evaluate("getComputedStyle(document.documentElement).scrollBehavior")
    assert found == how
    tab.context.close()


def test_a_print_holds_verdict_caution_and_what_is_folded_away(browser, address):
    """Words and not only headings; no button, and no half of a sentence that led to one."""
    tab = phone(browser, address)
    tab.goto("/job/A2")
    tab.emulate_media(media="print")
    assert tab.locator("main .badge").first.is_visible()
    caution = tab.locator(".caution p")
    assert caution.count() > 0
    assert all(one.is_visible() for one in caution.all())
    assert tab.locator("main button:visible, main .button:visible").count() == 0
    assert not tab.evaluate("document.querySelector('ol.play').closest('details').open")
    assert tab.locator("ol.play > li").first.bounding_box()["height"] > 0
    tab.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_what_a_mail_opens_and_on_what_is_over(browser, tmp_path, scheme):
    """A day and a job by their links, a job under way, one that is cancelled, a kept record."""
    with story_world(tmp_path, WEB__ADDRESS="http://127.0.0.1:8420") as services:
        services.progress.at("A1", "look")
        services.bookings.cancel("A2", "customer away")
        services.board.refresh()
        links = [Opens(story.FIRST_DAY), Opens(story.FIRST_DAY, "A3")]
        paths = [services.links.to(one).removeprefix("http://127.0.0.1:8420") for one in links]
        with at_a_socket(services) as found:
            tab = phone(browser, found, scheme)
            for path in (*paths, "/", "/job/A1", "/job/A2", "/job/A1/record", "/v/nothing"):
                tab.goto(path)
                tab.evaluate("document.querySelectorAll('details').forEach((d) => d.open = true)")
                assert faults(tab) == [], path
            tab.context.close()
