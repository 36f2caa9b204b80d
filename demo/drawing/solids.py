"""Solids of an isometric line drawing and how each is drawn.

Model space is in millimetres: x runs to the lower right of the picture, y to the lower left, z
up; the viewer looks from (+, +, +).  A solid knows its box and draws itself on a canvas,
hidden lines left out.  Standard isometric projection (ISO 5456-3), all three axes at one scale.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from PIL import ImageDraw

Point = tuple[float, float]
Space = tuple[float, float, float]
Box = tuple[Space, Space]

COS, SIN = math.cos(math.pi / 6), math.sin(math.pi / 6)
AXES = {"x": (0, 1, 2), "y": (1, 0, 2), "z": (2, 0, 1)}
INK, PAPER = 20, 255


def flat(p: Space) -> Point:
    """Projection on the picture, in millimetres, second coordinate downwards."""
    return (p[0] - p[1]) * COS, (p[0] + p[1]) * SIN - p[2]


def at_axis(axis: str, along: float, u: float, v: float) -> Space:
    """Point given by its place along an axis and the two directions across it."""
    out = [0.0, 0.0, 0.0]
    for index, value in zip(AXES[axis], (along, u, v), strict=True):
        out[index] = value
    return out[0], out[1], out[2]


def plus(a: Space, b: Space) -> Space:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def hull(points: Sequence[Point]) -> list[Point]:
    """Convex hull, Andrew's monotone chain."""
    ordered = sorted(set(points))

    def half(chain: Sequence[Point]) -> list[Point]:
        out: list[Point] = []
        for p in chain:
            while len(out) > 1 and (
                (out[-1][0] - out[-2][0]) * (p[1] - out[-2][1])
                <= (out[-1][1] - out[-2][1]) * (p[0] - out[-2][0])
            ):
                out.pop()
            out.append(p)
        return out[:-1]

    return half(ordered) + half(ordered[::-1])


@dataclass
class Canvas:
    """Where solids draw: model millimetres to pixels, and the weight of lines.

    ``faint``: what is already on the car is drawn in grey without shading.  ``only``: paint
    everything in this one value, to find out later what can be seen.
    """

    draw: ImageDraw.ImageDraw
    scale: float
    origin: Point
    weight: float
    faint: bool = False
    only: int | None = None

    def px(self, p: Space) -> Point:
        x, y = flat(p)
        return x * self.scale + self.origin[0], y * self.scale + self.origin[1]

    def tone(self, value: float) -> int:
        if self.only is not None:
            return self.only
        return PAPER if self.faint else max(0, min(255, round(value)))

    @property
    def ink(self) -> int:
        if self.only is not None:
            return self.only
        return 140 if self.faint else INK

    def area(self, points: Sequence[Point], tone: float, weight: float = 1.0) -> None:
        """Filled outline; ``points`` in pixels."""
        self.draw.polygon(points, fill=self.tone(tone))
        self.path([*points, points[0]], weight)

    def path(self, points: Sequence[Point], weight: float = 1.0, tone: int | None = None) -> None:
        width = max(1, round(self.weight * weight * (0.7 if self.faint else 1)))
        self.draw.line(points, fill=self.ink if tone is None else tone, width=width, joint="curve")


class Solid(Protocol):
    """What every solid can do."""

    @property
    def box(self) -> Box: ...
    def moved(self, by: Space) -> Solid: ...
    def paint(self, canvas: Canvas) -> None: ...


def _circle(axis: str, centre: Space, radius: float, count: int = 36) -> list[Space]:
    return [
        plus(centre, at_axis(axis, 0, radius * math.cos(t), radius * math.sin(t)))
        for t in (2 * math.pi * k / count for k in range(count))
    ]


