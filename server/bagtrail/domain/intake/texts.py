"""What a pasted parts list holds.  Pure: called in the reading process, see :mod:`.child`."""

from __future__ import annotations

from typing import Any

from ...trade.part_lines import PartLine, Place, lines_of, read_all
from .findings import Ask, Found, Unfit

#: Lines of a text that are read.
LINES_MAX = 5000
#: Characters of a text that are shown of a finding.
_SHOWN = 500


def findings(text: str, name: str) -> tuple[list[Found], list[Unfit]]:
    """The bags, steps and part lines of a text, and its lines that are none.

    ``name``: of the file, for what could not be read.  Rows count from 1.  Every finding that
    asks nothing has values that ``wire.intake.values_of`` accepts.
    """
    lines = lines_of(text)
    found: list[Found] = []
    unfit: list[Unfit] = []
    named: dict[tuple[str, str], Found] = {}
    for row in read_all("\n".join(map(_clean, lines[:LINES_MAX]))):
        for place in row.places:
            _name(place, row.row, row.text, named, found)
        if row.line is not None:
            found.append(_part_line(row.line, row.row))
            step, bag = row.line.step, row.line.bag
            if step and bag:
                bags = named["step", step].values.setdefault("bags", [])
                if bag not in bags and len(bags) < 40:
                    bags.append(bag)
        elif row.reason:
            unfit.append(Unfit(name, None, row.row, None, row.text[:_SHOWN], row.reason))
    left = sum(1 for line in lines[LINES_MAX:] if line.strip())
    if left:
        reason = (
            f"Only the first {LINES_MAX} lines of a text are read; {left} more follow. "
            "Paste them as another text."
        )
        unfit.append(
            Unfit(name, None, LINES_MAX + 1, None, _clean(lines[LINES_MAX])[:_SHOWN], reason)
        )
    return [_fitting(one) for one in found], unfit


def _clean(line: str) -> str:
    """A line without characters that no record may hold; tabs part its cells and stay."""
    if line.isprintable():
        return line
    return "".join(
        character if character.isprintable() or character == "\t" else " " for character in line
    )


def _name(
    place: Place, row: int, text: str, named: dict[tuple[str, str], Found], found: list[Found]
) -> None:
    """Notes a bag or step, once; a title that comes later is added."""
    one = named.get((place.what, place.number))
    if one is None:
        one = Found(place.what, {"number": place.number}, text=text.strip()[:_SHOWN], row=row)
        named[place.what, place.number] = one
        found.append(one)
    if place.title and "title" not in one.values:
        one.values["title"] = place.title


def _part_line(line: PartLine, row: int) -> Found:
    values: dict[str, Any] = {
        "quantity": line.quantity,
        "number": line.number,
        "name": line.name or None,
        "designation": line.designation,
        "material": line.material,
        "bag": line.bag,
        "step": line.step,
    }
    asks = [Ask(one.field, one.says, list(one.options)) for one in line.asks]
    return Found("part_line", values, text=line.text, sure=line.sure, row=row, asks=asks)


#: Fields that are shortened where they are too long, and what is asked then.
_TOO_LONG = {"name": 160, "designation": 120, "number": 60, "material": 60}


def _fitting(one: Found) -> Found:
    """With a question for each value that is longer than a record takes."""
    for field, most in _TOO_LONG.items():
        said = one.values.get(field)
        if isinstance(said, str) and len(said) > most:
            one.values[field] = None
            says = f"The {field} is longer than {most} characters. Which part of it is it?"
            one.asks.append(Ask(field, says, [said[:most].rstrip()]))
    return one
