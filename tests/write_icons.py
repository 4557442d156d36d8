"""Draw the icons anew: ``python tests/write_icons.py``. A day's line, and the window on it."""

from pathlib import Path

from PIL import Image, ImageDraw

STATIC = Path(__file__).parent.parent / "sprayadvisor" / "web" / "static"
GROUND, LINE, WINDOW = "#0e1113", "#c2c8ce", "#ffd24a"
# Left, top, right, bottom in a square of 64: the day, the window on it, and the work inside.
DAY = (8, 44, 56, 49)
SHAPES = ((DAY, LINE), ((20, 20, 46, 44), WINDOW), ((26, 31, 40, 44), GROUND))


def svg() -> str:
    """Return the icon as SVG."""
    rects = "".join(
        f'<rect x="{x}" y="{y}" width="{right - x}" height="{low - y}" fill="{colour}"/>'
        for (x, y, right, low), colour in SHAPES
    )
    ground = f'<rect width="64" height="64" rx="12" fill="{GROUND}"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">{ground}{rects}</svg>\n'


def png(size: int, *, mask: bool = False) -> Image.Image:
    """Return the icon as a picture; ``mask`` keeps it within what a home screen may cut off."""
    scale, inset = (size * 0.7 / 64, size * 0.15) if mask else (size / 64, 0.0)
    image = Image.new("RGBA", (size, size), GROUND if mask else (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    if not mask:
        draw.rounded_rectangle((0, 0, size - 1, size - 1), 12 * scale, fill=GROUND)
    for corners, colour in SHAPES:
        x, y, right, low = (inset + scale * corner for corner in corners)
        draw.rectangle((x, y, right - 1, low - 1), fill=colour)
    return image.quantize(16)


if __name__ == "__main__":
    (STATIC / "icon.svg").write_text(svg(), encoding="utf-8")
    png(192).save(STATIC / "icon-192.png", optimize=True)
    png(512).save(STATIC / "icon-512.png", optimize=True)
    png(512, mask=True).save(STATIC / "icon-mask.png", optimize=True)
