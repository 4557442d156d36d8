"""The example file says all there is to set, loads as it is, and cannot fall behind."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields
from itertools import pairwise
from pathlib import Path

import pytest

from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import Policy
from sprayadvisor.settings import example_toml, load_settings
from sprayadvisor.settings.names import leaves
from sprayadvisor.shipped import shipped


def test_committed_file_is_the_generated_text():
    """The committed example is what the settings say today."""
    text = shipped("config/sprayadvisor.example.toml").read_text(encoding="utf-8")
    assert text == example_toml(), "run: sprayadvisor settings example --output FILE --force"


def test_example_loads_and_changes_nothing_but_the_invented():
    """The example can be used as it is; all that is not invented in it is the default."""
    settings = load_settings({}, shipped("config/sprayadvisor.example.toml"))
    assert settings.to_policy() == Policy()
    assert settings.to_kit() == Kit()
    assert settings.base.zone == "Europe/Dublin"
    assert settings.recipients == ("painter@example.org",)


def test_example_holds_every_setting_with_a_meaning():
    """Every setting stands in the file, below a comment that is not just another setting."""
    lines = example_toml().splitlines()
    table, seen = "", set()
    for above, line in pairwise(lines):
        if header := re.fullmatch(r"\[(.+)\]", line):
            table = header[1] + "."
        elif key := re.match(r"(?:# )?(\w+) = ", line):
            seen.add(table + key[1])
            assert re.match(r"# (?!\w+ = )\S", above), line
    assert seen == {leaf.dotted for leaf in leaves()}


@pytest.mark.parametrize("left_out", ["host", "folder"])
def test_commented_settings_are_true_examples(tmp_path, left_out):
    """Every line behind a mark loads too, once folder and server are not both there."""
    text = re.sub(r"(?m)^# (\w+ = )", r"\1", example_toml())
    text = re.sub(rf"(?m)^{left_out} = \"(mail|mail\.example\.org)\"\n", "", text)
    file = Path(tmp_path / "s.toml")
    file.write_text(text, encoding="utf-8")
    settings = load_settings({}, file)
    assert settings.mail.smtp_port == 587
    given = tomllib.loads(text)
    assert given["forecast"]["plan"] == settings.forecast.effective_plan == "customer"


def test_settings_cover_policy_and_kit():
    """A field added to the policy or the kit shows up in the settings, or this fails."""
    names = {leaf.path for leaf in leaves()}
    policy = {field.name for field in fields(Policy)} - {"thresholds", "work_from", "work_to"}
    assert {path[1] for path in names if path[0] == "policy" and len(path) == 2} == policy
    assert {path[1] for path in names if path[0] == "kit"} == {field.name for field in fields(Kit)}
