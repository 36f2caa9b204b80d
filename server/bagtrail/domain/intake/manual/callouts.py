"""Callouts of parts at a step: ``4 x T6-930``, with the name beside or below it.  Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from .layout import Line, Rect

_UNITS = r"pcs?\.?|pieces?|stk\.?|stück|off"
#: A count alone: the rest of the callout stands beside or below.
_COUNT = re.compile(
    rf"^(?:(\d{{1,4}})\s*(?:[x\u00d7]|{_UNITS})|[x\u00d7]\s*(\d{{1,4}}))$", re.IGNORECASE
)
#: A count and what it counts in one line.  ``12x28x8`` is a size and no count.
_BEFORE = re.compile(
    rf"^(\d{{1,4}})\s*(?:[x\u00d7]\s+(?=\S)|[x\u00d7](?=[A-Za-z]+[\d-])|(?:{_UNITS})\s+(?=\S))"
    rf"(?!\d+(?:[.,]\d+)?\s+[x\u00d7]\s)",
    re.IGNORECASE,
)
_MEASURE = re.compile(
    r"^\d+(?:[.,]\d+)?\s*(?:c?nm|[cm]?m|m?l|k?g|m?ah|k?v|w|bar|°)(?!\w)", re.IGNORECASE
)
_AFTER = re.compile(
    rf"(?<=\S)\s+[x\u00d7]\s?(\d{{1,4}})$|\s*\((\d{{1,3}})\s*(?:[x\u00d7]|{_UNITS})?\)$|"
    rf"(?<=\S)\s+(\d{{1,4}})\s*(?:[x\u00d7]|{_UNITS})$",
    re.IGNORECASE,
)
_PLAIN_COUNT = re.compile(r"^\d{1,3}$")
#: A part number: letters and digits without blanks, or four digits and more.
PART_NUMBER = re.compile(
    r"^(?=[A-Za-z0-9./_-]*\d)(?:[A-Za-z]{1,6}[-./_]?\d[A-Za-z0-9./_-]*|\d{4,10}[A-Za-z]?|"
    r"\d{1,6}[-./_][A-Za-z0-9./_-]*\d[A-Za-z0-9]*)$"
)
#: Sizes and standards that look like part numbers.
_SIZE = re.compile(
    r"^(?:(?:ST|M|D|No)?\d+(?:[.,]\d+)?(?:[x\u00d7/]\d+(?:[.,]\d+)?)*(?:mm|g|ml|v|nm)?|"
    r"(?:ISO|DIN|EN)\S*)$",
    re.IGNORECASE,
)


@dataclass(eq=False)
class Callout:
    """What a callout says.  ``lines``: those it was read from."""

    quantity: int
    text: str
    rect: Rect
    lines: list[Line]
    sure: float


def callouts_of(lines: Sequence[Line]) -> list[Callout]:
    """Callouts among the lines of one step: a count and what it counts, put together."""
    out: list[Callout] = []
    taken: set[int] = set()
    anchors = {id(line): count for line in lines if (count := count_of(line.text)) is not None}
    for line in sorted(lines, key=lambda one: (one.y0, one.x0)):
        if id(line) in taken or id(line) not in anchors:
            continue
        made = _callout(line, anchors[id(line)], lines, anchors, taken)
        if made is not None:
            taken |= {id(one) for one in made.lines}
            out.append(made)
    return out + _bare_rows(lines, taken | set(anchors))


def count_of(text: str) -> tuple[int, str] | None:
    """The count that a callout begins or ends with, and the rest; None if there is none."""
    text = text.strip()
    if found := _COUNT.match(text):
        return int(found[1] or found[2]), ""
    found = _BEFORE.match(text)
    # A number by a number is a size or an angle, and one with a unit a measure.
    if found and re.search(r"[^\W\d_]|\d-\d|^\d{4,}$", text[found.end() :]):
        rest = text[found.end() :].strip()
        return None if _MEASURE.match(rest) else (int(found[1]), rest)
    if found := _AFTER.search(text):
        rest = text[: found.start()].strip()
        # In brackets stands many a number; it counts where a part number or a size is named.
        words = rest.split()
        named = found[2] is None or any(map(_names, words))
        if len(words) <= 8 and named:
            return int(found[1] or found[2] or found[3]), rest
    return None


def _callout(
    line: Line, count: tuple[int, str], lines: Sequence[Line],
    anchors: dict[int, tuple[int, str]], taken: set[int],
) -> Callout | None:  # fmt: skip
    quantity, rest = count
    used = [line]
    free = [one for one in lines if id(one) not in taken and id(one) not in anchors]
    pieces = [rest] if rest else []
    # A table: number and name in the next columns.
    reach = 6.0 if not rest else 3.0
    while len(used) < 4:
        beside = _right_of(used[-1], free, reach)
        if beside is None or beside in used or not _is_piece(beside.text):
            break
        if rest and _has_words(rest):
            break
        used.append(beside)
        pieces.append(beside.text)
        reach = 8.0
    if len(used) == 1 and not rest:
        above = _above(line, free)
        below = _below(line, free, [line.x0], line)
        piece = below if below is not None and _is_piece(below.text) else above
        if piece is None:
            return None
        used.append(piece)
        pieces.append(piece.text)
    lefts = [one.x0 for one in used]
    last = max(used, key=lambda one: one.y1)
    while len(used) < 8:
        below = _below(last, [one for one in free if one not in used], lefts, used[0])
        if below is None or not _is_piece(below.text):
            break
        # The next part of a list without counts.
        named = any(PART_NUMBER.match(piece.split()[0]) for piece in pieces if piece)
        if named and PART_NUMBER.match(below.text):
            break
        used.append(below)
        pieces.append(below.text)
        last = below
    text = " ".join(piece for piece in pieces if piece)
    if not text:
        return None
    return Callout(quantity, text, _round(used), used, 0.9)


def _bare_rows(lines: Sequence[Line], taken: set[int]) -> list[Callout]:
    """Rows of a table in which the count has no sign: ``4 | T6-930 | Cap screw``; at least two,
    one below the other."""
    rows: list[Callout] = []
    free = [one for one in lines if id(one) not in taken]
    for line in free:
        if not _PLAIN_COUNT.match(line.text) or int(line.text) == 0:
            continue
        beside = _right_of(line, free, 6.0)
        if beside is None or not _is_number(beside.text.split()[0]):
            continue
        used, pieces = [line, beside], [beside.text]
        name = _right_of(beside, free, 8.0)
        if name is not None and _is_piece(name.text):
            used.append(name)
            pieces.append(name.text)
        rows.append(Callout(int(line.text), " ".join(pieces), _round(used), used, 0.75))
    return [
        row for row in rows
        if any(other is not row and abs(other.rect[0] - row.rect[0]) < 0.02 for other in rows)
    ]  # fmt: skip


def _right_of(line: Line, lines: Sequence[Line], reach: float) -> Line | None:
    beside = [
        one for one in lines
        if one is not line and abs(_base(one) - _base(line)) < 0.3 * max(one.size, line.size)
        and 0 <= one.x0 - line.x1 < reach * line.size
    ]  # fmt: skip
    return min(beside, key=lambda one: one.x0, default=None)


def _below(last: Line, lines: Sequence[Line], lefts: list[float], first: Line) -> Line | None:
    size = max(last.size, first.size)
    middle = (first.x0 + first.x1) / 2
    reach = 1.55 * (last.size if last is not first else size)
    fits = [
        one for one in lines
        if 0.4 * one.size < _base(one) - _base(last) < reach
        and one.points <= 1.05 * first.points
        and (any(abs(one.x0 - left) < 0.5 * size for left in lefts)
             or abs((one.x0 + one.x1) / 2 - middle) < 0.4 * size)
    ]  # fmt: skip
    return min(fits, key=_base, default=None)


def _above(line: Line, lines: Sequence[Line]) -> Line | None:
    fits = [
        one for one in lines
        if 0.4 * line.size < _base(line) - _base(one) < 1.6 * max(line.size, one.size)
        and (abs(one.x0 - line.x0) < 0.6 * line.size
             or abs((one.x0 + one.x1) - (line.x0 + line.x1)) < 1.2 * line.size)
        and _is_piece(one.text) and any(_names(word) for word in one.text.split())
    ]  # fmt: skip
    return max(fits, key=_base, default=None)


def _base(line: Line) -> float:
    return line.y1 - 0.22 * line.size


def _is_piece(text: str) -> bool:
    """Whether it can be the number or the name of a part: no sentence, no count."""
    return (
        len(text) <= 80 and len(text.split()) <= 9
        and not re.search(r"[.!?]$", text) and not _PLAIN_COUNT.match(text)
    )  # fmt: skip


def _names(word: str) -> bool:
    """Whether the word is a part number or the size of a piece of hardware."""
    return bool(PART_NUMBER.match(word) or (_SIZE.match(word) and len(word) > 3))


def _is_number(word: str) -> bool:
    return bool(PART_NUMBER.match(word)) and not _SIZE.match(word)


def _has_words(text: str) -> bool:
    first, _, rest = text.partition(" ")
    return bool(re.search(r"[^\W\d_]{3}", PART_NUMBER.sub("", first) + rest))


def _round(lines: Sequence[Line]) -> Rect:
    return (min(one.x0 for one in lines), min(one.y0 for one in lines),
            max(one.x1 for one in lines), max(one.y1 for one in lines))  # fmt: skip
