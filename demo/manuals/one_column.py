"""A manual in one column: worded headings, a box of parts beside each drawing, numbered lines."""

from __future__ import annotations

from ..model import StepNote
from ..records import KitNote
from ..tarn6.catalogue import LOOKS
from .sheet import BOLD, PLAIN, Drawing, Drawn, Manual, by_part, number_of, wrapped

EDGE, FOOT = 48.0, 790.0
BOX_WIDE, DRAWING_WIDE, DRAWING_HIGH = 208.0, 270.0, 190.0


def one_column(kit: KitNote, drawings: dict[str, Drawing]) -> Manual:
    """Steps one below the other, as many as a page has room for; a section begins a page."""
    book = Manual("Tarn 6: building manual")
    _cover(book, kit)
    waits = _waits(kit)
    for section in kit.sections:
        book.turn_over()
        end = book.words(EDGE, 78, section.mark, 22, BOLD)
        book.words(end + 14, 78, section.title, 22, BOLD)
        y = 100.0
        for step in section.steps:
            high = _block(book, step, drawings[step.number], waits, 0, draw=False)
            if y + high > FOOT:
                _foot(book)
                book.turn_over()
                y = 56.0
            _block(book, step, drawings[step.number], waits, y, draw=True)
            drawn = Drawn(step.number, step.title, section.title, 0, (0, 0, 0, 0),
                          [(n, number_of(key)) for n, key in by_part(step.lines)],
                          list(step.operations), list(step.bags))  # fmt: skip
            book.note(drawn, EDGE, y, book.wide - 2 * EDGE, high - 16)
            y += high
        _foot(book)
    return book


def _waits(kit: KitNote) -> dict[str, list[tuple[str, str]]]:
    """Steps that each step waits for, and why."""
    out: dict[str, list[tuple[str, str]]] = {}
    for first, then, reason in kit.order:
        if "#" not in first + then:
            out.setdefault(then, []).append((first, reason))
    return out


def _cover(book: Manual, kit: KitNote) -> None:
    book.words(EDGE, 210, kit.fields["name"], 46, BOLD)
    book.words(EDGE, 240, f"{kit.fields['maker']}, scale {kit.fields['scale']}", 14)
    y = 300.0
    for _, text in kit.cautions:
        for k, line in enumerate(wrapped(f"Caution: {text}", 10, book.wide - 2 * EDGE - 90)):
            book.words(EDGE, y + 14 * k, line, 10)
        y += 40


def _foot(book: Manual) -> None:
    book.rule(EDGE, 808, book.wide - EDGE, 808, 0.4)
    book.words(EDGE, 822, "Tarn 6 building manual", 8, PLAIN, 0.35)
    book.words(book.wide - EDGE - 12, 822, str(book.number), 9, BOLD)


def _block(
    book: Manual, step: StepNote, drawing: Drawing, waits: dict[str, list[tuple[str, str]]],
    top: float, *, draw: bool,
) -> float:  # fmt: skip
    """One step from ``top``; gives its height.  Without ``draw`` it is only measured."""

    def words(x: float, y: float, text: str, size: float, font: str = PLAIN) -> None:
        if draw:
            book.words(x, y, text, size, font)

    y = top + 14
    for line in wrapped(f"Step {step.number}  {step.title}", 14, book.wide - 2 * EDGE, BOLD):
        words(EDGE, y, line, 14, BOLD)
        y += 18
    if step.sets_word:
        words(EDGE, y, step.sets_word, 10)
        y += 14
    for first, reason in waits.get(step.number, []):
        for line in wrapped(f"Step {first} has to be finished first: {reason}.", 9,
                            book.wide - 2 * EDGE):  # fmt: skip
            words(EDGE, y, line, 9)
            y += 12
    scale = min(DRAWING_WIDE / drawing.wide, DRAWING_HIGH / drawing.high)
    box_high = _box(book, step, book.wide - EDGE - BOX_WIDE, y, draw=draw)
    if draw:
        book.draw(drawing, EDGE + 6, y, scale)
    y += max(drawing.high * scale, box_high) + 18
    for number, text in enumerate(step.operations, 1):
        words(EDGE, y, f"{number}.", 10)
        for line in wrapped(text, 10, book.wide - 2 * EDGE - 20):
            words(EDGE + 20, y, line, 10)
            y += 13
    for _, text in step.cautions:
        y += 4
        for line in wrapped(f"Caution: {text}", 10, book.wide - 2 * EDGE, BOLD):
            words(EDGE, y, line, 10, BOLD)
            y += 13
    return y + 16 - top


def _box(book: Manual, step: StepNote, x: float, y: float, *, draw: bool) -> float:
    rows = []
    for count, key in by_part(step.lines):
        look = LOOKS[key]
        rows.append((f"{count} x", number_of(key), wrapped(look.second, 8.5, BOX_WIDE - 82)))
    label = f"Bag {step.bags[0]}" if len(step.bags) == 1 else f"Bags {' and '.join(step.bags)}"
    high = 24 + sum(4 + 10 * len(names) for *_, names in rows)
    if draw:
        book.box(x, y - 4, BOX_WIDE, high + 4)
        book.words(x + 8, y + 10, label, 10, BOLD)
        at = y + 26
        for count, number, names in rows:
            book.words(x + 8, at, count, 8.5)
            book.words(x + 34, at, number, 8.5, BOLD)
            for name in names:
                book.words(x + 76, at, name, 8.5)
                at += 10
            at += 4
    return high
