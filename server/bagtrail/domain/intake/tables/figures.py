"""Numbers as people and spreadsheet programs write them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from .sheets import Number

_GROUP = "[ '\u2019]"
#: A point or a comma before three digits can part thousands; before any other count it cannot.
_OPEN = re.compile(r"[+-]?\d{1,3}[.,]\d{3}")
_SPLIT = re.compile(r"[+-]?(\d*)([.,])(\d+)")
_BOTH = re.compile(r"[+-]?\d{1,3}(?:([.,])\d{3})+([.,])\d+")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:([.,])\d{3})(?:\1\d{3})+")
_SPACED = re.compile(rf"([+-]?\d{{1,3}}(?:{_GROUP}\d{{3}})+)([.,]\d+)?")
_PLAIN = re.compile(r"[+-]?\d{1,15}")
_QUANTITY = re.compile(
    r"\(?(?:[x\u00d7]\s*)?([+-]?[\d.,'\u2019 ]*\d)\s*"
    r"(?:[x\u00d7]|pcs?\.?|pieces?|ea\.?|each|off|nos?\.?|stk\.?|stck\.?|stück|stücke|st\.?)?\)?",
    re.IGNORECASE,
)
_MINUTES = re.compile(
    r"(?:ca\.?|about|~|approx\.?)?\s*([\d.,]+)\s*(?:'|m|min\.?|mins\.?|minutes?|minuten?)?",
    re.IGNORECASE,
)
_HOURS = re.compile(
    r"([\d.,]+)\s*(?:h|hrs?\.?|hours?|std\.?|stunden?)(?:\s*(\d{1,2})\s*"
    r"(?:'|m|min\.?|minutes?|minuten?)?)?",
    re.IGNORECASE,
)


def decimal_of(cells: Iterable[str], fallback: str) -> str:
    """The decimal mark of a column, ``.`` or ``,``: what only it can have written decides."""
    votes = {".": 0, ",": 0}
    for cell in cells:
        if isinstance(cell, Number) or not cell:
            continue
        if found := _THOUSANDS.fullmatch(cell):
            votes["," if found[1] == "." else "."] += 2
        elif found := _BOTH.fullmatch(cell):
            if found[1] != found[2]:
                votes[found[2]] += 2
        elif (found := _SPLIT.fullmatch(cell)) and not _OPEN.fullmatch(cell):
            votes[found[2]] += 1
    if votes["."] == votes[","]:
        return fallback
    return "." if votes["."] > votes[","] else ","


def number(text: str, decimal: str) -> float | None:
    """The number, or None if it is none.  ``decimal`` decides what ``1,234`` is, and no more:
    ``2,5`` and ``2.5`` cannot be anything but two and a half."""
    text = text.strip().replace("\u2212", "-")
    if _PLAIN.fullmatch(text):
        return int(text)
    if isinstance(text, Number) or len(text) > 40:
        return _finite(text)
    thousands = "," if decimal == "." else "."
    if found := _SPACED.fullmatch(text):
        return _finite(re.sub(_GROUP, "", found[1]) + (found[2] or "").replace(",", "."))
    if _OPEN.fullmatch(text):
        return _finite(text.replace(thousands, "").replace(decimal, "."))
    if found := _BOTH.fullmatch(text):
        if found[1] == found[2]:
            return _finite(re.sub(r"[.,]", "", text))
        return _finite(text.replace(found[1], "").replace(found[2], "."))
    if _SPLIT.fullmatch(text):
        return _finite(text.replace(",", "."))
    return None


def _finite(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    if not math.isfinite(value):
        return None
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def quantity(text: str, decimal: str) -> float | None:
    """How many: ``4``, ``4x``, ``4 pcs``, ``4 Stk.``, ``4,0``.  None if it is no number."""
    value = number(text, decimal)
    if value is None and (found := _QUANTITY.fullmatch(text)):
        value = number(found[1], decimal)
    return value


def minutes(text: str, decimal: str) -> float | None:
    """Minutes: ``20``, ``20 min``, ``1 h 30``, ``1,5 h``.  None if it cannot be told."""
    value = number(text, decimal)
    if value is None and (found := _MINUTES.fullmatch(text)):
        value = number(found[1], decimal)
    if value is None and (found := _HOURS.fullmatch(text)):
        hours = number(found[1], decimal)
        value = None if hours is None else hours * 60 + int(found[2] or 0)
    return value
