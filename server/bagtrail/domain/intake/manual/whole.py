"""From the pages of a manual to findings.  Pure."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from ....trade import designations, part_lines
from ..findings import Ask, Found, Unfit
from .callouts import Callout, callouts_of
from .layout import Line, Sheet, body_points, heads_back, sheets_of
from .lists import Columns, Row, contents_of, list_of
from .marks import (
    BagMark,
    Section,
    bag_mark,
    operations_of,
    section_of,
    sections_of,
    text_of,
)
from .steps import Heading, steps_of

QUANTITY_MAX = 100_000


@dataclass
class _Step:
    """A step with what stands in its cell."""

    heading: Heading
    section: Section | None
    marks: list[BagMark] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    @property
    def bags(self) -> list[str]:
        return list(dict.fromkeys(n for mark in self.marks for n in mark.numbers))[:40]


def read(pages: Iterable[dict[str, Any]]) -> tuple[list[Found], list[Unfit]]:
    """See :func:`manual.findings`."""
    given = list(pages)
    sheets = sheets_of(given)
    last = max((int(page["number"]) for page in given), default=0)
    titles: dict[str, str] = {}
    rows: list[Row] = []
    building: list[Sheet] = []
    before: list[Columns] = []
    for sheet in sheets:
        listed, used = list_of(sheet, before)
        rows += listed
        if used:
            sheet.lines = [line for line in sheet.lines if id(line) not in used]
            if not sheet.lines:
                continue
        contents = contents_of(sheet, last)
        if contents is not None:
            titles |= {n: t for n, t in contents.items() if n not in titles}
            continue
        building.append(sheet)
    headings = steps_of(building)
    if not headings:
        certain = heads_back(building)
        headings = steps_of(building)
        for heading in headings:
            heading.doubtful = not certain
    sections = sections_of(building, headings, body_points(building))
    steps = _gather(building, headings, sections)
    found: list[Found] = [_section(section) for section in sections]
    unfit: list[Unfit] = [_cut(page) for page in given if page.get("cut")]
    rows = _tables_at_steps(rows, steps)
    for step in steps:
        found += _of_step(step, titles)
    found += _between(building, steps)
    lines = [one for one in found if one.what == "part_line"]
    found += _of_list(rows, lines, unfit)
    found += _bags(steps, rows)
    unfit += _missing(headings)
    for one in found:
        one.values = {key: said for key, said in one.values.items() if said not in (None, "", [])}
    return _in_order(found), unfit


def _in_order(found: list[Found]) -> list[Found]:
    """By pages; on a page sections and bags first, then each step with what belongs to it."""
    first = {"section": 0, "bag": 1}
    return sorted(found, key=lambda one: (one.page or 0, first.get(one.what, 2)))


def _cut(page: dict[str, Any]) -> Unfit:
    reason = "The page has more on it than can be looked at; what comes last was left out."
    return Unfit("", f"page {page['number']}", 1, None, "", reason)


# -- Steps -----------------------------------------------------------------------------------------


def _gather(
    sheets: list[Sheet], headings: list[Heading], sections: list[Section]
) -> list[_Step]:
    """Give each line to the step in whose cell it stands."""
    steps = [_Step(heading, section_of(heading, sections)) for heading in headings]
    on_page: dict[int, list[_Step]] = defaultdict(list)
    for step in steps:
        on_page[step.heading.sheet.number].append(step)
    apart = {id(section.line) for section in sections}
    for sheet in sheets:
        here = on_page.get(sheet.number, [])
        own = {id(s.heading.line) for s in here} | {id(t) for s in here for t in s.heading.titles}
        for line in sheet.lines:
            if id(line) in own or id(line) in apart:
                continue
            mark = bag_mark(line)
            owner = _step_at(line, here)
            if mark is not None and mark.opens:
                owner = _opened_for(line, here, owner)
            if owner is None:
                continue
            if mark is not None:
                owner.marks.append(mark)
            else:
                owner.lines.append(line)
    return steps


def _step_at(line: Line, steps: list[_Step]) -> _Step | None:
    x, y = (line.x0 + line.x1) / 2, (line.y0 + line.y1) / 2
    for step in steps:
        x0, y0, x1, y1 = step.heading.cell
        if x0 <= x < x1 and y0 <= y < y1:
            return step
    return None


def _opened_for(line: Line, steps: list[_Step], inside: _Step | None) -> _Step | None:
    """A mark that stands right over a heading is for the step below it."""
    below = [
        s for s in steps
        if s.heading.line.y0 >= line.y0 - 0.2 * line.size and s is not inside
        and s.heading.line.y0 - line.y1 < 2.5 * line.size
        and s.heading.cell[0] <= (line.x0 + line.x1) / 2 < s.heading.cell[2]
    ]  # fmt: skip
    if not below:
        return inside
    nearest = min(below, key=lambda s: s.heading.line.y0)
    if inside is None:
        return nearest
    rest = [other.y1 for other in inside.lines if other.y0 < line.y0]
    over = max([inside.heading.line.y1, *rest])
    return nearest if line.y0 - over > nearest.heading.line.y0 - line.y1 else inside


def _of_step(step: _Step, titles: dict[str, str]) -> list[Found]:
    heading = step.heading
    sheet = heading.sheet
    callouts = callouts_of(step.lines)
    used = {id(line) for callout in callouts for line in callout.lines}
    rest = [line for line in step.lines if id(line) not in used]
    operations = operations_of(rest)
    used |= {id(line) for one in operations for line in one.lines}
    text = text_of([line for line in rest if id(line) not in used])
    number = heading.number[:20]
    title = heading.title or titles.get(heading.number, "")
    found = Found(
        "step",
        {"number": number, "title": title[:160], "text": text, "bags": step.bags,
         "section": step.section.name if step.section else None},
        text=f"{heading.line.text} {' '.join(t.text for t in heading.titles)}".strip(),
        sure=round(heading.sure, 2), page=sheet.number, frame=sheet.frame(heading.frame),
    )  # fmt: skip
    if heading.doubtful:
        found.asks.append(Ask("number", "Is this the number of a step, or of the page?", [number]))
    elif heading.again:
        marked = f"{step.section.mark}-{number}" if step.section and step.section.mark else ""
        found.asks.append(Ask(
            "number", f"More than one step is called {number}. What is this one called?",
            [marked] if marked else [],
        ))  # fmt: skip
    made = [found, *(part for c in callouts if (part := _part_line(c, step)) is not None)]
    made += [_row_at_step(row, step) for row in step.rows]
    for operation in operations:
        made.append(Found(
            "operation", {"step": number, "text": operation.text[:1000]}, text=operation.text,
            sure=0.85, page=sheet.number, frame=sheet.frame(operation.rect),
            asks=_whose(heading),
        ))  # fmt: skip
    return made


def _part_line(callout: Callout, step: _Step) -> Found | None:
    found = _read_callout(callout, step.heading.sheet)
    if found is None:
        return None
    found.values["step"] = step.heading.number[:20]
    found.values["bag"] = _bag_of(callout, step.marks)
    found.asks += _whose(step.heading)
    return found


def _whose(heading: Heading) -> list[Ask]:
    """The question that goes with what belongs to a step whose own number is asked for."""
    if not (heading.again or heading.doubtful):
        return []
    return [Ask("step", "Which step is this at?", [heading.number] if heading.doubtful else [])]


def _tables_at_steps(rows: list[Row], steps: list[_Step]) -> list[Row]:
    """Give rows of a table that stands in a step's cell to the step; the others are the kit's."""
    rest = []
    for row in rows:
        here = [s for s in steps if s.heading.sheet is row.sheet]
        x0, y0, x1, y1 = row.rect
        inside = [
            s for s in here
            if s.heading.cell[0] <= (x0 + x1) / 2 < s.heading.cell[2]
            and s.heading.cell[1] <= (y0 + y1) / 2 < s.heading.cell[3]
        ]  # fmt: skip
        if inside and row.quantity is not None:
            inside[0].rows.append(row)
        else:
            rest.append(row)
    return rest


def _row_at_step(row: Row, step: _Step) -> Found:
    values = {
        "quantity": row.quantity, "number": row.number[:60], "name": row.name[:160],
        "designation": _designation(row.name), "material": row.material[:60],
        "bag": row.bag[:20], "step": step.heading.number[:20],
    }  # fmt: skip
    found = Found("part_line", values, text=row.text, sure=0.85, page=row.sheet.number,
                  frame=row.sheet.frame(row.rect))  # fmt: skip
    found.asks += _whose(step.heading)
    return found


def _read_callout(callout: Callout, sheet: Sheet) -> Found | None:
    """The callout as a part line; None if it counts no part."""
    line = part_lines.read(f"{callout.quantity} x {callout.text}")
    if line is None:
        return None
    number = line.number
    if number is None and not line.designation and not re.search(r"[^\W\d_]{3}", line.name):
        return None
    if not 0 < callout.quantity <= QUANTITY_MAX:
        return None
    asks = [
        Ask(ask.field, ask.says, list(ask.options)) for ask in line.asks
        # The count was read from where it stands; a part number says all about a part.
        if ask.field != "quantity" and not (ask.field == "designation" and number)
    ]  # fmt: skip
    if number is None and not line.designation and not asks:
        asks.append(Ask("number", "Is this a part, and which?", []))
    return Found(
        "part_line",
        {"quantity": callout.quantity, "number": number, "name": line.name[:160],
         "designation": line.designation, "material": line.material},
        text=f"{callout.quantity} x {callout.text}", page=sheet.number,
        frame=sheet.frame(callout.rect),
        sure=round(min(callout.sure, 0.95 if number else max(0.5, line.sure)), 2), asks=asks,
    )  # fmt: skip


def _bag_of(callout: Callout, marks: list[BagMark]) -> str | None:
    """The bag whose name stands over the callout as its heading, or the one the step names."""
    said = [mark for mark in marks if not mark.opens]
    if len(said) == 1 and len(said[0].numbers) == 1:
        return said[0].numbers[0]
    x0, y0, x1, _ = callout.rect
    over = [m for m in said if m.line.y1 <= y0 + 1e-6 and m.line.x0 < x1 and x0 < m.line.x1 + 0.2]
    if over:
        nearest = max(over, key=lambda m: m.line.y0)
        if len(nearest.numbers) == 1:
            return nearest.numbers[0]
    return None


def _between(sheets: list[Sheet], steps: list[_Step]) -> list[Found]:
    """Callouts on the pages of the steps that stand in no step's cell: a person says whose."""
    if not steps:
        return []
    first, last = steps[0].heading.sheet.number, steps[-1].heading.sheet.number
    taken = {id(line) for step in steps for line in step.lines}
    out: list[Found] = []
    for sheet in sheets:
        if not first <= sheet.number <= last + 1:
            continue
        free = [line for line in sheet.lines if id(line) not in taken and not bag_mark(line)]
        before = [s.heading.number for s in steps if s.heading.sheet.number < sheet.number][-1:]
        here = [s.heading.number for s in steps if s.heading.sheet.number == sheet.number][:1]
        for callout in callouts_of(free):
            found = _read_callout(callout, sheet)
            if found is None or not (found.values["number"] or found.values["designation"]):
                continue
            found.sure = min(found.sure, 0.4)
            found.asks.append(Ask("step", "Which step is this for?", [*before, *here]))
            out.append(found)
    return out


