"""Reading lines of parts lists as people copy them: ``M3x12 button head x8``.

Nothing is invented: what a line does not say is None, what is not certain is asked, and a line
that is no part line is none.  The spellings are common practice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from . import designations
from .hardware import Question
from .list_marks import (
    EDGES,
    MEASURES,
    Count,
    Line,
    celled_counts,
    crossed_counts,
    is_heading,
    is_sentence,
    loose_counts,
    marked_counts,
    material,
    part_numbers,
    says_sentence_words,
    words_in,
)
from .sizes import plain

#: Pieces in one line at most; more is a slip of the pen or another number.
QUANTITY_MAX = 100_000
#: Characters of a line at most; a longer one is no part line.
LINE_MAX = 500

NOTHING = "There is no quantity, part number or size of hardware in it."
SENTENCE = "It reads like a sentence, not like a line of a parts list."
HEADING = "It reads like a heading."
NAMELESS = "It has a number, but nothing says of what."
LONG = f"It is longer than {LINE_MAX} characters. Break it into one line for each part."


@dataclass(frozen=True, slots=True)
class PartLine:
    """So many of one part.

    ``quantity``, ``number`` (of the part), ``designation`` (the normal spelling) and ``material``
    are None where the line does not say them, or not for certain.  ``name``: the line's words
    without quantity, number and material, as they were written.  ``sure``: 0 to 1; below 0.5 the
    line may as well be a heading.  ``asks``: what a person has to answer.  ``bag`` and ``step``:
    what the lines above named (see :func:`read_all`).
    """

    quantity: int | None
    number: str | None
    name: str
    designation: str | None
    material: str | None
    sure: float
    asks: tuple[Question, ...]
    text: str
    bag: str | None = None
    step: str | None = None


class Place(NamedTuple):
    """What a line names for the following lines to belong to; ``what``: ``bag`` or ``step``."""

    what: str
    number: str
    title: str


class Row(NamedTuple):
    """One line of a pasted text: ``row`` from 1.  If ``line`` is None, ``places`` are what it
    names, else ``reason`` says why it is no part line; a blank line has neither."""

    row: int
    line: PartLine | None
    reason: str
    places: tuple[Place, ...]
    text: str


class Habit(NamedTuple):
    """How the lines of a list count where a line by itself leaves it open.  ``first`` and
    ``last``: the bare number at the beginning or the end of each is the quantity.  ``places``: the
    one at the beginning is the place in the list."""

    first: bool = False
    last: bool = False
    places: bool = False


class _Reading(NamedTuple):
    """A line and the bare numbers that :class:`Habit` is about."""

    line: PartLine | None
    reason: str
    first: int | None = None
    last: int | None = None
    counted: bool = False


def read(text: str) -> PartLine | None:
    """What a line of a parts list says; None for a line that is none."""
    return _read(text, Habit()).line


def _read(text: str, habit: Habit) -> _Reading:
    text = text.strip()
    if len(text) > LINE_MAX:
        return _Reading(None, LONG)
    line = Line(text)
    whole = line.flat
    if is_sentence(whole, True):
        return _Reading(None, SENTENCE)
    asks: list[Question] = []
    sure = 1.0

    number = None
    begins_as_list = False
    numbers = list(part_numbers(line))
    if numbers:
        chosen = numbers[0]
        number, sure = text[chosen.start : chosen.end], chosen.sure
        begins_as_list = not text[: chosen.begin].strip(EDGES + "([*")
        said = tuple(dict.fromkeys(text[one.start : one.end] for one in numbers))
        for one in numbers:
            line.take(one.begin, one.end)
        if len(said) > 1:
            asks.append(Question("number", "Which of these is the number of the part?", said))
            number, sure = None, 0.6

    counts = marked_counts(line)
    cells = [] if counts else celled_counts(line)
    for count in cells:
        line.take(count.start, count.end)
    if len(cells) == 1:
        counts = cells
    hardware = designations.read(line.flat)
    pieces = hardware.pieces if hardware else ()
    if not counts:
        counts = crossed_counts(line.flat, pieces)
        for count in counts:
            line.take(count.start, count.end)
    first = last = None
    if len(cells) > 1:
        first, last = cells[0], cells[-1]
    elif not counts:
        first, last = loose_counts(line.flat, pieces)
    begins_as_list = begins_as_list or first is not None or any(
        not whole[: count.start].strip() for count in counts
    )  # fmt: skip

    known = hardware is not None or bool(numbers)
    if is_sentence(whole, begins_as_list):
        return _Reading(None, SENTENCE)
    if is_heading(whole) and hardware is None:
        return _Reading(None, HEADING)
    if not counts and not first and not last and not known:
        return _Reading(None, NOTHING)

    quantity, question, count_sure, taken = _quantity(
        counts, first, last, known or designations.names_hardware(whole), habit, text
    )
    for count in taken:
        line.take(count.start, count.end)
    said_material = material(line)
    name = line.left()
    if not known:
        words = [word for word in words_in(plain(name)) if len(word) > 1]
        if not any(word not in MEASURES for word in words):
            return _Reading(None, NAMELESS)
        if says_sentence_words(whole):
            return _Reading(None, SENTENCE)
        sure = min(sure, 0.8)

    if question:
        asks.append(question)
    sure = min(sure, count_sure)
    designation = None
    if hardware:
        asks += hardware.asks
        sure = min(sure, hardware.sure)
        designation = None if hardware.asks else hardware.normal
    made = PartLine(
        quantity, number, name, designation, said_material, round(sure, 2), tuple(asks), text
    )
    return _Reading(made, "", first.value if first else None, last.value if last else None,
                    bool(counts))  # fmt: skip


def _quantity(
    counts: list[Count], first: Count | None, last: Count | None, known: bool, habit: Habit,
    text: str,
) -> tuple[int | None, Question | None, float, list[Count]]:  # fmt: skip
    """The quantity or the question for it, how sure, and which loose counts are not of the name."""
    taken: list[Count] = []
    if not counts and (first or last):
        if first and (habit.places or habit.last or habit.first or not last):
            taken.append(first)
        if habit.last and last:
            taken, counts = [*taken, last], [replace(last, sure=0.8)]
            if first and not habit.places:
                counts.append(first)
        elif habit.first and first:
            counts = [replace(first, sure=0.8)]
        elif first and last:
            taken = [first]
            counts = [first, last]
        elif first and not habit.places:
            counts = [replace(first, sure=0.9 if known else 0.4)]
        elif last:
            counts = [last]
    values = list(dict.fromkeys(count.value for count in counts))
    fitting = [value for value in values if 0 < value <= QUANTITY_MAX]
    if not values:
        return None, Question("quantity", "How many are there?", (1,)), 0.6, taken
    if len(values) > 1:
        says = "More than one number could be the quantity. Which is it?"
        return None, Question("quantity", says, tuple(fitting)), 0.5, taken
    if not fitting:
        says = f"{values[0]} cannot be the quantity. How many are there?"
        return None, Question("quantity", says), 0.5, taken
    sure = min(count.sure for count in counts)
    if sure <= 0.5:
        says = f"Is {fitting[0]} the quantity?"
        options = tuple(dict.fromkeys((fitting[0], 1)))
        return None, Question("quantity", says, options), sure, taken
    if not known and re.search(r"(?:\. ?){3}|\u2026", text):
        says = f"Is {fitting[0]} the quantity, or a page of a table of contents?"
        return None, Question("quantity", says, (fitting[0],)), 0.4, taken
    return fitting[0], None, sure, taken


# --- A pasted text --------------------------------------------------------------------------------

_PLACE = re.compile(
    r"[\s#=*>_\u2022-]{0,20}(?P<word>bags?|beutel|tüte|steps?|schritt|bauschritt)"
    r"(?![a-zäöüß])(?: ?(?:no|nr)\.?)? ?[:#]? ?"
    r"(?P<number>[a-z]{0,3}[0-9]{1,4}(?:[.-][0-9]{1,3}){0,3}[a-z]?|[a-z])(?!\w)"
)
_JOINT = re.compile(r" {0,3}[/,;+&|-]? {0,3}")
_BAGS = ("bag", "bags", "beutel", "tüte")


def places(text: str) -> tuple[tuple[Place, ...], str]:
    """The bag and the step that a line begins with, and what follows: ``Bag 3``, ``Step 2.1:
    Front axle``, ``Beutel 3 / Schritt 4``."""
    flat = plain(text)
    made: list[Place] = []
    at = 0
    while found := _PLACE.match(flat, at):
        what = "bag" if found["word"] in _BAGS else "step"
        made.append(Place(what, text[slice(*found.span("number"))], ""))
        at = found.end()
        joint = _JOINT.match(flat, at)
        if joint is None or not _PLACE.match(flat, joint.end()):
            break
        at = joint.end()
    return tuple(made), text[at:] if made else text


def _headed(text: str) -> tuple[tuple[Place, ...], str]:
    """The places that a line names and the part line that it has beside them, if any.

    ``Bag 3 is empty`` names none: what follows is no title.
    """
    named, rest = places(text)
    if not named:
        return (), text
    rest = rest.strip()
    title = rest.strip(EDGES + ".()#*")
    if not title:
        return named, ""
    if _read(title, Habit()).line is not None:
        return named, title
    if rest[0] not in EDGES + ".(" and not rest[0].isupper():
        return (), text
    if len(title) > 160 or is_sentence(plain(title), False):
        return (), text
    return (*named[:-1], named[-1]._replace(title=title)), ""


def lines_of(text: str) -> list[str]:
    """The lines of a text as an editor counts them, whatever system it came from."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def read_all(text: str) -> list[Row]:
    """Every line of a pasted text.

    A line of its own such as ``Bag 3`` or ``Step 2.1`` says where the following lines belong;
    before a part line (``Bag 3: M3x12 x8``) it says so of that line alone.  Whichever of the two
    was named first is the outer one: when it changes, the inner one begins anew.

    Where single lines leave open which number is the quantity, the whole list can tell: if each
    line that is a part line ends in a bare number, those are the quantities.
    """
    lines = lines_of(text)
    headed = [_headed(line) if line.strip() else ((), "") for line in lines]
    readings = [_read(rest, Habit()) if rest.strip() else None for _, rest in headed]
    habits = _habits(headed, readings)
    made: list[Row] = []
    here: dict[str, str | None] = {"bag": None, "step": None}
    outer: str | None = None
    for row, (line, (named, rest), reading, habit) in enumerate(
        zip(lines, headed, readings, habits, strict=True), start=1
    ):
        if named and reading is None:
            for place in named:
                outer = outer or place.what
                if place.what == outer and here[outer] != place.number:
                    here = {"bag": None, "step": None}
                here[place.what] = place.number
        there = {**here, **{place.what: place.number for place in named}}
        if reading is None:
            made.append(Row(row, None, "", named, line))
            continue
        if reading.line and habit != Habit() and not reading.counted:
            reading = _read(rest, habit)
        part = reading.line and replace(
            reading.line, bag=there["bag"], step=there["step"], text=line.strip()
        )
        made.append(Row(row, part, reading.reason, named, line))
    return made


