"""Where the files lie that come with the project."""

import subprocess
import sys

import pytest

from sprayadvisor.errors import DeliveryError
from sprayadvisor.shipped import shipped


def test_files_of_a_checkout_are_found():
    """The sheets and the story's weather are there."""
    assert (shipped("config/sheets") / "base-solvent.toml").is_file()
    assert shipped("fixtures/weather").is_dir()


def test_a_broken_installation_is_named():
    """What did not come along is named with the mend."""
    with pytest.raises(FileNotFoundError, match=r"config/nothing did not come .* again"):
        shipped("config/nothing")


def test_the_package_runs_as_a_module():
    """``python -m sprayadvisor`` is the command."""
    done = subprocess.run(
        [sys.executable, "-m", "sprayadvisor", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.startswith("sprayadvisor ")


def test_a_delivery_error_says_whether_to_try_again():
    """Permanent failures are not tried again."""
    assert DeliveryError("no such box", permanent=True).permanent
