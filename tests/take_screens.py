"""Take the README's pictures: ``python tests/take_screens.py``. Needs Chromium and Pillow."""

import shutil
import subprocess
import tempfile
from pathlib import Path

from PIL import Image

from sprayadvisor.demo.play import play_story

SCREENS = Path(__file__).parent.parent / "fixtures" / "screens"
# Chromium opens no window narrower than 500; the mail's column has 390 of a phone's screen.
FRAME = '<iframe src="{page}" style="width:390px;height:1500px;border:0"></iframe>'
QUIET = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars", "--force-device-scale-factor=1", "--window-size=500,1500",
]  # fmt: skip
LIGHT_OR_DARK = {"light": "--blink-settings=preferredColorScheme=1",
                 "dark": "--blink-settings=preferredColorScheme=0"}  # fmt: skip


def shoot(page: Path, scheme: str, target: Path) -> None:
    """Photograph a page at a phone's width, few colours so that it stays small."""
    frame = page.with_name("frame.html")
    frame.write_text(f'<body style="margin:0">{FRAME.format(page=page.name)}', encoding="utf-8")
    raw = page.with_name("raw.png")
    with tempfile.TemporaryDirectory() as profile:
        subprocess.run(
            [shutil.which("chromium") or "chromium", *QUIET, LIGHT_OR_DARK[scheme],
             f"--user-data-dir={profile}", f"--screenshot={raw}", frame.as_uri()],
            check=True, capture_output=True,
        )  # fmt: skip
    with Image.open(raw) as picture:
        shown = (
            picture.convert("RGB").crop((0, 0, 390, 1500)).quantize(24, dither=Image.Dither.NONE)
        )
    shown.save(target, optimize=True)


def main() -> None:
    """Photograph the evening brief in light and dark."""
    SCREENS.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        files = play_story(Path(folder)).files
        page = next(path for path in files if path.suffix == ".html")
        for scheme in LIGHT_OR_DARK:
            shoot(page, scheme, SCREENS / f"brief-{scheme}.png")


if __name__ == "__main__":
    main()