def _habits(
    headed: list[tuple[tuple[Place, ...], str]], readings: list[_Reading | None]
) -> list[Habit]:
    """For each line the habit of its bag or step, or else that of the whole text."""
    whole = _habit([one for one in readings if one and one.line])
    made: list[Habit] = []
    run: list[_Reading | None] = []
    for place in range(len(readings) + 1):
        if place == len(readings) or (headed[place][0] and readings[place] is None):
            own = _habit([one for one in run if one and one.line])
            made += [own if own != Habit() else whole] * len(run)
            run = []
        run += readings[place : place + 1]
    return made


def _habit(readings: list[_Reading]) -> Habit:
    """What the bare numbers of these part lines have in common; three lines make a habit."""
    bare = [one for one in readings if not one.counted or one.first is not None]
    if len(bare) < 3:
        return Habit()
    firsts, lasts = [one.first for one in bare], [one.last for one in bare]
    all_first, all_last = None not in firsts, None not in lasts
    # Counted from 1, and again in the next list: places, not quantities.
    running = all_first and len(set(firsts)) > 2 and all(
        after == 1 or after == (before or 0) + 1 for before, after in pairwise(firsts)
    )  # fmt: skip
    if running and all_last:
        return Habit(last=True, places=True)
    if all_last and not any(one is not None for one in firsts):
        return Habit(last=True)
    if all_first and not running and not any(one is not None for one in lasts):
        return Habit(first=True)
    return Habit()