@dataclass(frozen=True)
class Turned:
    """A cylinder or cone along ``axis`` from ``start``; ``r0`` at its start, ``r1`` at its end.

    ``bore``: radius of a hole seen in the near face.  ``thread``: lines across it this far apart.
    ``socket``: radius of a hexagon socket in the near face.
    """

    axis: str
    start: Space
    length: float
    r0: float
    r1: float
    tone: float = 250
    bore: float = 0
    thread: float = 0
    socket: float = 0
    ribs: int = 0

    @property
    def box(self) -> Box:
        r = max(self.r0, self.r1)
        return (
            plus(self.start, at_axis(self.axis, 0, -r, -r)),
            plus(self.start, at_axis(self.axis, self.length, r, r)),
        )

    def moved(self, by: Space) -> Turned:
        return replace(self, start=plus(self.start, by))

    def paint(self, canvas: Canvas) -> None:
        end = plus(self.start, at_axis(self.axis, self.length, 0, 0))
        back = [canvas.px(p) for p in _circle(self.axis, self.start, self.r0)]
        near = [canvas.px(p) for p in _circle(self.axis, end, self.r1)]
        canvas.area(hull(back + near), self.tone * 0.93)
        if self.thread:
            self._lines(canvas, self.thread, 0.5)
        if self.ribs:
            self._ribs(canvas)
        canvas.area(near, self.tone, 0.7)
        if self.bore:
            self._hole(canvas, end)
        if self.socket:
            corners = [
                canvas.px(plus(end, at_axis(self.axis, 0, self.socket * math.cos(t),
                                            self.socket * math.sin(t))))
                for t in (math.pi * k / 3 for k in range(6))
            ]  # fmt: skip
            canvas.area(corners, 70, 0.5)

    def _hole(self, canvas: Canvas, end: Space) -> None:
        canvas.area([canvas.px(p) for p in _circle(self.axis, end, self.bore)], 120, 0.7)

    def _lines(self, canvas: Canvas, pitch: float, weight: float) -> None:
        for k in range(1, int(self.length / pitch)):
            share = k * pitch / self.length
            centre = plus(self.start, at_axis(self.axis, k * pitch, 0, 0))
            ring = _circle(self.axis, centre, self.r0 + (self.r1 - self.r0) * share, 24)
            seen = [p for p in ring if sum(p) - sum(centre) >= -1e-6]
            seen.sort(key=lambda p: flat(p)[0] * COS + flat(p)[1] * SIN
                      if self.axis == "y" else flat(p)[0] - flat(p)[1])  # fmt: skip
            canvas.path([canvas.px(p) for p in seen], weight)

    def _ribs(self, canvas: Canvas) -> None:
        for k in range(self.ribs):
            t = 2 * math.pi * k / self.ribs
            u, v = math.cos(t), math.sin(t)
            if u + v > 0.1:
                ends = (at_axis(self.axis, 0, self.r0 * u, self.r0 * v),
                        at_axis(self.axis, self.length, self.r1 * u, self.r1 * v))  # fmt: skip
                canvas.path([canvas.px(plus(self.start, e)) for e in ends], 0.5)


@dataclass(frozen=True)
class Plate:
    """An outline (u, v) across ``axis``, ``thick`` deep, with round holes (u, v, radius)."""

    axis: str
    start: Space
    thick: float
    outline: tuple[Point, ...]
    holes: tuple[tuple[float, float, float], ...] = ()
    tone: float = 250
    edges: bool = True

    @property
    def box(self) -> Box:
        us, vs = [p[0] for p in self.outline], [p[1] for p in self.outline]
        return (
            plus(self.start, at_axis(self.axis, 0, min(us), min(vs))),
            plus(self.start, at_axis(self.axis, self.thick, max(us), max(vs))),
        )

    def moved(self, by: Space) -> Plate:
        return replace(self, start=plus(self.start, by))

    def paint(self, canvas: Canvas) -> None:
        outline = list(self.outline)
        turn = sum(a[0] * b[1] - b[0] * a[1] for a, b in _pairs(outline))
        if turn < 0:
            outline.reverse()
        shade = {"x": (0.82, 1.0), "y": (0.82, 1.0), "z": (0.92, 0.8)}[self.axis]
        sides = []
        for a, b in _pairs(outline):
            out_u, out_v = b[1] - a[1], a[0] - b[0]
            size = math.hypot(out_u, out_v)
            if size and out_u + out_v > 1e-9:
                near = at_axis(self.axis, 0, *a), at_axis(self.axis, 0, *b)
                share = out_u / size if out_u > 0 else 0
                sides.append(
                    (sum(near[0]) + sum(near[1]), near, shade[0] * share + shade[1] * (1 - share))
                )
        sides.sort(key=lambda side: side[0])
        deep = at_axis(self.axis, self.thick, 0, 0)
        for _, (a3, b3), light in sides:
            corners = [a3, b3, plus(b3, deep), plus(a3, deep)]
            points = [canvas.px(plus(self.start, p)) for p in corners]
            canvas.draw.polygon(points, fill=canvas.tone(self.tone * light))
            canvas.path([points[3], points[0], points[1], points[2]] if self.edges
                        else [points[0], points[1]], 0.9)  # fmt: skip
        face = [canvas.px(plus(self.start, at_axis(self.axis, self.thick, *p))) for p in outline]
        canvas.area(face, self.tone * (1.0 if self.axis == "z" else 0.95))
        for u, v, radius in self.holes:
            centre = plus(self.start, at_axis(self.axis, self.thick, u, v))
            canvas.area([canvas.px(p) for p in _circle(self.axis, centre, radius, 24)], 120, 0.6)


