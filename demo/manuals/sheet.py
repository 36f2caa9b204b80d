"""What the manuals share: drawings as vectors, sheets that note what was drawn where."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas as Sheet

from ..drawing.figure import FigureMaker, arrange, bounds, flat
from ..drawing.render import paint_piece, pieces_of
from ..drawing.shapes import box_of
from ..drawing.solids import Canvas, Point
from ..model import Line, StepNote
from ..tarn6.catalogue import LOOKS, PARTS

WIDE, HIGH = A4
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"


@dataclass
class Pen:
    """Takes what a drawing paints, to be drawn as vectors later."""

    strokes: list[tuple[str, list[Point], float, float]] = field(default_factory=list)

    def polygon(self, points: Sequence[Point], fill: int) -> None:
        self.strokes.append(("area", list(points), fill / 255, 0))

    def line(self, points: Sequence[Point], fill: int, width: float, joint: str = "") -> None:
        """``joint`` is said for pictures; vectors are joined round anyway."""
        del joint
        self.strokes.append(("path", list(points), fill / 255, width))


@dataclass
class Drawing:
    """The figure of a step: strokes, its size, and where each key can be pointed at (in pixels,
    y downwards)."""

    strokes: list[tuple[str, list[Point], float, float]]
    wide: float
    high: float
    tips: dict[str, Point]


def drawing_of(step: StepNote) -> Drawing:
    """Paint the figure of ``step`` without any lettering."""
    scene = FigureMaker(LOOKS.__getitem__).scene(step.figure)
    arrange(scene, 620, 560)
    left, top, right, bottom = bounds(scene.items)
    scale = min(620 / (right - left), 540 / (bottom - top), 7.0)
    edge = 6
    pen = Pen()
    canvas = Canvas(pen, scale, (edge - left * scale, edge - top * scale), 2.1)  # type: ignore[arg-type]
    tips: dict[str, Point] = {}
    for _, a, b in scene.lines:
        canvas.path([canvas.px(a), canvas.px(b)], 0.5, 110)
    for item, solids in pieces_of(scene):
        canvas.faint = item.faint
        paint_piece(canvas, solids)
        if not item.faint:
            low, high = box_of(item.places[-1])
            x, y = flat(tuple((a + b) / 2 for a, b in zip(low, high, strict=True)))  # type: ignore[arg-type]
            tips[item.key] = (x - left) * scale + edge, (y - top) * scale + edge
    return Drawing(pen.strokes, (right - left) * scale + 2 * edge,
                   (bottom - top) * scale + 2 * edge, tips)  # fmt: skip


@dataclass
class Drawn:
    """A step as it stands in a manual.  ``frame``: fractions of the page."""

    number: str
    title: str
    section: str
    page: int
    frame: tuple[float, float, float, float]
    parts: list[tuple[int, str]]
    operations: list[str]
    bags: list[str]


class Manual:
    """A PDF under way.  Lengths in points, y downwards from the top."""

    def __init__(self, title: str, size: tuple[float, float] = A4) -> None:
        self._out = io.BytesIO()
        self.sheet = Sheet(self._out, pagesize=size, invariant=1, pageCompression=1)
        self.sheet.setTitle(title)
        self.wide, self.high = size
        self.number = 1
        self.drawn: list[Drawn] = []

    def words(
        self, x: float, y: float, text: str, size: float, font: str = PLAIN, tone: float = 0
    ) -> float:
        """Write with the base line at ``y``; gives where it ends."""
        self.sheet.setFillGray(tone)
        self.sheet.setFont(font, size)
        self.sheet.drawString(x, self.high - y, text)
        return x + float(stringWidth(text, font, size))

    def box(
        self, x: float, y: float, wide: float, high: float, fill: float | None = None,
        round_: float = 0,
    ) -> None:  # fmt: skip
        self.sheet.setStrokeGray(0)
        self.sheet.setLineWidth(0.6)
        if fill is not None:
            self.sheet.setFillGray(fill)
        self.sheet.roundRect(x, self.high - y - high, wide, high, round_,
                             stroke=1, fill=int(fill is not None))  # fmt: skip

    def rule(self, x0: float, y0: float, x1: float, y1: float, weight: float = 0.6) -> None:
        self.sheet.setStrokeGray(0)
        self.sheet.setLineWidth(weight)
        self.sheet.line(x0, self.high - y0, x1, self.high - y1)

    def draw(self, drawing: Drawing, x: float, y: float, scale: float) -> None:
        """The drawing with its left top corner at (x, y)."""
        sheet = self.sheet
        sheet.saveState()
        sheet.translate(x, self.high - y)
        sheet.scale(scale, -scale)
        sheet.setLineJoin(1)
        sheet.setLineCap(1)
        for kind, points, tone, width in drawing.strokes:
            path = sheet.beginPath()
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            if kind == "area":
                sheet.setFillGray(tone)
                path.close()
                sheet.drawPath(path, stroke=0, fill=1)
            else:
                sheet.setStrokeGray(tone)
                sheet.setLineWidth(width)
                sheet.drawPath(path, stroke=1, fill=0)
        sheet.restoreState()

    def note(self, step: Drawn, x: float, y: float, wide: float, high: float) -> None:
        """Remember where a step was drawn."""
        step.page = self.number
        step.frame = (x / self.wide, y / self.high, wide / self.wide, high / self.high)
        self.drawn.append(step)

    def turn_over(self) -> None:
        self.sheet.showPage()
        self.number += 1

    def done(self) -> bytes:
        self.sheet.save()
        return self._out.getvalue()


def wrapped(text: str, size: float, wide: float, font: str = PLAIN) -> list[str]:
    """``text`` broken between words."""
    lines, line = [], ""
    for word in text.split():
        trial = f"{line} {word}".strip()
        if line and stringWidth(trial, font, size) > wide:
            lines.append(line)
            line = word
        else:
            line = trial
    return [*lines, line] if line else lines


def by_part(lines: Sequence[Line]) -> list[tuple[int, str]]:
    """How many of each key, in the order of the lines."""
    counts: Counter[str] = Counter()
    for line in lines:
        counts[line.part] += line.quantity
    return [(count, key) for key, count in counts.items()]


def truth_of(manual: Manual) -> list[dict[str, Any]]:
    """What was drawn where, as plain data."""
    return [vars(step) for step in manual.drawn]


def number_of(key: str) -> str:
    return PARTS[key].number
