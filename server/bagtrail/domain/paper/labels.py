"""A job of labels: bags onto pages, with a ruler that shows the printer's scale."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from ...wire.problems import Invalid
from .geometry import Placing, Sheet
from .lettering import fit, font_for, printable
from .marks import Anchor, Mark, Outline, Page, Words
from .symbol import label_text, symbol_of
from .tag import EDGE_MM, LabelBag, draw_tag

RULER_MM = 100
#: Margin that the ruler needs, and the strip along the page that few printers reach.
RULER_MARGIN_MM, UNPRINTED_MM = 9.5, 4.2
#: One job at most; more is a mistake, and would keep the server busy for long.
BAGS_MAX = 1000

__all__ = ["LabelBag", "label_pages", "single_label"]


def label_pages(
    bags: Sequence[LabelBag], kit: str, public_url: str, sheet: Sheet, placing: Placing
) -> list[Page]:
    """The pages of a job, in order; the last one is a page of its own for the ruler if the
    sheet's margins have no room for it.

    Raises Invalid: no bags or too many, two with one code, a start or offset that cannot be,
    labels too small, an address that cannot be printed.
    """
    placing.check(sheet)
    _check_bags(bags)
    places = range(placing.start - 1, placing.start - 1 + len(bags))
    edge = _edge(sheet)
    count = places[-1] // sheet.per_page + 1
    pages = []
    jobs = zip(places, bags, strict=True)
    for number, page_jobs in itertools.groupby(jobs, key=lambda job: job[0] // sheet.per_page):
        ruler = _ruler_in_margin(sheet, f"{kit}, page {number + 1} of {count}")
        marks: list[Mark] = list(ruler or ())
        for place, bag in page_jobs:
            symbol = symbol_of(label_text(public_url, bag.code))
            box = sheet.label(place % sheet.per_page)
            marks += draw_tag(box, edge, bag, kit, symbol)
        pages.append(_page(sheet, placing, marks))
    if _ruler_in_margin(sheet, "") is None:
        pages.append(_page(sheet, placing, _ruler_page(sheet)))
    return pages


def single_label(
    bag: LabelBag, kit: str, public_url: str, width_mm: float, height_mm: float
) -> Page:
    """One label as a page of its own size.  Raises Invalid as :func:`label_pages` does."""
    sheet = Sheet("single", width_mm, height_mm, 1, 1, width_mm, height_mm, 0, 0)
    symbol = symbol_of(label_text(public_url, bag.code))
    marks = draw_tag(sheet.label(0), (EDGE_MM, EDGE_MM), bag, kit, symbol)
    return Page(width_mm, height_mm, tuple(marks))


def _check_bags(bags: Sequence[LabelBag]) -> None:
    if not bags:
        raise Invalid("There are no bags to print labels for. Add bags to the kit first.")
    if len(bags) > BAGS_MAX:
        raise Invalid(
            f"{len(bags)} labels are too many for one job. Print {BAGS_MAX} at most at a time."
        )
    seen: dict[str, LabelBag] = {}
    for bag in bags:
        other = seen.setdefault(bag.code, bag)
        if other is not bag:
            raise Invalid(
                f"Bag {other.number} and bag {bag.number} have the same code {bag.code}. "
                "Give one of them a new code before printing.",
                errors={"code": [f"{bag.code} is on bag {other.number} and bag {bag.number}."]},
            )


def _edge(sheet: Sheet) -> tuple[float, float]:
    """White strip inside every label, wider where labels reach the edge of the page."""
    side = UNPRINTED_MM - min(sheet.left_mm, sheet.right_mm)
    end = UNPRINTED_MM - min(sheet.top_mm, sheet.bottom_mm)
    return max(EDGE_MM, side), max(EDGE_MM, end)


def _page(sheet: Sheet, placing: Placing, marks: Sequence[Mark]) -> Page:
    moved = (_moved(mark, placing.dx_mm, placing.dy_mm) for mark in marks)
    return Page(sheet.width_mm, sheet.height_mm, tuple(moved))


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Outline):
        return replace(mark, points=tuple((x + dx, y + dy) for x, y in mark.points))
    return replace(mark, x=mark.x + dx, y=mark.y + dy)


def _ruler_in_margin(sheet: Sheet, page: str) -> list[Mark] | None:
    """Ruler with the page's name beside it, in the lower or upper margin; None without room."""
    side = (sheet.width_mm - RULER_MM) / 2
    if side < UNPRINTED_MM:
        return None
    if sheet.bottom_mm >= RULER_MARGIN_MM:
        y = sheet.height_mm - UNPRINTED_MM - 4.6
    elif sheet.top_mm >= RULER_MARGIN_MM:
        y = UNPRINTED_MM
    else:
        return None
    marks = _ruler(side, y)
    beside = side - UNPRINTED_MM - 6
    if beside > 25:
        beside_it: tuple[tuple[str, float, Anchor], ...] = (
            ("Print at true size (100 %)", side - 5, "end"),
            (printable(page), side + RULER_MM + 8, "start"),
        )
        for text, x, anchor in beside_it:
            line, size = fit(text, beside - 3, 2.3, 1.7)
            marks.append(Words(x, y + 2.6, size, line, anchor=anchor))
    return marks


def _ruler(x: float, y: float, length_mm: int = RULER_MM) -> list[Mark]:
    """A ruler from (x, y) to the right; 4.6 mm high with its words."""
    marks: list[Mark] = [Outline(((x, y), (x + length_mm, y)), 0.2, closed=False)]
    for mm in range(length_mm + 1):
        length = 2.6 if mm % 10 == 0 else 1.9 if mm % 5 == 0 else 1.2
        if mm % 5 == 0 or mm < 10:
            marks.append(Outline(((x + mm, y), (x + mm, y + length)), 0.15, closed=False))
        if mm % 10 == 0 and 0 < mm < length_mm:
            marks.append(Words(x + mm, y + 4.5, 1.9, str(mm), anchor="middle"))
    marks.append(Words(x, y + 4.5, 1.9, "0", anchor="middle"))
    marks.append(Words(x + length_mm, y + 4.5, 1.9, f"{length_mm} mm", anchor="middle"))
    return marks


def _ruler_page(sheet: Sheet) -> list[Mark]:
    """The labels' corners, to hold against the sheet, and the ruler."""
    marks: list[Mark] = []
    for place in range(sheet.per_page):
        box = sheet.label(place)
        leg = min(4.0, box.width / 4, box.height / 4)
        for x, inward in ((box.x, leg), (box.x + box.width, -leg)):
            for y, downward in ((box.y, leg), (box.y + box.height, -leg)):
                corner = ((x + inward, y), (x, y), (x, y + downward))
                marks.append(Outline(corner, 0.15, closed=False))
    # Pages of label rolls are narrower than the ruler: they get as many whole centimetres as fit.
    length = min(RULER_MM, int((sheet.width_mm - 2 * UNPRINTED_MM) / 10) * 10)
    first = sheet.label(0)
    y = min(first.y + first.height / 2 - 5, sheet.height_mm - UNPRINTED_MM - 11)
    text = "Print this page on plain paper first and hold it against the sheet."
    size = min(3.0, length / font_for(text, False).width(text, 1.0))
    return [
        *marks,
        *_ruler((sheet.width_mm - length) / 2, y, length),
        Words(sheet.width_mm / 2, y + 10, size, text, anchor="middle"),
    ]
