"""Figures of steps: parts laid out along axes, painted, and named by leaders.

A figure is written in lines:

* ``x: ~gbox[2.3] T101 4*cap3x12/q40x30`` - a run along x; items from far to near.  The item marked
  ``=`` (else the largest) is the base: screws on either side point towards it;
* ``z@T101: @ 2*bb8x16x5`` - a run through an item already laid out (``@`` stands for it;
  ``z@T101#2`` takes its second place, ``z@T101+0,5,0`` shifts the run);
* ``_20`` after an item leaves 20 mm more room after it;
* ``--`` begins a group of its own below or beside the first;
* ``size T341 T342 = 112.0`` - a dimension line between the middles of two items.

An item is ``[n*]key[/pattern][^axis][>|<][!][=]``: so many of a key of the catalogue;
``/q40x30`` at the corners of a rectangle, ``/r24`` on a circle, ``/u50`` or ``/v50`` in a row
across the axis, ``/o5,10`` shifted; ``^z`` turned to another axis; ``>`` or ``<`` its tip along
or against the axis; ``!`` only once though the figure is made several times.  ``~key[2.3]`` is
something fitted before (grey), from step 2.3.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from PIL import ImageFont

from .shapes import box_of, solids_of
from .solids import AXES, COS, Box, Point, Solid, Space, at_axis, flat, plus

WIDTH = 760
OVER = 2
HEAD = 92
MARGIN = 26
FIRST, SECOND = 27, 22

_ITEM = re.compile(
    r"^(?:(\d+)\*)?(~?[A-Za-z0-9.]+)(?:\[([^\]]*)\])?((?:/[a-z][0-9x.,-]+)*)(?:\^([xyz]))?([<>]?)"
    r"(!?)(=?)$"
)
_RUN = re.compile(
    r"^([xyz])(?:@(~?[A-Za-z0-9.]+)(?:#(\d))?)?"
    r"(?:\+(-?[\d.]+),(-?[\d.]+),(-?[\d.]+))?: (.+)$"
)


@dataclass(frozen=True)
class Look:
    """What a drawing needs to know of a part."""

    shape: str
    material: str
    first: str
    second: str
    hardware: bool


@dataclass
class Item:
    """One token of a run, laid out: its solids, and where leaders may point."""

    key: str
    count: int
    once: bool
    faint: bool
    label: str
    places: list[list[Solid]]
    middle: Space
    box: Box
    group: int
    tips: list[Space] = field(default_factory=list)
    axis: str = "x"


@dataclass
class Scene:
    """Everything of one figure in model space."""

    items: list[Item] = field(default_factory=list)
    lines: list[tuple[int, Space, Space]] = field(default_factory=list)
    sizes: list[tuple[str, str, str]] = field(default_factory=list)
    groups: int = 1

    def drawn(self, sets: int) -> Counter[str]:
        """How many of each key the figure shows, sets counted."""
        out: Counter[str] = Counter()
        for item in self.items:
            if not item.faint:
                out[item.key] += item.count * (1 if item.once else sets)
        return out


def font(size: int) -> ImageFont.FreeTypeFont:
    """Pillow's own outline font, so that every machine draws the same letters."""
    if size not in _FONTS:
        made = ImageFont.load_default(size)
        assert isinstance(made, ImageFont.FreeTypeFont), "Pillow was built without FreeType."
        _FONTS[size] = made
    return _FONTS[size]


_FONTS: dict[int, ImageFont.FreeTypeFont] = {}


def _offsets(pattern: str, count: int) -> list[Point]:
    """Places across the axis for ``count`` items of one token."""
    kind, rest = pattern[1], pattern[2:]
    if kind == "q":
        w, _, h = rest.partition("x")
        corners = [(a * float(w) / 2, b * float(h) / 2) for a in (-1, 1) for b in (-1, 1)]
        if count == 6:
            corners += [(0, -float(h) / 2), (0, float(h) / 2)]
        return corners[:count]
    if kind == "r":
        r = float(rest)
        turns = [2 * math.pi * (k + 0.5) / count for k in range(count)]
        return [(r * math.cos(t), r * math.sin(t)) for t in turns]
    if kind == "o":
        u, _, v = rest.partition(",")
        return [(float(u), float(v))] * count
    span = float(rest)
    spread = [span * (k / (count - 1) - 0.5) if count > 1 else 0.0 for k in range(count)]
    return [(s, 0.0) if kind == "u" else (0.0, s) for s in spread]


