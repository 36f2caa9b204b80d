"""Numbers and sizes in a text: ``M3x12``, ``5 x 11 x 4``, ``#4-40 x 3/8``, ``2,5``.

The spellings are common practice.  Every pattern is bounded, so that no text is slow to read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from . import threads

#: Characters of a text that are looked at; the rest is left alone.
TEXT_MAX = 500

_SAME = {
    ord(sign): plain
    for plain, signs in {
        "x": "\u00d7\u2715\u2716\u2a2f*",
        "-": "\u2010\u2011\u2012\u2013\u2014\u2212",
        '"': "\u2033\u201c\u201d\u201e",
        " ": "\u00a0\u2009\u202f\t",
        "\u00d8": "\u00f8\u2300\u2205\u03a6",
    }.items()
    for sign in signs
}

_FRACTION = r"(?:[0-9]{1,2}[- ][0-9]{1,2}/[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2})(?![0-9/])"
_NUMBER = rf"(?:{_FRACTION}|[0-9]{{1,4}}(?:[.,][0-9]{{1,4}})?|[.,][0-9]{{1,4}})(?![0-9/])"
_UNIT = r'(?: ?mm(?![a-z])| ?")?'
_TIMES = r" {0,2}x {0,2}"
_CHAIN = re.compile(
    # Not inside a word or a number; but after a hyphen or a count: ISO 4762-M6, 8xM3x12.
    rf"(?:(?<![\w.,/#-])|(?<=[-,/])(?=m ?[0-9])|(?<=[0-9]x)(?=m)|(?<= -))"
    rf"(?P<mark>m ?|st ?|\u00d8 ?)?(?P<first>{_NUMBER}){_UNIT}"
    rf"(?(mark)(?: ?- ?(?P<dash>{_NUMBER}))?)"
    rf"(?P<rest>(?:{_TIMES}{_NUMBER}{_UNIT}){{0,4}})(?![0-9])"
)
_EACH = re.compile(rf"(?P<times>{_TIMES})(?P<number>{_NUMBER}){_UNIT}")
_UNIFIED = re.compile(
    rf"(?<![\w.,/-])(?P<size>(?:#|no\.? ?)?[0-9]{{1,2}}|[0-9]/[0-9]{{1,2}})\"?"
    rf"-(?P<tpi>[0-9]{{2}})(?![0-9])(?: ?(?:unc|unf)(?![a-z]))?"
    rf"(?P<rest>{_TIMES}(?P<length>{_NUMBER}){_UNIT})?(?![0-9/])"
)


@dataclass(frozen=True, slots=True)
class Number:
    """A number in a text: value (a fraction is in inches and made millimetres), place with its
    unit, and what stands between it and the number before."""

    value: float
    start: int
    end: int
    said: str
    gap: str = ""


@dataclass(frozen=True, slots=True)
class Chain:
    """Numbers joined by crosses.  ``mark``: ``m``, ``st``, the diameter sign or nothing.
    ``dash``: the number after a hyphen, as in ``M3-0.5x12``."""

    mark: str
    numbers: tuple[Number, ...]
    start: int
    dash: Number | None = None

    @property
    def end(self) -> int:
        return self.numbers[-1].end


@dataclass(frozen=True, slots=True)
class Unified:
    """A Unified thread: ``size`` as ``#4-40``; lengths in millimetres."""

    size: str
    d_mm: float
    pitch_mm: float
    length_mm: float | None
    marked: bool
    span: tuple[int, int]


def plain(text: str) -> str:
    """The text in lower case with one spelling of signs; every character keeps its place."""
    signs = text[:TEXT_MAX].translate(_SAME)
    low = signs.lower()
    if len(low) == len(signs):
        return low
    return "".join(
        small if len(small := character.lower()) == 1 else character for character in signs
    )


def value(said: str) -> float:
    """``12``, ``2,5``, ``.7`` as they are; ``3/8`` and ``1-1/4`` are inches, made millimetres."""
    if "/" not in said:
        return float(said.replace(",", "."))
    whole, _, part = said.replace("-", " ").rpartition(" ")
    over, _, under = part.partition("/")
    if int(under) == 0:
        return 0.0
    return (int(whole or 0) + int(over) / int(under)) * threads.MM_PER_INCH


def chains(text: str) -> Iterator[Chain]:
    """The sizes of a text that :func:`plain` made."""
    for found in _CHAIN.finditer(text):
        said = found["first"]
        numbers = [Number(value(said), *found.span("first"), said)]
        for each in _EACH.finditer(text, *found.span("rest")):
            said = each["number"]
            numbers.append(Number(value(said), each.start("number"), each.end(), said,
                                  each["times"]))  # fmt: skip
        dash = None
        if found["dash"]:
            dash = Number(value(found["dash"]), *found.span("dash"), found["dash"])
        elif len(numbers) == 1:
            numbers[0] = replace(numbers[0], end=found.end())
        yield Chain((found["mark"] or "").strip(), tuple(numbers), found.start(), dash)


def unified(text: str) -> Iterator[Unified]:
    """The Unified threads of a text that :func:`plain` made."""
    for found in _UNIFIED.finditer(text):
        said, tpi = found["size"], int(found["tpi"])
        size = said if "/" in said else "#" + said.lstrip("#no. ")
        if tpi not in threads.UNIFIED.get(size, ()):
            continue
        length = None
        if found["length"]:
            length = value(found["length"])
            if "/" not in found["length"] and "mm" not in found["rest"]:
                length *= threads.MM_PER_INCH
        yield Unified(
            f"{size}-{tpi}", threads.unified_diameter(size), threads.MM_PER_INCH / tpi,
            length or None, said[0] in "#n", found.span(),
        )  # fmt: skip


def digits(number: float) -> str:
    """A number as a designation has it: at most four decimals, none that say nothing."""
    return f"{number:.4f}".rstrip("0").rstrip(".")


def inches(mm: float) -> str:
    """A length as inches are written: ``3/8``, ``1-1/4``, ``2``; in ``mm`` if it is no 64th."""
    parts = mm / threads.MM_PER_INCH * 64
    if abs(parts - round(parts)) > 1e-6 or round(parts) == 0:
        return f"{digits(mm)}mm"
    whole, over = divmod(round(parts), 64)
    under = 64
    while over and over % 2 == 0:
        over, under = over // 2, under // 2
    if not over:
        return str(whole)
    return f"{whole}-{over}/{under}" if whole else f"{over}/{under}"


def size_of(numbers: tuple[Number, ...], need: int) -> tuple[tuple[Number, ...], bool]:
    """The numbers of a chain that are the size when it has ``need`` of them, and whether that is
    certain.  A count stands apart: ``2 x 5x11x4``, ``10x2 x4``."""
    if len(numbers) <= need:
        return numbers, True
    if len(numbers) > need + 1:
        return numbers[:need], False
    gaps = [number.gap for number in numbers[1:]]
    if len(gaps) == 1:
        return numbers[:1], False
    if gaps[0] != gaps[1] and len(set(gaps[1:])) == 1:
        # The wider gap is the one before or after the count.
        if len(gaps) == 2 and gaps[0].count(" ") < gaps[1].count(" "):
            return numbers[:-1], True
        return numbers[1:], True
    if gaps[-1] != gaps[-2] and len(set(gaps[:-1])) == 1:
        return numbers[:-1], True
    return numbers[1:], False
