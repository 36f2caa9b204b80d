"""The marks of a line in a parts list: part numbers, counts, materials; and what is no such line.

Common practice in English and German lists.  Every pattern is bounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from .hardware_words import word_set
from .sizes import plain

_DASHES = "-\u2010\u2011\u2012\u2013\u2014\u2212"
_DOTS = "\u2022\u25aa\u2023\u00b7\u25cf\u25cb\u25e6\u2610\u25a1\u25a0\u25ba>"
#: What may stand between the parts of a line and belongs to none.
EDGES = f" {_DASHES}:;|,=_\u2026\u2022\u00b7\t"
SEPARATOR = re.compile(r"\t+|;|\||(?:\. ?){3,}|\u2026+|_{3,}| {2,}")
_BULLET = re.compile(
    rf"\s*(?:[{_DOTS}]+\s*|[{_DASHES}*+]\s+|\[[ xX]?\]\s*|[0-9]{{1,3}}[.)]\s+(?=\S))"
)
_EMPTY = re.compile(r"\( {0,9}\)|\[ {0,9}\]")
_BEFORE_MARK = re.compile(r" ([,;:])")
_MARKS = re.compile(r",{2,}")


class Line:
    """A line whose characters are taken one after another; places never move."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.flat = plain(text)
        #: What nobody has taken yet, in the writing of the text.
        self.kept = text
        bullet = _BULLET.match(text)
        if bullet and bullet.end() < len(text):
            self.take(0, bullet.end())

    def take(self, start: int, end: int) -> None:
        """Keeps these characters from the readers that follow, and from :meth:`left`."""
        self.kept = self.kept[:start] + " " * (end - start) + self.kept[end:]
        self.flat = self.flat[:start] + " " * (end - start) + self.flat[end:]

    def left(self) -> str:
        """What nobody took, in the writing of the text, with one blank between words."""
        kept = SEPARATOR.sub(" ", self.kept)
        if "(" in kept or "[" in kept:
            kept = _EMPTY.sub(" ", kept)
        kept = _BEFORE_MARK.sub(r"\1", " ".join(kept.split()))
        if ",," in kept:
            kept = _MARKS.sub(",", kept)
        kept = kept.strip(EDGES + "/")
        if kept.startswith("(") and kept.endswith(")") and kept.count("(") == 1:
            kept = kept[1:-1].strip()
        return kept

    def cells(self) -> list[tuple[int, int]]:
        """Where its cells are; a line without tabs, bars, leaders or wide gaps is one cell."""
        text, made, start = self.text[: len(self.flat)], [], 0
        for begin, end in [*(found.span() for found in SEPARATOR.finditer(text)), (len(text),) * 2]:
            inner = text[start:begin]
            first = start + len(inner) - len(inner.lstrip())
            last = first + len(inner.strip())
            if last > first:
                made.append((first, last))
            start = end
        return made


# --- Part numbers ---------------------------------------------------------------------------------