def _missing(headings: list[Heading]) -> list[Unfit]:
    """Numbers that were not found between two that were."""
    out = []
    for a, b in pairwise(headings):
        if a.key[0] == "" == b.key[0] and b.key[2] - a.key[2] > 1:
            gone = [str(n) for n in range(a.key[2] + 1, b.key[2])][:20]
            out.append(Unfit(
                "", f"page {a.sheet.number}", 1, None, ", ".join(gone),
                f"No heading was found for these numbers between step {a.number} and step"
                f" {b.number}.",
            ))  # fmt: skip
    return out


# -- Sections, bags, lists of parts ---------------------------------------------------------------


def _section(section: Section) -> Found:
    return Found("section", {"title": section.title, "mark": section.mark}, text=section.line.text,
                 sure=section.sure, page=section.sheet.number,
                 frame=section.sheet.frame(section.rect))  # fmt: skip


def _bags(steps: list[_Step], rows: list[Row]) -> list[Found]:
    """Each bag once, where it is named first."""
    out: dict[str, Found] = {}
    for step in steps:
        for mark in step.marks:
            for number in mark.numbers:
                title = mark.title if len(mark.numbers) == 1 else ""
                if number not in out:
                    sheet = step.heading.sheet
                    out[number] = Found("bag", {"number": number, "title": title},
                                        text=mark.line.text, sure=0.9, page=sheet.number,
                                        frame=sheet.frame(mark.line.rect))  # fmt: skip
                elif title and not out[number].values.get("title"):
                    out[number].values["title"] = title
    for row in rows:
        if row.bag and row.bag not in out and len(row.bag) <= 20 and re.search(r"\w", row.bag):
            frame = row.sheet.frame(row.rect)
            out[row.bag] = Found("bag", {"number": row.bag}, text=row.text, sure=0.8,
                                 page=row.sheet.number, frame=frame)  # fmt: skip
    return list(out.values())


