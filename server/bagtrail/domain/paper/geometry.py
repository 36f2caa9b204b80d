"""Sheets of labels: where each label lies on the page.  Lengths are millimetres.

A sheet is named by its geometry alone: page, columns x rows.  Positions count from the page's
top left corner, labels from 1 along the rows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields

from ...wire.problems import Invalid

#: Slack for sizes that were given in inches and rounded.
ROUNDING_MM = 0.05
#: Furthest that a printer may be corrected.
OFFSET_MAX_MM = 15.0
PAGE_MIN_MM, PAGE_MAX_MM = 20.0, 1200.0
LABELS_MAX = 400


@dataclass(frozen=True)
class Box:
    """A rectangle on a page: left, top, width, height in millimetres."""

    x: float
    y: float
    width: float
    height: float

    def inset(self, dx: float, dy: float) -> Box:
        return Box(self.x + dx, self.y + dy, self.width - 2 * dx, self.height - 2 * dy)


@dataclass(frozen=True)
class Sheet:
    """One page of labels.  ``left_mm``, ``top_mm``: margins before the first label;
    ``gap_x_mm``, ``gap_y_mm``: between neighbours.  Raises Invalid if it cannot be."""

    name: str
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_mm: float
    top_mm: float
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    def __post_init__(self) -> None:
        problems = dict(self._problems())
        if problems:
            raise Invalid(
                "This sheet cannot be printed. " + " ".join(problems.values()),
                errors={field: [text] for field, text in problems.items()},
            )

    def _problems(self) -> Iterator[tuple[str, str]]:
        names = {"width_mm": "page width", "height_mm": "page height"}
        sizes = [field.name for field in fields(self) if field.name.endswith("_mm")]
        for name in sizes:
            words = names.get(name, name.removesuffix("_mm").replace("_", " "))
            value = getattr(self, name)
            if not math.isfinite(value):
                yield name, f"The {words} has to be a number of millimetres."
                return
            if name in names and not PAGE_MIN_MM <= value <= PAGE_MAX_MM:
                yield name, f"The {words} has to be {PAGE_MIN_MM:g} to {PAGE_MAX_MM:g} mm."
            elif name.startswith("label") and value <= 0:
                yield name, f"The {words} has to be more than 0 mm."
            elif value < 0:
                yield name, f"The {words} cannot be less than 0 mm."
        for name in ("columns", "rows"):
            if getattr(self, name) < 1:
                yield name, f"A sheet needs at least one of its {name}."
                return
        if self.per_page > LABELS_MAX:
            yield "rows", f"A sheet can have at most {LABELS_MAX} labels."
        for axis, count, size, before, gap, page in (
            (
                "columns",
                self.columns,
                self.label_width_mm,
                self.left_mm,
                self.gap_x_mm,
                self.width_mm,
            ),
            ("rows", self.rows, self.label_height_mm, self.top_mm, self.gap_y_mm, self.height_mm),
        ):
            needed = before + count * size + (count - 1) * gap
            if needed > page + ROUNDING_MM:
                yield (
                    axis,
                    f"{count} {axis} of {size:g} mm with these margins and gaps need "
                    f"{needed:.1f} mm, but the page has {page:g} mm.",
                )

    @property
    def per_page(self) -> int:
        return self.columns * self.rows

    @property
    def right_mm(self) -> float:
        """Margin after the last column."""
        used = self.columns * self.label_width_mm + (self.columns - 1) * self.gap_x_mm
        return self.width_mm - self.left_mm - used

    @property
    def bottom_mm(self) -> float:
        """Margin below the last row."""
        used = self.rows * self.label_height_mm + (self.rows - 1) * self.gap_y_mm
        return self.height_mm - self.top_mm - used

    def label(self, place: int) -> Box:
        """The label at ``place`` (0 is the first, along the rows)."""
        row, column = divmod(place, self.columns)
        return Box(
            self.left_mm + column * (self.label_width_mm + self.gap_x_mm),
            self.top_mm + row * (self.label_height_mm + self.gap_y_mm),
            self.label_width_mm,
            self.label_height_mm,
        )


@dataclass(frozen=True)
class Placing:
    """How a job lies on its sheets.  ``start``: first label to use on the first page, from 1;
    ``dx_mm``, ``dy_mm``: moves everything right and down, to correct a printer."""

    start: int = 1
    dx_mm: float = 0.0
    dy_mm: float = 0.0

    def check(self, sheet: Sheet) -> None:
        """Raises Invalid if the sheet has no such label or the offset is no correction."""
        if not 1 <= self.start <= sheet.per_page:
            raise Invalid(
                f"The sheet {sheet.name} has labels 1 to {sheet.per_page}; "
                f"printing cannot start at label {self.start}.",
                errors={"start": [f"Must be 1 to {sheet.per_page}."]},
            )
        for name, value in (("dx", self.dx_mm), ("dy", self.dy_mm)):
            if not math.isfinite(value) or abs(value) > OFFSET_MAX_MM:
                raise Invalid(
                    f"An offset of {value:g} mm is more than a printer can be corrected by "
                    f"({OFFSET_MAX_MM:g} mm). Check the paper size in the printer's settings.",
                    errors={name: [f"Must be -{OFFSET_MAX_MM:g} to {OFFSET_MAX_MM:g} mm."]},
                )


#: Paper sizes. Source: ISO 216 (A4), ANSI/ASME Y14.1 size A (Letter), in mm.
A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)


def _centred(
    page: tuple[float, float],
    name: str,
    label: tuple[float, float],
    gap: tuple[float, float] = (0.0, 0.0),
) -> Sheet:
    columns, rows = map(int, name.split("-")[1].split("x"))
    return Sheet(
        name=name,
        width_mm=page[0],
        height_mm=page[1],
        columns=columns,
        rows=rows,
        label_width_mm=label[0],
        label_height_mm=label[1],
        left_mm=round((page[0] - columns * label[0] - (columns - 1) * gap[0]) / 2, 3),
        top_mm=round((page[1] - rows * label[1] - (rows - 1) * gap[1]) / 2, 3),
        gap_x_mm=gap[0],
        gap_y_mm=gap[1],
    )


#: Sizes that sheets of labels are commonly cut to (common practice), and plain pages to cut up.
PRESETS: dict[str, Sheet] = {
    sheet.name: sheet
    for sheet in (
        _centred(A4, "a4-3x7", (63.5, 38.1), (2.5, 0.0)),
        _centred(A4, "a4-2x4", (99.1, 67.7), (2.5, 0.0)),
        _centred(A4, "a4-2x5", (99.1, 57.0), (2.5, 0.0)),
        _centred(A4, "a4-2x7", (99.1, 38.1), (2.5, 0.0)),
        _centred(A4, "a4-3x8", (63.5, 33.9), (2.5, 0.0)),
        _centred(A4, "a4-3x8-edge", (70.0, 37.0)),
        _centred(LETTER, "letter-3x10", (66.675, 25.4), (3.175, 0.0)),
        _centred(LETTER, "letter-2x3", (101.6, 84.667), (4.763, 0.0)),
        _centred(LETTER, "letter-2x5", (101.6, 50.8), (4.763, 0.0)),
        _centred(LETTER, "letter-2x7", (101.6, 33.867), (4.763, 0.0)),
    )
}


def preset(name: str) -> Sheet:
    """The sheet of that name.  Raises Invalid, naming those there are."""
    try:
        return PRESETS[name]
    except KeyError:
        raise Invalid(
            f"There is no sheet named {name!r}. Choose one of {', '.join(PRESETS)}, "
            "or give the sheet's own measures.",
            errors={"sheet": ["Not one of the sheets."]},
        ) from None