def _pairs(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(zip(points, [*points[1:], points[0]], strict=True))


@dataclass(frozen=True)
class Ball:
    """A ball; drawn as its outline with a small highlight."""

    centre: Space
    radius: float
    tone: float = 245
    bore: float = 0
    bore_axis: str = "z"

    @property
    def box(self) -> Box:
        r = self.radius
        return plus(self.centre, (-r, -r, -r)), plus(self.centre, (r, r, r))

    def moved(self, by: Space) -> Ball:
        return replace(self, centre=plus(self.centre, by))

    def paint(self, canvas: Canvas) -> None:
        x, y = canvas.px(self.centre)
        # In isometric projection along equal axes a ball is sqrt(3/2) its radius on paper.
        r = self.radius * canvas.scale * math.sqrt(1.5)
        ring = [(x + r * math.cos(t), y + r * math.sin(t))
                for t in (2 * math.pi * k / 32 for k in range(32))]  # fmt: skip
        canvas.area(ring, self.tone)
        if self.bore:
            shift = at_axis(self.bore_axis, self.radius * 0.8, 0, 0)
            hole = _circle(self.bore_axis, plus(self.centre, shift), self.bore, 24)
            canvas.area([canvas.px(p) for p in hole], 120, 0.6)
        else:
            arc = [(x + 0.6 * r * math.cos(t), y + 0.6 * r * math.sin(t))
                   for t in (math.pi * (1.05 + 0.45 * k / 8) for k in range(9))]  # fmt: skip
            canvas.path(arc, 0.5)


@dataclass(frozen=True)
class Wire:
    """A round bar along a path: springs, anti-roll bars, rods, lines, clips; ``radius`` in mm."""

    points: tuple[Space, ...]
    radius: float
    tone: float = 235

    @property
    def box(self) -> Box:
        r = self.radius
        low, high = ([f(p[k] for p in self.points) for k in range(3)] for f in (min, max))
        return ((low[0] - r, low[1] - r, low[2] - r), (high[0] + r, high[1] + r, high[2] + r))

    def moved(self, by: Space) -> Wire:
        return replace(self, points=tuple(plus(p, by) for p in self.points))

    def paint(self, canvas: Canvas) -> None:
        wide = max(2.2 * self.radius * canvas.scale, 3 * canvas.weight)
        # A coil's near strands must cross over its far ones: draw in stretches, far ones first.
        pieces = [self.points[k : k + 5] for k in range(0, len(self.points) - 1, 4)]
        if len(pieces) > 3:
            pieces.sort(key=lambda piece: sum(map(sum, piece)) / len(piece))
        for piece in pieces:
            line = [canvas.px(p) for p in piece]
            canvas.draw.line(line, fill=canvas.ink, width=round(wide), joint="curve")
            inner = max(1, round(wide - 1.7 * canvas.weight))
            start, end = line[0], line[-1]
            trimmed = [_toward(start, line[1], -1), *line[1:-1], _toward(end, line[-2], -1)]
            canvas.draw.line(trimmed, fill=canvas.tone(self.tone), width=inner, joint="curve")


def _toward(a: Point, b: Point, by: float) -> Point:
    size = math.dist(a, b) or 1
    return a[0] + (b[0] - a[0]) * by / size, a[1] + (b[1] - a[1]) * by / size


@dataclass(frozen=True)
class Shell:
    """Flat faces in space, drawn far ones first: bodies, ramps, boxes with slanted sides."""

    faces: tuple[tuple[Space, ...], ...]
    tone: float = 245

    @property
    def box(self) -> Box:
        every = [p for face in self.faces for p in face]
        low, high = ([f(p[k] for p in every) for k in range(3)] for f in (min, max))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    def moved(self, by: Space) -> Shell:
        return replace(self, faces=tuple(tuple(plus(p, by) for p in f) for f in self.faces))

    def paint(self, canvas: Canvas) -> None:
        drawn = []
        for face in self.faces:
            a, b, c = face[0], face[1], face[2]
            ab = [b[k] - a[k] for k in range(3)]
            ac = [c[k] - a[k] for k in range(3)]
            n = [ab[1] * ac[2] - ab[2] * ac[1], ab[2] * ac[0] - ab[0] * ac[2],
                 ab[0] * ac[1] - ab[1] * ac[0]]  # fmt: skip
            size = math.hypot(*n) or 1
            if sum(n) / size > 0.01:
                light = 0.8 + 0.2 * max(0.0, n[2] / size) + 0.06 * n[1] / size
                drawn.append((sum(map(sum, face)) / len(face), face, light))
        for _, face, light in sorted(drawn, key=lambda item: item[0]):
            canvas.area([canvas.px(p) for p in face], self.tone * min(light, 1))


def far_to_near(boxes: Sequence[Box]) -> list[int]:
    """Order in which to paint things with these boxes, far ones first.

    Two boxes that an axis parts are ordered by it; the rest by the depth of their middles.
    """
    middles = [round(sum(lo) + sum(hi), 3) for lo, hi in boxes]
    behind: list[set[int]] = [set() for _ in boxes]
    for a, (alo, ahi) in enumerate(boxes):
        for b, (blo, bhi) in enumerate(boxes):
            if a == b:
                continue
            before = any(ahi[k] <= blo[k] + 0.01 for k in range(3))
            after = any(bhi[k] <= alo[k] + 0.01 for k in range(3))
            if before and not after:
                behind[b].add(a)
    left, out = set(range(len(boxes))), []
    while left:
        free = [k for k in left if not behind[k] & left] or list(left)
        pick = min(free, key=lambda k: (middles[k], k))
        out.append(pick)
        left.remove(pick)
    return out
