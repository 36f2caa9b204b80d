"""Draws the app's icons: a paper tag with a punched hole, on a string.

Run `python client/tools/draw_icons.py` after a change here; the results are committed.
One set of points, in a square of 100 units, gives the SVG and the PNGs.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

KRAFT, PAPER, INK, STRING = "#d9c29a", "#f4ead2", "#221c14", "#8a6d3b"
TAG = [(38, 26), (62, 26), (76, 41), (76, 88), (24, 88), (24, 41)]
HOLE = (50, 40, 5.5)
#: The string: from the hole up and out of the picture, as a curve through these points.
CORD = [(50, 40), (47, 24), (56, 14), (68, 12), (78, 4), (84, -8), (90, -24)]
LINES = [(34, 58, 66, 58), (34, 68, 66, 68), (34, 78, 52, 78)]
STROKE = 4.0
OVERSAMPLE = 4
PUBLIC = Path(__file__).resolve().parent.parent / "public"

Point = tuple[float, float]


def curve(points: list[Point], parts: int = 24) -> list[Point]:
    """Points of a uniform Catmull-Rom spline through ``points``."""
    ends = [points[0], *points, points[-1]]
    out: list[Point] = []
    for (x0, y0), (x1, y1), (x2, y2), (x3, y3) in zip(
        ends, ends[1:], ends[2:], ends[3:], strict=False
    ):
        for step in range(parts):
            t = step / parts
            out.append((_spline(x0, x1, x2, x3, t), _spline(y0, y1, y2, y3, t)))
    return [*out, points[-1]]


def _spline(a: float, b: float, c: float, d: float, t: float) -> float:
    return 0.5 * (
        2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3
    )


def png(name: str, size: int, shrink: float = 1.0) -> None:
    """A PNG of ``size`` px; ``shrink`` < 1 keeps the tag inside a mask's safe circle."""
    scale = size * OVERSAMPLE / 100

    def at(x: float, y: float) -> Point:
        return ((50 + (x - 50) * shrink) * scale, (50 + (y - 50) * shrink) * scale)

    picture = Image.new("RGB", (size * OVERSAMPLE, size * OVERSAMPLE), KRAFT)
    pen = ImageDraw.Draw(picture)
    width = round(STROKE * scale * shrink)

    def stroke(points: list[Point], colour: str) -> None:
        pen.line([at(*p) for p in points], fill=colour, width=width)
        # Discs at all points: round ends, and no cracks where a curve bends.
        for x, y in (at(*point) for point in points):
            r = width / 2
            pen.ellipse((x - r, y - r, x + r, y + r), fill=colour)

    pen.polygon([at(*p) for p in TAG], fill=PAPER)
    stroke([*TAG, TAG[0], TAG[1]], INK)
    x, y, r = HOLE
    pen.ellipse((*at(x - r, y - r), *at(x + r, y + r)), fill=KRAFT, outline=INK, width=width // 2)
    stroke(curve(CORD), STRING)
    for x1, y1, x2, y2 in LINES:
        stroke([(x1, y1), (x2, y2)], INK)
    picture.resize((size, size), Image.Resampling.LANCZOS).save(PUBLIC / name, optimize=True)


def svg(name: str) -> None:
    """The same picture as SVG."""
    tag = " ".join(f"{x},{y}" for x, y in TAG)
    cord = " ".join(f"{x:.1f},{y:.1f}" for x, y in curve(CORD, 8))
    x, y, r = HOLE
    lines = "".join(f"M{x1} {y1}H{x2}" for x1, y1, x2, _ in LINES)
    (PUBLIC / name).write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'
        f'<rect width="100" height="100" fill="{KRAFT}"/>'
        f'<g stroke="{INK}" stroke-width="{STROKE:g}" stroke-linejoin="round"'
        ' stroke-linecap="round" fill="none">'
        f'<polygon points="{tag}" fill="{PAPER}"/>'
        f'<circle cx="{x}" cy="{y}" r="{r}" fill="{KRAFT}" stroke-width="{STROKE / 2:g}"/>'
        f'<polyline points="{cord}" stroke="{STRING}"/><path d="{lines}"/></g></svg>\n'
    )


if __name__ == "__main__":
    PUBLIC.mkdir(exist_ok=True)
    svg("icon.svg")
    png("icon-180.png", 180)
    png("icon-192.png", 192)
    png("icon-512.png", 512)
    png("icon-maskable.png", 512, shrink=0.74)
