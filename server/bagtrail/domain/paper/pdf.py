"""Pages as PDF: vectors only, so that every printer draws modules at its own best."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from .lettering import Font, font_for
from .marks import Mark, Modules, Outline, Page, Ring, Words


def pages_to_pdf(pages: Sequence[Page], title: str) -> bytes:
    """A PDF of the pages; the same pages give the same bytes.

    ``/PrintScaling /None`` asks the print dialog for true size; it is a hint only, hence the
    ruler on the page.
    """
    out = io.BytesIO()
    # PrintScaling came with PDF 1.6.
    canvas = Canvas(out, invariant=1, pageCompression=1, pdfVersion=(1, 6))
    canvas.setTitle(title)
    canvas.setCreator("Bagtrail")
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        canvas.setPageSize((page.width * mm, page.height * mm))
        canvas.saveState()
        # From here on one unit is one millimetre; y is turned over mark by mark, because
        # turning the page over would turn the letters too.
        canvas.scale(mm, mm)
        for mark in page.marks:
            _draw(canvas, mark, page.height)
        canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, mark: Mark, height: float) -> None:
    if isinstance(mark, Modules):
        _modules(canvas, mark, height)
    elif isinstance(mark, Words):
        font = font_for(mark.text, mark.bold)
        canvas.setFont(_registered(font), mark.size)
        width = font.width(mark.text, mark.size)
        x = mark.x - {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
        canvas.drawString(x, height - mark.y, mark.text)
    elif isinstance(mark, Ring):
        canvas.setLineWidth(mark.width)
        canvas.circle(mark.x, height - mark.y, mark.radius)
    else:
        canvas.setLineWidth(mark.width)
        _outline(canvas, mark, height)


def _modules(canvas: Canvas, mark: Modules, height: float) -> None:
    canvas.saveState()
    canvas.translate(mark.x, height - mark.y)
    canvas.scale(mark.module, -mark.module)
    # One path for the whole symbol: filled at once, its rows leave no hairlines between them.
    path = canvas.beginPath()
    for row, column, count in mark.symbol.runs():
        path.rect(column, row, count, 1)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


def _outline(canvas: Canvas, mark: Outline, height: float) -> None:
    path = canvas.beginPath()
    (x, y), *others = mark.points
    path.moveTo(x, height - y)
    for x, y in others:
        path.lineTo(x, height - y)
    if mark.closed:
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _registered(font: Font) -> str:
    # reportlab keeps fonts by name for the whole process; registering one twice is harmless.
    if font.name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(font.face)
    return font.name
