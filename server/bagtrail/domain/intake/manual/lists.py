"""Pages of a manual that are tables: contents, and lists of parts.  Pure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .layout import Line, Rect, Sheet
from .steps import CONTENTS

_PAGE = re.compile(r"^\d{1,3}$")
_LEADERS = re.compile(r"(?:\s*\.){3,}\s*(\d{1,3})?$|\s*…+\s*(\d{1,3})?$")
_ENTRY = re.compile(
    r"^(?P<number>(?:[A-Z]{1,2}[-.]?)?\d{1,3}(?:[.-]\d{1,2}){0,2}[a-z]?|[A-Z])[.:)]?"
    r"\s+(?P<title>\D.*)$"
)


def rows_of(lines: Sequence[Line]) -> list[list[Line]]:
    """Lines that stand on one base line, from the top; each row from the left."""
    rows: list[list[Line]] = []
    for line in sorted(lines, key=lambda one: one.y1):
        if rows and abs(_base(rows[-1][0]) - _base(line)) < 0.35 * min(rows[-1][0].size, line.size):
            rows[-1].append(line)
        else:
            rows.append([line])
    for row in rows:
        row.sort(key=lambda one: one.x0)
    return rows


def _base(line: Line) -> float:
    return line.y1 - 0.22 * line.size


# -- Contents --------------------------------------------------------------------------------------


def contents_of(sheet: Sheet, last_page: int) -> dict[str, str] | None:
    """Titles by number, if the page is a table of contents; else None."""
    entries: list[tuple[str, int | None]] = []
    ends: list[float] = []
    leaders = 0
    rows = rows_of(sheet.lines)
    for row in rows:
        text = row[0].text
        page: int | None = None
        if len(row) > 1 and _PAGE.match(row[-1].text):
            page = int(row[-1].text)
            ends.append(row[-1].x1)
        if found := _LEADERS.search(row[-1].text if page is None else row[-2].text):
            leaders += 1
            page = page if page is not None else int(found[1] or found[2] or 0) or None
        if page is not None or found:
            entries.append((_LEADERS.sub("", text).strip(), page))
    said = any(CONTENTS.match(line.text.strip()) for line in sheet.lines)
    pages = [page for _, page in entries if page is not None]
    rising = sum(a <= b for a, b in pairwise(pages))
    counts = len(pages) >= 2 and rising >= 0.9 * (len(pages) - 1) and max(pages) <= last_page + 20
    edges = Counter(round(x * 100) for x in ends)
    in_line = bool(ends) and max(edges.values()) >= 0.5 * len(ends)
    if not (
        (said and len(entries) >= 2)
        or (counts and leaders >= 4)
        or (counts and in_line and len(entries) >= 6 and len(entries) >= 0.7 * len(rows)
            and len(set(pages)) >= 3)
    ):  # fmt: skip
        return None
    titles: dict[str, str] = {}
    for text, _ in entries:
        entry = _ENTRY.match(text)
        if entry:
            titles.setdefault(entry["number"], entry["title"].strip())
    return titles


# -- Lists of parts --------------------------------------------------------------------------------

_HEADINGS = {
    "number": r"(?:part|item|art(?:icle|ikel)?|order|best(?:ell)?|teile?|ref)?[\s.-]*"
              r"(?:numbers?|no\.?|nr\.?|nummer|code|n°|#)|part|ref\.?|teil",
    "name": r"(?:part )?names?|descriptions?|designations?|bezeichnung|benennung|beschreibung|"
            r"désignation|descripción|descrizione|omschrijving",
    "quantity": r"quantity|qty\.?|q'ty|pcs\.?|pieces|count|anzahl|menge|stück|stk\.?|quantité|qté|"
                r"cantidad|quantità|aantal",
    "bag": r"bags?(?: no\.?| number)?|beutel|tüte|sachet|bolsa|sacchetto|zak",
    "step": r"steps?|used in|schritt|étape|paso",
    "material": r"materials?|material|werkstoff",
}  # fmt: skip
_HEADING = {name: re.compile(rf"^(?:{said})$", re.IGNORECASE) for name, said in _HEADINGS.items()}
NUMBER = re.compile(r"^(?=.*\d)[A-Za-z0-9][A-Za-z0-9./_-]{0,30}$")
QUANTITY = re.compile(
    r"^(?:(\d{1,5})\s*(?:[x\u00d7]|pcs?\.?|pieces?|stk\.?)?|[x\u00d7]\s*(\d{1,5}))$", re.IGNORECASE
)


#: Columns of a table: what each holds, and where its heading begins and ends.
Columns = list[tuple[str, float, float]]


@dataclass(eq=False)
class Row:
    """A row of a list of parts.  ``quantity``: None if it cannot be read (``said`` has it);
    ``counts``: the list has such a column.  ``lines``: what it was read from."""

    sheet: Sheet
    rect: Rect
    lines: list[Line]
    number: str
    name: str
    quantity: int | None
    said: str
    bag: str
    step: str
    material: str
    counts: bool

    @property
    def text(self) -> str:
        return "  ".join(line.text for line in self.lines)


def list_of(sheet: Sheet, before: list[Columns]) -> tuple[list[Row], set[int]]:
    """The rows of the page's lists of parts, and the ids of all lines that belong to them.

    ``before``: columns of the tables on the page before, which a list without headings goes on
    with; it is set to this page's.
    """
    rows = rows_of(sheet.lines)
    tables: list[tuple[int, Columns]] = [
        (k, columns) for k, row in enumerate(rows) for columns in _headings(row)
    ]
    goes_on = not tables
    if goes_on:
        tables = [(-1, columns) for columns in before]
    out: list[Row] = []
    used: set[int] = set()
    for t, (start, columns) in enumerate(tables):
        left = min(x0 for _, x0, _ in columns) - 0.05
        beside = [c[0][1] for k, c in tables if k == start and c[0][1] > columns[-1][1]]
        right = min(beside, default=1e9) - 0.02
        below = [k for k, c in tables[t + 1 :] if k > start and abs(c[0][1] - columns[0][1]) < 0.1]
        end = min(below, default=len(rows))
        inside = [[one for one in row if left <= one.x0 < right] for row in rows[start + 1 : end]]
        read = _read(sheet, columns, [row for row in inside if row])
        if read and start >= 0:
            used |= {id(line) for line in rows[start] if left <= line.x0 < right}
        out += read
    # Without headings only what is plainly the next page of the list.
    if goes_on and (len(out) < 3 or out[0].rect[1] > 0.25):
        out = []
    before[:] = [columns for _, columns in tables] if out else []
    return out, used | {id(line) for row in out for line in row.lines}


def _headings(row: list[Line]) -> list[Columns]:
    """Tables whose headings stand in this row."""
    tables: list[Columns] = []
    current: Columns = []
    for line in row:
        name = next((n for n, said in _HEADING.items() if said.match(line.text.strip())), "")
        if not name:
            continue
        if any(name == other for other, *_ in current):
            tables.append(current)
            current = []
        current.append((name, line.x0, line.x1))
    tables.append(current)
    return [
        table for table in tables
        if {"number", "name"} & (names := {n for n, *_ in table})
        and len(names) >= 2 and {"quantity", "bag", "name"} & names
    ]  # fmt: skip


def _read(sheet: Sheet, columns: Columns, rows: list[list[Line]]) -> list[Row]:
    """The rows below the headings, to the first gap that is wider than a row."""
    places = _places(columns, rows)
    names = {name for name, *_ in columns}
    out: list[Row] = []
    last: float | None = None
    pitch = 0.0
    for row in rows:
        gap = row[0].y1 - last if last is not None else 0.0
        if last is not None and gap > max(3.2 * row[0].size, 1.8 * pitch):
            break
        cells: dict[str, str] = {}
        for line, name in zip(row, _assigned(row, columns, places), strict=True):
            cells[name] = f"{cells.get(name, '')} {line.text}".strip()
        rect = (row[0].x0, min(line.y0 for line in row), row[-1].x1, max(line.y1 for line in row))
        if out and set(cells) == {"name"} and gap < 1.7 * row[0].size:
            out[-1].name += f" {cells['name']}"
            out[-1].lines += row
            out[-1].rect = _union(out[-1].rect, rect)
            last = row[0].y1
            continue
        number, said = cells.get("number", ""), cells.get("quantity", "")
        found = QUANTITY.match(said)
        if "number" in names and not NUMBER.match(number):
            continue
        if "number" not in names and not (cells.get("name") and (found or cells.get("bag"))):
            continue
        if last is not None:
            pitch = max(pitch, gap)
        last = row[0].y1
        out.append(Row(
            sheet, rect, list(row), number, cells.get("name", ""),
            int(found[1] or found[2]) if found else None, said, cells.get("bag", ""),
            cells.get("step", ""), cells.get("material", ""), "quantity" in names,
        ))  # fmt: skip
    return out


def _places(columns: Columns, rows: list[list[Line]]) -> list[tuple[float, float]]:
    """From where to where the cells of each column stand: rows that have them all say it."""
    whole = [row for row in rows if len(row) == len(columns)]
    return [
        (min([x0, *(row[k].x0 for row in whole)]), max([x1, *(row[k].x1 for row in whole)]))
        for k, (_, x0, x1) in enumerate(columns)
    ]


def _assigned(
    row: list[Line], columns: Columns, places: list[tuple[float, float]]
) -> list[str]:
    """The column of each cell of a row."""
    if len(row) == len(columns):
        return [name for name, *_ in columns]

    def off(line: Line, place: tuple[float, float]) -> float:
        """How far apart they stand; negative if they overlap."""
        return max(place[0] - line.x1, line.x0 - place[1])

    return [
        columns[min(range(len(columns)), key=lambda k: off(line, places[k]))][0] for line in row
    ]


def _union(a: Rect, b: Rect) -> Rect:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])
