"""Which lines of a manual are the headings of its steps, and how far each step reaches.  Pure.

No single line says that it is a heading: a manual's headings look alike and count.  So lines that
begin with a number are put together by how they look, and the group that counts best through the
document, and stands out most, is that of the steps.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from .layout import Line, Rect, Sheet, body_points, column_lefts

#: 'Step' in languages that manuals of kits are written in.
STEP_WORDS = (
    "step", "schritt", "bauschritt", "bauabschnitt", "étape", "etape", "paso", "passo", "passaggio",
    "fase", "stap", "steg", "trin", "krok", "vaihe",
)  # fmt: skip
_WORDED = re.compile(
    rf"^(?:{'|'.join(STEP_WORDS)})\s*(?:no\.?|nr\.?|n°|#)?\s*[:.]?\s*", re.IGNORECASE
)
_NUMBER = re.compile(
    r"(?P<letters>[A-Z]{1,2})?(?P<dash>[-.])?(?P<first>\d{1,3})"
    r"(?:(?P<dot>[.-])(?P<second>\d{1,2})(?:\.(?P<third>\d{1,2}))?)?(?P<tail>[a-z])?"
    r"(?P<stop>[.:)\]]?)(?P<rest>\s.*)?$"
)
#: What follows a number that counts or measures something, and is no title.
_COUNTS = re.compile(
    r"^(?:[x\u00d7*]\b|[x\u00d7]$|"
    r"mm\b|cm\b|m\b|g\b|kg\b|ml\b|nm\b|cnm\b|v\b|%|°|pcs?\b|stk\b|pieces?\b|"
    r"teeth\b|[-\u2013—/=+:.,]|\d)",
    re.IGNORECASE,
)
#: A row of a table of contents.
_LEADS_TO = re.compile(r"(?:\s*\.){3,}\s*\d*\s*$|…\s*\d*\s*$")
CONTENTS = re.compile(
    r"^(?:table of )?contents?\.?$|^(?:inhalt(?:sverzeichnis)?|sommaire|table des matières|índice|"
    r"indice|inhoud|innehåll|index|sommario)\.?$",
    re.IGNORECASE,
)
#: Longest chain that is looked for; a group of more lines is no manual's headings.
_CANDIDATES_MAX = 1200

Key = tuple[str, str, int, int, int, str]


@dataclass(eq=False)
class Heading:
    """A line that may name a step.  ``key``: its number, for counting; ``number``: as it is
    written; ``title``: what follows it; ``sure``: 0 to 1."""

    sheet: Sheet
    line: Line
    number: str
    key: Key
    worded: bool
    stop: str
    title: str
    sure: float = 0.0
    titles: list[Line] = field(default_factory=list)
    frame: Rect = (0, 0, 0, 0)
    cell: Rect = (0, 0, 0, 0)
    #: Another step has this number.
    again: bool = False
    #: It may be the number of the page.
    doubtful: bool = False


def heading_of(sheet: Sheet, line: Line) -> Heading | None:
    """The line read as a heading, if it begins as one."""
    text = line.text
    worded = _WORDED.match(text)
    found = _NUMBER.match(text[worded.end() :] if worded else text)
    if not found or _LEADS_TO.search(text):
        return None
    letters, first, second = found["letters"] or "", found["first"], found["second"]
    if not letters and found["dash"]:
        return None
    if letters and second and found["dot"] == "-":
        return None  # a part number
    rest = (found["rest"] or "").strip()
    rest = re.sub(r"^[-\u2013—:|]\s+", "", rest)
    if rest and not worded and (_COUNTS.match(rest) or not re.search(r"[^\W\d_]{2}", rest)):
        return None
    number = text[worded.end() : found.start("stop") + worded.end()] if worded else \
        text[: found.start("stop")]  # fmt: skip
    shape = f"{'A' if letters else ''}{'.' if second else ''}{'.' if found['third'] else ''}"
    key = (shape, letters, int(first), int(second or -1), int(found["third"] or -1),
           found["tail"] or "")  # fmt: skip
    if not letters and int(first) == 0 and not second:
        return None
    return Heading(sheet, line, number, key, bool(worded), found["stop"], rest)


# -- Counting --------------------------------------------------------------------------------------


def follows(a: Key, b: Key) -> bool:
    """Whether ``b`` is a number that comes right after ``a``."""
    if a[0] != b[0]:
        # Another way to count begins: K1 after 8.3.
        return b[-2:] != a[-2:] and _starts(b)
    one, two = [*a[2:5]], [*b[2:5]]
    deep = max(k for k in range(3) if one[k] >= 0 or k == 0)
    if a[1] != b[1]:
        return _next_letters(a[1], b[1]) and _starts(b)
    if a[5] != b[5] and one == two:
        return (a[5] == "" and b[5] in "ab") or (a[5] != "" and ord(b[5] or "`") == ord(a[5]) + 1)
    for k in range(deep + 1):
        if one[k] != two[k]:
            tail = two[k + 1 : deep + 1]
            return two[k] == one[k] + 1 and all(v in (0, 1) for v in tail)
    return False


def _starts(key: Key) -> bool:
    return all(v in (-1, 0, 1) for v in (key[3:5] if "." in key[0] else key[2:5]))


def _next_letters(a: str, b: str) -> bool:
    if not a or not b or len(a) != len(b):
        return False
    # I and O are often left out, as they look like digits.
    return a[:-1] == b[:-1] and 1 <= ord(b[-1]) - ord(a[-1]) <= (2 if b[-1] in "JP" else 1)


def _later(a: Key, b: Key) -> bool:
    return a[1:] < b[1:] if a[0] == b[0] else _starts(b)


def chain_of(keys: Sequence[Key]) -> list[int]:
    """The places of the rising chain that counts best: most numbers, most of them one apart."""
    gain = [1.0] * len(keys)
    back = [-1] * len(keys)
    for j in range(len(keys)):
        for i in range(j):
            if _later(keys[i], keys[j]):
                here = gain[i] + (2.0 if follows(keys[i], keys[j]) else 0.6)
                if keys[i][0] != keys[j][0]:
                    here -= 0.8
                if here > gain[j] + 1e-9:
                    gain[j], back[j] = here, i
    if not keys:
        return []
    at = max(range(len(keys)), key=lambda k: (gain[k], -k))
    chain = []
    while at >= 0:
        chain.append(at)
        at = back[at]
    return chain[::-1]


# -- Which group is that of the steps -------------------------------------------------------------


@dataclass
class _Group:
    chain: list[Heading]
    others: list[Heading]
    quality: float
    score: float
    restarts: bool = False


def steps_of(sheets: Sequence[Sheet]) -> list[Heading]:
    """The headings of the steps in their order, with frames.  ``sheets``: no tables of contents,
    no lists of parts."""
    body = body_points(sheets)
    found = [
        heading for sheet in sheets for line in sheet.lines
        if (heading := heading_of(sheet, line)) is not None
    ]  # fmt: skip
    groups = [group for members in _looks(found) if (group := _judge(members, body)) is not None]
    if not groups:
        return []
    best = max(groups, key=lambda group: group.score)
    steps = best.chain
    for heading in steps:
        heading.sure = min(0.97, 0.55 + 0.3 * best.quality + 0.06 * min(3.0, best.score / 20))
    if best.restarts:
        _mark_again(steps)
    else:
        steps = _fill_gaps(steps, found, body)
    _set_cells(steps)
    _set_titles(steps)
    return steps


def _looks(found: Sequence[Heading]) -> list[list[Heading]]:
    """Headings put together by how they look."""
    alike: dict[tuple[bool, bool, bool, bool, str], list[Heading]] = defaultdict(list)
    for heading in found:
        stop = heading.stop if not heading.worded else ""
        # 'Step 2 has to be finished first' is a sentence about a step.
        sentence = heading.worded and heading.title[:1].islower()
        looks = heading.worded, sentence, heading.line.boxed, heading.line.bold, stop
        alike[looks].append(heading)
    groups = []
    for members in alike.values():
        by_size = sorted(members, key=lambda one: one.line.points)
        start = 0
        for k in range(1, len(by_size) + 1):
            if k == len(by_size) or by_size[k].line.points > by_size[k - 1].line.points * 1.04:
                ids = {id(one) for one in by_size[start:k]}
                groups.append([one for one in members if id(one) in ids])
                start = k
    return groups


def _in_order(members: Sequence[Heading]) -> list[Heading]:
    """In the order of reading: down the columns or along the rows, whichever counts better."""
    by_page: dict[int, list[Heading]] = defaultdict(list)
    for heading in members:
        by_page[heading.sheet.number].append(heading)
    best: tuple[int, list[Heading]] | None = None
    for rows in (False, True):
        ordered: list[Heading] = []
        for number in sorted(by_page):
            ordered += _page_order(by_page[number], rows)
        count = sum(
            follows(a.key, b.key) for a, b in pairwise(ordered)
        )
        if best is None or count > best[0]:
            best = count, ordered
    return best[1] if best else []


def _page_order(page: list[Heading], rows: bool) -> list[Heading]:
    if rows:
        out: list[list[Heading]] = []
        for heading in sorted(page, key=lambda one: one.line.y0):
            if out and abs(out[-1][0].line.y0 - heading.line.y0) < 0.02:
                out[-1].append(heading)
            else:
                out.append([heading])
        return [h for row in out for h in sorted(row, key=lambda one: one.line.x0)]
    lefts = column_lefts([h.line.x0 for h in page], 0.14)
    return sorted(
        page, key=lambda h: (sum(left <= h.line.x0 + 1e-6 for left in lefts), h.line.y0)
    )


def _judge(members: list[Heading], body: float) -> _Group | None:
    """How well the group counts and stands out; None if it is none of steps."""
    if len(members) > _CANDIDATES_MAX:
        return None
    ordered = _in_order(members)
    first = ordered[0]
    size = first.line.points / body
    stands_out = (
        (1.2 if first.worded else 0) + (1.0 if first.line.boxed else 0)
        + (0.45 if first.line.bold else 0) + min(1.5, max(0.0, size - 1))
    )  # fmt: skip
    shaped = sum(bool(h.key[0]) for h in ordered) > 0.5 * len(ordered)
    if stands_out < 0.3 and not (shaped and not first.stop):
        return None
    chain = [ordered[k] for k in chain_of([h.key for h in ordered])]
    inside = {id(h) for h in chain}
    others = [h for h in ordered if id(h) not in inside]
    steps_on = sum(follows(a.key, b.key) for a, b in pairwise(chain))
    quality = steps_on / max(1, len(chain) - 1)
    share = len(chain) / len(ordered)
    if len(chain) == 1:
        # A leaf with one step: only where it says so in words.
        if not (first.worded and stands_out > 1.5 and _starts(first.key)):
            return None
        return _Group(chain, others, 0.3, stands_out)
    enough = 0.5 if stands_out >= 1 else 0.7
    if share >= enough and quality >= 0.5:
        weight = quality * share * (0.35 + stands_out) * math.log2(1 + len(chain))
        return _Group(chain, others, quality * share, weight * 5)
    return _restarting(ordered, stands_out, first)


def _restarting(ordered: list[Heading], stands_out: float, first: Heading) -> _Group | None:
    """Steps that count anew in each section."""
    if stands_out < 0.9 or len(ordered) < 4:
        return None
    pairs = list(pairwise(ordered))
    on = sum(follows(a.key, b.key) for a, b in pairs)
    anew = sum(_starts(b.key) and not follows(a.key, b.key) for a, b in pairs)
    if (on + anew) < 0.9 * len(pairs) or on < 2 * anew or not _starts(first.key):
        return None
    weight = (on + anew) / len(pairs) * stands_out * math.log2(1 + len(ordered))
    return _Group(ordered, [], 0.4, weight * 3, restarts=True)


def _mark_again(steps: list[Heading]) -> None:
    counts = Counter(heading.number for heading in steps)
    for heading in steps:
        heading.again = counts[heading.number] > 1


def _fill_gaps(steps: list[Heading], found: list[Heading], body: float) -> list[Heading]:
    """Add headings that look a little different, but have just the number that is missing."""
    taken = {id(heading) for heading in steps}
    style = steps[0]
    out: list[Heading] = []
    for a, b in zip(steps, [*steps[1:], None], strict=True):
        out.append(a)
        if b is None or follows(a.key, b.key):
            continue
        after, before = a.sheet.number, b.sheet.number
        fits = [
            h for h in found
            if id(h) not in taken and after <= h.sheet.number <= before
            and follows(a.key, h.key) and follows(h.key, b.key)
            and (h.worded, h.line.boxed) == (style.worded, style.line.boxed)
            and h.line.points >= max(body, 0.8 * style.line.points)
            and (h.line.bold == style.line.bold)
        ]  # fmt: skip
        if len(fits) == 1:
            fits[0].sure = 0.6
            out.append(fits[0])
    return out


# -- How far each step reaches --------------------------------------------------------------------


def _set_cells(steps: list[Heading]) -> None:
    """The room of each step: to the next one below it, and to the column beside it."""
    shapes: dict[tuple[float, int], list[Heading]] = defaultdict(list)
    for heading in steps:
        shapes[round(heading.sheet.wide, 2), heading.sheet.turn].append(heading)
    for alike in shapes.values():
        lefts = column_lefts([h.line.x0 for h in alike], 0.14)
        by_page: dict[int, list[Heading]] = defaultdict(list)
        for heading in alike:
            by_page[heading.sheet.number].append(heading)
        for page in by_page.values():
            for heading in page:
                _set_cell(heading, page, lefts)


def _set_cell(heading: Heading, page: list[Heading], lefts: list[float]) -> None:
    sheet, line = heading.sheet, heading.line
    top = line.y0 - 0.4 * line.size
    pad = 0.6 * line.size
    feet = [m.y0 for m in sheet.margin if m.y0 > 0.85]
    bottom = min([1.0, *feet])
    for other in page:
        near = abs(other.line.x0 - line.x0) < 0.14
        if other is not heading and near and other.line.y0 > line.y0:
            bottom = min(bottom, other.line.y0 - 0.4 * other.line.size)
    left, right = 0.0, sheet.wide
    for x in lefts:
        if x > line.x1 and _parted(sheet, x, top, bottom, page, heading):
            strip = sheet.gutter(line.x1, x, top, bottom)
            right = min(right, x - pad if strip is None else strip)
            break
    for x in reversed(lefts):
        if x < line.x0 - 0.14:
            if _parted(sheet, line.x0, top, bottom, page, heading):
                strip = sheet.gutter(x + 0.05, line.x0, top, bottom)
                left = line.x0 - pad if strip is None else strip
            break
    # A heading across the columns ends what stands above it.
    for other in page:
        crosses = other.line.x0 < right and left < other.line.x1
        if other is not heading and crosses and other.line.y0 > line.y1:
            bottom = min(bottom, other.line.y0 - 0.4 * other.line.size)
    if bottom > 0.9:
        bottom = sheet.foot(left, right, top, bottom)
    heading.cell = (left, top, right, bottom)
    ink = sheet.ink_within(heading.cell) or line.rect
    cell = heading.cell
    edge = 0.006
    heading.frame = (
        max(cell[0], min(ink[0], line.x0) - edge), max(cell[1], min(ink[1], line.y0) - edge),
        min(cell[2], max(ink[2], line.x1) + edge), min(cell[3], max(ink[3], line.y1) + edge),
    )  # fmt: skip


def _parted(
    sheet: Sheet, x: float, top: float, bottom: float, page: list[Heading], heading: Heading
) -> bool:
    """Whether a column begins at ``x`` on this page, beside the heading."""
    if any(abs(h.line.x0 - x) < 0.05 for h in page if h is not heading) or \
            abs(heading.line.x0 - x) < 1e-6:  # fmt: skip
        return True
    middle = (top + bottom) / 2
    crossing = any(
        line.x0 < x - 0.02 and line.x1 > x + 0.01 and top < (line.y0 + line.y1) / 2 < bottom
        for line in sheet.lines
    )
    return not crossing and middle > 0 and sheet.gutter(x - 0.05, x, top, bottom) is not None


def _set_titles(steps: list[Heading]) -> None:
    """What stands right of the number or on the next lines in the heading's own style."""
    for heading in steps:
        line = heading.line
        cell = heading.cell
        inside = [
            one for one in heading.sheet.lines
            if one is not line and cell[0] <= one.x0 and one.x1 <= cell[2] + 0.02
        ]  # fmt: skip
        last = line
        if not heading.title:
            beside = [
                one for one in inside
                if 0 <= one.x0 - line.x1 < 4 * line.size and one.y0 < line.y1 and one.y1 > line.y0
                and one.points >= 0.55 * line.points and is_title(one)
            ]  # fmt: skip
            if beside:
                last = min(beside, key=lambda one: one.x0)
                heading.titles.append(last)
                heading.title = last.text
        while heading.title and len(heading.titles) < 4:
            below = [
                one for one in inside
                if 0 < one.y0 - last.y0 < 1.7 * last.size and abs(one.points - last.points) < 0.3
                and one.bold == last.bold and is_title(one)
                and (abs(one.x0 - last.x0) < 0.6 * last.size or (last is line and one.x0 > line.x0))
            ]  # fmt: skip
            stands_out = line.bold or line.boxed or last.bold
            if len(below) != 1 or not stands_out or heading.title[-1] in ".!?":
                break
            last = below[0]
            heading.titles.append(last)
            heading.title += f" {last.text}"
        heading.title = heading.title[:160].strip()


def is_title(line: Line) -> bool:
    """Whether the line reads as words, and not as a count, a measure, a bag or a number."""
    text = line.text
    return (
        bool(re.search(r"[^\W\d_]{3}", text))
        and not re.match(r"^\d+\s*[x\u00d7]|^[x\u00d7]\s*\d", text)
        and not re.match(r"^(?:open|use|take)?\s*bags?\b", text, re.IGNORECASE)
    )
