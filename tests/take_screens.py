"""Take the README's pictures: ``python tests/take_screens.py``. Needs Chromium and Playwright."""

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image

sys.path.insert(0, str(Path(__file__).parent / "support"))

from page import MORNING, story_world
from phone import at_a_socket, chromium, phone

from sprayadvisor.demo.play import play_story

SCREENS = Path(__file__).parent.parent / "fixtures" / "screens"
AT_THE_CAR = "2026-04-16T10:30:00+01:00"
WIDTH, HEIGHT = 390, 1500
COLOURS = 24  # few, so that the pictures stay small
BOTH = ("light", "dark")


def keep(raw: bytes, name: str) -> None:
    """Write a picture with few colours."""
    with Image.open(io.BytesIO(raw)) as picture:
        top = picture.convert("RGB").crop((0, 0, WIDTH, min(HEIGHT, picture.height)))
    top.quantize(COLOURS, dither=Image.Dither.NONE).save(SCREENS / name, optimize=True)


def shoot_brief(browser, scheme: str) -> None:
    """Photograph the evening's mail."""
    with tempfile.TemporaryDirectory() as folder:
        files = play_story(Path(folder)).files
        page = next(path for path in files if path.suffix == ".html")
        tab = phone(browser, None, scheme, viewport={"width": WIDTH, "height": HEIGHT})
        tab.goto(page.as_uri())
        keep(tab.screenshot(full_page=False), f"brief-{scheme}.png")


def shoot_day(browser, scheme: str) -> None:
    """Photograph today and a job, before the van leaves."""
    with tempfile.TemporaryDirectory() as folder, story_world(folder, now=MORNING) as services:
        services.board.refresh()
        with at_a_socket(services) as address:
            tab = phone(browser, address, scheme, viewport={"width": WIDTH, "height": HEIGHT})
            for path, name in (("/", "today"), ("/job/A1", "job")):
                tab.goto(path)
                keep(tab.screenshot(), f"{name}-{scheme}.png")


def shoot_now(browser, scheme: str) -> None:
    """Photograph an answer at the car."""
    with (
        tempfile.TemporaryDirectory() as folder,
        story_world(folder, now=AT_THE_CAR) as services,
        at_a_socket(services) as address,
    ):
        tab = phone(browser, address, scheme, viewport={"width": WIDTH, "height": HEIGHT})
        tab.goto("/now/A1")
        tab.select_option("#next", "clear")
        for field, text in (("panel", "14,5"), ("air", "12"), ("humidity", "71")):
            tab.fill(f"#{field}", text)
        tab.get_by_role("button", name="Does the weather fit now?").click()
        tab.wait_for_selector("#answer")
        keep(tab.screenshot(), f"now-{scheme}.png")


def main() -> None:
    """Photograph what a painter looks at, in light and dark."""
    SCREENS.mkdir(exist_ok=True)
    with chromium() as browser:
        for scheme in BOTH:
            shoot_brief(browser, scheme)
            shoot_day(browser, scheme)
            shoot_now(browser, scheme)


if __name__ == "__main__":
    main()
