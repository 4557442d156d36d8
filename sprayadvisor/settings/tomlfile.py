"""The settings file: finding it, reading it, and telling on which line a setting stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sprayadvisor import tomltext
from sprayadvisor.errors import Fault, SettingsError
from sprayadvisor.settings.names import CONFIG, leaves


@dataclass(frozen=True, slots=True)
class TomlFile:
    """What a settings file holds; empty where there is none."""

    path: Path | None = None
    text: str = ""
    values: dict[str, Any] = field(default_factory=dict)

    def holds(self, path: tuple[str, ...]) -> bool:
        """Return whether the file sets this very field."""
        node: Any = self.values
        for name in path:
            if not isinstance(node, Mapping) or name not in node:
                return False
            node = node[name]
        return True

    def line_of(self, path: tuple[str, ...]) -> int | None:
        """Return the line that sets a field, or else the one that opens its table."""
        return tomltext.line_of(self.text, path)


def find_config(environ: Mapping[str, str], path: Path | None = None) -> Path | None:
    """Return the settings file that will be read.

    In order: ``path``, the file SPRAYADVISOR_CONFIG names, ``sprayadvisor.toml`` in the working
    folder, the one in the user's configuration folder. The first two need not exist.
    """
    if path is not None:
        return path
    if named := environ.get(CONFIG):
        return Path(named).expanduser()
    import platformdirs

    usual = (
        Path("sprayadvisor.toml"),
        platformdirs.user_config_path("sprayadvisor") / "sprayadvisor.toml",
    )
    return next((candidate for candidate in usual if candidate.is_file()), None)


def read_toml(path: Path | None, named_by: str = "") -> TomlFile:
    """Read a settings file; relative folders in it are counted from where the file lies.

    Args:
        path: the file, None for none.
        named_by: the variable that named it, told when the file is missing.

    Raises:
        SettingsError: the file is missing, unreadable or not TOML.
    """
    if path is None:
        return TomlFile()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise SettingsError(
            [Fault(str(path), "", "the file is not UTF-8 text", "save it as UTF-8")]
        ) from error
    except OSError as error:
        raise SettingsError([_missing_fault(path, named_by, error)]) from error
    values = tomltext.parse(text)
    if isinstance(values, tomltext.Broken):
        problem = f"the file is not TOML: {values.what}"
        remedy = "correct the line; text needs quotation marks"
        raise SettingsError([Fault(str(path), "", problem, remedy, values.line)])
    _anchor(values, path.parent)
    return TomlFile(path, text, values)


def _missing_fault(path: Path, named_by: str, error: OSError) -> Fault:
    """Return the fault for a file that cannot be opened."""
    what = (
        "does not exist"
        if isinstance(error, FileNotFoundError)
        else f"cannot be read ({error.strerror})"
    )
    if named_by:
        return Fault(
            named_by, "", f"the file {path} {what}", "correct the path or unset the variable"
        )
    return Fault(str(path), "", f"the settings file {what}", "correct the path")


def _anchor(values: dict[str, Any], folder: Path) -> None:
    """Make folders in the file relative to the file, in place."""
    for leaf in leaves():
        if not leaf.path_like:
            continue
        table: Any = values
        for name in leaf.path[:-1]:
            table = table.get(name) if isinstance(table, dict) else None
        if isinstance(table, dict) and leaf.path[-1] in table:
            table[leaf.path[-1]] = _anchored(table[leaf.path[-1]], folder)


def _anchored(value: object, folder: Path) -> object:
    """Return one folder, or each of several, counted from ``folder``; anything else as it is."""
    if isinstance(value, list):
        return [_anchored(each, folder) for each in value]
    return str(folder / Path(value).expanduser()) if isinstance(value, str) else value
