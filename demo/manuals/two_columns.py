"""A manual in two columns: boxed numbers that run through, callouts beside the drawings, a table
of contents before and a list of parts behind."""

from __future__ import annotations

from collections import Counter

from reportlab.pdfbase.pdfmetrics import stringWidth

from ..model import StepNote
from ..records import KitNote
from ..tarn6.catalogue import LOOKS, PARTS
from .sheet import BOLD, PLAIN, Drawing, Drawn, Manual, by_part, number_of, wrapped

EDGE, GUTTER, TOP, FOOT = 34.0, 22.0, 74.0, 780.0
SIDE = 78.0


def two_columns(kit: KitNote, drawings: dict[str, Drawing]) -> Manual:
    """Figures down the left column, then down the right; numbers 1, 2, 3, … through the kit."""
    book = Manual("Tarn 6 - pictures")
    column = (book.wide - 2 * EDGE - GUTTER) / 2
    book.words(EDGE, 120, "Tarn 6", 40, BOLD)
    book.words(EDGE, 146, "Building in pictures. Keep for spare parts.", 12)
    y = 190.0
    for _, text in kit.cautions:
        for line in wrapped(f"Caution: {text}", 10, column * 1.4):
            book.words(EDGE, y, line, 10)
            y += 13
        y += 7
    starts = _pages(kit, drawings, column)
    book.turn_over()
    _contents(book, kit, starts)
    number = 0
    opened: set[str] = set()
    for mark, section in zip("ABCDEFGHIJ", kit.sections, strict=False):
        book.turn_over()
        _band(book, mark, section.title)
        side, y = 0, TOP
        for step in section.steps:
            number += 1
            high = _high(step, drawings[step.number], column)
            if y + high > FOOT:
                side, y = side + 1, TOP
                if side == 2:
                    _foot(book)
                    book.turn_over()
                    side, y = 0, TOP
            new = [bag for bag in step.bags if bag not in opened]
            opened |= set(new)
            x = EDGE + side * (column + GUTTER)
            _figure(book, step, number, new, drawings[step.number], x, y, column)
            drawn = Drawn(str(number), "", section.title, 0, (0, 0, 0, 0),
                          [(n, number_of(key)) for n, key in by_part(step.lines)],
                          [], new)  # fmt: skip
            book.note(drawn, x, y, column, high - 14)
            y += high
        _foot(book)
    _parts_list(book, kit)
    return book


def _pages(kit: KitNote, drawings: dict[str, Drawing], column: float) -> list[int]:
    """On which page each section begins."""
    page, starts = 2, []
    for section in kit.sections:
        page += 1
        starts.append(page)
        side, y = 0, TOP
        for step in section.steps:
            high = _high(step, drawings[step.number], column)
            if y + high > FOOT:
                side, y = side + 1, TOP
                if side == 2:
                    side, y, page = 0, TOP, page + 1
            y += high
    return starts


def _contents(book: Manual, kit: KitNote, starts: list[int]) -> None:
    book.words(EDGE, 70, "Contents", 20, BOLD)
    y, number = 92.0, 0
    for mark, section, page in zip("ABCDEFGHIJ", kit.sections, starts, strict=False):
        book.words(EDGE, y, f"{mark}  {section.title}", 10, BOLD)
        book.words(book.wide - EDGE - 14, y, str(page), 10, BOLD)
        y += 13
        for step in section.steps:
            number += 1
            start = book.words(EDGE + 14, y, f"{number}  {step.title} ", 8.5)
            room = book.wide - EDGE - 24 - start
            book.words(start, y, " ." * int(room / stringWidth(" .", PLAIN, 8.5)), 8.5)
            book.words(book.wide - EDGE - 14, y, str(page), 8.5)
            y += 10.6
        y += 5
    _foot(book)


def _band(book: Manual, mark: str, title: str) -> None:
    book.box(EDGE, 30, book.wide - 2 * EDGE, 26, 0.88)
    end = book.words(EDGE + 10, 49, mark, 17, BOLD)
    book.words(end + 10, 49, title, 17, BOLD)
    # A bar to hold screws against, printed true to size.
    book.words(EDGE, 800, "1:1", 7)
    for k in range(6):
        x = EDGE + 24 + k * 28.35
        book.rule(x, 792, x, 797)
        book.words(x - 3, 804, str(k * 10), 6)
    book.rule(EDGE + 24, 792, EDGE + 24 + 5 * 28.35, 792)


def _foot(book: Manual) -> None:
    text = str(book.number)
    book.words((book.wide - stringWidth(text, BOLD, 12)) / 2, 822, text, 12, BOLD)


