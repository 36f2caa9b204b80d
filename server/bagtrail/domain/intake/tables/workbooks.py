"""Tables as workbooks (ECMA-376): bounds first, then the cells through openpyxl.

Formulas are never computed: the results that the file keeps are read.  Links to other files,
macros, pictures and charts are not looked at.
"""

from __future__ import annotations

import re
import warnings
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from typing import IO, Any

import openpyxl
from openpyxl.utils.cell import coordinate_to_tuple

from .sheets import (
    COLUMNS_MAX,
    Bounds,
    CannotRead,
    Day,
    Number,
    Rounded,
    Sheet,
    Uncounted,
    clean,
    trimmed,
)

UNPACKED_MAX = 400_000_000
#: Parts that openpyxl holds as a whole: styles, the workbook's own list, names of things.
PART_MAX = 20_000_000
PARTS_MAX = 5_000
#: Unpacked to packed, of files of some size.  XML of tables packs 5 to 40 times.
RATIO_MAX = 250
#: Bytes between the ends of two rows, which are held at once.
STRETCH_MAX = 8_000_000
STRINGS_MAX = 1_000_000
#: The last row that a spreadsheet program has.
LAST_ROW = 1_048_576
SHEETS_MAX = 100
MERGED_MAX = 50_000
_CHUNK = 1 << 20
_BLANK: list[str] = []

_SHEET = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_STRINGS = re.compile(r"xl/sharedstrings\.xml", re.IGNORECASE)
_ROW_END = re.compile(rb"</(?:\w{1,20}:)?row\s*>|<(?:\w{1,20}:)?row\b[^<>]*/>")
_STRING = re.compile(rb"<(?:\w{1,20}:)?si[\s>/]")
_MERGED = re.compile(rb'<(?:\w{1,20}:)?mergeCell\s+ref="([A-Z]{1,3}\d{1,7}):([A-Z]{1,3}\d{1,7})"')
_BARE_FORMULA = re.compile(
    rb'<(?:\w{1,20}:)?c\s(?:[^<>]*\s)?r="([A-Z]{1,3}\d{1,7})"[^<>]*>\s*'
    rb"<(?:\w{1,20}:)?f\b[^<>]*(?:/>|>[^<]*</(?:\w{1,20}:)?f>)\s*"
    rb"(?:<(?:\w{1,20}:)?v\s*/>|<(?:\w{1,20}:)?v></(?:\w{1,20}:)?v>)?\s*</(?:\w{1,20}:)?c>"
)
#: Never read as XML by what is used here; the pictures may be SVG, which has a document type.
_PICTURES = (".png", ".jpg", ".jpeg", ".gif", ".bmp", ".tif", ".tiff", ".svg", ".emf", ".wmf")
_PLACES = re.compile(r"(0+)(?:\.(0+))?(?:_\))?")

_BROKEN = (
    "The workbook is damaged. Open it in a spreadsheet program, save it again as XLSX or as CSV,"
    " and give that file."
)
_TOO_LARGE = (
    "The workbook unpacks to more than a table of parts ever holds ({what}). Copy the table into a"
    " new workbook, or save it as CSV."
)


@contextmanager
def _told() -> Iterator[None]:
    """Whatever a library meets in a broken file becomes one sentence."""
    try:
        with warnings.catch_warnings():
            # About styles and extensions that are not read here.
            warnings.simplefilter("ignore")
            yield
    except CannotRead:
        raise
    except MemoryError:
        raise CannotRead(_TOO_LARGE.format(what="no room for it")) from None
    # Broken XML makes openpyxl raise nearly anything, from KeyError to RecursionError.
    except Exception as why:
        raise CannotRead(_BROKEN) from why


