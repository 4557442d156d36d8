"""The README's examples do what they say."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import sprayadvisor

README = Path(__file__).parent.parent / "README.md"
BLOCKS = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)


@pytest.mark.parametrize("code", BLOCKS)
def test_python_examples_run(code):
    """Each Python block prints something and fails on nothing."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.stdout.strip()


def test_there_is_an_example():
    """The README shows the library once, in about ten lines."""
    assert len(BLOCKS) == 1
    assert len(BLOCKS[0].strip().splitlines()) <= 12


def test_public_surface_is_small_and_there():
    """At most ten public names, each of which exists."""
    assert len(sprayadvisor.__all__) <= 10
    assert all(getattr(sprayadvisor, name) is not None for name in sprayadvisor.__all__)
    with pytest.raises(AttributeError, match="nothing_like_it"):
        _ = sprayadvisor.nothing_like_it
