"""Print every check against the outside world, with what the running code reaches.

python tests/reference/report.py            prints the table
python tests/reference/report.py --write    puts it into DEVELOPERS.md
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "support")]

import checks_air  # noqa: E402 - the folders of the tests are no package
import checks_hours  # noqa: E402
import checks_paint  # noqa: E402
import checks_panel  # noqa: E402
import checks_sky  # noqa: E402
import checks_sun  # noqa: E402

CHECKS = (
    checks_air.CHECKS
    + checks_hours.CHECKS
    + checks_sky.CHECKS
    + checks_sun.CHECKS
    + checks_panel.CHECKS
    + checks_paint.CHECKS
)
GUIDE = HERE.parents[1] / "DEVELOPERS.md"
BEGIN, END = "<!-- checks: begin -->", "<!-- checks: end -->"


def table() -> list[str]:
    """Return the lines of the table."""
    head = ["| what | source | tolerance | reached |", "|---|---|---|---|"]
    return head + [check.row() for check in CHECKS]


def kept(guide: str) -> list[str]:
    """Return the lines of the table in a guide."""
    return guide.partition(BEGIN)[2].partition(END)[0].strip().splitlines()


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table, or write it down."""
    parser = argparse.ArgumentParser(description="Checks against the outside world.")
    parser.add_argument("--write", action="store_true", help="put the table into DEVELOPERS.md")
    lines = "\n".join(table())
    if not parser.parse_args(arguments).write:
        sys.stdout.write(lines + "\n")
        return
    before, _, rest = GUIDE.read_text("utf-8").partition(BEGIN)
    after = rest.partition(END)[2]
    GUIDE.write_text(f"{before}{BEGIN}\n{lines}\n{END}{after}", "utf-8")


if __name__ == "__main__":
    main()
