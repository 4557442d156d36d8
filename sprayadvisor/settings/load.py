"""The one way to get settings: read file and environment, check all, tell every fault at once."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from sprayadvisor.errors import SettingsError
from sprayadvisor.settings.complaints import Places, complaints
from sprayadvisor.settings.environment import read_environment
from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.names import CONFIG
from sprayadvisor.settings.tomlfile import find_config, read_toml


def load_settings(environ: Mapping[str, str] | None = None, path: Path | None = None) -> Settings:
    """Return the settings from the TOML file and the environment, which wins.

    Args:
        environ: variables to read; the process's own by default.
        path: settings file, ahead of the one SPRAYADVISOR_CONFIG names.

    Raises:
        SettingsError: with every fault found, each naming file and line or variable, and the mend.
    """
    environ = os.environ if environ is None else environ
    named_by = CONFIG if path is None and environ.get(CONFIG) else ""
    file = read_toml(find_config(environ, path), named_by)
    variables = read_environment(environ)
    values = _merged(file.values, variables.values)
    if state := environ.get("STATE_DIRECTORY"):
        values.setdefault("data_dir", state.split(":")[0])
    faults = list(variables.faults)
    try:
        settings = Settings(**values)
    except ValidationError as error:
        told = {fault.field for fault in faults if fault.field}
        found = complaints(error, values, Places(file, variables.sources))
        faults += [fault for fault in found if fault.field not in told]
    if faults:
        raise SettingsError(faults)
    return settings


def _merged(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Return two nested mappings as one; ``above`` wins, table by table."""
    merged = dict(below)
    for name, value in above.items():
        both_tables = isinstance(value, Mapping) and isinstance(below.get(name), Mapping)
        merged[name] = _merged(below[name], value) if both_tables else value
    return merged