_LABELLED = re.compile(
    r"(?<![a-zäöüß])(?:part ?(?:no|number|nr|num|#)\.?|p/n|item ?(?:no|number)\.?|"
    r"art(?:ikel|icle)?\.?[ -]?(?:nr|no|nummer|number)\.?|teile?[ -]?(?:nummer|nr)\.?|"
    r"bestell[ -]?(?:nummer|nr)\.?|best\.?[ -]?nr\.?|(?P<loose>nr\.|no\.|ref\.?|#)) ?[:=]? ?#?"
    r"(?P<number>[a-z0-9][a-z0-9./-]{1,29})"
)
_TOKEN = re.compile(r"[A-Za-z0-9][A-Za-z0-9./-]{2,29}")
_SHAPE = re.compile(
    r"[A-Z]{1,6}[0-9]{0,4}-[A-Z]{0,3}[0-9]{1,8}[A-Z]{0,3}(?:[-/.][0-9A-Z]{1,6})?"
    r"|[A-Z]{1,6}[0-9]{3,8}[A-Z]{0,3}(?:-[0-9]{1,4})?"
    r"|[0-9]{1,6}-[A-Z]{0,3}[0-9]{2,8}[A-Z]{0,2}"
    r"|[0-9]{2,6}[A-Z]{1,3}[0-9]{1,6}"
)
#: Sizes, threads, bearings, steels, units: of the shape of a part number, but none.
_NO_NUMBER = re.compile(
    r"S?F?(?:MR)?[0-9]{2,5}-?(?:2RSR|2RS1|2RSH|2RS|RS|ZZ|2Z|Z)"
    r"|A[1-5]-[0-9]{2}|M[0-9].*|ST[0-9].*|ISO.*|DIN.*|EN[0-9].*|MR[0-9]+|[0-9]+X[0-9].*"
    r"|(?:[0-9]|1[02])-(?:80|72|64|56|48|44|40|36|32|28|24)"
    r"|[0-9]+(?:MM|CM|ML|KG|KV|MAH|GHZ|MHZ|WD|IN|DEG|RPM|NM|CC|CST|WT|AWG)[0-9]*"
)
_DIGITS = re.compile(r"[0-9]{4,8}")
_UNITS = r"(?:pcs|pc|pces|pieces|piece|off|ea|units|unit|nos|stk|stck|stück|st(?=\.)|sets|set|satz)"
_COUNTED = re.compile(rf" ?(?:x|{_UNITS})(?![a-zäöüß])")


@dataclass(frozen=True, slots=True)
class Numbered:
    """A part number: where its label begins, where it stands itself, how sure it is one."""

    begin: int
    start: int
    end: int
    sure: float


def part_numbers(line: Line) -> Iterator[Numbered]:
    """The part numbers of a line; where one is labelled (``part no.``), only labelled ones."""
    labelled = False
    for found in _LABELLED.finditer(line.flat):
        start = found.start("number")
        said = line.text[start : found.end("number")].rstrip(".-/")
        if found["loose"] and len(said) < 3:
            # No. 12 is a place in a drawing, #10 a thread.
            continue
        if any(one.isdigit() for one in said) and not _NO_NUMBER.fullmatch(said.upper()):
            labelled = True
            yield Numbered(found.start(), start, start + len(said), 1.0)
    if labelled:
        return
    for found in _TOKEN.finditer(line.text[: len(line.flat)]):
        said = found[0].rstrip(".-/")
        if said.isalpha():
            continue
        start, end = found.start(), found.start() + len(said)
        if line.text[:start].strip(EDGES) and line.text[start - 1] in ".,/-+%#":
            continue
        after = line.text[end : end + 1]
        if after and not after.isspace() and after not in "),;:|].\"'" + EDGES:
            continue
        if _SHAPE.fullmatch(said) and not _NO_NUMBER.fullmatch(said.upper()):
            yield Numbered(start, start, end, 0.95)
        elif (
            _DIGITS.fullmatch(said)
            and not line.flat[:start].strip(" ([")
            and not _COUNTED.match(line.flat, end)
        ):
            yield Numbered(start, start, end, 0.8)


# --- Counts ---------------------------------------------------------------------------------------