def _of_list(rows: list[Row], lines: list[Found], unfit: list[Unfit]) -> list[Found]:
    """What a list of parts adds to the callouts: names, bags, and what no step uses.

    A list's count is of the whole kit and so counts again what the callouts say: only what is
    left over becomes a part line of its bag.
    """
    called: dict[str, list[Found]] = defaultdict(list)
    for line in lines:
        if line.values.get("number"):
            called[line.values["number"]].append(line)
    by_number: dict[str, list[Row]] = defaultdict(list)
    on_page: Counter[int] = Counter()
    for row in rows:
        by_number[row.number or row.name].append(row)
        on_page[row.sheet.number] += 1
        if row.counts and row.quantity is None:
            unfit.append(Unfit(
                "", f"page {row.sheet.number}", on_page[row.sheet.number], "quantity",
                row.said or row.text, "The quantity of this row is no whole number.",
            ))  # fmt: skip
    out: list[Found] = []
    for number, group in by_number.items():
        for line in called.get(number, []):
            _complete(line, group)
        out += _left_over(group, called.get(number, []))
    return out


def _complete(line: Found, group: list[Row]) -> None:
    """Name and bag of a callout from the list's rows of the same number."""
    name = group[0].name
    if name and len(name) > len(line.values.get("name") or ""):
        line.values["name"] = name[:160]
    if not line.values.get("designation"):
        line.values["designation"] = _designation(name)
    bags = {row.bag for row in group if row.bag}
    if not line.values.get("bag") and len(bags) == 1 and len(min(bags)) <= 20:
        line.values["bag"] = min(bags)


