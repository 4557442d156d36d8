"""Three simulated days among faults, with their counts.

python tests/faults/three_days.py SEED [SEED ...]
"""

import logging
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from three_days_world import three_days


def main(*seeds):
    """Print what came of each and return 1 if anything is wrong."""
    logging.disable(logging.CRITICAL)  # faults are many
    wrong = False
    for seed in seeds or ("1",):
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            counts = three_days(Path(folder), int(seed))
        wrong |= bool(counts.wrong)
        print(f"seed {seed}: {counts} in {time.monotonic() - began:.0f} s", flush=True)  # noqa: T201 - a script
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