_COUNT = r"([0-9]{1,9})"
#: Patterns that can mean nothing but a count.
_MARKED = tuple(
    re.compile(pattern)
    for pattern in (
        rf"(?<![\w.,/-])(?:qty|quantity|menge|anzahl|anz|stückzahl|count)\.? ?[:=]? ?x? ?{_COUNT}"
        r"(?![\w/]|[.,][0-9])",
        rf"(?:(?<=[a-z)] )x ?)?(?<![\w.,/-])\(? ?{_COUNT} ?{_UNITS}\.?(?![a-zäöüß0-9])(?: ?\))?"
        r"(?: of(?![a-z]))?",
        rf"\( ?x ?{_COUNT} ?\)|\( ?{_COUNT} ?x ?\)|\[ ?x? ?{_COUNT} ?x? ?\]",
        rf"^ {{0,20}}{_COUNT} ?x ?(?=[^0-9\s.,x])",
        rf"^ {{0,20}}x{_COUNT}(?= )",
        rf"(?<=[a-zäöüß)] ){_COUNT} ?x {{0,20}}$",
        rf"(?<=[\w)]) ?[:=] ?x?{_COUNT} {{0,20}}$",
    )
)
_AROUND = (re.compile(rf"^ {{0,20}}\({_COUNT}\)"), re.compile(rf"\({_COUNT}\) {{0,20}}$"))
_CROSS_LAST = re.compile(rf"(?<=[ )\"'])x ?{_COUNT} {{0,20}}$")
_CROSS_FIRST = re.compile(rf"^ {{0,20}}{_COUNT} ?x(?= )")
_AFTER_NUMBER = re.compile(r"[0-9](?: ?mm| ?\")? {0,3}$")
_GLUED = re.compile(rf"(?<=[0-9])x ?{_COUNT} {{0,20}}$")
_LAST_OF_SIZE = re.compile(r"( {0,2}x {0,2})[0-9.,]{1,9}(?: ?mm)?$")
_FIRST = re.compile(rf"^ {{0,20}}{_COUNT}(?= )")
_LAST = re.compile(rf"(?<=[ ,]){_COUNT} {{0,20}}$")
_WHOLE = re.compile(rf"(?:x ?)?{_COUNT}(?: ?x)?")
#: What is measured or counted by these words is no number of pieces.
MEASURES = word_set(
    "mm cm m ml l g kg v a w mah kv ghz mhz deg degrees teeth tooth zähne zahn min minutes minuten "
    "hours stunden turns holes loch löcher steps pages seiten parts teile channel channels cells "
    "times mal years percent nm cst wt t"
)


@dataclass(frozen=True, slots=True)
class Count:
    """A count: its value, where it stands, and how sure it is one."""

    value: int
    start: int
    end: int
    sure: float


def _count(found: re.Match[str], sure: float) -> Count:
    said = next(group for group in found.groups() if group is not None)
    return Count(int(said), *found.span(), sure)


def marked_counts(line: Line) -> list[Count]:
    """Counts with a mark that says so (``4 pcs``, ``Qty 4``, ``(x4)``, ``8x``), taken from it."""
    counts = []
    for pattern in _MARKED:
        found = pattern.search(line.flat)
        if found:
            counts.append(_count(found, 1.0))
            line.take(*found.span())
    if not counts:
        for pattern in _AROUND:
            found = pattern.search(line.flat)
            if found:
                counts.append(_count(found, 0.9))
                line.take(*found.span())
    found = _CROSS_LAST.search(line.flat)
    # After a number the cross may belong to a size: M3 x 12.  The reader of sizes knows.
    if found and not _AFTER_NUMBER.search(line.flat[: found.start()][-12:]):
        counts.append(_count(found, 1.0))
        line.take(*found.span())
    return counts


def celled_counts(line: Line) -> list[Count]:
    """Counts that stand alone in a cell of a line that has several."""
    cells = line.cells()
    if len(cells) < 2:
        return []
    wholes = (_WHOLE.fullmatch(line.flat, *cell) for cell in cells)
    return [_count(found, 0.95) for found in wholes if found]


def crossed_counts(flat: str, sizes: tuple[tuple[int, int], ...]) -> list[Count]:
    """Counts before or after a cross that no size has used: ``2 x 5x11x4``, ``M3x12 x8``."""
    counts = []
    for pattern in (_CROSS_FIRST, _CROSS_LAST):
        found = pattern.search(flat)
        if found and _is_free(found, sizes):
            counts.append(_count(found, 0.5 if _goes_on(flat, found) else 0.95))
    glued = _GLUED.search(flat)
    if glued and not counts and _is_free(glued, sizes):
        counts.append(_count(glued, 0.5))
    return counts


def _goes_on(flat: str, found: re.Match[str]) -> bool:
    """Whether a size may go on in this count, as nothing sets it apart: ``M3 x 12 x 8``."""
    before = flat[: found.start()]
    gap = before[len(before.rstrip()) :] + found[0][: found.start(1) - found.start()]
    last = _LAST_OF_SIZE.search(before.rstrip()[-20:])
    return last is not None and last[1] == gap


