"""Reading lines of parts lists as people copy them: ``M3x12 button head x8``.

Nothing is invented: what a line does not say is None, what is not certain is asked, and a line
that is no part line is none.  The spellings are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from . import designations
from .designations import Designation, Question, plain

#: Pieces in one line at most; more is a slip of the pen or another number.
QUANTITY_MAX = 100_000
#: Characters of a line at most; a longer one is no part line.
LINE_MAX = 500


@dataclass(frozen=True, slots=True)
class PartLine:
    """So many of one part.

    ``quantity``, ``number`` (of the part), ``designation`` (the normal spelling) and ``material``
    are None where the line does not say them for certain.  ``name``: the line's words without
    quantity, number and material, as they were written.  ``sure``: 0 to 1; below 0.5 the line may
    be a heading as well.  ``asks``: a field stands open until each is answered.  ``bag`` and
    ``step``: what the lines above named (see :func:`read_all`).
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
    """A line that names where the following lines belong; ``what``: ``bag`` or ``step``."""

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


# --- Masks ----------------------------------------------------------------------------------------


class _Line:
    """A line whose characters are taken one after another; places never move."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.flat = plain(text)
        self._taken = bytearray(len(text))

    def take(self, start: int, end: int) -> None:
        self._taken[start:end] = b"\1" * (end - start)
        self.flat = self.flat[:start] + " " * (end - start) + self.flat[end:]

    def left(self) -> str:
        """What nobody took, tidied; the writing stays as it was."""
        kept = "".join(" " if taken else character
                       for character, taken in zip(self.text, self._taken, strict=True))  # fmt: skip
        kept = _SEPARATOR.sub(" ", kept)
        kept = re.sub(r"\( *\)|\[ *\]", " ", kept)
        kept = " ".join(kept.split())
        kept = re.sub(r" +([,;:])", r"\1", kept)
        kept = re.sub(r",(?: ?,)+", ",", kept)
        kept = kept.strip(" -–—:;|,·…=_•")
        if kept.startswith("(") and kept.endswith(")") and kept.count("(") == 1:
            kept = kept[1:-1].strip()
        return kept


_SEPARATOR = re.compile(r"\t+|;|\||(?:\. ?){3,}|…+|_{3,}| {2,}")
_BULLET = re.compile(r"\s*(?:[•▪‣·●○◦☐□■►>]+\s*|[-–—*+]\s+|\[[ x]?\]\s*|[0-9]{1,3}[.)]\s+(?=\S))")


def _cells(text: str) -> list[tuple[int, int]]:
    """Where the cells of a line are; a line without separators is one cell."""
    cells = []
    start = 0
    for found in _SEPARATOR.finditer(text):
        cells.append((start, found.start()))
        start = found.end()
    cells.append((start, len(text)))
    trimmed = []
    for start, end in cells:
        inner = text[start:end]
        start += len(inner) - len(inner.lstrip())
        end = start + len(inner.strip())
        if end > start:
            trimmed.append((start, end))
    return trimmed


# --- Part numbers ---------------------------------------------------------------------------------

_LABELLED = re.compile(
    r"(?<![a-zäöüß])(?:part ?(?:no|number|nr|num|#)\.?|p/n|item ?(?:no|number)\.?|"
    r"art(?:ikel|icle)?\.?[ -]?(?:nr|no|nummer|number)\.?|teile?[ -]?(?:nummer|nr)\.?|"
    r"bestell[ -]?(?:nummer|nr)\.?|best\.?[ -]?nr\.?|nr\.|no\.|ref\.?|#) ?[:=]? ?#?"
    r"(?P<number>[a-z0-9][a-z0-9./-]{1,29})"
)
_TOKEN = re.compile(r"[A-Za-z0-9][A-Za-z0-9./-]*")
_SHAPES = re.compile(
    r"[A-Z]{1,6}[0-9]{0,4}-[A-Z]{0,3}[0-9]{1,8}[A-Z]{0,3}(?:[-/.][0-9A-Z]{1,6})?"
    r"|[A-Z]{1,6}[0-9]{3,8}[A-Z]{0,3}(?:-[0-9]{1,4})?"
    r"|[0-9]{1,6}-[A-Z]{0,3}[0-9]{2,8}[A-Z]{0,2}"
    r"|[0-9]{2,6}[A-Z]{1,3}[0-9]{1,6}"
)
_NO_NUMBER = re.compile(
    r"(?:MR|F|S|SMR|MF|UC)?[0-9]{2,5}-?(?:2RSR?1?|RS1?|ZZ|2Z|Z|LLU)"
    r"|A[1-4]-[0-9]{2}|M[0-9].*|ST[0-9].*|ISO.*|DIN.*|EN[0-9].*|MR[0-9]+|[0-9]+X[0-9].*"
    # Unified threads, such as 4-40 and 10-32.
    r"|(?:[0-9]|1[02])-(?:80|72|64|56|48|44|40|36|32|28|24)"
    r"|[0-9]+(?:MM|CM|ML|KG|KV|MAH|GHZ|MHZ|WD|IN|DEG|RPM|NM|CC|CST|WT|AWG)"
)
_DIGITS = re.compile(r"[0-9]{4,8}")


def _numbers(line: _Line) -> Iterator[tuple[int, int, int, float]]:
    """Part numbers: from, first character, end, and how sure it is one."""
    labelled = False
    for found in _LABELLED.finditer(line.flat):
        start, end = found.span("number")
        said = line.text[start:end].rstrip(".-/")
        if any(character.isdigit() for character in said) and not _NO_NUMBER.fullmatch(
            said.upper()
        ):
            labelled = True
            yield found.start(), start, start + len(said), 1.0
    if labelled:
        return
    for found in _TOKEN.finditer(line.text[: len(line.flat)]):
        said = found[0].rstrip(".-/")
        start, end = found.start(), found.start() + len(said)
        if start and line.text[start - 1] in ".,/-+%#" and not line.text[: start].strip(" -") == "":
            continue
        after = line.text[end : end + 1]
        if after and not (after.isspace() or after in "),;:|]–—.…\"'"):
            continue
        if _SHAPES.fullmatch(said) and not _NO_NUMBER.fullmatch(said.upper()):
            yield start, start, end, 0.95
        elif _DIGITS.fullmatch(said) and not line.flat[:start].strip(" (["):
            yield start, start, end, 0.8


# --- Quantities -----------------------------------------------------------------------------------

_COUNT = r"([0-9]{1,9})"
_UNITS = (
    r"(?:pcs|pc|pces|pieces|piece|off|ea|units|unit|nos|stk|stck|stück|st(?=\.)|sets|set|satz)"
)
#: Patterns that can mean nothing but a count.
_STRONG = tuple(
    re.compile(pattern)
    for pattern in (
        rf"(?<![\w.,/-])(?:qty|quantity|menge|anzahl|anz|stückzahl|count)\.? ?[:=]? ?x? ?{_COUNT}"
        r"(?![\w/]|[.,][0-9])",
        rf"(?<![\w.,/-])\(? ?{_COUNT} ?{_UNITS}\.?(?![a-zäöüß0-9]) ?\)?(?: of(?![a-z]))?",
        rf"\( ?x ?{_COUNT} ?\)|\( ?{_COUNT} ?x ?\)|\[ ?x? ?{_COUNT} ?x? ?\]",
        rf"^ {{0,20}}{_COUNT} ?x ?(?=[^0-9\s.,x])",
        rf"^ {{0,20}}x{_COUNT}(?= )",
    )
)
_AROUND = (re.compile(rf"^ {{0,20}}\({_COUNT}\)"), re.compile(rf"\({_COUNT}\) {{0,20}}$"))
_AT_END = re.compile(rf"(?<=[ )a-z\"'])x ?{_COUNT} {{0,20}}$")
_AT_START = re.compile(rf"^ {{0,20}}{_COUNT} ?x(?= )")
_FIRST = re.compile(rf"^ {{0,20}}{_COUNT}(?= )")
_LAST = re.compile(rf"(?<= ){_COUNT} {{0,20}}$")
_WHOLE = re.compile(rf"(?:x ?)?{_COUNT}(?: ?x)?")


@dataclass(frozen=True, slots=True)
class _Count:
    value: int
    start: int
    end: int
    sure: float


def _count(found: re.Match[str], sure: float) -> _Count:
    value = next(group for group in found.groups() if group is not None)
    return _Count(int(value), *found.span(), sure)


def _marked(line: _Line) -> list[_Count]:
    """Counts with a mark that says so: ``4 pcs``, ``Qty 4``, ``(x4)``, ``8x``."""
    counts = []
    for pattern in _STRONG:
        for found in pattern.finditer(line.flat):
            counts.append(_count(found, 1.0))
            line.take(*found.span())
            break
    return counts


def _celled(line: _Line) -> list[_Count]:
    """Counts that stand alone in a cell of a line with several."""
    cells = _cells(line.text[: len(line.flat)])
    counts = []
    if len(cells) > 1:
        for start, end in cells:
            found = _WHOLE.fullmatch(line.flat, start, end)
            if found:
                counts.append(_count(found, 0.95))
    return counts


# --- Materials ------------------------------------------------------------------------------------

MATERIALS = frozenset(
    """steel;stainless steel;spring steel;hardened steel;aluminium;aluminum;brass;bronze;copper;
    titanium;nylon;acetal;pom;abs;plastic;polycarbonate;carbon;carbon fibre;carbon fiber;rubber;
    silicone;ptfe;foam;felt;paper;glass fibre;zinc;iron;stahl;edelstahl;federstahl;messing;kupfer;
    kunststoff;gummi;silikon;titan;papier;schaumstoff;filz;kohlefaser;alu""".replace("\n", "")
    .replace("    ", "").split(";")
)  # fmt: skip
_SEGMENT = re.compile(r"[^,;|\t()\[\]]+")


def _material(line: _Line) -> str | None:
    """A material that stands by itself: in a cell, between commas or in brackets."""
    found_one = None
    for number, found in enumerate(_SEGMENT.finditer(line.flat)):
        said = found[0].strip(" -.")
        if number and said in MATERIALS:
            start = found.start() + found[0].index(said)
            found_one = line.text[start : start + len(said)]
            line.take(start, start + len(said))
            break
    return found_one


# --- Prose and headings ---------------------------------------------------------------------------

_PROSE = frozenset(
    """the until onto into is are be your you do does not then when if it its they them this that
    these those make sure must should can will after before while again firmly evenly carefully
    which has have was were as so because der die das den dem des ein eine einen bis nicht wird
    werden ist sind sie es dann wenn nach vor während auf und im zum zur mit""".split()
)
_DOING = frozenset(
    """press fit fix push pull turn tighten insert slide put place attach mount install assemble
    apply use screw check make remove lay hold bend cut drill glue grease oil clean build join
    secure connect thread align adjust measure repeat add note see drücken setzen schrauben
    einsetzen montieren befestigen ziehen schieben drehen kleben prüfen achten""".split()
)
_HEADING = re.compile(
    r"(?:bag|beutel|tüte|step|schritt|page|seite|figure|fig|abb|abbildung|section|abschnitt|"
    r"chapter|kapitel|sheet|blatt|table|tabelle|parts|stückliste|teileliste|version|edition|"
    r"time|minutes|total|summe)(?![a-zäöüß])"
)
_WORDS = re.compile(r"[^\W\d_]+")


def _is_prose(flat: str, at_home: bool) -> bool:
    """Whether the line is a sentence.  ``at_home``: it begins with a count or a part number."""
    words = _WORDS.findall(flat)
    said = sum(word in _PROSE for word in words)
    if said >= 2:
        return True
    doing = bool(words) and words[0] in _DOING and not at_home
    ends = flat.rstrip().endswith((".", "!", "?")) and not flat.rstrip().endswith("..")
    return (doing and len(words) >= 3) or (ends and len(words) >= 5 and (said > 0 or not at_home))


# --- One line -------------------------------------------------------------------------------------

NOTHING = "There is no quantity, part number or size of hardware in it."
PROSE = "It reads like a sentence, not like a line of a parts list."
NAMELESS = "It has a number, but nothing says of what."
LONG = f"It is longer than {LINE_MAX} characters."
HEADING = "It reads like a heading."


def read(text: str) -> PartLine | None:
    """What a line of a parts list says; None for a line that is none."""
    made = _read(text)
    return made if isinstance(made, PartLine) else None


def _read(text: str) -> PartLine | str:
    text = text.strip()
    if len(text) > LINE_MAX:
        return LONG
    if not text:
        return NOTHING
    line = _Line(text)
    bullet = _BULLET.match(text)
    if bullet and bullet.end() < len(text):
        line.take(0, bullet.end())
    asks: list[Question] = []
    sure = 1.0

    number, number_at = None, None
    numbers = list(_numbers(line))
    if numbers:
        said = list(dict.fromkeys(text[start:end] for _, start, end, _ in numbers))
        before, start, end, number_sure = numbers[0]
        sure = min(sure, number_sure)
        number, number_at = text[start:end], start
        if len(said) > 1:
            asks.append(Question("number", "Which of these is the number of the part?",
                                 tuple(said)))  # fmt: skip
            sure = min(sure, 0.6)
        line.take(before, end)

    at_home = bool(_FIRST.match(line.flat) or _AT_START.match(line.flat)) or (
        number_at is not None and not text[:number_at].strip(" ([-•")
    )
    original = line.flat
    counts = _marked(line)
    at_home = at_home or bool(counts and not original[: counts[0].start].strip())
    if not counts:
        for pattern in _AROUND:
            found = pattern.search(line.flat)
            if found:
                counts.append(_count(found, 0.9))
                line.take(*found.span())
    if not counts:
        counts = _celled(line)
        for count in counts:
            line.take(count.start, count.end)
    if not counts:
        counts = _crossed(line)
        for count in counts:
            line.take(count.start, count.end)

    hardware = designations.read(line.flat)
    if not counts:
        counts = _loose(line, hardware, number is not None)
        for count in counts:
            line.take(count.start, count.end)

    if _is_prose(original, at_home):
        return PROSE
    if _HEADING.match(original.strip(" -–#=*")) and not hardware:
        return HEADING
    if not counts and number is None and hardware is None:
        return NOTHING
    material = _material(line)
    name = line.left()
    words = _WORDS.findall(name)
    if number is None and hardware is None and not any(len(word) > 1 for word in words):
        return NAMELESS
    if number is None and hardware is None and sum(word in _PROSE for word in
                                                   _WORDS.findall(original)):  # fmt: skip
        return PROSE

    quantity, quantity_asks, quantity_sure = _quantity(counts, text, number or hardware)
    asks += quantity_asks
    sure = min(sure, quantity_sure)
    if hardware:
        asks += hardware.asks
        sure = min(sure, hardware.sure)
    elif number is None:
        sure = min(sure, 0.8)
    return PartLine(
        quantity=quantity, number=number, name=name,
        designation=hardware.normal if hardware else None, material=material,
        sure=round(sure, 2), asks=tuple(asks), text=text,
    )  # fmt: skip


def _crossed(line: _Line) -> list[_Count]:
    """``… x8`` at the end, unless it may be a length: ``M3 x 12``, ``M3 x 12 x 8``."""
    found = _AT_END.search(line.flat)
    if not found:
        return []
    before = line.flat[: found.start()]
    # After a number the cross may belong to a size; the reader of sizes then says what is left.
    if re.search(r"[0-9](?: ?mm| ?\")? {0,3}$", before[-12:]):
        return []
    return [_count(found, 1.0)]


def _loose(line: _Line, hardware: Designation | None, numbered: bool) -> list[_Count]:
    """Counts without a mark of their own, beside what has been read as hardware."""
    flat = line.flat
    pieces = hardware.pieces if hardware else ()

    def free(found: re.Match[str]) -> bool:
        start, end = found.span(1)
        return all(end <= first or start >= last for first, last in pieces)

    for pattern, sure in ((_AT_START, 1.0), (_AT_END, 0.95)):
        found = pattern.search(flat)
        if found and free(found):
            return [_count(found, sure)]
    first, last = _FIRST.search(flat), _LAST.search(flat)
    counts = []
    if first and free(first):
        # A count before a number or a size; before mere words it may be the number of a heading.
        counts.append(_count(first, 0.9 if hardware or numbered else 0.4))
    if last and free(last) and (not first or first.span(1) != last.span(1)):
        counts.append(_count(last, 0.5))
    if len(counts) == 2 and counts[0].sure > 0.5:
        return counts[:1]
    return counts[:1]


def _quantity(counts: list[_Count], text: str, known: object
              ) -> tuple[int | None, list[Question], float]:  # fmt: skip
    values = list(dict.fromkeys(count.value for count in counts))
    fitting = [value for value in values if 0 < value <= QUANTITY_MAX]
    if not values:
        return None, [Question("quantity", "How many are there?", (1,))], 0.6
    if len(values) > 1:
        return None, [Question("quantity", "Which of these is the quantity?", tuple(fitting))], 0.5
    if not fitting:
        says = f"{values[0]} cannot be the quantity. How many are there?"
        return None, [Question("quantity", says, ())], 0.5
    sure = min(count.sure for count in counts)
    if sure <= 0.5:
        says = f"Is {fitting[0]} the quantity?"
        return None, [Question("quantity", says, (fitting[0], 1))], sure
    if not known and "..." in text.replace(" ", ""):
        says = f"Is {fitting[0]} the quantity, or a page of a table of contents?"
        return None, [Question("quantity", says, (fitting[0],))], 0.4
    return fitting[0], [], sure


# --- A pasted text --------------------------------------------------------------------------------

_PLACE = re.compile(
    r"[\s#=*>•_-]{0,20}(?P<word>bag|beutel|tüte|step|schritt|bauschritt)(?: ?(?:no|nr)\.?)? ?[:#]? ?"
    r"(?P<number>[a-z]{0,3}[0-9]{1,4}(?:[.-][0-9]{1,3})*[a-z]?|[a-z])(?![\w])"
)
_BAGS = frozenset({"bag", "beutel", "tüte"})


def places(text: str) -> tuple[Place, ...]:
    """The bag and the step that a line of its own names: ``Bag 3``, ``Step 2.1: Front axle``,
    ``Beutel 3 / Schritt 4``.  Empty for any other line."""
    text = text.strip()
    if len(text) > 200:
        return ()
    flat = plain(text)
    made: list[Place] = []
    at = 0
    while True:
        found = _PLACE.match(flat, at)
        if found is None:
            break
        what = "bag" if found["word"] in _BAGS else "step"
        start, end = found.span("number")
        made.append(Place(what, text[start:end].upper(), ""))
        at = found.end()
        joined = re.compile(r" {0,3}[/,;+&|-]? {0,3}").match(flat, at)
        at = joined.end() if joined and _PLACE.match(flat, joined.end()) else at
    if not made:
        return ()
    rest = text[at:].strip()
    if rest and rest[0] not in ":-–—.,(=#*_|" and not rest[0].isupper():
        return ()
    title = rest.strip(" :-–—.,()=#*_|")
    if title and isinstance(_read(title), PartLine):
        return ()
    made[-1] = made[-1]._replace(title=title[:160])
    return tuple(made)


def read_all(text: str) -> list[Row]:
    """Every line of a pasted text.

    A line of its own such as ``Bag 3`` or ``Step 2.1`` says where the following lines belong.
    Whichever of the two was named first is the outer one: when it changes, the inner one begins
    anew.
    """
    made: list[Row] = []
    here: dict[str, str | None] = {"bag": None, "step": None}
    outer: str | None = None
    for row, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            made.append(Row(row, None, "", (), line))
            continue
        named = places(line)
        if named:
            for place in named:
                outer = outer or place.what
                if place.what == outer and here[outer] != place.number:
                    here = {"bag": None, "step": None}
                here[place.what] = place.number
            made.append(Row(row, None, "", named, line))
            continue
        read_one = _read(line)
        if isinstance(read_one, PartLine):
            placed = replace(read_one, bag=here["bag"], step=here["step"])
            made.append(Row(row, placed, "", (), line))
        else:
            made.append(Row(row, None, read_one, (), line))
    return made
