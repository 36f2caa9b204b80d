"""Reading tables: a CSV file or a workbook becomes a layout, and by it findings.

Pure but for opening the file; arguments and results are plain data, because it is called in a
process of its own.  What files hold is not trusted: see the bounds in ``sheets`` and
``workbooks``.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ....wire.intake import COLUMNS
from . import csv_files, figures
from .columns import content_of, heading_row_of, matched, normal, said_by, shape_of, width_of
from .rows import Reader
from .sheets import FILE_BYTES_MAX, CannotRead, Sheet
from .workbooks import Workbook

__all__ = ["CannotRead", "look", "read"]

#: Rows of each sheet that are looked at to choose one.
_PEEK = 60
#: Rows below the headings from which columns are judged.
_JUDGED = 2000
_SAMPLES = 3
Report = Callable[[int, int], object]

_KINDS = (
    (b"%PDF", "This is a PDF. Give it as a manual, or save the table as CSV or XLSX."),
    (b"\x89PNG", "This is a picture, not a table."),
    (b"\xff\xd8\xff", "This is a picture, not a table."),
    (b"GIF8", "This is a picture, not a table."),
    (b"{\\rtf", "This is a text document. Save its table as CSV."),
    (b"\x1f\x8b", "This file is packed. Unpack it, and give the table inside."),
    (b"7z\xbc\xaf", "This file is packed. Unpack it, and give the table inside."),
    (b"Rar!", "This file is packed. Unpack it, and give the table inside."),
)
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def look(
    path: str, name: str, change: Mapping[str, Any] | None, remembered: Mapping[str, Any] | None
) -> dict[str, Any]:
    """How the table of a file is read: ``{"layout": ..., "shape": ...}``.

    ``layout`` is as ``wire.intake.Layout``, ``shape`` the fingerprint of its headings.  ``change``
    (a ``wire.intake.LayoutChange``) is obeyed.  ``remembered`` is the layout of an earlier file,
    used if its headings have this shape, or several as ``{shape: layout}``.  Raises CannotRead.
    """
    change = change or {}
    with _Opened(path, name) as opened:
        chosen = change.get("sheet")
        if chosen is None:
            chosen = _likeliest(opened)
        elif chosen not in opened.names:
            raise CannotRead(f"The file has no sheet named {chosen!r}.")
        sheet = opened.sheet(chosen)
        names = opened.names
    if not any(sheet.rows):
        raise CannotRead("The table is empty: it has no rows.")
    heading_row = change.get("heading_row")
    if heading_row is None:
        heading_row = heading_row_of(sheet.rows)
    heading_row = min(heading_row, len(sheet.rows))
    headings, width = _headings(sheet, heading_row)
    body = sheet.rows[heading_row:]
    if not any(body):
        raise CannotRead("The table has headings and no rows below them.")
    contents = [
        content_of([row[at] if at < len(row) else "" for row in body[:_JUDGED]])
        for at in range(width)
    ]
    shape = shape_of(headings, width)
    known = _recalled(remembered, shape, headings)
    if change.get("columns") is not None:
        given = list(change["columns"])[:width]
        columns = [(field, 1.0) for field in given + [None] * (width - len(given))]
    elif known is not None:
        columns = [(field, 1.0) for field in known]
    else:
        columns = list(matched(headings, contents))
    decimal = change.get("decimal") or _decimal(sheet, body, columns)
    layout = {
        "sheets": names,
        "sheet": chosen,
        "heading_row": heading_row,
        "delimiter": sheet.delimiter,
        "encoding": sheet.encoding,
        "decimal": decimal,
        "columns": [
            {"at": at, "heading": heading, "samples": contents[at].samples[:_SAMPLES],
             "field": field, "sure": sure}
            for at, (heading, (field, sure)) in enumerate(zip(headings, columns, strict=True))
        ],
        "rows": sum(map(bool, body)),
        "remembered": known is not None and change.get("columns") is None,
    }  # fmt: skip
    return {"layout": layout, "shape": shape}


def read(path: str, name: str, layout: Mapping[str, Any], report: Report) -> dict[str, Any]:
    """Read all rows: ``{"findings": [...], "unfit": [...], "rows": n}``.

    A finding is ``Found.content()`` with its ``what`` and ``page`` (null).  ``report(done, total)``
    is called now and then.  Raises CannotRead.
    """
    with _Opened(path, name) as opened:
        if layout["sheet"] not in opened.names:
            raise CannotRead(f"The file has no sheet named {layout['sheet']!r}.")
        sheet = opened.sheet(layout["sheet"], passed=lambda rows: report(0, rows))
    columns = sorted(layout["columns"], key=lambda column: column["at"])
    width = max((column["at"] for column in columns), default=-1) + 1
    fields: list[str | None] = [None] * width
    sures = [1.0] * width
    for column in columns:
        fields[column["at"]], sures[column["at"]] = column["field"], column["sure"]
    reader = Reader(name, sheet, layout["heading_row"], layout["decimal"], fields, sures)
    return reader.run(report)


#: The workbook's sheet that was read last, by its file's hash and its name: the same process looks
#: at a file and then reads it, and unpacking is most of the work.
_kept: tuple[bytes, str, Sheet] | None = None


class _Opened:
    """A file as sheets, whatever it is.  Raises CannotRead."""

    def __init__(self, path: str, name: str) -> None:
        data = _bytes_of(path)
        _check_kind(data)
        self._key = hashlib.sha256(data).digest()
        self._book: Workbook | None = None
        if data.startswith(b"PK"):
            self._book = Workbook(io.BytesIO(data))
            self.names = self._book.names
        else:
            self._sheet = csv_files.load(data, name)
            self.names = [""]

    def __enter__(self) -> _Opened:
        return self

    def __exit__(self, *_: object) -> None:
        if self._book:
            self._book.close()

    def sheet(
        self, name: str, first: int | None = None, passed: Callable[[int], object] | None = None
    ) -> Sheet:
        """One sheet, or its first rows."""
        global _kept
        if not self._book:
            return self._sheet
        if _kept and _kept[:2] == (self._key, name):
            return _kept[2]
        read = self._book.sheet(name, first, passed)
        if first is None:
            _kept = (self._key, name, read)
        return read


def _bytes_of(path: str) -> bytes:
    with Path(path).open("rb") as file:
        data = file.read(FILE_BYTES_MAX + 1)
    if len(data) > FILE_BYTES_MAX:
        raise CannotRead(
            f"The file has more than {FILE_BYTES_MAX // 1_000_000} MB. Copy the table into a file"
            " of its own."
        )
    if not data.strip():
        raise CannotRead("The file is empty.")
    return data


def _check_kind(data: bytes) -> None:
    if data.startswith(_OLD):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise CannotRead("The workbook is locked with a password. Save it without one.")
        raise CannotRead(
            "This is a workbook of the old kind (.xls). Open it in a spreadsheet program, save it"
            " as XLSX or CSV, and give that file."
        )
    start = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n")
    for mark, reason in _KINDS:
        if start.startswith(mark):
            raise CannotRead(reason)
    lower = start.lower()
    if lower.startswith((b"<!doctype html", b"<html")):
        raise CannotRead("This is a web page. Copy its table, and save that as CSV.")
    if lower.startswith((b"<?xml", b"<!doctype")):
        raise CannotRead("This is an XML document. Save the table as CSV or XLSX.")
    if lower.startswith((b"{", b"[")) and lower.rstrip()[1:2] in (b'"', b"{", b"\n", b"\r"):
        raise CannotRead("This is data of a program (JSON). Save the table as CSV or XLSX.")


def _likeliest(opened: _Opened) -> str:
    """The sheet that looks most like a list of parts or steps."""
    if len(opened.names) == 1:
        return opened.names[0]
    best, found = -1.0, opened.names[0]
    for name in opened.names:
        rows = opened.sheet(name, _PEEK).rows
        heading_row = heading_row_of(rows)
        body = rows[heading_row:]
        fields: set[str] = set()
        for cell in rows[heading_row - 1] if heading_row else []:
            words = said_by(cell)
            fields |= {max(words, key=lambda one: words[one])} if words else set()
        filled = sum(map(bool, body))
        # Parts make a kit more than steps do, and steps more than anything else.
        score = len(fields - {"-"}) + 2.0 * ("part.quantity" in fields) + min(filled, 20) / 20
        if filled and score > best:
            best, found = score, name
    return found


def _headings(sheet: Sheet, heading_row: int) -> tuple[list[str], int]:
    """The headings and the number of columns.

    A heading that is blank because it is joined with the cell above takes that one's words.
    """
    body = sheet.rows[heading_row:]
    head = list(sheet.rows[heading_row - 1]) if heading_row else []
    if sheet.delimiter:
        width = width_of(head, body)
    else:
        width = max(len(head), max(map(len, body), default=0))
    head += [""] * (width - len(head))
    for column, top, bottom in sheet.merged:
        if top < heading_row <= bottom and column < width and not head[column]:
            above = sheet.rows[top - 1]
            head[column] = above[column] if column < len(above) else ""
    return [" ".join(cell.split())[:160] for cell in head], width


def _recalled(
    remembered: Mapping[str, Any] | None, shape: str, headings: Sequence[str]
) -> list[str | None] | None:
    """The fields of an earlier file of this shape; None if there is none."""
    if not remembered:
        return None
    if "columns" not in remembered:
        found = remembered.get(shape)
        return _recalled(found, shape, headings) if isinstance(found, Mapping) else None
    if remembered.get("shape", shape) != shape:
        return None
    fields: list[str | None] = [None] * len(headings)
    for at, column in enumerate(remembered["columns"][: len(headings)]):
        field = column
        if isinstance(column, Mapping):
            field = column["field"]
            if normal(column.get("heading", "")) != normal(headings[at]):
                return None
        fields[at] = field if field in COLUMNS else None
    return fields


def _decimal(
    sheet: Sheet,
    body: Sequence[Sequence[str]],
    columns: Sequence[tuple[str | None, float]],
) -> str:
    """The decimal mark: columns of numbers decide; else what goes with the delimiter."""
    fallback = "," if sheet.delimiter == ";" else "."
    for wanted in (("step.minutes", "part.quantity"), (None, "part.material")):
        cells = (
            row[at]
            for at, (field, _) in enumerate(columns)
            if field in wanted
            for row in body
            if at < len(row)
        )
        found = figures.decimal_of(cells, "")
        if found:
            return found
    return fallback
