"""The environment: SPRAYADVISOR_ variables, secrets from files, and names that nobody knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic_settings import EnvSettingsSource

from sprayadvisor.errors import Fault
from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.names import CONFIG, PREFIX, Leaf, leaves, nearest


@dataclass(frozen=True, slots=True)
class Environment:
    """What the environment sets.

    Attributes:
        values: nested as in the file.
        sources: for each dotted setting, the variable it came from.
        faults: what is wrong before any value was looked at.
    """

    values: dict[str, Any]
    sources: dict[str, str]
    faults: tuple[Fault, ...]


class _Handed(EnvSettingsSource):
    """pydantic-settings' reader, fed from a mapping that is handed in."""

    def __init__(self, variables: Mapping[str, str]) -> None:
        self._variables = {name.lower(): value for name, value in variables.items()}
        super().__init__(Settings)

    def _load_env_vars(self) -> Mapping[str, str | None]:
        return self._variables


def read_environment(environ: Mapping[str, str]) -> Environment:
    """Read the variables of ours; an empty one counts as not there."""
    given = {name.upper(): value for name, value in environ.items() if value.strip()}
    ours = {name: value for name, value in given.items() if name.startswith(PREFIX)}
    faults = _unknown(ours)
    taken: dict[str, str] = {}
    sources: dict[str, str] = {}
    for leaf in leaves():
        if leaf.variable in ours:
            taken[leaf.variable], sources[leaf.dotted] = ours[leaf.variable], leaf.variable
        if leaf.secret and (name := f"{leaf.variable}_FILE") in ours:
            content, fault = _secret(leaf, name, ours)
            faults += [fault] if fault else []
            taken[leaf.variable], sources[leaf.dotted] = content, name
    return Environment(_Handed(taken)(), sources, tuple(faults))


def _unknown(ours: Mapping[str, str]) -> list[Fault]:
    """Return a fault for every variable with our prefix that no setting has."""
    known = [leaf.variable for leaf in leaves()]
    known += [f"{leaf.variable}_FILE" for leaf in leaves() if leaf.secret] + [CONFIG]
    faults = []
    for name in sorted(set(ours) - set(known)):
        near = nearest(name, known)
        remedy = f"perhaps {near} is meant" if near else "unset it"
        faults.append(Fault(name, "", "no setting has this name", remedy))
    return faults


def _secret(leaf: Leaf, name: str, ours: Mapping[str, str]) -> tuple[str, Fault | None]:
    """Return a secret from the file a variable names, or what is wrong with that file."""
    path = Path(ours[name]).expanduser()
    if leaf.variable in ours:
        return "-", Fault(
            name, leaf.dotted, f"{leaf.variable} is set as well", "set one of the two"
        )
    try:
        content = path.read_text(encoding="utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "not UTF-8 text"
        problem, remedy = (
            f"the file {path} cannot be read ({why})",
            "correct the path or its rights",
        )
        return "-", Fault(name, leaf.dotted, problem, remedy)
    if not content.strip():
        remedy = "put the secret into it or unset the variable"
        return "-", Fault(name, leaf.dotted, f"the file {path} is empty", remedy)
    return content, None
