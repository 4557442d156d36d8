"""Requests drawn from the app's own description: none may break it.

The tool is general purpose (schemathesis); what it draws are paths, queries and form fields, among
them wrong types, wild text and missing fields.
"""

from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from page import page_of, story_world

schemathesis = pytest.importorskip("schemathesis")

MORNING = "2026-04-16T07:30:00+01:00"


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A phone on this machine whose bookings may be changed at will."""
    with story_world(tmp_path_factory.mktemp("drawn"), now=MORNING) as services:
        services.board.refresh()
        yield page_of(services)


def operations(app):
    """Return what the app can be asked for, by method and path; it tells that to nobody else."""
    found = schemathesis.openapi.from_dict(app.openapi()).get_all_operations()
    return {f"{one.ok().method.upper()} {one.ok().path}": one.ok() for one in found}


def test_no_request_breaks_the_app(client):
    """Whatever is sent, the answer is a page or a sentence: never a defect, never a traceback."""
    known = operations(client.app)
    assert {"GET /", "POST /now/{ref}", "POST /job/{ref}/record"} <= set(known)
    for name, operation in known.items():
        _try(name, operation, client)


def _try(name, operation, client):
    """Send requests drawn for one operation."""

    @settings(
        max_examples=15,
        deadline=None,
        derandomize=True,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(case=operation.as_strategy())
    def send(case):
        answer = client.request(**_sent(case), follow_redirects=False)
        assert answer.status_code < 500, f"{name}: {answer.text[:300]}"
        assert "Traceback" not in answer.text
        assert "content-security-policy" in answer.headers

    send()


def _sent(case):
    """Return a drawn case as the client takes it."""
    sent = case.as_transport_kwargs(base_url="http://127.0.0.1:8420")
    form = sent.get("data") or sent.get("json")
    kept = {part: sent[part] for part in ("method", "url", "params") if sent.get(part)}
    if isinstance(form, dict):
        kept["content"] = urlencode(form, doseq=True, errors="replace")
        kept["headers"] = {"Content-Type": "application/x-www-form-urlencoded"}
    return kept


def test_the_description_is_shown_to_nobody(client):
    """Who may not see a page need not know which there are."""
    for path in ("/openapi.json", "/docs", "/redoc"):
        assert client.get(path).status_code == 404
