"""The page with the story behind it, worked out once for all tests that only read."""

import pytest
from page import page_of, story_world
from phone import at_a_socket, chromium


@pytest.fixture(scope="session")
def story_services(tmp_path_factory):
    """Services on the morning of the story's first day, the board worked out. Read only."""
    with story_world(tmp_path_factory.mktemp("story")) as services:
        services.board.refresh()
        assert services.board.problem == ""
        yield services


@pytest.fixture(scope="session")
def page(story_services):
    """A phone on this machine, without login. Read only."""
    return page_of(story_services)


@pytest.fixture(scope="module")
def browser():
    """Chromium without a window."""
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def address(story_services):
    """Where the story's page is."""
    with at_a_socket(story_services) as found:
        yield found