def _left_over(group: list[Row], called: list[Found]) -> list[Found]:
    """Part lines of what the steps leave in the bags, or the part alone."""
    certain = [line for line in called if not line.asks]
    used: Counter[str] = Counter()
    for line in certain:
        used[line.values.get("bag") or ""] += line.values["quantity"]
    out: list[Found] = []
    held: Counter[str] = Counter()
    for row in group:
        if row.quantity is not None:
            held[row.bag] += row.quantity
    known = bool(held) and all(held) and not used[""] and len(certain) == len(called)
    for row in group:
        over = held[row.bag] - used[row.bag] if known else 0
        held[row.bag] = used[row.bag] = 0
        values: dict[str, Any] = {
            "number": row.number[:60], "name": row.name[:160],
            "designation": _designation(row.name), "material": row.material[:60],
        }  # fmt: skip
        if 0 < over <= QUANTITY_MAX:
            out.append(Found("part_line", {**values, "quantity": over, "bag": row.bag[:20]},
                             text=row.text, sure=0.85, page=row.sheet.number,
                             frame=row.sheet.frame(row.rect)))  # fmt: skip
    if not any(one.what == "part_line" for one in out):
        row = group[0]
        part = {"number": row.number[:60], "name": row.name[:160],
                "designation": _designation(row.name), "material": row.material[:60]}  # fmt: skip
        out.append(Found("part", part, text=row.text, sure=0.9, page=row.sheet.number,
                         frame=row.sheet.frame(row.rect)))  # fmt: skip
    return out


def _designation(name: str) -> str | None:
    """The normal spelling of a designation in a name, if it is certain."""
    read = designations.read(name)
    return read.normal if read is not None and not read.asks and read.sure >= 0.8 else None

