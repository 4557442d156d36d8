"""What every test leaves behind for the next one: nothing."""

import logging

import pytest
from hypothesis import settings

from sprayadvisor.cli.logs import Plain

# A deadline for each example would be a timed test: it fails where the machine is busy.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


@pytest.fixture(autouse=True)
def logging_as_it_was():
    """Take the command's own log handlers off again, with their level."""
    yield
    root = logging.getLogger()
    own = [handler for handler in root.handlers if isinstance(handler.formatter, Plain)]
    for handler in own:
        root.removeHandler(handler)
    if own:
        root.setLevel(logging.WARNING)
