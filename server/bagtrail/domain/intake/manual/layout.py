"""How the pages of a manual are laid out: lines in the direction of reading, what recurs on every
page, columns, and where there is ink.  Pure.

Lengths are in heights of the page (both across and down), from the left top corner, in the
direction in which the page's text is read.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from .pdf import cells_of

Rect = tuple[float, float, float, float]


@dataclass(slots=True, eq=False)
class Line:
    """A run of words.  ``size``: of the em; ``points``: the same in points."""

    text: str
    x0: float
    y0: float
    x1: float
    y1: float
    size: float
    points: float
    bold: bool
    boxed: bool

    @property
    def rect(self) -> Rect:
        return self.x0, self.y0, self.x1, self.y1


@dataclass(eq=False)
class Sheet:
    """A page.  ``wide``: its width in its heights.  ``lines``: without what recurs on all pages;
    ``margin``: that."""

    number: int
    wide: float
    turn: int
    lines: list[Line]
    ink: str
    margin: list[Line] = field(default_factory=list)

    @cached_property
    def cells(self) -> list[list[bool]]:
        """Rows of cells with ink, in the direction of reading."""
        cells = cells_of(self.ink) if self.ink else [[]]
        for _ in range(self.turn // 90):
            # A quarter against the clock: text that ran down the page now runs to the right.
            cells = [list(row) for row in zip(*cells, strict=True)][::-1]
        return cells

    def ink_within(self, rect: Rect) -> Rect | None:
        """The part of ``rect`` that has ink."""
        cells = self.cells
        high, wide = len(cells), len(cells[0])
        if not wide:
            return rect
        x0, y0, x1, y1 = rect
        # Cells that stand mostly inside.
        left, right = round(x0 / self.wide * wide), round(x1 / self.wide * wide)
        top, bottom = round(y0 * high), round(y1 * high)
        rows = [y for y in range(max(0, top), min(high, bottom)) if any(cells[y][left:right])]
        if not rows:
            return None
        columns = [
            x for x in range(max(0, left), min(wide, right))
            if any(cells[y][x] for y in range(rows[0], rows[-1] + 1))
        ]  # fmt: skip
        return (
            columns[0] / wide * self.wide, rows[0] / high,
            (columns[-1] + 1) / wide * self.wide, (rows[-1] + 1) / high,
        )  # fmt: skip

    def foot(self, left: float, right: float, top: float, bottom: float) -> float:
        """Where the page's own matter ends above ``bottom``: rules and scales that stand low on
        the page, apart from the rest, belong to its foot."""
        cells = self.cells
        high, wide = len(cells), len(cells[0])
        x0, x1 = round(left / self.wide * wide), round(right / self.wide * wide)
        marked = [any(cells[y][x0:x1]) for y in range(high)]
        y = round(bottom * high) - 1
        while y > 0.9 * high:
            while y > 0 and not marked[y]:
                y -= 1
            end = y
            while y > 0 and marked[y]:
                y -= 1
            begin, gap = y + 1, 0
            while y > 0 and not marked[y]:
                y, gap = y - 1, gap + 1
            if begin < 0.9 * high or end - begin > 0.03 * high or gap < 0.015 * high:
                break
            bottom = begin / high
        return max(bottom, top)

    def gutter(self, x0: float, x1: float, y0: float, y1: float) -> float | None:
        """The middle of the widest strip between ``x0`` and ``x1`` without ink from ``y0`` to
        ``y1``; None if there is none."""
        cells = self.cells
        high, wide = len(cells), len(cells[0])
        if not wide:
            return (x0 + x1) / 2
        top, bottom = max(0, round(y0 * high)), min(high, round(y1 * high))
        best, start = (0, 0), None
        left, right = max(0, int(x0 / self.wide * wide)), min(wide, round(x1 / self.wide * wide))
        for x in range(left, right + 1):
            free = x < right and not any(cells[y][x] for y in range(top, bottom))
            if free and start is None:
                start = x
            if not free and start is not None:
                if x - start > best[1] - best[0]:
                    best = (start, x)
                start = None
        if best[1] == best[0]:
            return None
        return (best[0] + best[1]) / 2 / wide * self.wide

    def frame(self, rect: Rect) -> list[float]:
        """``rect`` as left, top, width, height in fractions of the page as shown."""
        x0, y0, x1, y1 = rect
        u0, v0, u1, v1 = _turned((x0 / self.wide, y0, x1 / self.wide, y1), self.turn)
        u0, v0 = max(0.0, u0), max(0.0, v0)
        u1, v1 = min(1.0, u1), min(1.0, v1)
        left, top = round(u0, 4), round(v0, 4)
        return [left, top, round(max(0.0, u1 - left), 4), round(max(0.0, v1 - top), 4)]


def _turned(rect: Rect, turn: int) -> Rect:
    """From the direction of reading to the page as shown, or back for the opposite turn."""
    x0, y0, x1, y1 = rect
    if turn == 90:
        return 1 - y1, x0, 1 - y0, x1
    if turn == 180:
        return 1 - x1, 1 - y1, 1 - x0, 1 - y0
    if turn == 270:
        return y0, 1 - x1, y1, 1 - x0
    return rect


def sheets_of(pages: Iterable[dict[str, Any]]) -> list[Sheet]:
    """Pages with text as ``page()`` gave them, with their ``number``; what recurs is set apart."""
    sheets = []
    for page in sorted(pages, key=lambda one: int(one["number"])):
        if not page.get("has_text"):
            continue
        turn = page.get("turn", 0)
        wide, high = page["points"]
        if turn in (90, 270):
            wide, high = high, wide
        ratio = wide / high
        lines = []
        for line in page["lines"]:
            left, top, w, h = line["box"]
            x0, y0, x1, y1 = _turned((left, top, left + w, top + h), (360 - turn) % 360)
            lines.append(Line(
                line["text"], x0 * ratio, y0, x1 * ratio, y1, line["size"], line["size"] * high,
                bool(line.get("bold")), bool(line.get("boxed")),
            ))  # fmt: skip
        lines.sort(key=lambda one: (one.y0, one.x0))
        sheets.append(Sheet(int(page["number"]), ratio, turn, lines, page.get("ink", "")))
    _set_margins_apart(sheets)
    return sheets


def body_points(sheets: Sequence[Sheet]) -> float:
    """The size in points that most of the text has."""
    counts: Counter[float] = Counter()
    for sheet in sheets:
        for line in sheet.lines:
            counts[round(line.points * 2) / 2] += len(line.text)
    return max(0.5, counts.most_common(1)[0][0]) if counts else 10.0


# -- What recurs on every page ---------------------------------------------------------------------

#: How far from the upper and lower edge running heads and page numbers stand.
_HEAD, _FOOT = 0.085, 0.905
_NUMBER = re.compile(
    r"^(?:page|seite|side|sida|página|pagina|p\.|s\.)?\s*[-\u2013|]?\s*(?P<page>\d{1,3})\s*"
    r"(?:[-\u2013|]|(?:/|of|von|de|sur|di)\s*\d{1,3})?$",
    re.IGNORECASE,
)
#: A page number in one line with a running foot.
_WITH_WORDS = re.compile(r"^(?P<page>\d{1,3})\s+[^\W\d_]{2,}.*$")


def _set_margins_apart(sheets: list[Sheet]) -> None:
    """Running heads (the same words in the same place) and page numbers (which count with the
    pages, in one place or on alternate sides) are not the manual's text."""
    same: dict[tuple[str, float], list[tuple[Sheet, Line]]] = defaultdict(list)
    counted: dict[int, list[tuple[Sheet, Line]]] = defaultdict(list)
    for sheet in sheets:
        for line in sheet.lines:
            if line.y1 > _HEAD and line.y0 < _FOOT:
                continue
            same[line.text, round(line.y0 * 80)].append((sheet, line))
            found = _NUMBER.match(line.text) or (line.y0 >= _FOOT and _WITH_WORDS.match(line.text))
            if found:
                counted[int(found["page"]) - sheet.number].append((sheet, line))
    least = max(3, len(sheets) // 4)
    apart: set[int] = set()
    for group in same.values():
        # What a step's own number stands in is no running head, however often it is there.
        if len({sheet.number for sheet, _ in group}) >= least:
            apart |= {id(line) for _, line in group}
    for group in counted.values():
        for foot in (True, False):
            apart |= _page_numbers([p for p in group if (p[1].y0 >= _FOOT) == foot], sheets, foot)
    for sheet in sheets:
        sheet.margin = [line for line in sheet.lines if id(line) in apart]
        sheet.lines = [line for line in sheet.lines if id(line) not in apart]


def _page_numbers(group: list[tuple[Sheet, Line]], sheets: list[Sheet], foot: bool) -> set[int]:
    """Those of ``group`` that are page numbers: in one row, on most of the pages.

    At the head of a page a number may as well be that of a step, one on each page: there only
    one on nearly every page is taken for a page's (see :func:`heads_back`).
    """
    best: set[int] = set()
    rows: dict[int, list[tuple[Sheet, Line]]] = defaultdict(list)
    for sheet, line in group:
        for near in (round(line.y0 * 100), round(line.y0 * 100) + 1):
            rows[near].append((sheet, line))
    for row in rows.values():
        on = {sheet.number for sheet, _ in row}
        sizes = {round(line.points) for _, line in row}
        enough = len(on) >= max(2, (0.5 if foot else 0.8) * len(sheets))
        if enough and len(sizes) <= 2 and len(row) > len(best):
            best = {id(line) for _, line in row}
    return best


def heads_back(sheets: Sequence[Sheet]) -> bool:
    """Numbers at the heads of pages that were taken for the pages' become lines again.

    For a manual that has no steps otherwise: it may have one on each page.  Gives whether the
    pages are numbered at their feet too, so that those at their heads can only be steps.
    """
    numbered = 0
    for sheet in sheets:
        back = [one for one in sheet.margin if one.y1 <= _HEAD and _NUMBER.match(one.text)]
        numbered += any(
            one.y0 >= _FOOT and (_NUMBER.match(one.text) or _WITH_WORDS.match(one.text))
            for one in sheet.margin
        )
        sheet.margin = [one for one in sheet.margin if one not in back]
        sheet.lines = sorted([*sheet.lines, *back], key=lambda one: (one.y0, one.x0))
    return numbered >= 0.5 * len(sheets)


# -- Columns ---------------------------------------------------------------------------------------


def column_lefts(starts: Sequence[float], apart: float) -> list[float]:
    """Left edges of columns, from where headings start, at least ``apart`` from each other."""
    groups: list[list[float]] = []
    for x in sorted(starts):
        if groups and x - groups[-1][0] < apart:
            groups[-1].append(x)
        else:
            groups.append([x])
    least = max(1, len(starts) * 0.06)
    return [group[0] for group in groups if len(group) >= least]