@dataclass
class _Token:
    key: str
    count: int
    label: str
    patterns: list[str]
    axis: str
    sign: int
    once: bool
    base: bool
    solids: list[Solid] = field(default_factory=list)
    span: float = 0
    across: float = 0
    room: float = 0


class FigureMaker:
    """Lays figures out.  ``look`` answers for a key of the catalogue or of things fitted before."""

    def __init__(self, look: Callable[[str], Look]) -> None:
        self.look = look

    def scene(self, lines: Iterable[str]) -> Scene:
        """Scene of a figure's lines.  Raises ValueError for a line it cannot read."""
        lines = list(lines)
        scene = Scene()
        grow = self._grow(lines)
        group = 0
        for line in lines:
            if line.startswith("--"):
                group += 1
                scene.groups = group + 1
            elif line.startswith("size "):
                pair, _, text = line[5:].partition(" = ")
                first, last = pair.split()
                scene.sizes.append((first, last, text))
            elif line.startswith("grow "):
                continue
            else:
                self._run(scene, line, group, grow)
        return scene

    def _grow(self, lines: list[str]) -> float:
        """Enlargement of hardware: the larger the parts around it, the more."""
        said = [float(line[5:]) for line in lines if line.startswith("grow ")]
        if said:
            return said[0]
        largest = 30.0
        for line in lines:
            for word in line.split() if line[:1] in "xyz" else ():
                found = _ITEM.match(word)
                if found and (word[0].isdigit() or word[0] in "~T"):
                    look = self.look(found[2])
                    if not look.hardware:
                        low, high = box_of(solids_of(look.shape, "x", 1, look.material))
                        largest = max(largest, *(high[k] - low[k] for k in range(3)))
        return min(2.0, max(1.0, math.pow(largest / 75, 0.7)))

    def _tokens(self, text: str, axis: str) -> list[_Token | None]:
        out: list[_Token | None] = []
        for word in text.split():
            if word == "@":
                out.append(None)
                continue
            if word.startswith("_"):
                last = out[-1]
                if last is None:
                    raise ValueError(f"{word!r} follows an item, not @.")
                last.room = float(word[1:])
                continue
            found = _ITEM.match(word)
            if found is None:
                raise ValueError(f"Cannot read the item {word!r} of a figure.")
            count, key, label, patterns, own, sign, once, base = found.groups()
            out.append(
                _Token(key, int(count or 1), label or "", re.findall(r"/[^/]+", patterns),
                       own or axis, {">": 1, "<": -1, "": 0}[sign], bool(once), bool(base))
            )  # fmt: skip
        return out

    def _run(self, scene: Scene, line: str, group: int, grow: float) -> None:
        found = _RUN.match(line)
        if found is None:
            raise ValueError(f"Cannot read the run {line!r} of a figure.")
        axis, cross, nth, *shift, text = found.groups()
        origin = (0.0, 0.0, 0.0)
        if shift[0]:
            origin = (float(shift[0]), float(shift[1]), float(shift[2]))
        tokens = self._tokens(text, axis)
        held: Item | None = None
        if cross:
            same = [i for i in scene.items if i.key == cross and i.group == group]
            if len(same) < int(nth or 1):
                raise ValueError(f"{line!r}: {cross} has not been laid out.")
            held = same[int(nth or 0) - 1]
            origin = plus(held.middle, origin)
        self._measure(tokens, axis, grow)
        base = self._base(tokens)
        for place, token in enumerate(tokens):
            if token is not None and token.sign == 0:
                token.sign = 1 if place < base or base < 0 else -1
                look = self.look(token.key)
                if not look.hardware:
                    token.sign = 1
                token.solids = solids_of(look.shape, token.axis, token.sign, look.material,
                                         grow if look.hardware else 1)  # fmt: skip
        self._place(scene, tokens, axis, origin, group, held, grow)

    def _measure(self, tokens: list[_Token | None], axis: str, grow: float) -> None:
        for token in tokens:
            if token is None:
                continue
            look = self.look(token.key)
            token.solids = solids_of(look.shape, token.axis, token.sign or 1, look.material,
                                     grow if look.hardware else 1)  # fmt: skip
            low, high = box_of(token.solids)
            along, u, v = AXES[axis]
            token.span = high[along] - low[along]
            token.across = max(high[u] - low[u], high[v] - low[v])

    def _base(self, tokens: list[_Token | None]) -> int:
        for place, token in enumerate(tokens):
            if token is None or token.base:
                return place
        sizes = [token.across * (not self.look(token.key).hardware) for token in tokens if token]
        return sizes.index(max(sizes)) if any(sizes) else -1

    def _place(self, scene: Scene, tokens: list[_Token | None], axis: str, origin: Space,
               group: int, held: Item | None, grow: float) -> None:  # fmt: skip
        along = AXES[axis][0]
        spans: list[tuple[float, float]] = []
        cursor, before, room = 0.0, 0.0, 0.0
        for token in tokens:
            if token is None:
                assert held is not None
                span = held.box[1][along] - held.box[0][along]
                across = max(held.box[1][k] - held.box[0][k] for k in range(3) if k != along)
            else:
                span, across = token.span, token.across
                if token.count > 1 and not token.patterns:
                    span = token.span * token.count + self._inner(token) * (token.count - 1)
            if spans:
                cursor += self._gap(before, across, grow) + room
            room = token.room if token else 0.0
            spans.append((cursor, cursor + span))
            cursor += span
            before = across
        anchor = next((k for k, t in enumerate(tokens) if t is None), -1)
        zero = (spans[0][0] + spans[-1][1]) / 2 if anchor < 0 else sum(spans[anchor]) / 2
        for token, (start, stop) in zip(tokens, spans, strict=True):
            if token is not None:
                self._lay(scene, token, axis, origin, start - zero, stop - zero, group)
        straight = [
            span for token, span in zip(tokens, spans, strict=True)
            if token is None or not token.patterns
        ]  # fmt: skip
        if len(straight) > 1:
            ends = straight[0][0] - zero - 4, straight[-1][1] - zero + 4
            first, last = (plus(origin, at_axis(axis, end, 0, 0)) for end in ends)
            scene.lines.append((group, first, last))

    @staticmethod
    def _inner(token: _Token) -> float:
        return 0.28 * token.across + 1

    @staticmethod
    def _gap(before: float, across: float, grow: float) -> float:
        """Room between neighbours: a larger thing in front would hide a smaller one behind."""
        if across > before:
            return 0.17 * (before + across) + 3.5 * grow
        return 0.3 * across + 0.04 * before + 3.5 * grow

    def _lay(self, scene: Scene, token: _Token, axis: str, origin: Space, start: float,
             stop: float, group: int) -> None:  # fmt: skip
        low, high = box_of(token.solids)
        along = AXES[axis][0]
        mid = (low[along] + high[along]) / 2
        places: list[Space] = []
        if token.patterns:
            offsets = [(0.0, 0.0)]
            for pattern in token.patterns:
                if pattern[1] == "o" and len(token.patterns) > 1:
                    (du, dv), *_ = _offsets(pattern, 1)
                    offsets = [(u + du, v + dv) for u, v in offsets]
                else:
                    offsets = _offsets(pattern, token.count)
            for u, v in offsets:
                places.append(plus(origin, at_axis(axis, (start + stop) / 2 - mid, u, v)))
        else:
            step = token.span + self._inner(token)
            for k in range(token.count):
                centre = start + token.span / 2 + k * step
                places.append(plus(origin, at_axis(axis, centre - mid, 0, 0)))
        laid = [[solid.moved(place) for solid in token.solids] for place in places]
        box = box_of([solid for solids in laid for solid in solids])
        middle = plus(origin, at_axis(axis, (start + stop) / 2, 0, 0))
        faint = token.key.startswith("~")
        scene.items.append(
            Item(token.key, token.count, token.once, faint, token.label, laid, middle, box, group,
                 [_middle(box_of(solids)) for solids in laid], token.axis)
        )  # fmt: skip
        if token.patterns and not faint:
            reach = 0.5 * (stop - start) + 0.16 * token.across + 10
            sign = 1 if (start + stop) / 2 < 0 else -1
            for place in places:
                tip = plus(place, at_axis(axis, sign * reach, 0, 0))
                scene.lines.append((group, place, tip))


