"""Rows of a table become findings: sections, bags, steps, operations and part lines."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Sequence
from dataclasses import asdict
from functools import lru_cache
from typing import Any

from ....trade import designations, part_lines
from ....wire.intake import VALUES
from ..findings import Ask, Found, Unfit
from . import figures
from .columns import width_of
from .places import NUMBER_MAX, Place, bags_of, heading_of, is_date, lost_zeros, place_of
from .sheets import CELL_MAX, COLUMNS_MAX, Cut, Rounded, Sheet, Uncounted

#: Said of done rows each time.
STRIDE = 500
QUANTITY_MAX = 100_000
MINUTES_MAX = 6000
#: Characters of a row that a finding shows.
_SHOWN = 300
#: Share of blank cells from which on a column is taken for one that fills in groups.
_MOSTLY_BLANK = 0.2

_PLACES = ("section.title", "bag.number", "step.number")
_TOTAL = re.compile(
    r"(?:grand\s|sub-?)?totals?\b(?:\s*(?:parts|pieces|quantity|minutes))?.{0,12}"
    r"|sum\b.{0,20}|(?:zwischen)?summe\b.{0,20}|gesamt(?:summe|zahl|menge)?\b.{0,20}"
    r"|insgesamt\b.{0,20}",
    re.IGNORECASE,
)
_REMARK = re.compile(
    r"(?:n\.?b\.?|notes?|remarks?|hinweise?|achtung|bemerkung(?:en)?|anmerkung(?:en)?|attention"
    r"|caution|warning|please|bitte|end of (?:list|table)|ende)\b.*|[*†].*|-{2,}.*|={2,}.*",
    re.IGNORECASE | re.DOTALL,
)
_ERROR = re.compile(r"#(?:N/A|NV|REF!|BEZUG!|VALUE!|WERT!|NAME\?|DIV/0!|NUM!|ZAHL!|NULL!)")
_MARKED = re.compile(
    r"([A-Z]|\d{1,2}|[IVX]{1,5})\s*[:.)]\s+(\S.*)|([A-Z]|\d{1,2})\s+[\u2013\u2014-]\s+(\S.*)"
)
_MARK = re.compile(r"[A-Z]|\d{1,2}|[IVX]{1,5}")

spelled = lru_cache(maxsize=20_000)(designations.read)
part_line = lru_cache(maxsize=20_000)(part_lines.read)


def _longest(what: str, name: str) -> int:
    kind: Any = VALUES[what]().fields[name]
    return int(kind.most)


_LONGEST = {
    f"{what}.{name}": _longest(where, name)
    for what, where, names in (
        ("section", "section", ("title", "mark")),
        ("bag", "bag", ("title",)),
        ("step", "step", ("title", "text")),
        ("operation", "operation", ("text",)),
        ("part", "part_line", ("number", "name", "designation", "material")),
    )
    for name in names
}


class _Spoilt(Exception):
    """A cell cannot be used; its reason is told already."""


class Reader:
    """Reads one sheet by its layout.  ``fields``: for each column what it is, or None."""

    def __init__(
        self, file: str, sheet: Sheet, heading_row: int, decimal: str,
        fields: Sequence[str | None], sures: Sequence[float],
    ) -> None:  # fmt: skip
        self.file, self.sheet, self.decimal = file, sheet, decimal
        self.first = heading_row
        self.column: dict[str, int] = {}
        #: Further columns of the same field: their texts are joined.
        self.more: dict[str, list[int]] = {}
        for at, name in enumerate(fields):
            if name in self.column:
                self.more.setdefault(name, []).append(at)
            elif name:
                self.column[name] = at
        self.sure = {
            name: sures[at] if at < len(sures) else 1.0 for name, at in self.column.items()
        }
        self.headings = sheet.rows[heading_row - 1] if heading_row else []
        self.body = sheet.rows[heading_row:]
        self.found: list[Found] = []
        self.unfit: list[Unfit] = []
        self._known: dict[str, dict[str, Found]] = {"section": {}, "bag": {}, "step": {}}
        self._first_said: dict[tuple[str, str, str], int] = {}
        self._clashed: set[tuple[str, str, str, str]] = set()
        self._at = dict.fromkeys(_PLACES, "")
        self._headed = dict.fromkeys(_PLACES, "")

    # What the columns look like as wholes

    def _prepare(self) -> None:
        usual = width_of(self.headings, self.body) if self.sheet.delimiter else COLUMNS_MAX
        self.width = max(usual, *(at + 1 for at in self.column.values()), 0)
        self.reasons = [self._no_row(row) if row else None for row in self.body]
        #: Whether a row is one of the list: blank ones, totals and remarks carry nothing on.
        self.listed = [
            bool(row) and not reason for row, reason in zip(self.body, self.reasons, strict=True)
        ]
        self.place_cells = {name: self._filled_in(name) for name in _PLACES if name in self.column}
        self.zeros = lost_zeros(self.place_cells.get("step.number", []))

    def _filled_in(self, name: str) -> list[str]:
        """A column's cells with those filled in that only the cell above says.

        Cells joined downwards hold what the first of them holds.  Without any, a column that
        starts filled, never repeats a value below itself and is blank often is one whose blanks
        carry on; a value in a column to the left of it, which opens a group, ends that.
        """
        at = self.column[name]
        cells = [
            row[at] if listed and at < len(row) else ""
            for row, listed in zip(self.body, self.listed, strict=True)
        ]
        merged = False
        for column, top, bottom in self.sheet.merged:
            if column == at and top > self.first:
                start = top - self.first - 1
                for place in range(start + 1, min(bottom - self.first, len(cells))):
                    merged = True
                    cells[place] = cells[place] or cells[start]
        if merged or not self._carries(cells):
            return cells
        outer = [
            one for other in _PLACES if (one := self.column.get(other)) is not None and one < at
        ]
        held = ""
        for place, cell in enumerate(cells):
            row = self.body[place]
            if cell:
                held = cell
            elif self.listed[place] and any(one < len(row) and row[one] for one in outer):
                held = ""
            elif self.listed[place]:
                cells[place] = held
        return cells

    def _carries(self, cells: list[str]) -> bool:
        filled = [(cell, place) for place, cell in enumerate(cells) if cell]
        rows = [place for place, listed in enumerate(self.listed) if listed]
        if len(filled) < 1 or not rows or filled[0][1] != rows[0]:
            return False
        blank = 1 - len(filled) / len(rows)
        repeats = sum(1 for (a, i), (b, j) in itertools.pairwise(filled) if a == b and j == i + 1)
        return blank >= _MOSTLY_BLANK and repeats <= 0.02 * len(filled)

    # Rows

    def run(self, report: Callable[[int, int], object]) -> dict[str, Any]:
        """All findings and what could not be read, in the order of the rows."""
        self._prepare()
        total = len(self.body)
        report(0, total)
        for place, row in enumerate(self.body):
            if row:
                self._row(self.first + place + 1, place, row)
            if not (place + 1) % STRIDE:
                report(place + 1, total)
        report(total, total)
        return {
            "findings": [
                {"what": one.what, "page": one.page, **one.content()} for one in self.found
            ],
            "unfit": [asdict(one) for one in self.unfit],
            "rows": sum(1 for row in self.body if row),
        }

    def _row(self, number: int, place: int, row: list[str]) -> None:
        cells = [cell for cell in row if cell]
        if reason := self.reasons[place]:
            self._say(number, None, " | ".join(cells), reason)
            return
        if len(cells) == 1 and self._heads(number, row, cells[0]):
            return
        text = " | ".join(cells)[:_SHOWN]
        _Row(self, number, place, row, text).read()

    def _no_row(self, row: list[str]) -> str | None:
        """Why a row is none of the list, if it is none."""
        cells = [cell for cell in row if cell]
        if len(row) > self.width:
            return (
                f"The row has {len(row)} cells where the others have {self.width}. A cell that"
                " holds the delimiter needs quotation marks around it."
            )
        if len(cells) > 1 and row == self.headings:
            return "The headings again: no row of the list."
        if not any(any(map(str.isalnum, cell)) for cell in cells):
            return "Only signs, as of a line drawn between rows."
        numbered = self._cell(row, "part.number")
        if not numbered and any(_TOTAL.fullmatch(cell) for cell in cells if len(cell) < 40):
            return "A total, not a part: totals are not taken in."
        if len(cells) == 1:
            cell = cells[0]
            sentence = len(cell) > 60 or (cell.endswith((".", "!")) and cell.count(" ") > 2)
            texts = ("part.text", "operation.text", "step.text")
            in_text = any(self._cell(row, name) for name in texts)
            if _REMARK.fullmatch(cell) or (sentence and not in_text):
                return "A remark, not a part: it stands alone in its row."
        return None

    def _heads(self, number: int, row: list[str], cell: str) -> bool:
        """Take a row such as 'Bag 3' for a heading of those below it."""
        found = heading_of(cell)
        if not found:
            return False
        what, said = found
        name = {"bag": "bag.number", "step": "step.number", "section": "section.title"}[what]
        if self._cell(row, name):
            return False
        self._headed[name] = said
        if what == "section":
            self._headed["step.number"] = ""
        _Row(self, number, -1, [], cell).places(self._headed)
        return True

    def _cell(self, row: list[str], name: str) -> str:
        at = self.column.get(name, -1)
        cell = row[at] if 0 <= at < len(row) else ""
        if name in self.more:
            cells = [cell, *(row[one] for one in self.more[name] if one < len(row))]
            filled = [one for one in cells if one]
            return filled[0] if len(filled) == 1 else " ".join(filled)
        return cell

    def heading(self, name: str) -> str | None:
        """The column's heading, or its letter where it has none; None if there is no column."""
        at = self.column.get(name)
        if at is None:
            return None
        said = self.headings[at] if at < len(self.headings) else ""
        return said or letter(at)

    def _say(self, row: int, column: str | None, text: str, reason: str) -> None:
        shown = text if len(text) <= _SHOWN else text[:_SHOWN] + "…"
        self.unfit.append(Unfit(self.file, self.sheet.name, row, column, shown, reason))


