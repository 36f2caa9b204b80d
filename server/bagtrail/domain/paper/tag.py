"""The label of one bag: a paper tag with a punched hole at its leading corner."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ...trade.codes import in_clear
from ...wire.problems import Invalid
from .geometry import Box
from .lettering import fit, font_for, printable, wrap
from .marks import Mark, Modules, Outline, Ring, Words
from .symbol import QUIET_MODULES, Symbol

#: Least side of a module: a phone reads it at arm's length from matt paper (GS1 has 0.396 mm).
MODULE_MIN_MM = 0.6
MODULE_MAX_MM = 1.3
#: One dot of a 300 dpi printer; modules of whole dots come out even.
DOT_MM = 25.4 / 300
#: Strip inside the label's edge that stays white, because sheets shift in the printer.
EDGE_MM = 1.2
#: Between the outline of the tag and its words; and its symbol, whose quiet zone is air enough.
AIR_MM, SYMBOL_AIR_MM = 0.9, 0.3
LINE_MM = 0.2
#: Beside the column of words; height of capitals and distance of lines, as parts of the size.
PAD_MM = 0.8
CAP, LEADING = 0.73, 1.2
#: Least room for words beside or above the symbol.
WORDS_MIN_WIDTH_MM, WORDS_MIN_HEIGHT_MM = 19.0, 11.0


@dataclass(frozen=True)
class LabelBag:
    """A bag as its label says it.  ``steps``: numbers of the steps it serves, in order."""

    code: str
    number: str
    title: str
    steps: list[str]


@dataclass(frozen=True)
class _Plan:
    """Where symbol (with quiet zone) and words go; ``outline`` is the tag's edge, if there is room
    for one outside the quiet zone."""

    module: float
    symbol: Box
    words: Box
    outline: Box | None


def steps_in_words(steps: list[str]) -> str:
    """Step numbers for a label; three or more that follow each other become a range.

    ``["1.1", "1.2", "1.3", "2.4"]`` gives ``1.1\u20131.3, 2.4``.
    """
    groups: list[list[str]] = []
    for step in steps:
        if groups and _follows(groups[-1][-1], step):
            groups[-1].append(step)
        else:
            groups.append([step])
    return ", ".join(
        f"{group[0]}\u2013{group[-1]}" if len(group) > 2 else ", ".join(group) for group in groups
    )


def _follows(first: str, then: str) -> bool:
    ends = [re.fullmatch(r"(.*?)(\d{1,9})", text, re.DOTALL) for text in (first, then)]
    if ends[0] is None or ends[1] is None:
        return False
    return ends[0][1] == ends[1][1] and int(ends[1][2]) == int(ends[0][2]) + 1


def draw_tag(
    label: Box, edge: tuple[float, float], bag: LabelBag, kit: str, symbol: Symbol
) -> list[Mark]:
    """The marks of one label.  ``edge``: white strip inside the label's sides (x, y), in mm.

    Raises Invalid if the symbol, its quiet zone and some words do not fit with modules of at
    least 0.6 mm.
    """
    plan = _plan(label, edge, symbol)
    quiet = QUIET_MODULES * plan.module
    marks: list[Mark] = [Modules(plan.symbol.x + quiet, plan.symbol.y + quiet, plan.module, symbol)]
    hole = None
    if plan.outline is not None:
        outline, hole = _tag_outline(plan.outline)
        marks += [outline, hole]
    return marks + _words(plan.words, hole, bag, kit)


def _plan(label: Box, edge: tuple[float, float], symbol: Symbol) -> _Plan:
    count = symbol.modules_with_quiet_zone
    tag = label.inset(*edge)
    best: _Plan | None = None
    # With an outline if the symbol can still be read beside it; without one on small labels.
    for outline, room in ((tag, tag.inset(SYMBOL_AIR_MM, SYMBOL_AIR_MM)), (None, tag)):
        for beside in (True, False):
            if beside:
                space = min(room.height, max(room.width / 2, count * MODULE_MIN_MM))
                space = min(space, room.width - WORDS_MIN_WIDTH_MM)
            else:
                space = min(room.width, max(room.height * 0.6, count * MODULE_MIN_MM))
                space = min(space, room.height - WORDS_MIN_HEIGHT_MM)
            module = _whole_dots(space / count)
            if module < MODULE_MIN_MM or (best is not None and module <= best.module * 1.15):
                continue
            side = module * count
            if beside:
                square = Box(
                    room.x + room.width - side, room.y + (room.height - side) / 2, side, side
                )
                words = Box(tag.x, tag.y, square.x - tag.x, tag.height)
            else:
                square = Box(
                    room.x + (room.width - side) / 2, room.y + room.height - side, side, side
                )
                words = Box(tag.x, tag.y, tag.width, square.y - tag.y)
            best = _Plan(module, square, words, outline)
        if best is not None:
            return best
    need = count * MODULE_MIN_MM
    raise Invalid(
        f"A label of {label.width:g} x {label.height:g} mm is too small. With this server's "
        f"address the symbol needs {need:.1f} x {need:.1f} mm (modules of {MODULE_MIN_MM} mm and "
        f"a white border), and the words {WORDS_MIN_WIDTH_MM:g} mm beside it or "
        f"{WORDS_MIN_HEIGHT_MM:g} mm above it, inside a white edge of "
        f"{edge[0]:g} x {edge[1]:g} mm. Choose larger labels or give the server a shorter address.",
        errors={"sheet": ["The labels are too small for the symbol."]},
    )


def _whole_dots(module: float) -> float:
    """The module in whole dots of 300 dpi where that keeps it readable, in mm."""
    module = min(module, MODULE_MAX_MM)
    whole = int(module / DOT_MM + 1e-9) * DOT_MM
    return whole if whole >= MODULE_MIN_MM else module


def _tag_outline(box: Box) -> tuple[Outline, Ring]:
    """Outline of the tag: its leading upper corner cut, the punched hole behind the cut."""
    cut = max(3.0, min(7.0, box.height * 0.13))
    radius = max(1.0, min(2.4, box.height * 0.05))
    # The hole's rim stays 1 mm from the cut, measured square to it.
    centre = (cut + math.sqrt(2) * (radius + 1.0)) / 2
    right, bottom = box.x + box.width, box.y + box.height
    corners = (
        (box.x + cut, box.y),
        (right, box.y),
        (right, bottom),
        (box.x, bottom),
        (box.x, box.y + cut),
    )
    return Outline(corners, LINE_MM), Ring(box.x + centre, box.y + centre, radius, LINE_MM)


def _words(box: Box, hole: Ring | None, bag: LabelBag, kit: str) -> list[Mark]:
    """Kit, number, title, steps and code in one column, each at the same height on every label of
    a sheet.  ``hole``: the punched hole, if the label has one; the kit stands beside it."""
    left, width = box.x + AIR_MM + PAD_MM, box.width - AIR_MM - 2 * PAD_MM
    top, bottom = box.y + AIR_MM, box.y + box.height - AIR_MM - 0.4
    height = bottom - top
    small = max(1.8, min(2.8, height * 0.06))
    medium = max(2.2, min(3.9, height * 0.078))
    marks: list[Mark] = []

    # The code stands at the foot, over it a line: it must be there whatever else is cut.
    code, size = fit(in_clear(bag.code), width, max(2.9, min(5.0, height * 0.105)), 1.5, bold=True)
    marks.append(Words(left, bottom, size, code, bold=True))
    foot = bottom - size * CAP - max(0.6, height * 0.028)
    marks.append(Outline(((left, foot), (left + width, foot)), LINE_MM, closed=False))
    foot -= max(0.7, height * 0.03)

    # The kit at the head, level with the hole.
    indent = hole.x + hole.radius + 0.7 - left if hole else 0.0
    text, size = fit(printable(kit), width - indent, small, small * 0.8)
    level = hole.y if hole else top + small * CAP / 2
    marks.append(Words(left + indent, level + size * CAP / 2, size, text))
    head = (hole.y + hole.radius if hole else level + small * CAP / 2) + max(0.4, height * 0.02)

    # The number is what hands look for in the box of bags: a third of the label.
    room = foot - head
    tall = max(min(height * 0.31, room - 2.5 * medium * LEADING), min(3.0, room))
    marks += _number(printable(bag.number, bold=True), left, head + tall, width, tall, medium)
    y = head + tall + medium * 0.5

    lines = max(0, int((foot - y + medium * (LEADING - CAP)) / (medium * LEADING)))
    title, steps = printable(bag.title), printable(_steps_line(bag.steps))
    # What the bag serves matters more at the bench than the second half of a long title.
    steps_lines = wrap(steps, width, medium, min(3, lines, max(1, lines - bool(title))))
    title_lines = wrap(title, width, medium, min(3, lines - len(steps_lines)), bold=True)
    for text, bold in [(t, True) for t in title_lines] + [(t, False) for t in steps_lines]:
        marks.append(Words(left, y + medium * CAP, medium, text, bold))
        y += medium * LEADING
    return marks


def _number(
    number: str, x: float, baseline: float, width: float, tall: float, word_size: float
) -> list[Mark]:
    """The bag's number, capitals ``tall`` where it is short enough, behind the word for it."""
    word = "Bag"
    indent = font_for(word, False).width(word, word_size) + 1.0
    most = tall / CAP
    text, size = fit(number, width - indent, most, 0.0, bold=True)
    if size >= word_size:
        return [Words(x, baseline, word_size, word), Words(x + indent, baseline, size, text, True)]
    text, size = fit(number, width, word_size, 1.6, bold=True)
    return [
        Words(x, baseline - word_size * LEADING, word_size, word),
        Words(x, baseline, size, text, True),
    ]


def _steps_line(steps: list[str]) -> str:
    if not steps:
        return ""
    return f"{'Steps' if len(steps) > 1 else 'Step'} {steps_in_words(steps)}"