def loose_counts(flat: str, sizes: tuple[tuple[int, int], ...]
                 ) -> tuple[Count | None, Count | None]:  # fmt: skip
    """Bare whole numbers at the beginning and at the end that no size has used."""
    first, last = _FIRST.search(flat), _LAST.search(flat)
    if first and (not _is_free(first, sizes) or _measured(flat, first.end(1))):
        first = None
    if last and (not _is_free(last, sizes) or (first and last.span(1) == first.span(1))):
        last = None
    return first and _count(first, 0.9), last and _count(last, 0.5)


def _is_free(found: re.Match[str], sizes: tuple[tuple[int, int], ...]) -> bool:
    start, end = found.span(1)
    return all(end <= first or start >= last for first, last in sizes)


def _measured(flat: str, at: int) -> bool:
    words = flat[at:].split(maxsplit=1)
    return bool(words) and words[0].strip(".,;:") in MEASURES


# --- Materials ------------------------------------------------------------------------------------

_MATERIALS = word_set(
    "steel aluminium aluminum brass bronze copper titanium nylon acetal pom abs plastic carbon "
    "polycarbonate rubber silicone ptfe foam felt paper fibre fiber zinc iron stahl edelstahl "
    "federstahl messing kupfer kunststoff gummi silikon titan papier schaumstoff filz kohlefaser "
    "alu"
)
_OF_MATERIALS = word_set("stainless spring hardened carbon glass zinc plated anodised black nylon")
_SEGMENT = re.compile(r"(?:[^,;|\t()\[\] ]| (?! ))+")


def material(line: Line) -> str | None:
    """A material that stands by itself, in a cell, between commas or in brackets; taken from it."""
    for found in _SEGMENT.finditer(line.kept):
        start, end = found.span()
        if not line.text[:start].strip():
            continue
        said = line.flat[start:end]
        start += len(said) - len(said.lstrip(EDGES))
        words = said.strip(EDGES + ".").split(" ")
        if words[-1] in _MATERIALS and all(word in _OF_MATERIALS for word in words[:-1]):
            end = start + len(" ".join(words))
            kept = line.text[start:end]
            line.take(start, end)
            return kept
    return None


# --- Sentences and headings -----------------------------------------------------------------------

_SENTENCE = word_set(
    "the until onto into is are be your you do does not then when if it its they them this that "
    "these those make sure must should can will after before while again firmly evenly carefully "
    "which has have was were as so because der die das den dem des ein eine einen bis nicht wird "
    "werden ist sind sie es dann wenn nach vor während auf und im zum zur"
)
_DOING = word_set(
    "fit put place attach install assemble apply use make remove lay grease build secure connect "
    "adjust measure repeat see tighten insert drücken setzen einsetzen montieren befestigen "
    "schieben kleben prüfen achten"
)
_HEADING = re.compile(
    r"(?:bag|beutel|tüte|step|schritt|page|seite|figure|fig|abb|abbildung|section|abschnitt|"
    r"chapter|kapitel|sheet|blatt|table|tabelle|parts|stückliste|teileliste|version|edition|"
    r"time|minutes|total|summe)(?![a-zäöüß])"
)
_WORDS = re.compile(r"[^\W\d_]+")


def words_in(text: str) -> list[str]:
    """The words of a text, without numbers."""
    return _WORDS.findall(text)


def is_sentence(flat: str, begins_as_list: bool) -> bool:
    """Whether a line is prose.  ``begins_as_list``: it starts with a count or a part number."""
    words = words_in(flat)
    said = sum(word in _SENTENCE for word in words)
    if said >= 2:
        return True
    ended = flat.rstrip()
    ends = ended.endswith((".", "!", "?")) and not ended.endswith("..")
    if ends and len(words) >= 5 and (said > 0 or not begins_as_list):
        return True
    return len(words) >= 3 and words[0] in _DOING and not begins_as_list


def says_sentence_words(flat: str) -> bool:
    """Whether any word is one that names of parts have not."""
    return any(word in _SENTENCE for word in words_in(flat))


def is_heading(flat: str) -> bool:
    """Whether a line begins with a word for a place in the manual."""
    return bool(_HEADING.match(flat.strip(EDGES + "#*")))
