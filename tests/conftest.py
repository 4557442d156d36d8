"""What every test leaves behind for the next one: nothing."""

import logging

import pytest

from sprayadvisor.cli.logs import Plain


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
