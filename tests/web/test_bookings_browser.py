"""A booking's whole life on a phone, in a real Chromium and without scripts."""

import pytest
from page import story_world
from phone import CHROMIUM, at_a_socket, chromium, phone

from sprayadvisor.advice.model import JobState
from sprayadvisor.demo import story

pytest.importorskip("playwright", reason="the browser extra is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM, reason="there is no Chromium on this machine"),
]


def test_a_job_is_added_changed_cancelled_and_another_done(tmp_path):
    """A fault keeps what was typed; each change is said once and shown."""
    with (
        story_world(tmp_path, booked=story.BOOKINGS[:1]) as services,
        at_a_socket(services) as address,
        chromium() as browser,
    ):
        tab = phone(browser, address, java_script_enabled=False)
        tab.goto("/bookings")
        tab.get_by_role("link", name="Add a job").tap()
        tab.get_by_label("Process").select_option("door-scuff")
        tab.get_by_label("Day").fill("2026-04-17")
        tab.get_by_label("Arrive").fill("nine")
        tab.get_by_label("Name of the place").fill("Nook Lane")
        tab.get_by_label("Where it is").fill("53,27; -8,92")
        tab.get_by_label("Part of panel 1").select_option("left_door")
        tab.get_by_label("Colour of panel 1").select_option("white")
        tab.get_by_role("button", name="Book it").tap()
        assert "give a time of day" in tab.locator("#arrive-problem").inner_text()
        assert tab.get_by_label("Name of the place").input_value() == "Nook Lane"
        assert tab.get_by_label("Part of panel 1").input_value() == "left_door"
        tab.get_by_label("Arrive").fill("9-10:30")
        tab.get_by_role("button", name="Book it").tap()
        tab.get_by_role("heading", name="J2, Nook Lane").wait_for()
        tab.get_by_role("link", name="Change").tap()
        tab.get_by_label("Arrive").fill("11-12")
        tab.get_by_role("button", name="Change it").tap()
        tab.get_by_text("arrive 11:00 to 12:00").wait_for()
        tab.get_by_role("link", name="Call the job off", exact=True).tap()
        tab.get_by_label("Why, if you like").fill("rain all week")
        tab.get_by_role("button", name="Call the job off").tap()
        tab.get_by_text("Job J2 is cancelled.").wait_for()
        tab.goto("/job/A1/goes")
        tab.get_by_role("button", name="The job is done").tap()
        assert services.bookings.get("A1").state is JobState.BOOKED
        tab.get_by_label("The work on this car is finished").tap()
        tab.get_by_role("button", name="The job is done").tap()
        tab.get_by_text("This job is done.").wait_for()
        tab.context.close()
        states = [job.state for job in services.bookings.list(everything=True)]
        assert sorted(states) == [JobState.CANCELLED, JobState.DONE]
