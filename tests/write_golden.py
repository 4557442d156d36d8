"""Write the golden brief anew: ``python tests/write_golden.py``; then read the difference."""

import tempfile
from pathlib import Path

from sprayadvisor.demo.play import play_story

GOLDEN = Path(__file__).parent.parent / "fixtures" / "golden" / "brief.txt"

if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        GOLDEN.write_text("\n".join(play_story(Path(folder)).texts), encoding="utf-8")