class Workbook:
    """An open workbook.  Raises CannotRead for one that is broken, hostile or locked."""

    def __init__(self, file: IO[bytes]) -> None:
        with _told():
            self._archive = zipfile.ZipFile(file)
            _check_archive(self._archive)
            self._book: Any = openpyxl.load_workbook(
                file, read_only=True, data_only=True, keep_links=False
            )
            sheets = [one for one in self._book.worksheets if one.sheet_state == "visible"]
            self._sheets = {one.title: one for one in sheets[:SHEETS_MAX]}
        if not self._sheets:
            raise CannotRead("The workbook has no visible sheet with cells.")

    def close(self) -> None:
        """Let go of the file."""
        self._book.close()
        self._archive.close()

    @property
    def names(self) -> list[str]:
        """Names of the sheets that can be read, in order."""
        return list(self._sheets)

    def sheet(
        self, name: str, first: int | None = None, passed: Callable[[int], object] | None = None
    ) -> Sheet:
        """A sheet, or its ``first`` rows.  ``passed`` is told the rows read so far, now and then.

        Raises KeyError for a name that is not there, CannotRead for a sheet beyond the bounds.
        """
        source = self._sheets[name]
        with _told():
            merged: list[tuple[int, int, int]] = []
            bare: set[tuple[int, int]] = set()
            if first is None:
                merged, bare = self._marks(source)
            source.reset_dimensions()
            bounds, rows, shown = Bounds(), list[list[str]](), _Shown()
            for number, cells in enumerate(source.iter_rows(), 1):
                if number > LAST_ROW:
                    raise CannotRead(_BROKEN)
                if first is not None and number > first:
                    break
                if not cells:
                    rows.append(_BLANK)
                    continue
                row = trimmed([shown.text(cell) for cell in cells])
                bounds.add(row)
                rows.append(row)
                if passed and not number % 500:
                    passed(number)
            for row_number, column in bare:
                if row_number <= len(rows) and column <= COLUMNS_MAX:
                    row = [*rows[row_number - 1]]
                    row.extend([""] * (column - len(row)))
                    row[column - 1] = row[column - 1] or Uncounted("formula")
                    rows[row_number - 1] = row
        while rows and not rows[-1]:
            rows.pop()
        return Sheet(name, rows, merged)

    def _marks(self, source: Any) -> tuple[list[tuple[int, int, int]], set[tuple[int, int]]]:
        """Cells joined downwards, and formulas without a result: what openpyxl does not tell."""
        merged: list[tuple[int, int, int]] = []
        bare: set[tuple[int, int]] = set()
        with self._archive.open(source._worksheet_path) as part:
            for piece in _pieces(part):
                for first, last in _MERGED.findall(piece):
                    top, left = coordinate_to_tuple(first.decode())
                    bottom, _ = coordinate_to_tuple(last.decode())
                    if bottom > top and len(merged) < MERGED_MAX:
                        merged.append((left - 1, top, bottom))
                if b"<f" in piece or b":f" in piece:
                    bare.update(
                        coordinate_to_tuple(at.decode()) for at in _BARE_FORMULA.findall(piece)
                    )
        return merged, bare


class _Shown:
    """Cells as the text that a spreadsheet program shows, as far as it matters here."""

    def __init__(self) -> None:
        self._formats: dict[str, tuple[int, int] | None] = {}

    def text(self, cell: Any) -> str:
        value = cell.value
        if value is None:
            return ""
        if type(value) is str:
            return clean(value)
        if isinstance(value, bool):
            return "TRUE" if value else "FALSE"
        if isinstance(value, int | float):
            return self._number(value, cell.number_format if cell.has_style else "General")
        if isinstance(value, datetime | date):
            return Day(value.isoformat()[:10])
        if isinstance(value, time | timedelta):
            return Day(str(value))
        return clean(str(value))

    def _number(self, value: float, shown: str) -> str:
        if isinstance(value, float) and not value.is_integer():
            places = self._places(shown)
            if places and places[1]:
                return Number(f"{value:.{places[1]}f}")
            return Rounded(format(value, ".15g"))
        places = self._places(shown)
        if abs(value) >= 1e15:
            return Number(format(value, ".15g"))
        # 007 and 3.00 are shown so because somebody wants them so; 3.0 counts as 3 all the same.
        if not places:
            return Number(int(value))
        point = f".{'0' * places[1]}" if places[1] else ""
        return Number(f"{int(value):0{places[0]}d}{point}")

    def _places(self, shown: str) -> tuple[int, int] | None:
        """Digits before and after the point that a number format asks for."""
        if shown not in self._formats:
            found = _PLACES.fullmatch(shown)
            self._formats[shown] = (len(found[1]), len(found[2] or "")) if found else None
        return self._formats[shown]


