"""Logging in: what opens the page, what does not, and how often it may be tried."""

import re
import threading
from http.cookies import SimpleCookie

import pytest
from clockwork import Time, utc
from fastapi.testclient import TestClient
from page import PASSPHRASE, browser, story_world
from pydantic import SecretStr

from sprayadvisor.bootstrap import build
from sprayadvisor.errors import StoreError
from sprayadvisor.web.app import create_app
from sprayadvisor.web.limiter import BY_ALL, BY_ONE, WINDOW, Limiter

PUBLIC = "https://jobs.example.org"
LOCKED = {"WEB__PASSPHRASE": PASSPHRASE, "WEB__ADDRESS": PUBLIC}


@pytest.fixture
def services(tmp_path):
    """Services of a page behind a login, with a clock that can be set."""
    with story_world(tmp_path, booked=(), **LOCKED) as made:
        made.time = Time(utc("16 06:30"))
        made.now = made.time
        yield made


@pytest.fixture
def client(services):
    """A phone that is not logged in."""
    return browser(create_app(services), PUBLIC)


def log_in(client, passphrase=PASSPHRASE, **fields):
    """Send the form."""
    form = {"passphrase": passphrase} | fields
    return client.post("/login", data=form, follow_redirects=False)


def test_without_a_login_nothing_is_shown(client):
    """Pages lead to the login, changes are refused with what was typed, health stays open."""
    for path in ("/", "/job/A1", "/nothing"):
        answer = client.get(path, follow_redirects=False)
        assert answer.status_code == 303
        assert answer.headers["location"] == f"/login?next={path}"
    answer = client.post("/logout", data={"note": "kept"})
    assert answer.status_code == 401
    assert "kept" in answer.text
    assert client.get("/healthz").status_code == 200
    assert "Curlew" not in client.get("/login").text


def test_the_passphrase_opens_the_page_and_leads_on(client):
    """Once in, every page is shown, and the login itself leads on."""
    answer = log_in(client, next="/job/A1")
    assert (answer.status_code, answer.headers["location"]) == (303, "/job/A1")
    assert client.get("/").status_code == 200
    assert (
        client.get("/login?next=/job/A1", follow_redirects=False).headers["location"] == "/job/A1"
    )


def test_the_cookie_is_of_no_use_to_scripts_and_other_sites(client):
    """HttpOnly, Secure, SameSite, bound to this host; it holds neither passphrase nor name."""
    cookie = SimpleCookie(log_in(client).headers["set-cookie"])["__Host-sprayadvisor"]
    assert (cookie["httponly"], cookie["secure"], cookie["path"]) == (True, True, "/")
    assert cookie["samesite"].lower() == "lax"
    assert PASSPHRASE not in cookie.value


@pytest.mark.parametrize(
    "passphrase", ["", " ", PASSPHRASE[:-1], PASSPHRASE + " ", PASSPHRASE.upper(), "x" * 10_000,
                   "\x00", "💥", "' OR 1=1 --"],
)  # fmt: skip
def test_anything_else_does_not(client, passphrase):
    """A sentence at the field, status 401, and no cookie."""
    answer = log_in(client, passphrase)
    assert answer.status_code == 401
    assert "That is not the passphrase." in answer.text
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    "target", ["//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)",
               "/a\r\nSet-Cookie: x=1", "evil", "/login", "", "/?next=x"],
)  # fmt: skip
def test_a_login_leads_to_no_other_page_than_this_one(client, target):
    """Open redirects and split headers."""
    answer = log_in(client, next=target)
    assert answer.headers["location"] == "/"
    assert "x=1" not in str(answer.headers)


def test_guessing_is_stopped_and_time_opens_it_again(client, services):
    """After five wrong tries even the right one must wait; it says how long."""
    for _ in range(BY_ONE):
        assert log_in(client, "wrong wrong").status_code == 401
    answer = log_in(client)
    assert answer.status_code == 429
    assert int(answer.headers["Retry-After"]) == WINDOW.total_seconds()
    assert "Wait 15 min" in answer.text
    services.time.on(minutes=15)
    assert log_in(client).status_code == 303


def test_whoever_is_in_stays_in_while_others_guess(services):
    """The limit is on logins and not on pages."""
    app = create_app(services)
    inside = browser(app, PUBLIC)
    assert log_in(inside).status_code == 303
    for number in range(BY_ALL + 5):
        stranger = TestClient(app, base_url=PUBLIC, client=(f"192.0.2.{number}", 1),
                              headers={"Origin": PUBLIC})  # fmt: skip
        status = log_in(stranger, "wrong wrong").status_code
        assert status == (401 if number < BY_ALL else 429)
    assert inside.get("/").status_code == 200


def test_tries_are_counted_by_network_and_forgotten():
    """An IPv6 network of /64 is one, success forgives, a clock set back locks nobody out."""
    time = Time(utc("16 06:30"))
    limiter = Limiter(time)
    for number in range(BY_ONE):
        assert limiter.wait_s(f"2001:db8::{number}") == 0
    assert limiter.wait_s("2001:db8::ffff") > 0
    assert limiter.wait_s("2001:db8:0:1::1") == 0
    assert limiter.wait_s("no address") == 0
    limiter.forgive("2001:db8::9")
    assert limiter.wait_s("2001:db8::1") == 0
    for _ in range(BY_ONE):
        limiter.wait_s("192.0.2.1")
    assert limiter.wait_s("192.0.2.1") > 0
    time.on(hours=-1)
    assert limiter.wait_s("192.0.2.1") == 0


