"""Tables as text: which characters, which delimiter, and the rows (RFC 4180 and its relatives)."""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterator

from ...csv_out import unguarded
from .columns import said_by
from .sheets import Bounds, CannotRead, Sheet, clean, trimmed

DELIMITERS = (",", ";", "\t", "|")
#: Lines that a cell in quotes may run over.  More, and its quotation mark was no opening one.
LINES_IN_CELL = 60
#: Characters in one line; a line of a table has nowhere near as many.
LINE_MAX = 1_000_000
#: Share of control characters from which on a file is no text.
_BINARY = 0.002
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def text_of(data: bytes) -> tuple[str, str]:
    """The text and the name of its encoding.  Raises CannotRead if it is no text.

    A byte order mark decides; else what is valid UTF-8 is UTF-8 (other encodings hardly ever are
    by chance), and the rest is Windows-1252, which holds Latin-1's letters at the same places.
    """
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            try:
                return _checked(data.decode(encoding)), encoding
            except UnicodeDecodeError:
                said = encoding.removesuffix("-sig").upper()
                raise CannotRead(
                    f"The file says that it is {said}, and is not. Save it again as CSV in UTF-8."
                ) from None
    encoding = _unmarked_utf_16(data)
    if not encoding:
        try:
            return _checked(data.decode("utf-8")), "utf-8"
        except UnicodeDecodeError:
            encoding = "cp1252"
    # Five bytes mean nothing in Windows-1252: Latin-1 calls them controls, which are dropped.
    text = data.decode(encoding, "replace" if encoding != "cp1252" else "cp1252_or_latin")
    return _checked(text), encoding


def _latin(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    return error.object[error.start : error.end].decode("latin-1"), error.end


codecs.register_error("cp1252_or_latin", _latin)


def _unmarked_utf_16(data: bytes) -> str:
    """UTF-16 without its mark shows by zeros at every other byte."""
    start = data[:4000]
    if start.count(0) < len(start) // 4 or len(start) < 4:
        return ""
    odd, even = start[1::2].count(0), start[::2].count(0)
    if odd > 8 * even:
        return "utf-16-le"
    return "utf-16-be" if even > 8 * odd else ""


def _checked(text: str) -> str:
    # A full Ctrl-Z ended text files once.
    text = text.rstrip("\x1a")
    if len(_CONTROL.findall(text)) > _BINARY * len(text):
        raise CannotRead(
            "This is no table: the file holds something else than text. Save the table as CSV or"
            " XLSX, and give that file."
        )
    return text


def lines_of(text: str) -> list[str]:
    """Lines with their ends: CR LF, LF or CR alone.  Raises CannotRead for an endless one."""
    lines = _LINE.findall(text)
    if lines and max(map(len, lines)) > LINE_MAX:
        raise CannotRead(
            f"A line of the file has more than {LINE_MAX:,} characters: this is no table of parts."
        )
    return lines


def records(lines: list[str], delimiter: str | None) -> Iterator[list[str]]:
    """The records: quoted cells may hold delimiters and line breaks.

    A quotation mark that nothing closes (``"3/8 bolt``) costs its own line the quoting, and no
    more: without care it would swallow the rest of the file.  ``None``: one cell a line.
    """
    if delimiter is None:
        for line in lines:
            yield [line.rstrip("\r\n").removeprefix('"').removesuffix('"')]
        return
    start, count = 0, len(lines)
    while start < count:
        fed = _Feed(lines, start)
        reader = csv.reader(fed, delimiter=delimiter)
        while True:
            try:
                row = next(reader, None)
            except csv.Error:
                row, torn = [], True
            else:
                torn = fed.at - start > LINES_IN_CELL or _left_open(lines, start, fed.at)
            if row is None:
                return
            if torn:
                yield lines[start].rstrip("\r\n").split(delimiter)
                start += 1
                break
            yield row
            start = fed.start = fed.at


class _Feed:
    """Lines for csv.reader, which stops a few after the one at which a record began."""

    __slots__ = ("at", "lines", "start")

    def __init__(self, lines: list[str], start: int) -> None:
        self.lines, self.start, self.at = lines, start, start

    def __iter__(self) -> _Feed:
        return self

    def __next__(self) -> str:
        at = self.at
        if at >= len(self.lines) or at - self.start > LINES_IN_CELL:
            raise StopIteration
        self.at = at + 1
        return self.lines[at]


def _left_open(lines: list[str], start: int, end: int) -> bool:
    """Whether a record of several lines ends with the file in the midst of a quoted cell."""
    if end < len(lines) or end - start < 2:
        return False
    return sum(line.count('"') for line in lines[start:end]) % 2 == 1


def delimiter_of(lines: list[str], name: str) -> str | None:
    """The delimiter: the one that gives most rows the same number of cells, and many of them.

    None if no one does: then each line is one cell.
    """
    sample = [line for line in lines[:400] if line.strip()][:120]
    best, found = 0.0, None
    for delimiter in DELIMITERS:
        rows = [row for row in records(sample, delimiter) if any(row)]
        if not rows and any(delimiter in line for line in sample):
            return delimiter
        widths = Counter(map(len, rows))
        several = {width: times for width, times in widths.items() if width > 1}
        if not several:
            continue
        width = max(several, key=lambda one: (several[one], one))
        alike = several[width] / sum(widths.values())
        score = alike * (1 + 0.1 * min(width, 8))
        if delimiter == "\t" and name.lower().endswith((".tsv", ".tab")):
            score *= 1.5
        if delimiter == "," and _as_in_a_sentence(sample):
            score *= 0.45
        headings = max(sum(1 for cell in row if said_by(cell)) for row in rows[:10])
        score *= 1 + 0.5 * min(headings, 4) if headings > 1 else 1
        if score > best:
            best, found = score, delimiter
    return found if best >= 0.5 else None


def _as_in_a_sentence(lines: list[str]) -> bool:
    """Whether commas are followed by spaces, as in ``4 cap screws M3x12, ISO 4762``."""
    text = "".join(lines)
    return text.count(",") < 1.2 * text.count(", ") and text.count(",") < 2.5 * len(lines)


def load(data: bytes, name: str) -> Sheet:
    """The file as a sheet.  Raises CannotRead."""
    text, encoding = text_of(data)
    lines = lines_of(text)
    said = re.fullmatch(r'"?sep=(.)"?\s*', lines[0]) if lines else None
    if said:
        # Spreadsheet programs take this line for an order and do not show it.
        del lines[0]
    delimiter = said[1] if said and said[1] in DELIMITERS else delimiter_of(lines, name)
    bounds, rows = Bounds(), []
    for record in records(lines, delimiter):
        row = trimmed([clean(unguarded(cell) if cell[:1] == "'" else cell) for cell in record])
        bounds.add(row)
        rows.append(row)
    while rows and not rows[-1]:
        rows.pop()
    shown = encoding.removesuffix("-sig").upper() if encoding != "cp1252" else "Windows-1252"
    return Sheet(None, rows, delimiter=delimiter, encoding=shown)
