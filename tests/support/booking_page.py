"""Filling in the form of a booking as a browser does: every field it has, as it stands."""

import re
from html import unescape

GOOD = {
    "process": "door-scuff",
    "day": "2026-04-17",
    "arrive": "9-10:30",
    "site": "Nook Lane",
    "place": "53,27; -8,92",
    "part": ["left_door", "", ""],
    "colour": ["white", "", ""],
    "material": ["steel"] * 3,
    "surface": ["paint"] * 3,
    "may_move": "yes",
}


def fields(text):
    """Return what a browser would send of the first form that holds these fields."""
    found = {}
    inputs = re.findall(r'<input id="[^"]*" name="([^"]+)"[^>]*? value="([^"]*)"', text)
    inputs += re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', text)
    for name, select in re.findall(
        r'<select id="[^"]*" name="([^"]+)".*?>(.*?)</select>', text, re.DOTALL
    ):
        picked = re.search(r'value="([^"]*)" selected', select)
        first = re.search(r'value="([^"]*)"', select)
        inputs.append((name, (picked or first)[1]))
    for name, value in inputs:
        found.setdefault(name, []).append(unescape(value))
    return found


def send(client, path, /, **changed):
    """Open a form, change fields, send it, and stay."""
    filled = fields(client.get(path).text) | changed
    answer = client.post(path, data=filled, follow_redirects=False)
    return came_of(client, answer)


def came_of(client, answer):
    """Return the page that came of a form, where it stands on one of its own; else the answer."""
    where = answer.headers.get("location", "")
    return client.get(where) if where.startswith("/shown/") else answer


def fault(text, name):
    """Return the sentence at a field, empty if there is none."""
    found = re.search(rf'id="{name}-problem">(.*?)</p>', text, re.DOTALL)
    return unescape(found[1]) if found else ""


def on_top(text):
    """Return the sentence above the form."""
    found = re.search(r'class="problem" role="alert">(.*?)</p>', text, re.DOTALL)
    return unescape(found[1]) if found else ""
