"""PDF pages written by hand for the tests of reading manuals, and the reading of all their pages.

Lengths in points, y downwards from the top of the page as it is shown.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from bagtrail.domain.intake import manual
from bagtrail.domain.intake.findings import Found, Unfit
from bagtrail.wire.intake import values_of

A4 = (595.0, 842.0)


class Book:
    """A PDF under way; ``turned``: degrees of /Rotate (or, with ``text_turned``, of the text)."""

    def __init__(
        self, path: Path, size: tuple[float, float] = A4, turned: int = 0,
        text_turned: bool = False,
    ) -> None:  # fmt: skip
        self.path = path
        self.wide, self.high = size
        self._turned, self._text_turned = turned, text_turned
        self._canvas = Canvas(str(path), invariant=1)
        self._begin()

    def _begin(self) -> None:
        sheet = self._canvas
        wide, high = self.wide, self.high
        # reportlab swaps the sides itself where it writes /Rotate.
        swap = self._text_turned and self._turned in (90, 270)
        sheet.setPageSize((high, wide) if swap else (wide, high))
        if not self._text_turned:
            sheet.setPageRotation(self._turned)
        # What is drawn upright here comes out upright once the page is turned clockwise.
        if self._turned == 90:
            sheet.transform(0, 1, -1, 0, high, 0)
        elif self._turned == 180:
            sheet.transform(-1, 0, 0, -1, wide, high)
        elif self._turned == 270:
            sheet.transform(0, -1, 1, 0, 0, wide)

    def words(self, x: float, y: float, text: str, size: float = 10, bold: bool = False) -> None:
        self._canvas.setFont("Helvetica-Bold" if bold else "Helvetica", size)
        self._canvas.setFillGray(0)
        self._canvas.drawString(x, self.high - y, text)

    def boxed(self, x: float, y: float, text: str, size: float = 14) -> None:
        """A number in a frame."""
        width = self._canvas.stringWidth(text, "Helvetica-Bold", size)
        self._canvas.rect(x - 4, self.high - y - 5, width + 8, size + 7)
        self.words(x, y, text, size, bold=True)

    def drawing(self, x: float, y: float, wide: float, high: float) -> None:
        """Something drawn: a frame with its diagonals."""
        low = self.high - y - high
        self._canvas.rect(x, low, wide, high)
        self._canvas.line(x, low, x + wide, low + high)
        self._canvas.line(x, low + high, x + wide, low)

    def turn_over(self) -> None:
        self._canvas.showPage()
        self._begin()

    def crop(self, left: float, low: float, right: float, top: float) -> None:
        self._canvas.setCropBox((left, low, right, top))

    def save(self) -> Path:
        self._canvas.save()
        return self.path


def pages_of(path: Path, folder: Path) -> list[dict[str, Any]]:
    """All pages as plain data, as another process would hand them on."""
    count = manual.look(str(path), path.name)["pages"]
    pages = []
    for number in range(1, count + 1):
        said = manual.page(str(path), number, str(folder / f"{number}.picture"))
        pages.append({**json.loads(json.dumps(said)), "number": number})
    return pages


def read(path: Path) -> tuple[list[Found], list[Unfit]]:
    """The findings of the file; those that ask nothing are such as the wire takes."""
    found, unfit = manual.findings(pages_of(path, path.parent))
    for one in found:
        if not one.asks:
            assert values_of(one.what, one.values) == one.values
        if one.frame is not None:
            left, top, wide, high = one.frame
            assert left >= 0 <= top
            assert left + wide <= 1.0001 >= top + high
    return found, unfit


def of(found: list[Found], what: str) -> list[Found]:
    """The findings of one kind that ask nothing."""
    return [one for one in found if one.what == what and not one.asks]


def numbers(found: list[Found]) -> list[str]:
    """The steps' numbers, in their order."""
    return [one.values["number"] for one in of(found, "step")]


def share(frame: list[float], drawn: tuple[float, float, float, float]) -> float:
    """Common area of two rectangles (left, top, width, height), as a share of both together."""
    wide = min(frame[0] + frame[2], drawn[0] + drawn[2]) - max(frame[0], drawn[0])
    high = min(frame[1] + frame[3], drawn[1] + drawn[3]) - max(frame[1], drawn[1])
    common = max(0.0, wide) * max(0.0, high)
    return common / (frame[2] * frame[3] + drawn[2] * drawn[3] - common)