def _middle(box: Box) -> Space:
    low, high = box
    return (low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2


Rect = tuple[float, float, float, float]


def rect_of(box: Box) -> Rect:
    """The rectangle on paper that a box in space fills: left, top, right, bottom."""
    low, high = box
    points = [
        flat((x, y, z))
        for x in (low[0], high[0])
        for y in (low[1], high[1])
        for z in (low[2], high[2])
    ]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def around(rects: Iterable[Rect]) -> Rect:
    """The rectangle around several."""
    lefts, tops, rights, bottoms = zip(*rects, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def bounds(items: Iterable[Item]) -> Rect:
    """The rectangle on paper around the items."""
    return around(rect for item in items for rect in _rects(item))


def _rects(item: Item) -> list[Rect]:
    return [rect_of(box_of(solids)) for solids in item.places]


def arrange(scene: Scene, wide: float, high: float) -> None:
    """Move the groups of a figure apart, below or beside one another, whichever lets the figure
    be drawn larger in ``wide`` x ``high``; runs on a slant nest into each other's corners."""
    if scene.groups == 1:
        return
    groups = [
        [rect for item in scene.items if item.group == g for rect in _rects(item)]
        for g in range(scene.groups)
    ]
    best: tuple[float, list[Point]] | None = None
    for beside in (False, True):
        moves = _moves(groups, beside)
        moved = [
            (a + du, b + dv, c + du, d + dv)
            for rects, (du, dv) in zip(groups, moves, strict=True)
            for a, b, c, d in rects
        ]
        left, top, right, bottom = around(moved)
        scale = min(wide / (right - left), high / (bottom - top))
        if best is None or scale > best[0]:
            best = scale, moves
    assert best is not None
    for group, (du, dv) in enumerate(best[1]):
        # A shift on the paper without change of depth: along x - y, and along z.
        along = du / (2 * COS)
        _shift(scene, group, (along, -along, -dv))


def _moves(groups: list[list[Rect]], beside: bool) -> list[Point]:
    """How far each group is moved on paper so that none lies on another."""
    outer = [around(rects) for rects in groups]
    gap = 0.13 * max(max(r[2] - r[0], r[3] - r[1]) for r in outer)
    moves: list[Point] = []
    laid: list[Rect] = []
    for rects, (left, top, right, bottom) in zip(groups, outer, strict=True):
        du, dv = -(left + right) / 2, -(top + bottom) / 2
        if beside:
            du += _clear([(b, a, d, c) for a, b, c, d in laid],
                         [(b + dv, a + du, d + dv, c + du) for a, b, c, d in rects], gap)
        else:
            dv += _clear(laid, [(a + du, b + dv, c + du, d + dv) for a, b, c, d in rects], gap)
        moves.append((du, dv))
        laid += [(a + du, b + dv, c + du, d + dv) for a, b, c, d in rects]
    return moves


def _clear(laid: list[Rect], rects: list[Rect], gap: float) -> float:
    """How far down ``rects`` have to go to clear those already laid."""
    downs = [
        old[3] + gap - new[1]
        for old in laid
        for new in rects
        if old[0] < new[2] + gap and new[0] < old[2] + gap
    ]
    return max(downs, default=0.0)


def _shift(scene: Scene, group: int, by: Space) -> None:
    for item in scene.items:
        if item.group == group:
            item.places = [[s.moved(by) for s in solids] for solids in item.places]
            item.box = plus(item.box[0], by), plus(item.box[1], by)
            item.middle = plus(item.middle, by)
            item.tips = [plus(tip, by) for tip in item.tips]
    scene.lines = [
        (g, plus(a, by), plus(b, by)) if g == group else (g, a, b) for g, a, b in scene.lines
    ]