def cookie_of(client):
    """Return the login a phone keeps."""
    return client.cookies["__Host-sprayadvisor"]


def with_cookie(app, text):
    """Ask for today with a login of one's own making."""
    client = TestClient(app, base_url=PUBLIC, cookies={"__Host-sprayadvisor": text})
    return client.get("/", follow_redirects=False).status_code


def test_a_login_ends_after_a_month(client, services):
    """And not before."""
    log_in(client)
    services.time.on(days=30)
    assert client.get("/", follow_redirects=False).status_code == 200
    services.time.on(seconds=2)
    assert client.get("/", follow_redirects=False).status_code == 303


def test_forged_logins_open_nothing(client, services):
    """Changed, cut, made of a link or of another page's key, or empty."""
    log_in(client)
    good = cookie_of(client)
    app = create_app(services)
    assert with_cookie(app, good) == 200
    other = services.signer.sign("link", [])
    last = "A" if good[-2] != "A" else "B"
    for text in (good[:-2] + last + good[-1], good[:-5], "", ".", "W10.x.y", other, good + "x"):
        assert with_cookie(app, text) == 303


def test_a_new_key_keeps_logins_and_revoking_ends_them(client, services):
    """Rotation is not felt; revoking is, at once and without a restart."""
    log_in(client)
    services.keys.renew(revoke=False)
    assert client.get("/", follow_redirects=False).status_code == 200
    services.keys.renew(revoke=True)
    assert client.get("/", follow_redirects=False).status_code == 303


def test_another_passphrase_ends_every_login(client, services):
    """The same keys, another passphrase."""
    log_in(client)
    changed = {"passphrase": SecretStr("quite another one")}
    web = services.settings.web.model_copy(update=changed)
    other = build(services.settings.model_copy(update={"web": web}))
    other.now = services.time
    try:
        assert with_cookie(create_app(other), cookie_of(client)) == 303
    finally:
        other.close()


def test_logging_out_forgets_the_login_and_what_was_kept(client):
    """The phone is told to drop its cookie and its store."""
    log_in(client)
    answer = client.post("/logout", follow_redirects=False)
    assert answer.headers["location"] == "/login"
    assert "storage" in answer.headers["Clear-Site-Data"]
    assert client.get("/", follow_redirects=False).status_code == 303


def test_nothing_of_a_login_is_logged(client, caplog):
    """Neither passphrase nor cookie."""
    with caplog.at_level(0):
        log_in(client)
        client.get("/nothing?customer=Zebedee")
    own = [r.getMessage() for r in caplog.records if r.name.startswith("sprayadvisor")]
    assert not re.search(f"{PASSPHRASE}|{cookie_of(client)}|Zebedee", " ".join(own))


def test_the_page_of_this_machine_needs_no_login(page):
    """The usual setting: loopback, nobody to log in and nothing to log out of."""
    assert page.get("/").status_code == 200
    assert "Log out" not in page.get("/").text
    assert page.get("/login", follow_redirects=False).status_code == 303


def test_many_tries_at_once_are_no_way_around_the_limit():
    """A try counts before it is known to be wrong."""
    limiter, waits = Limiter(Time(utc("16 06:30"))), []
    threads = [
        threading.Thread(target=lambda: waits.append(limiter.wait_s("192.0.2.1")))
        for _ in range(4 * BY_ONE)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert waits.count(0) == BY_ONE


def test_without_a_readable_key_nobody_is_in_and_nobody_learns_why(client, services, caplog):
    """The file's name is in the log and on no page; the page of health goes on."""
    log_in(client)
    services.keys.path.write_text("spoiled")
    assert client.get("/", follow_redirects=False).status_code == 303
    for answer in (log_in(client), client.get("/v/x.y.z")):
        assert answer.status_code == 503
        assert "Whoever runs it finds why in the log." in answer.text
        assert "web.keys" not in answer.text
    assert client.get("/healthz").status_code == 200
    assert "web.keys holds no keys" in caplog.text


def test_a_sentence_that_cannot_be_read_costs_nothing_else(page, story_services, monkeypatch):
    """What was done is done."""

    def fail(*_):
        raise StoreError("web.keys cannot be read; mend it.")

    monkeypatch.setattr(type(story_services.signer), "read", fail)
    page.cookies.set("said", "anything")
    try:
        assert page.get("/").status_code == 200
    finally:
        page.cookies.delete("said")


def test_a_guess_costs_as_much_as_the_function_was_made_for(services, monkeypatch):
    """16 MB a try: N 2**14, r 8, p 1 of Percival 2009 for a login somebody waits for."""
    import hashlib

    asked, real = [], hashlib.scrypt

    def noting(*given, **named):
        asked.append(named)
        return real(*given, **named)

    monkeypatch.setattr(hashlib, "scrypt", noting)
    client = browser(create_app(services), PUBLIC)
    assert log_in(client, "wrong").status_code == 401
    assert len(asked) >= 2  # the one that is kept, and the try
    for one in asked:
        assert one["n"] >= 2**14
        assert one["r"] >= 8
        assert one["p"] >= 1
        assert one["dklen"] >= 32
