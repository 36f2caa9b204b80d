"""Cells that name a bag or a step, and numbers that a spreadsheet program has spoilt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from .columns import BAG_WORDS, SECTION_WORDS, STEP_WORDS
from .sheets import Day

#: Characters of a bag's or step's number (``wire.records``).
NUMBER_MAX = 20

_WORDS = {"bag": BAG_WORDS, "step": STEP_WORDS, "section": SECTION_WORDS}
_LEADING = {
    what: re.compile(
        rf"(?:{words})\b\.?\s*(?:(?:no|nr|number|nummer)\b\.?)?\s*[:#]?\s*(?=\S)", re.IGNORECASE
    )
    for what, words in _WORDS.items()
}
_NUMBERED = re.compile(
    r"([A-Za-z]{0,3}[-.]?\d{1,5}(?:[.\-/]\d{1,4})*[A-Za-z]?)"
    r"(?:\s*[:.)]|\s*\((.+)\)|\s*[:.)\u2013\u2014-]?\s+(\S.*)|\s*[:]\s*(\S.*))?",
    re.DOTALL,
)
_LETTERED = re.compile(r"([A-Z])(?:\s*[:.)]|\s*[:.)\u2013\u2014-]\s*(\S.*))", re.DOTALL)
_SEVERAL = re.compile(r"\s*(?:[,;/+&\n]|\band\b|\bund\b)\s*")
_RANGE = re.compile(r"(\d{1,3})\s*(?:[-\u2013]|\bto\b|\bbis\b)\s*(\d{1,3})")
_MONTHS = "jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez"
_DATE = re.compile(
    r"\d{4}-\d\d-\d\d|\d{1,2}\.\d{1,2}\.\d{4}|\d{1,2}/\d{1,2}/(?:\d{2}|\d{4})"
    rf"|\d{{1,2}}[.\- ]{{1,2}}(?:{_MONTHS})[a-zä]*\.?(?:[ .\-]\d{{2,4}})?"
    rf"|(?:{_MONTHS})[a-zä]*\.?[ \-]\d{{1,4}}",
    re.IGNORECASE,
)
_POINTED = re.compile(r"(\d{1,3})\.(\d{1,2})")


@dataclass(frozen=True, slots=True)
class Place:
    """What a cell names: numbers of bags or one step's number, with a title if one stands there."""

    numbers: tuple[str, ...]
    title: str | None = None


def is_date(cell: str) -> bool:
    """Whether a cell is a date, or the text that a spreadsheet program leaves of one."""
    return isinstance(cell, Day) or _DATE.fullmatch(cell) is not None


def place_of(cell: str, what: str) -> Place | None:
    """``3``, ``Bag 3``, ``3: Gearboxes``, ``Step 2.1 Pinion``, ``K1``, ``Red``; None if it is
    none of them.  ``what``: bag or step."""
    text = cell.strip()
    worded = _LEADING[what].match(text)
    if worded:
        text = text[worded.end() :]
    if found := _NUMBERED.fullmatch(text):
        number, title = found[1], found[2] or found[3] or found[4]
        if len(number) <= NUMBER_MAX:
            return Place((number,), title.strip() if title else None)
    if what == "bag" and (several := bags_of(text)):
        return Place(several)
    if found := _LETTERED.fullmatch(text):
        return Place((found[1],), found[2].strip() if found[2] else None)
    if len(text) <= NUMBER_MAX and (" " not in text or (what == "bag" and text.count(" ") < 3)):
        if what == "step" and not worded and text.isalpha() and len(text) > 3:
            return None
        return Place((text,)) if any(map(str.isalnum, text)) else None
    return None


def bags_of(cell: str) -> tuple[str, ...]:
    """Several bags in one cell: ``1, 3``, ``1/3``, ``1 + 3``, ``1 to 3``.  Empty if it is no such
    list."""
    pieces = [piece for piece in _SEVERAL.split(cell.strip()) if piece]
    if len(pieces) == 1 and (found := _RANGE.fullmatch(pieces[0])):
        first, last = int(found[1]), int(found[2])
        return tuple(map(str, range(first, last + 1))) if 0 < last - first < 40 else ()
    if len(pieces) < 2 or len(pieces) > 40:
        return ()
    numbers = []
    for piece in pieces:
        text = _LEADING["bag"].sub("", piece, count=1)
        found = _NUMBERED.fullmatch(text)
        if not (found and not any(found.groups()[1:])) and not re.fullmatch("[A-Z]{1,2}", text):
            return ()
        numbers.append(text.rstrip(":.)"))
    return tuple(dict.fromkeys(numbers))


def heading_of(cell: str) -> tuple[str, str] | None:
    """A row of one cell that heads those below it: ('bag', 'Bag 3 ...'), or step, or section."""
    for what, leading in _LEADING.items():
        found = leading.match(cell)
        if found and (what == "section" or cell[found.end()].isdigit() or len(cell) < 12):
            return what, cell[found.end() :] if what == "section" else cell
    return None


def lost_zeros(steps: Sequence[str]) -> dict[int, tuple[str, str]]:
    """Where ``2.10`` may have become ``2.1``: the likelier number and the other one, by place.

    ``steps``: the numbers as they follow each other in the table; the same number may stand on
    several rows in a row.  ``2.1`` after ``2.9`` (or ``2.2`` after ``2.19``) skips back to where
    2.10 should be; ``2.11`` right after ``2.1`` skips what should be between them.
    """
    groups: list[tuple[int, int, int, str]] = []
    for at, text in enumerate(steps):
        found = _POINTED.fullmatch(text)
        if not found:
            if text:
                groups.append((at, -1, -1, text))
        elif not groups or groups[-1][3] != text:
            groups.append((at, int(found[1]), int(found[2]), text))
    made: dict[int, tuple[str, str]] = {}
    for place, (at, major, minor, text) in enumerate(groups):
        if minor < 1 or minor % 10 == 0 or text.endswith("0"):
            continue
        longer = f"{major}.{minor * 10}"
        before = groups[place - 1] if place else (0, -1, -1, "")
        after = groups[place + 1] if place + 1 < len(groups) else (0, -1, -1, "")
        end = after[0] if place + 1 < len(groups) else len(steps)
        if before[1] == major and before[2] + 1 == minor * 10:
            said = (longer, text)
        elif after[1] == major and after[2] == minor * 10 + 1 and before[1] != major:
            said = (text, longer)
        else:
            continue
        for one in range(at, end):
            if steps[one] == text:
                made[one] = said
    return made
