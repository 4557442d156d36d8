"""A real Chromium: pages that grow old while they are open, and forms sent without a connection."""

import re

import pytest
from page import story_world
from phone import CHROMIUM, at_a_socket, phone
from serving import wait_for

from sprayadvisor.demo import story

pytest.importorskip("playwright", reason="the browser extra is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM, reason="there is no Chromium on this machine"),
]
OLD = ".old[data-at]"
TRY_ALL = "navigator.serviceWorker.controller !== null"
KEPT = "caches.open('brief').then((c) => c.match('/')).then(Boolean)"


def ready(browser, address, path="/"):
    """Return a tab through whose worker every request goes, the brief kept, on a page."""
    tab = phone(browser, address)
    tab.goto("/")
    wait_for(lambda: tab.evaluate(TRY_ALL), 10)
    tab.reload()
    wait_for(lambda: tab.evaluate(KEPT), 10)
    if path != "/":
        tab.goto(path)
    return tab


@pytest.mark.parametrize("path", ["/", "/job/A2"])
def test_a_page_left_open_says_after_ten_minutes_that_it_is_old(browser, address, path):
    """A band above all else with an age that moves, also when taken out of the pocket."""
    tab = phone(browser, address)
    tab.clock.install()
    tab.goto(path)
    tab.clock.run_for("09:00")
    assert tab.locator(OLD).count() == 0
    tab.clock.run_for("01:00")
    band = tab.locator(OLD)
    assert "OLD. This page was loaded 10 min ago" in band.inner_text()
    assert band.get_by_role("link", name="load it anew").count() == 1
    top = "document.querySelector('.old[data-at]').compareDocumentPosition("
    assert tab.evaluate(top + "document.querySelector('main')) & 4")
    tab.clock.fast_forward("30:00")
    tab.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert re.search(r"loaded 4[01] min ago", band.inner_text())
    assert band.count() == 1
    tab.context.close()


def test_an_answer_left_open_says_that_it_is_not_of_now(browser, address):
    """And leads back to the question, not to the same answer again."""
    tab = phone(browser, address)
    tab.clock.install()
    tab.goto("/now/A2")
    tab.get_by_role("button", name="May it begin now?").or_(
        tab.get_by_role("button", name="Does the weather fit now?")
    ).first.tap()
    tab.locator(".answer").wait_for()
    tab.clock.run_for("11:00")
    band = tab.locator(OLD)
    assert "OLD. This answer was loaded 11 min ago" in band.inner_text()
    again = band.get_by_role("link", name="ask again")
    assert again.get_attribute("href") == "/now/A2"
    tab.context.close()


def test_a_page_without_a_verdict_never_grows_old(browser, address):
    """A form that is being filled in is not interrupted."""
    tab = phone(browser, address)
    tab.clock.install()
    tab.goto("/bookings/new")
    tab.clock.run_for("30:00")
    assert tab.locator(".old").count() == 0
    tab.context.close()


def test_the_age_of_the_kept_brief_is_true_and_moves(browser, address):
    """Kept two hours ago it says so; a minute later it is a minute older."""
    tab = ready(browser, address)
    tab.evaluate(
        "caches.open('brief').then(async (c) => { const kept = await c.match('/');"
        "const headers = new Headers(kept.headers);"
        "headers.set('X-At', String(Date.now() - 47 * 60000));"
        "await c.put('/', new Response(await kept.text(), { headers })); })"
    )
    tab.context.set_offline(True)
    tab.clock.install()
    answer = tab.goto("/")
    assert ">47 min</span> ago" in answer.text()  # the worker's own words, before any script
    band = tab.locator(OLD)
    assert "this was loaded 47 min ago" in band.inner_text()
    tab.clock.run_for("02:00")
    assert re.search(r"this was loaded (48|49) min ago", band.inner_text())
    assert band.count() == 1
    tab.context.close()


