"""Settings: one frozen object from a TOML file, the environment and secret files.

The environment wins over the file; a name that nobody knows is a fault in either. Settings stop at
``bootstrap``: pure code gets the plain values that ``to_policy``, ``to_kit`` and ``display`` make.
"""

from __future__ import annotations

from sprayadvisor.settings.example import example_toml
from sprayadvisor.settings.load import load_settings
from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.tomlfile import find_config
from sprayadvisor.settings.written import settings_toml

__all__ = ["Settings", "example_toml", "find_config", "load_settings", "settings_toml"]
