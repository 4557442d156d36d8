"""The import arrows of the house, held over every import node, lazy ones too."""

import ast
from pathlib import Path

import pytest

import sprayadvisor

PACKAGE = Path(sprayadvisor.__file__).parent
EVERYWHERE = {"errors", "units", "shipped", "tomltext"}
# What each part may import, besides itself and EVERYWHERE.
MAY_IMPORT = {
    "science": set(),
    "advice": {"science"},
    "render": {"advice"},
    "services": {"advice", "render"},
    "adapters": {"services.ports", "advice", "science"},
    "settings": {"advice"},
    "demo": {"bootstrap", "services", "advice", "settings"},
    "bootstrap": {"adapters", "services", "render", "advice", "science", "settings"},
    "cli": {"bootstrap", "services", "advice", "settings", "schedule", "web", "demo"},
    "schedule": {"bootstrap", "services", "advice"},
    "web": {"bootstrap", "services", "advice", "render"},
    "__init__": {"advice", "science"},
    "__main__": {"cli"},
    "errors": set(),
    "units": set(),
    "shipped": set(),
    "tomltext": set(),
}


def imported_names(path: Path) -> set[str]:
    """Return what a module imports from this package, dotted, without the package's own name."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return {
        name.removeprefix("sprayadvisor.") for name in names if name.startswith("sprayadvisor.")
    }


def part_of(path: Path) -> str:
    """Return the part of the house a module lies in."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def allowed(name: str, part: str) -> bool:
    """Return whether a module of ``part`` may import ``name``."""
    goals = MAY_IMPORT[part] | EVERYWHERE | {part}
    return any(name == goal or name.startswith(goal + ".") for goal in goals)


@pytest.mark.parametrize(
    "path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE))
)
def test_imports_point_only_down(path):
    """No module imports from a part above its own."""
    part = part_of(path)
    wrong = {name for name in imported_names(path) if not allowed(name, part)}
    assert wrong == set()


@pytest.mark.parametrize(
    "path",
    sorted((PACKAGE / "science").rglob("*.py")) + sorted((PACKAGE / "advice").rglob("*.py")),
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_pure_parts_reach_for_nothing_outside(path):
    """The pure parts import nothing that does input or output, reads a clock or the environment."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    modules = {
        alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    modules |= {
        node.module.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)
    }
    assert modules.isdisjoint(
        {"os", "io", "pathlib", "requests", "sqlite3", "socket", "logging", "subprocess", "random"}
    )
    calls = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    called = {name.rsplit(".", 1)[-1] for name in calls}
    assert called.isdisjoint({"now", "today", "utcnow", "getenv", "read_text", "open", "print"})
    assert "environ" not in path.read_text(encoding="utf-8")


def test_the_test_itself_can_see_a_wrong_arrow():
    """A pure part that imported an adapter would be found."""
    assert not allowed("adapters.open_meteo.parse_forecast", "advice")
    assert not allowed("services.brief.Brief", "adapters")
    assert allowed("services.ports.BookingStore", "adapters")
