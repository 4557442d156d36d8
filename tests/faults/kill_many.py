"""The kill trial at length, with its counts.

python tests/faults/kill_many.py [cycles] [seed] [early]
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from killing import trial


def main(cycles="200", seed="1", *faults):
    """Print what came of it and return 1 if anything is wrong."""
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        counts = trial(Path(folder), int(cycles), int(seed), faults=faults)
    for name, value in counts._asdict().items():
        print(f"{name:8} {value}")  # noqa: T201 - a script
    print(f"seconds  {time.monotonic() - began:.0f}")  # noqa: T201
    return int(bool(counts.wrong))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