def test_what_was_typed_is_kept_where_nothing_could_be_sent(browser, address):
    """No answer, old or new; sent again it counts for the minute in which it was read."""
    tab = ready(browser, address, "/now/A2")
    tab.locator("#panel").fill("17,5")
    tab.locator("#humidity").fill("71")
    tab.context.set_offline(True)
    tab.locator("main form button[type=submit]").last.tap()
    tab.get_by_role("heading", name="No connection").wait_for()
    said = tab.get_by_role("alert").inner_text()
    assert said == "Nothing was sent, and nothing was judged."
    text = tab.locator("main").inner_text()
    assert "17,5" in text
    assert "71" in text
    assert not re.search(r"\b(GO|CARE|NO-GO)\b", text)
    assert re.fullmatch(r"\d\d:\d\d", tab.locator("input[name=at]").input_value())
    tab.context.set_offline(False)
    sent = []
    tab.on("request", lambda one: sent.append(one) if one.method == "POST" else None)
    tab.get_by_role("button", name="Send it again").tap()
    tab.locator("#panel").wait_for()
    assert "panel=17%2C5" in sent[0].post_data
    assert re.search(r"at=\d\d%3A\d\d", sent[0].post_data)
    tab.context.close()


def test_a_stage_that_could_not_be_noted_is_never_noted_later(browser, address):
    """It would count for the minute of the second try; a passphrase is shown nowhere."""
    tab = ready(browser, address, "/job/A2/goes")
    tab.context.set_offline(True)
    tab.get_by_role("button", name=re.compile("begin this stage|start this", re.IGNORECASE)).tap()
    tab.get_by_role("heading", name="No connection").wait_for()
    assert "has most likely not been noted" in tab.get_by_role("alert").inner_text()
    assert tab.locator("form").count() == 0
    tab.context.close()


@pytest.mark.parametrize("status", [502, 503, 504])
def test_a_proxy_that_found_nobody_is_no_connection(browser, story_services, status):
    """The kept brief with its band instead of the proxy's words; what is typed is kept."""
    from sprayadvisor.web.app import create_app

    app, down = create_app(story_services), []

    async def proxied(scope, receive, send):
        if not down or scope["type"] != "http":
            await app(scope, receive, send)
            return
        await send({"type": "http.response.start", "status": status, "headers": []})
        await send({"type": "http.response.body", "body": b"Bad gateway, says a proxy"})

    with at_a_socket(story_services, proxied) as found:
        tab = ready(browser, found)
        down.append(True)
        tab.goto("/")
        assert "There is no connection: this was loaded 0 min ago" in (
            tab.locator(OLD).inner_text()
        )
        tab.goto("/job/A2")
        assert tab.get_by_role("heading", name="No connection").is_visible()
        tab.context.close()


def test_a_line_that_hangs_is_no_connection_after_eight_seconds(story_services, browser):
    """Then the kept brief is shown; nobody waits for ever."""
    import asyncio

    from sprayadvisor.web.app import create_app

    app, hangs = create_app(story_services), []

    async def slow(scope, receive, send):
        if hangs and scope["type"] == "http":
            await asyncio.sleep(20)
        await app(scope, receive, send)

    with at_a_socket(story_services, slow) as found:
        tab = ready(browser, found)
        hangs.append(True)
        tab.goto("/", timeout=15_000)
        assert "There is no connection" in tab.locator(OLD).inner_text()
        hangs.clear()
        tab.context.close()


def test_a_brief_that_is_being_worked_out_is_not_kept(browser, tmp_path):
    """Only a page that says it may be: one that says nothing of the day is worth nothing later."""
    with (
        story_world(tmp_path, booked=story.BOOKINGS[:1]) as services,
        at_a_socket(services) as found,
    ):
        tab = phone(browser, found)
        tab.goto("/sheets")
        wait_for(lambda: tab.evaluate(TRY_ALL), 10)
        tab.goto("/")
        assert "being worked out" in tab.locator("main").inner_text()
        assert tab.evaluate(KEPT) is False
        tab.context.close()
