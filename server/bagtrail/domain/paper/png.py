"""Pages as PNG, for a look on screen and for label printers that take pictures."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw, ImageFont

from ...wire.problems import Invalid
from .lettering import font_for
from .marks import Modules, Outline, Page, Ring

DPI = 300
PIXELS_MAX = 50_000_000


def page_to_png(page: Page, dpi: int = DPI) -> bytes:
    """The page in grey at ``dpi`` dots per inch, which the file says too.

    Raises Invalid if that is more than 50 megapixels.
    """
    scale = dpi / 25.4
    if page.width * page.height * scale * scale > PIXELS_MAX:
        raise Invalid(
            f"A page of {page.width:g} x {page.height:g} mm is too large for a picture. "
            "Ask for the PDF."
        )
    image = Image.new("L", (round(page.width * scale), round(page.height * scale)), 255)
    draw = ImageDraw.Draw(image)
    for mark in page.marks:
        if isinstance(mark, Modules):
            _modules(draw, mark, scale)
        elif isinstance(mark, Outline):
            points = [(x * scale, y * scale) for x, y in mark.points]
            if mark.closed:
                points += points[:2]
            draw.line(points, fill=0, width=max(1, round(mark.width * scale)), joint="curve")
        elif isinstance(mark, Ring):
            draw.circle(
                (mark.x * scale, mark.y * scale),
                mark.radius * scale,
                outline=0,
                width=max(1, round(mark.width * scale)),
            )
        else:
            font = ImageFont.truetype(font_for(mark.text, mark.bold).path, mark.size * scale)
            anchor = {"start": "ls", "middle": "ms", "end": "rs"}[mark.anchor]
            draw.text((mark.x * scale, mark.y * scale), mark.text, fill=0, font=font, anchor=anchor)
    out = io.BytesIO()
    image.save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()


def _modules(draw: ImageDraw.ImageDraw, mark: Modules, scale: float) -> None:
    # Every edge is rounded for itself, so neighbours meet without a gap and nothing drifts.
    def x(column: int) -> int:
        return round((mark.x + column * mark.module) * scale)

    def y(row: int) -> int:
        return round((mark.y + row * mark.module) * scale)

    for row, column, count in mark.symbol.runs():
        draw.rectangle((x(column), y(row), x(column + count) - 1, y(row + 1) - 1), fill=0)