class _Row:
    """One row on its way into findings."""

    def __init__(self, reader: Reader, number: int, place: int, row: list[str], text: str) -> None:
        self.reader, self.number, self.place, self.row, self.text = reader, number, place, row, text
        self.spoilt = False
        self.asks: dict[str, Ask] = {}

    def read(self) -> None:
        reader = self.reader
        said = {}
        for name in _PLACES:
            cells = reader.place_cells.get(name)
            said[name] = (cells[self.place] if cells else "") or reader._headed[name]
        bags, step = self.places(said)
        self._operation(step)
        self._part(bags, step)

    # Cells

    def spoil(self, name: str, text: str, reason: str) -> None:
        """Tell that a cell cannot be used; the row's part line needs mending first."""
        self.reader._say(self.number, self.reader.heading(name), text, reason)

    def cell(self, name: str) -> str:
        """The cell of a field.  Raises _Spoilt, once it has told why, if nobody can use it."""
        text = self.reader._cell(self.row, name)
        return self._usable(name, text) if text else ""

    def _usable(self, name: str, text: str) -> str:
        reason = None
        if isinstance(text, Uncounted):
            reason = (
                "A formula whose result the file has not kept. Open it in a spreadsheet program,"
                " save it, and give it again."
            )
        elif isinstance(text, Cut):
            reason = f"Longer than {CELL_MAX} characters: shorten it in the file."
        elif text[0] == "#" and _ERROR.fullmatch(text):
            reason = "A formula that came to an error: mend it in the file."
        elif len(text) > (most := _LONGEST.get(name, CELL_MAX)):
            reason = f"Longer than {most} characters: shorten it in the file."
        if reason:
            self.spoil(name, text, reason)
            raise _Spoilt
        return text

    def soft(self, name: str) -> str | None:
        """The cell of a field that others can do without."""
        try:
            return self.cell(name) or None
        except _Spoilt:
            return None

    # Places

    def places(self, said: dict[str, str]) -> tuple[tuple[str, ...], str | None]:
        """Sections, bags and steps that the row names; gives numbers of its bags and its step."""
        section = self._section(said["section.title"])
        bag = self._place("bag", said["bag.number"])
        step = self._place("step", said["step.number"])
        bags = bag.numbers if bag else ()
        for number in bags:
            title = self._title(bag) if bag and len(bags) == 1 else None
            made = self._once("bag", number, {"number": number})
            self._set(made, "bag", number, "title", self.soft("bag.title") or title)
        if step is None:
            return bags, None
        number = step.numbers[0]
        made = self._once("step", number, {"number": number})
        if "number" in self.asks:
            made.asks = made.asks or [self.asks.pop("number")]
        self._set(made, "step", number, "title", self.soft("step.title") or self._title(step))
        self._set(made, "step", number, "text", self.soft("step.text"))
        self._set(made, "step", number, "minutes", self._minutes())
        self._set(made, "step", number, "section", section)
        self._add_bags(made, (*bags, *self._step_bags()))
        return bags, number

    def _title(self, place: Place) -> str | None:
        """The title that stands beside a number in its cell."""
        title = place.title
        if title and len(title) > _LONGEST["bag.title"]:
            self.reader._say(
                self.number, None, title,
                f"A title of more than {_LONGEST['bag.title']} characters: shorten it in the file.",
            )  # fmt: skip
            return None
        return title

    def _section(self, cell: str) -> str | None:
        if not cell:
            return None
        try:
            text = self._usable("section.title", cell)
        except _Spoilt:
            return None
        mark, title = None, text
        if found := _MARKED.fullmatch(text):
            mark, title = found[1] or found[3], found[2] or found[4]
        elif _MARK.fullmatch(text):
            mark, title = text, ""
        values = {"title": title or None, "mark": mark}
        key = title or mark or ""
        self._once("section", key, {name: value for name, value in values.items() if value})
        return key

    def _place(self, what: str, cell: str) -> Place | None:
        name = f"{what}.number"
        if not cell:
            return None
        try:
            self._usable(name, cell)
        except _Spoilt:
            self.spoilt = True
            return None
        reason = None
        if is_date(cell):
            reason = (
                f"A date stands where the number of a {what} should: a spreadsheet program has"
                " taken a number such as 1-2 or 2.1 for one. Set the column to text there, type"
                " the number again, and save."
            )
        elif (found := place_of(cell, what)) is None:
            reason = (
                f"Not the number of a {what}: at most {NUMBER_MAX} characters, such as 3, 2.1 or"
                " K1."
            )
        if reason or found is None:
            self.spoilt = True
            self.spoil(name, cell, f"{reason} What the row lists is left out until then.")
            return None
        if what == "step" and (said := self.reader.zeros.get(self.place)):
            found = Place((said[0],), found.title)
            ask = (
                f"{cell} can be {said[0]} that lost its last zero on its way through a spreadsheet"
                f" program, or {said[1]}. Which one is it?"
                if cell == said[1]
                else f"After {cell} comes {cell}1: is this {cell}, or {said[1]} that lost its zero?"
            )
            self.asks["number"] = Ask("number", ask, list(said))
            self.asks["step"] = Ask("step", ask, list(said))
        return found

    def _once(self, what: str, key: str, values: dict[str, Any]) -> Found:
        reader = self.reader
        known = reader._known[what]
        found = known.get(key)
        if found is None:
            name = "section.title" if what == "section" else f"{what}.number"
            sure = reader.sure.get(name, 0.8)
            found = known[key] = Found(what, values, self.text, sure, row=self.number)
            reader.found.append(found)
        return found

    def _set(self, made: Found, what: str, number: str, name: str, value: Any) -> None:
        """Set a value once; another later is told, with the row that was first."""
        if value is None:
            return
        reader = self.reader
        first = made.values.setdefault(name, value)
        at = reader._first_said.setdefault((what, number, name), self.number)
        if first == value or _same(first, value):
            return
        if (what, number, name, str(value)) in reader._clashed:
            return
        reader._clashed.add((what, number, name, str(value)))
        field = f"{what}.{name}" if name != "section" else "section.title"
        column = field if field in reader.column else f"{what}.number"
        reader._say(
            self.number, reader.heading(column), str(value),
            f"{what.capitalize()} {number} has another {name} in row {at}: {str(first)[:80]!r}."
            " The first one is taken; make them the same.",
        )  # fmt: skip

    def _add_bags(self, made: Found, bags: Sequence[str]) -> None:
        if bags:
            held = made.values.setdefault("bags", [])
            held += [bag for bag in dict.fromkeys(bags) if bag not in held]
            del held[40:]

    def _step_bags(self) -> tuple[str, ...]:
        cell = self.soft("step.bags")
        if not cell:
            return ()
        several = bags_of(cell)
        place = None if several else place_of(cell, "bag")
        if is_date(cell) or isinstance(cell, Rounded) or not (several or place):
            self.spoil("step.bags", cell, "Not the numbers of bags, such as 1, 2: set the column"
                       " to text, and type them again with commas between.")  # fmt: skip
            return ()
        numbers = several or (place.numbers if place else ())
        for number in numbers:
            self._once("bag", number, {"number": number})
        return numbers

    def _minutes(self) -> float | None:
        cell = self.soft("step.minutes")
        if not cell:
            return None
        value = figures.minutes(cell, self.reader.decimal)
        if value is None or not 0 <= value <= MINUTES_MAX:
            self.spoil(
                "step.minutes", cell, f"Not minutes from 0 to {MINUTES_MAX}, such as 20 or 7.5."
            )
            return None
        return value

    # Operations and parts

    def _operation(self, step: str | None) -> None:
        text = self.soft("operation.text")
        if not text:
            return
        if step is None:
            if not self.spoilt:
                self.spoil("operation.text", text, "An operation without a step: name its step.")
            return
        self._add("operation", {"step": step, "text": text}, ("operation.text",))

    def _add(self, what: str, values: dict[str, Any], names: Sequence[str]) -> Found:
        reader = self.reader
        sure = min((reader.sure[name] for name in names if name in reader.sure), default=0.8)
        found = Found(what, values, self.text, sure, row=self.number)
        if what != "part" and "step" in self.asks:
            found.asks.append(self.asks["step"])
        reader.found.append(found)
        return found

    def _part(self, bags: tuple[str, ...], step: str | None) -> None:
        try:
            values, whole, sure, used = self._described()
            quantity = self.cell("part.quantity")
        except _Spoilt:
            return
        named = any(values.get(name) for name in ("number", "name", "designation"))
        if not named:
            if quantity:
                self.spoil("part.quantity", quantity, "A quantity without a part.")
            return
        if self.spoilt:
            # Where it belongs stands in a cell that cannot be read, and has been told.
            return
        if quantity:
            whole = self._whole(quantity, values)
            if whole is None:
                return
        placed = bool(bags or step)
        if whole is None and not placed and "part.quantity" not in self.reader.column:
            self._add("part", values, used).sure *= sure
            return
        if step:
            values["step"] = step
        if len(bags) == 1:
            values["bag"] = bags[0]
        found = self._add("part_line", values, [*used, "part.quantity"])
        found.sure = round(found.sure * sure, 3)
        found.asks += [ask for name, ask in self.asks.items() if name.startswith("line")]
        if whole is not None:
            values["quantity"] = whole
        elif all(ask.field != "quantity" for ask in found.asks):
            found.asks.append(Ask("quantity", "How many? The table does not say.", [1]))
        if len(bags) > 1:
            found.asks.append(Ask("bag", "Which of these bags is it in?", list(bags)))

    def _described(self) -> tuple[dict[str, Any], int | None, float, list[str]]:
        """What the row says of its part, a quantity read from a whole line, and how sure."""
        values: dict[str, Any] = {}
        used: list[str] = []
        for name in ("number", "name", "designation", "material"):
            text = self.cell(f"part.{name}")
            if text:
                values[name] = text
                used.append(f"part.{name}")
        line = self.cell("part.text")
        whole, sure = None, 1.0
        if line:
            used.append("part.text")
            whole, sure = self._line(line, values)
        if normal := _hardware(values.get("name"), values.get("designation")):
            values["designation"] = normal
        return values, whole, sure, used

    def _line(self, line: str, values: dict[str, Any]) -> tuple[int | None, float]:
        """Read a whole part line into ``values``; gives its quantity and how sure that is.

        What columns of their own say goes before what the line says.
        """
        read = part_line(line)
        if read is None or (read.sure < 0.5 and read.quantity is None):
            said = "No part line can be read here; one is '4 x M3x12 cap screw'."
            self.spoil("part.text", line, said)
            raise _Spoilt
        of_line = {
            "number": read.number, "name": read.name, "designation": read.designation,
            "material": read.material,
        }  # fmt: skip
        for name, value in of_line.items():
            if value and name not in values and len(value) <= _LONGEST[f"part.{name}"]:
                values[name] = value
        counted = self.reader._cell(self.row, "part.quantity")
        for ask in read.asks:
            if not values.get(ask.field) and not (ask.field == "quantity" and counted):
                self.asks[f"line {len(self.asks)}"] = Ask(ask.field, ask.says, list(ask.options))
        return read.quantity, read.sure

    def _whole(self, cell: str, values: dict[str, Any]) -> int | None:
        """The quantity, or None once it has been told why it is none."""
        value = figures.quantity(cell, self.reader.decimal)
        named = values.get("name") or values.get("number") or values.get("designation") or ""
        left = f" The line of {str(named)[:60]!r} is left out until this is mended."
        if is_date(cell):
            reason = "A date stands where a quantity should: set the column to numbers."
        elif value is None:
            reason = "Not a number: a quantity is a whole number of pieces, such as 4."
        elif value != int(value):
            reason = "Not a whole number: a quantity counts pieces."
        elif not 0 <= value <= QUANTITY_MAX:
            reason = f"A quantity is from 0 to {QUANTITY_MAX:,}."
        else:
            return int(value)
        self.spoil("part.quantity", cell, reason + left)
        return None


def _hardware(name: str | None, designation: str | None) -> str | None:
    """The normal spelling of a piece of hardware, from the columns of its name and designation.

    Where one alone leaves a question ('M3x12' does not say which head), both together may not
    ('Cap screw').  None if it is no hardware, or a question stays: then what stands there says
    it as well as a guess would.
    """
    both = f"{name} {designation}" if name and designation else None
    for text in (designation, both) if designation else (name,):
        read = spelled(text) if text else None
        if read is not None and not read.asks:
            return read.normal
    return None


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, str) and isinstance(other, str):
        return one.casefold().split() == other.casefold().split()
    return bool(one == other)


def letter(at: int) -> str:
    """The letters by which a spreadsheet program calls a column, from 0: A, B, … Z, AA."""
    said = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        said = chr(65 + rest) + said
    return said