def _callouts(step: StepNote) -> list[tuple[str, list[str], str]]:
    out = []
    for count, key in by_part(step.lines):
        look = LOOKS[key]
        first = f"{count} x {number_of(key)}"
        out.append((first, wrapped(look.second, 6.8, SIDE - 6), key))
    return out


def _stack(callouts: list[tuple[str, list[str], str]]) -> float:
    return sum(20 + 8 * len(names) for _, names, _ in callouts)


def _sides(step: StepNote, drawing: Drawing) -> tuple[list[tuple[str, list[str], str]], ...]:
    """Callouts left and right of the drawing, each on the side of what it names."""
    ordered = sorted(_callouts(step), key=lambda one: drawing.tips.get(one[2], (0, 0))[0])
    half = (len(ordered) + 1) // 2
    down = lambda one: drawing.tips.get(one[2], (0, 0))[1]  # noqa: E731
    return sorted(ordered[:half], key=down), sorted(ordered[half:], key=down)


def _size(drawing: Drawing, column: float) -> float:
    return min((column - 2 * SIDE - 16) / drawing.wide, 130 / drawing.high)


def _high(step: StepNote, drawing: Drawing, column: float) -> float:
    stacks = max(map(_stack, _sides(step, drawing)))
    cautions = 9 * len(_cautions(step, column))
    return 34 + max(stacks, drawing.high * _size(drawing, column)) + cautions + 28


def _cautions(step: StepNote, column: float) -> list[str]:
    return [
        line for _, text in step.cautions for line in wrapped(f"Caution: {text}", 7, column, BOLD)
    ]


def _figure(
    book: Manual, step: StepNote, number: int, bags: list[str], drawing: Drawing, x: float,
    y: float, column: float,
) -> None:  # fmt: skip
    text = str(number)
    wide = stringWidth(text, BOLD, 16) + 12
    book.box(x, y, wide, 22, 0)
    book.words(x + 6, y + 16.5, text, 16, BOLD, 1)
    if bags:
        said = f"Open bag {bags[0]}" if len(bags) == 1 else f"Open bags {' and '.join(bags)}"
        book.box(x + column - 92, y + 2, 92, 18, 0.93, 5)
        book.words(x + column - 84, y + 14.5, said, 9.5, BOLD)
    if step.sets > 1:
        book.words(x + wide + 10, y + 15, f"{step.sets}x", 13, BOLD)
    scale = _size(drawing, column)
    left = x + (column - drawing.wide * scale) / 2
    book.draw(drawing, left, y + 34, scale)
    for side, callouts in enumerate(_sides(step, drawing)):
        at = y + 44
        edge = x + 2 if side == 0 else x + column - SIDE + 6
        for first, names, key in callouts:
            end = book.words(edge, at, first, 9, BOLD)
            for k, name in enumerate(names):
                book.words(edge, at + 9 + 8 * k, name, 6.8)
            if key in drawing.tips:
                tip = drawing.tips[key]
                start = end + 2 if side == 0 else edge - 2
                book.rule(start, at - 3, left + tip[0] * scale, y + 34 + tip[1] * scale, 0.4)
            at += 20 + 8 * len(names)
    at = y + _high(step, drawing, column) - 20 - 9 * len(_cautions(step, column))
    for line in _cautions(step, column):
        book.words(x, at, line, 7, BOLD)
        at += 9


def _parts_list(book: Manual, kit: KitNote) -> None:
    totals: Counter[tuple[int, str]] = Counter()
    for _, step in kit.steps():
        for line in step.lines:
            totals[int(line.bag), line.part] += line.quantity
    for quantity, part, bag in kit.spares:
        totals[int(bag), part] += quantity
    columns = (EDGE, EDGE + 90, EDGE + 330, EDGE + 420)
    y = FOOT + 1
    for (bag_number, part), quantity in sorted(totals.items()):
        if y > FOOT:
            if book.number > 1 and y != FOOT + 1:
                _foot(book)
            book.turn_over()
            book.words(EDGE, 60, "List of parts", 16, BOLD)
            for x, text in zip(columns, ("Number", "Name", "Quantity", "Bag"), strict=True):
                book.words(x, 84, text, 9, BOLD)
            book.rule(EDGE, 88, book.wide - EDGE, 88)
            y = 102.0
        note = PARTS[part]
        row = (note.number, note.name, str(quantity), str(bag_number))
        for x, text in zip(columns, row, strict=True):
            book.words(x, y, text, 9)
        y += 12.5
    _foot(book)
