"""What all files of tables come to: rows of cells, and the bounds that they are read within."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

FILE_BYTES_MAX = 25_000_000
ROWS_MAX = 200_000
COLUMNS_MAX = 500
#: Cells with something in them: what a process of moderate size holds.
CELLS_MAX = 4_000_000
#: Characters of a cell that are read; a longer one is cut, and told where it is used.
CELL_MAX = 4000


class CannotRead(ValueError):
    """The file cannot be read as a table; the text says why and what would help."""


class Number(str):
    """A number that the file kept as such, as text with a decimal point."""

    __slots__ = ()


class Rounded(Number):
    """A number with a fraction and no number format: ``2.10`` has become ``2.1`` on its way."""

    __slots__ = ()


class Day(str):
    """A date, as ``2026-02-01``: often a step number that a spreadsheet program took for one."""

    __slots__ = ()


class Uncounted(str):
    """A formula whose result the file has not kept."""

    __slots__ = ()


class Cut(str):
    """The beginning of a cell of more than ``CELL_MAX`` characters."""

    __slots__ = ()


@dataclass(slots=True)
class Sheet:
    """``rows[n]`` is what a spreadsheet program shows as row n + 1; rows may differ in length.

    ``merged``: cells joined downwards, as (column from 0, first row from 1, last row).
    """

    name: str | None
    rows: list[list[str]]
    merged: list[tuple[int, int, int]] = field(default_factory=list)
    delimiter: str | None = None
    encoding: str | None = None


#: Control characters, and halves of characters that stand alone: nothing writes them as text.
_ODD = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\x85\u2028\u2029\ud800-\udfff\ufffe\uffff\ufeff]+")
_SPACES = re.compile(r"[ \t\xa0\u2007\u202f]+")


def clean(text: str) -> str:
    """A cell as it is read: without control characters, spaces made one, at most ``CELL_MAX``."""
    if len(text) > CELL_MAX:
        return Cut(clean(text[:CELL_MAX]))
    if text.isalnum():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _SPACES.sub(" ", _ODD.sub(" ", text)).strip()


class Bounds:
    """Counts what has been read.  Raises CannotRead when it is more than a table of parts has."""

    __slots__ = ("cells", "rows")

    def __init__(self) -> None:
        self.rows = self.cells = 0

    def add(self, row: list[str]) -> None:
        """``row``: cells up to the last one with something in it."""
        if not row:
            return
        if len(row) > COLUMNS_MAX:
            raise CannotRead(
                f"The table has {len(row):,} columns; {COLUMNS_MAX} are read at most. Copy the"
                " columns with bags, steps and parts into a table of their own."
            )
        self.rows += 1
        self.cells += len(row)
        if self.rows > ROWS_MAX:
            raise CannotRead(
                f"The table has more than {ROWS_MAX:,} rows. Split it into several files."
            )
        if self.cells > CELLS_MAX:
            raise CannotRead(
                f"The table has more than {CELLS_MAX:,} cells. Copy the columns with bags, steps"
                " and parts into a table of their own."
            )


def trimmed(cells: list[str]) -> list[str]:
    """The row without the empty cells at its end."""
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return cells if end == len(cells) else cells[:end]