def _check_archive(archive: zipfile.ZipFile) -> None:
    """Raises CannotRead if the parts are too many, too large or not those of a workbook."""
    infos = archive.infolist()
    names = {info.filename for info in infos}
    if "[Content_Types].xml" not in names:
        raise CannotRead(
            "This is an archive, not a workbook. Unpack it, and give the table inside."
            if "mimetype" not in names
            else "This kind of workbook is not read here. Save it as XLSX or CSV, and give that"
            " file."
        )
    if any(name.lower() == "xl/workbook.bin" for name in names):
        raise CannotRead("This workbook is a binary one. Save it as XLSX or CSV.")
    if not any(name.lower().startswith("xl/") for name in names):
        raise CannotRead("This is another kind of document. Save its table as XLSX or CSV.")
    if len(infos) > PARTS_MAX:
        raise CannotRead(_TOO_LARGE.format(what=f"{len(infos):,} parts"))
    unpacked = sum(info.file_size for info in infos)
    packed = sum(info.compress_size for info in infos)
    if unpacked > UNPACKED_MAX or (unpacked > PART_MAX and unpacked > RATIO_MAX * packed):
        raise CannotRead(_TOO_LARGE.format(what=f"{unpacked / 1e6:,.0f} MB"))
    for info in infos:
        if info.flag_bits & 1:
            raise CannotRead("The workbook is locked with a password. Save it without one.")
        _check_part(archive, info)


def _check_part(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> None:
    """No part may define entities, and none may make openpyxl hold more than is sane at once."""
    name = info.filename
    sheet, strings = _SHEET.fullmatch(name), _STRINGS.fullmatch(name)
    if not sheet and not strings and info.file_size > PART_MAX:
        raise CannotRead(_TOO_LARGE.format(what=name))
    if name.lower().endswith(_PICTURES):
        return
    rows = count = gap = 0
    last = b""
    with archive.open(info) as part:
        for piece in _pieces(part) if sheet else iter(lambda: part.read(_CHUNK), b""):
            if (sheet or strings) and not last and b"\x00" in piece[:200]:
                # UTF-16, in which none of what is looked for here would be found.
                raise CannotRead(_BROKEN)
            seen = last + piece
            if b"<!" in seen and (b"<!DOCTYPE" in seen or b"<!ENTITY" in seen):
                raise CannotRead(
                    "The workbook defines entities of its own, which no spreadsheet program does."
                    " Save the table anew as XLSX or CSV."
                )
            last = piece[-10:]
            if sheet:
                ends = [found.end() for found in _ROW_END.finditer(piece)]
                rows += len(ends)
                gap = len(piece) - ends[-1] if ends else gap + len(piece)
            elif strings:
                count += len(_STRING.findall(piece))
            if rows > LAST_ROW or count > STRINGS_MAX or gap > STRETCH_MAX:
                raise CannotRead(_TOO_LARGE.format(what=name))


def _pieces(part: IO[bytes]) -> Iterator[bytes]:
    """A sheet's bytes, cut after rows.  Raises CannotRead for an endless stretch without one."""
    held = b""
    while chunk := part.read(_CHUNK):
        held += chunk
        end = held.rfind(b"row>")
        if end >= 0:
            yield held[: end + 4]
            held = held[end + 4 :]
        elif len(held) > STRETCH_MAX:
            raise CannotRead(_TOO_LARGE.format(what="a row without end"))
    if held:
        yield held
