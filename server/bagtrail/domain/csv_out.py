"""Tables out, as CSV: RFC 4180 with CR LF, and UTF-8 with its mark, by which spreadsheet programs
know the encoding.

A spreadsheet program computes a cell that begins with ``=``, ``+``, ``-`` or ``@``, whatever the
file's author meant; a name in a kit must not become a formula on somebody's machine.  So a *text*
that begins with one of these, with a tab or with a CR gets an apostrophe before it.  Numbers are
no text and stay as they are.  It can be taken back: a text that begins with apostrophes and then
one of these signs gets one more, and :func:`unguarded` takes exactly one away; every other text
is written as it is.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

MARK = "\ufeff"
_GUARDED = re.compile(r"'*[=+\-@\t\r]")
_MARKED = re.compile(r"'+[=+\-@\t\r]")


def guarded(text: str) -> str:
    """The text as a cell that no spreadsheet program computes."""
    return f"'{text}" if _GUARDED.match(text) else text


def unguarded(cell: str) -> str:
    """What :func:`guarded` had been given."""
    return cell[1:] if _MARKED.match(cell) else cell


def table(rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> Iterator[str]:
    """CSV text, heading first, a piece at a time.

    A cell is the row's value of that column: a text, a number, a list (its values with commas
    between) or None or nothing, which is an empty cell.  Values of other columns are left out.
    """
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\r\n")

    def taken() -> str:
        piece = held.getvalue()
        held.seek(0)
        held.truncate()
        return piece

    writer.writerow([guarded(column) for column in columns])
    yield MARK + taken()
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
        yield taken()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return str(value)
    if isinstance(value, list | tuple):
        return guarded(", ".join(str(one) for one in value))
    return guarded(str(value))
