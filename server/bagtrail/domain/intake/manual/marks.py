"""What stands in and between the steps of a manual besides parts: sections, marks of bags, numbered
instructions, text.  Pure."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from .layout import Line, Rect, Sheet
from .steps import Heading, chain_of, is_title

# -- Bags ------------------------------------------------------------------------------------------

_BAG_NUMBER = r"(?:\d{1,3}[A-Za-z]?|[A-Z]\d{0,2})"
_BAG = re.compile(
    rf"^(?P<verb>open|use|take|from|öffnen?|öffne|nimm|ouvrir|ouvrez|abrir|apri|open de)?\s*"
    rf"(?:the\s+|den\s+|le\s+)?(?:parts? )?"
    rf"(?:bags?|beutel|tüten?|sachets?|bolsas?|sacchett[oi]|zak(?:ken)?)\s*"
    rf"(?:no\.?|nr\.?|numbers?|#)?\s*[:.]?\s*"
    rf"(?P<numbers>(?-i:{_BAG_NUMBER})(?:\s*(?:,|and|und|et|y|e|en|&|\+|/)\s*(?-i:{_BAG_NUMBER}))*)"
    rf"\.?(?:\s*[:\u2013—-]\s*(?P<title>\D.*))?(?P<after>\s+öffnen)?$",
    re.IGNORECASE,
)


@dataclass(eq=False)
class BagMark:
    """A line that names bags.  ``opens``: it says to open them, so others may be open still."""

    line: Line
    numbers: list[str]
    title: str
    opens: bool


def bag_mark(line: Line) -> BagMark | None:
    """The line read as the mark of a bag."""
    found = _BAG.match(line.text.strip())
    if not found:
        return None
    numbers = re.findall(_BAG_NUMBER, re.sub(r"\b(?:and|und|et|en|[ye])\b", " ", found["numbers"]))
    opens = bool(found["verb"] or found["after"])
    return BagMark(line, numbers, (found["title"] or "").strip()[:160], opens)


# -- Sections --------------------------------------------------------------------------------------

_SECTION_WORDS = (
    r"section|chapter|assembly|kapitel|abschnitt|baugruppe|chapitre|sección|capítulo|sezione|"
    r"capitolo|hoofdstuk|avsnitt"
)
_WORDED = re.compile(
    rf"^(?:{_SECTION_WORDS})\s+(?P<mark>[A-Z]|\d{{1,2}}|[IVX]{{1,4}})\b"
    r"\s*[.:\u2013—-]?\s*(?P<title>.*)$",
    re.IGNORECASE,
)
_WARNS = re.compile(
    r"^\W*(?:caution|warning|danger|important|attention|notes?|hints?|tips?|achtung|warnung|vorsicht|"
    r"hinweis|wichtig|avertissement|remarque|atención|nota)\b",
    re.IGNORECASE,
)
_MARKED = re.compile(r"^(?P<mark>[A-Z]|\d{1,2}|[IVX]{1,4})[.:)]?\s+(?P<title>\D.*)$")


@dataclass(eq=False)
class Section:
    """A run of steps begins at ``line``."""

    sheet: Sheet
    line: Line
    rect: Rect
    mark: str
    title: str
    sure: float

    @property
    def name(self) -> str:
        return (self.title or self.mark)[:160]


def sections_of(sheets: Sequence[Sheet], steps: Sequence[Heading], body: float) -> list[Section]:
    """Headings that stand above those of the steps: larger, or worded, each before steps."""
    if not steps:
        return []
    own = {id(h.line) for h in steps} | {id(line) for h in steps for line in h.titles}
    size = sorted(h.line.points for h in steps)[len(steps) // 2]
    alike: dict[tuple[bool, int], list[tuple[Section, bool]]] = defaultdict(list)
    last = steps[-1].sheet.number
    for sheet in sheets:
        if sheet.number > last:
            break
        taken: set[int] = set()
        for line in sheet.lines:
            if id(line) in own or id(line) in taken or bag_mark(line) or line.boxed:
                continue
            if line.points < 1.1 * body and not line.bold:
                continue
            text, rect = line.text, line.rect
            # The mark and the title may stand apart.
            beside = [
                other for other in sheet.lines
                if other is not line and abs(other.y1 - line.y1) < 0.3 * line.size
                and 0 < other.x0 - line.x1 < 3 * line.size and other.points > 0.7 * line.points
            ]  # fmt: skip
            if len(text) <= 3 and beside:
                taken.add(id(beside[0]))
                text = f"{text} {beside[0].text}"
                rect = (line.x0, min(line.y0, beside[0].y0), beside[0].x1, line.y1)
            if not is_title(Line(text, *rect, line.size, line.points, line.bold, False)):
                continue
            if _WARNS.match(text):
                continue
            worded = _WORDED.match(text)
            found = worded or _MARKED.match(text)
            mark, title = (found["mark"], found["title"].strip()) if found else ("", text.strip())
            least = 1.03 if not found else 0.97
            if worded is None and line.points < least * size:
                continue
            section = Section(sheet, line, rect, mark[:20], title[:160], 0.9 if found else 0.7)
            alike[line.bold, round(line.points * 2)].append((section, worded is not None))
    best: list[Section] = []
    for group in alike.values():
        sections = [section for section, _ in group]
        # The same heading again is a running head.
        said = {(section.mark, section.title): section for section in reversed(sections)}
        sections = [section for section in sections if section in said.values()]
        counted = {*chain_of([("", "", _count(s.mark), -1, -1, "") for s in sections if s.mark])}
        marks = sum(bool(s.mark) for s in sections)
        larger = sections[0].line.points > 1.03 * size
        worded_all = all(worded for _, worded in group)
        before = _before_steps(sections, steps)
        if len(before) < (1 if worded_all else 2) or len(before) < 0.6 * len(sections):
            continue
        if not (larger or worded_all or (marks == len(sections) and len(counted) == marks)):
            continue
        if len(before) > len(best) and len(before) < 0.7 * len(steps) + 1:
            best = before
    return best


def _count(mark: str) -> int:
    return int(mark) if mark.isdigit() else sum(map(ord, mark[:1]))


def _before_steps(sections: list[Section], steps: Sequence[Heading]) -> list[Section]:
    """Those after which a step comes before the next of them."""
    out = []
    for a, b in zip(sections, [*sections[1:], None], strict=True):
        here = _place(a.sheet, a.line)
        there = _place(b.sheet, b.line) if b else (10**6, 0.0)
        if any(here < _place(h.sheet, h.line) < there for h in steps) or any(
            section_of(h, [a]) is a and (b is None or section_of(h, [b]) is None) for h in steps
        ):
            out.append(a)
    return out


def _place(sheet: Sheet, line: Line) -> tuple[int, float]:
    return sheet.number, line.y0


def section_of(heading: Heading, sections: Sequence[Section]) -> Section | None:
    """The last section that begins before the step, in the order of reading."""
    found = None
    for section in sections:
        if section.sheet.number > heading.sheet.number:
            break
        if section.sheet.number == heading.sheet.number:
            over = section.line.y0 <= heading.line.y0
            beside = section.line.x1 < heading.line.x0
            above_left = over and section.line.x0 <= heading.line.x1
            if not (above_left or beside):
                continue
        found = section
    return found


# -- Instructions and text -------------------------------------------------------------------------

_POINT = re.compile(
    r"^(?P<number>\d{1,2})[.)](?:\s+(?P<text>\D.*))?$|^[•▪◦●‣\u2013-](?:\s+(?P<said>\S.*))?$"
)


@dataclass
class Operation:
    """One numbered instruction."""

    text: str
    rect: Rect
    lines: list[Line] = field(default_factory=list)


def operations_of(lines: Sequence[Line]) -> list[Operation]:
    """Numbered instructions (1., 2., 3., …, one below the other) or points with a bullet."""
    ordered = sorted(lines, key=lambda one: (round(one.y1, 3), one.x0))
    starts: list[tuple[Line, str]] = []
    wanted = 1
    for line in ordered:
        found = _POINT.match(line.text.strip())
        if not found:
            continue
        if found["number"]:
            if int(found["number"]) != wanted:
                continue
            wanted += 1
        elif wanted > 1:
            continue
        if starts and abs(line.x0 - starts[0][0].x0) > 1.2 * line.size:
            if found["number"]:
                wanted -= 1
            continue
        starts.append((line, (found["text"] or found["said"] or "").strip()))
    if len(starts) < 2:
        return []
    out: list[Operation] = []
    for k, (line, text) in enumerate(starts):
        end = starts[k + 1][0].y1 - 0.5 * line.size if k + 1 < len(starts) else 1.0
        operation = Operation(text, line.rect, [line])
        last = line
        for other in ordered:
            if other is line or other.y1 < line.y1 - 0.5 * line.size or other.y1 > end:
                continue
            if other.y1 - last.y1 > 1.9 * line.size:
                break
            same_row = abs(other.y1 - line.y1) <= 0.5 * line.size
            inset = other.x0 > line.x0 + 0.6 * line.size
            if abs(other.points - line.points) > 0.6 or not inset:
                if same_row:
                    continue
                break
            # Of a drawing or box beside it.
            if same_row and other.x0 - last.x1 > 5 * line.size:
                continue
            operation.text = f"{operation.text} {other.text}".strip()
            operation.lines.append(other)
            r, o = operation.rect, other.rect
            operation.rect = (min(r[0], o[0]), min(r[1], o[1]), max(r[2], o[2]), max(r[3], o[3]))
            last = other
        out.append(operation)
    if any(len(re.findall(r"[^\W\d_]{2,}", one.text)) < 2 for one in out):
        return []
    return out


def text_of(lines: Sequence[Line]) -> str:
    """Sentences of the lines: paragraphs of words that end as sentences do."""
    out: list[str] = []
    paragraph: list[Line] = []

    def close() -> None:
        said = " ".join(line.text for line in paragraph).strip()
        if len(said.split()) >= 3 and re.search(r"[.!?:;…]$", said):
            out.append(said)
        paragraph.clear()

    for line in sorted(lines, key=lambda one: (one.y0, one.x0)):
        if paragraph:
            last = paragraph[-1]
            goes_on = (
                0 < line.y1 - last.y1 < 1.6 * last.size
                and abs(line.x0 - paragraph[0].x0) < line.size
                and abs(line.points - last.points) < 0.6 and line.bold == last.bold
                and not re.search(r"[.!?:]$", last.text)
            )  # fmt: skip
            if not goes_on:
                close()
        paragraph.append(line)
    close()
    return "\n".join(out)[:4000]
