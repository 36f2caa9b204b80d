"""How a demo kit is written down: compact lines that read like a manual's tables.

The notation, used by the section modules:

* part lines: ``"2 T101, 4 bb8x16x5, 1 T301@12"`` - quantity, key in the catalogue, and the bag
  after ``@`` where it is not the first bag of the step; ``1 T731=17 teeth`` belongs to
  the alternative of that title;
* operations: one line each, counted from 1;
* ``"1 > 3 | why"``: operation 1 comes before operation 3;
* joints: ``"2: 8 cap3x20 metal>plastic never | what is held"`` - the operation, how many, the
  fastener, what it goes through and into, the word on thread-locking, ``snug`` for joints that are
  only drawn up until they touch, ``1.2Nm`` for a torque.
* dimensions: ``"3: Length of the link = 112.0 +0.3 -0.3 | between the centres of the balls"``;
* cautions: ``"hurts | text"`` or ``"spoils | text"``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field


def lines_of(block: str) -> list[str]:
    """The lines of a block that say something, runs of spaces made one.

    (A backslash at the end of a line joins it to the next: Python sees to that.)
    """
    return [" ".join(line.split()) for line in block.splitlines() if line.strip()]


@dataclass(frozen=True)
class Line:
    """So many of one part at a step, out of one bag."""

    quantity: int
    part: str
    bag: str
    alternative: str = ""


@dataclass(frozen=True)
class JointNote:
    """Where a fastener goes at a step; ``operation`` counts from 1, 0 means none."""

    operation: int
    count: int
    part: str
    through: str
    into: str
    thread_lock: str
    snug: bool = False
    torque_nm: float | None = None
    text: str = ""


@dataclass(frozen=True)
class DimensionNote:
    """What is to be measured, in millimetres."""

    operation: int
    name: str
    target: float
    plus: float
    minus: float
    measured: str


@dataclass(frozen=True)
class ChoiceNote:
    """A place where the builder picks; alternatives are (title, what it changes)."""

    title: str
    text: str
    alternatives: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class StepNote:
    """One numbered figure of the manual.  ``sets``: how many times the figure is to be made."""

    number: str
    title: str
    bags: tuple[str, ...]
    minutes: float
    lines: tuple[Line, ...]
    operations: tuple[str, ...]
    before: tuple[tuple[int, int, str], ...] = ()
    joints: tuple[JointNote, ...] = ()
    dimensions: tuple[DimensionNote, ...] = ()
    choices: tuple[ChoiceNote, ...] = ()
    cautions: tuple[tuple[str, str], ...] = ()
    text: str = ""
    sets: int = 1
    sets_word: str = ""
    figure: tuple[str, ...] = ()


@dataclass(frozen=True)
class SectionNote:
    """A run of steps."""

    mark: str
    title: str
    steps: tuple[StepNote, ...] = field(default=())


_LINE = re.compile(r"^(\d+) ([A-Za-z0-9.]+)(?:@(\d+))?(?:=(.+))?$")
_JOINT = re.compile(
    r"^(\d+): (\d+) ([A-Za-z0-9.]+) (\w+)>(\w+) (use|never|unsaid)( snug)?(?: ([\d.]+)Nm)?"
    r"(?: \| (.+))?$"
)
_DIMENSION = re.compile(r"^(\d+): (.+) = (-?[\d.]+) \+([\d.]+) -([\d.]+) \| (.+)$")


def _match(pattern: re.Pattern[str], line: str) -> re.Match[str]:
    found = pattern.match(line)
    if found is None:
        raise ValueError(f"Cannot read the line {line!r}: see the notation in demo/model.py.")
    return found


def _lines(text: str, bag: str) -> tuple[Line, ...]:
    made = []
    for piece in text.replace("\n", " ").split(","):
        if piece.strip():
            found = _match(_LINE, " ".join(piece.split()))
            quantity, part, other, alternative = found.groups()
            made.append(Line(int(quantity), part, other or bag, alternative or ""))
    return tuple(made)


def _joint(line: str) -> JointNote:
    op, count, part, through, into, word, snug, torque, text = _match(_JOINT, line).groups()
    return JointNote(int(op), int(count), part, through, into, word, bool(snug),
                     float(torque) if torque else None, text or "")  # fmt: skip


def _dimension(line: str) -> DimensionNote:
    op, name, target, plus, minus, measured = _match(_DIMENSION, line).groups()
    return DimensionNote(int(op), name, float(target), float(plus), float(minus), measured)


def _before(line: str) -> tuple[int, int, str]:
    pair, _, reason = line.partition("|")
    first, _, then = pair.partition(">")
    return int(first), int(then), reason.strip()


def _caution(line: str) -> tuple[str, str]:
    kind, _, text = line.partition("|")
    return kind.strip(), text.strip()


def choice(title: str, text: str, *alternatives: str) -> ChoiceNote:
    """A choice; each alternative is written ``"title | what it changes"``."""
    pairs = []
    for alternative in alternatives:
        name, _, changes = alternative.partition("|")
        pairs.append((name.strip(), changes.strip()))
    return ChoiceNote(title, text, tuple(pairs))


def step(
    number: str, title: str, *, bags: str, minutes: float, parts: str, operations: str,
    figure: str, before: str = "", joints: str = "", dimensions: str = "", cautions: str = "",
    choices: tuple[ChoiceNote, ...] = (), text: str = "", sets: int = 1, sets_word: str = "",
) -> StepNote:  # fmt: skip
    """Read one step from its compact tables.  Raises ValueError for a line it cannot read."""
    listed = tuple(bags.split())
    return StepNote(
        number=number,
        title=title,
        bags=listed,
        minutes=minutes,
        lines=_lines(parts, listed[0]),
        operations=tuple(lines_of(operations)),
        before=tuple(_before(line) for line in lines_of(before)),
        joints=tuple(_joint(line) for line in lines_of(joints)),
        dimensions=tuple(_dimension(line) for line in lines_of(dimensions)),
        cautions=tuple(_caution(line) for line in lines_of(cautions)),
        choices=choices,
        text=" ".join(lines_of(text)),
        sets=sets,
        sets_word=sets_word,
        figure=tuple(lines_of(figure)),
    )
