"""Shapes of parts, written in one line each and made into solids.

``"turn 8:6 19:4 bore=5"`` is a turned part, radius 8 for 6 mm, then radius 19 for 4 mm, with a
hole.  Several shapes joined by ``&`` make one part; ``at=a,u,v`` shifts a piece (along its axis
and across it), ``on=z`` fixes its axis in space (then ``at`` is x, y, z).  All lengths are
millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from .outlines import OUTLINES
from .solids import AXES, Ball, Box, Plate, Point, Shell, Solid, Space, Turned, Wire, at_axis, plus

#: Grey of the lightest face, by material.
TONES = {"steel": 252, "aluminium": 244, "brass": 238, "nylon": 205, "acetal": 222,
         "rubber": 150, "polycarbonate": 250, "foam": 185, "carbon": 190,
         "silicone": 205, "felt": 180, "paper": 250}  # fmt: skip

#: Widths of socket heads and keys by thread: head radius, head height, key width (ISO 4762,
#: ISO 7380-1, ISO 10642), nut width and height (ISO 4032).
HEADS = {
    2.5: ((2.25, 2.5, 2.0), (2.35, 1.4, 1.5), (2.4, 1.5, 1.5), (5.0, 2.0)),
    3.0: ((2.75, 3.0, 2.5), (2.85, 1.65, 2.0), (3.0, 1.9, 2.0), (5.5, 2.4)),
    4.0: ((3.5, 4.0, 3.0), (3.8, 2.2, 2.5), (4.0, 2.5, 2.5), (7.0, 3.2)),
    5.0: ((4.25, 5.0, 4.0), (4.75, 2.75, 3.0), (5.0, 3.1, 3.0), (8.0, 4.7)),
    6.0: ((5.0, 6.0, 5.0), (5.25, 3.3, 4.0), (6.0, 3.7, 4.0), (10.0, 5.2)),
    8.0: ((6.5, 8.0, 6.0), (7.0, 4.4, 5.0), (8.0, 5.0, 5.0), (13.0, 6.8)),
}
BUTTON, SUNK = 1, 2


@dataclass
class Shape:
    """One piece as it was written: its words, numbers and settings."""

    axis: str
    sign: int
    tone: float
    words: list[str]
    kw: dict[str, str] = field(default_factory=dict)
    grow: float = 1.0

    def number(self, place: int) -> float:
        return float(self.words[place])

    def setting(self, name: str, otherwise: float = 0.0) -> float:
        return float(self.kw.get(name, otherwise))


def solids_of(spec: str, axis: str, sign: int, material: str, grow: float = 1.0) -> list[Solid]:
    """Solids of a part round the origin; ``sign`` -1 turns it end for end along its axis.

    ``grow`` enlarges small hardware so that it can be told apart.  Raises KeyError for a shape
    that is not known.
    """
    solids: list[Solid] = []
    for piece in spec.split("&"):
        words = piece.split()
        kw = dict(word.split("=", 1) for word in words[1:] if "=" in word)
        plain = [word for word in words[1:] if "=" not in word]
        own = kw.get("on", axis)
        tone = TONES[kw.get("tone", material)]
        made = SHAPES[words[0]](Shape(own, 1 if "on" in kw else sign, tone, plain, kw, grow))
        if "at" in kw:
            a, b, c = (float(value) for value in kw["at"].split(","))
            shift = (a, b, c) if "on" in kw else at_axis(axis, a * sign, b, c)
            made = [solid.moved(shift) for solid in made]
        solids += made
    return solids


def box_of(solids: list[Solid]) -> Box:
    """The box around several solids."""
    boxes = [solid.box for solid in solids]
    low = [min(box[0][k] for box in boxes) for k in range(3)]
    high = [max(box[1][k] for box in boxes) for k in range(3)]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _stack(s: Shape, parts: list[Turned]) -> list[Solid]:
    """Lay pieces end to end, centred; sign -1 reverses their order and tapers."""
    total = sum(part.length for part in parts)
    out: list[Solid] = []
    along = -total / 2
    for part in parts if s.sign > 0 else parts[::-1]:
        r0, r1 = (part.r0, part.r1) if s.sign > 0 else (part.r1, part.r0)
        out.append(
            Turned(part.axis, at_axis(s.axis, along, 0, 0), part.length, r0, r1, part.tone,
                   part.bore, part.thread, part.socket, part.ribs)
        )  # fmt: skip
        along += part.length
    return out


def _turned(s: Shape, length: float, r0: float, r1: float | None = None, **more: float) -> Turned:
    return Turned(s.axis, (0, 0, 0), length, r0, r0 if r1 is None else r1,
                  more.get("tone", s.tone), more.get("bore", 0), more.get("thread", 0),
                  more.get("socket", 0), int(more.get("ribs", 0)))  # fmt: skip


def _turn(s: Shape) -> list[Solid]:
    parts = []
    tapered = any("-" in word for word in s.words)
    for word in s.words:
        radius, _, length = word.partition(":")
        r0, _, r1 = radius.partition("-")
        parts.append(
            _turned(s, float(length) * s.grow, float(r0) * s.grow, float(r1 or r0) * s.grow,
                    thread=s.setting("thread") * s.grow,
                    ribs=s.setting("ribs") if r1 or not tapered else 0)
        )  # fmt: skip
    stack = _stack(s, parts)
    bore = s.setting("bore") * s.grow
    if bore:
        last = stack[-1]
        assert isinstance(last, Turned)
        stack[-1] = Turned(last.axis, last.start, last.length, last.r0, last.r1, last.tone,
                           min(bore, last.r1 * 0.9), last.thread, 0, last.ribs)  # fmt: skip
    return stack


def _screw(kind: int) -> Callable[[Shape], list[Solid]]:
    def make(s: Shape) -> list[Solid]:
        d, length = s.number(0) * s.grow, s.number(1) * s.grow
        radius, height, key = (value * s.grow for value in HEADS[s.number(0)][kind])
        head = (
            _turned(s, height, radius, socket=key * 0.58)
            if kind == 0
            else _turned(s, height, radius * (0.72 if kind == BUTTON else 1),
                         radius if kind == BUTTON else d / 2, socket=key * 0.58)
        )  # fmt: skip
        shank = max(length - (height if kind == SUNK else 0), d / 2)
        return _stack(s, [head, _turned(s, shank, d / 2, thread=d * 0.33)])

    return make


def _set_screw(s: Shape) -> list[Solid]:
    d, length = s.number(0) * s.grow, s.number(1) * s.grow
    return _stack(s, [_turned(s, length, d / 2, thread=d * 0.33, socket=d * 0.3)])


def _hexagon(width: float) -> tuple[Point, ...]:
    r = width / math.sqrt(3)
    return tuple((r * math.cos(math.pi * k / 3), r * math.sin(math.pi * k / 3)) for k in range(6))


def _nut(s: Shape) -> list[Solid]:
    d = s.number(0)
    width, height = (value * s.grow for value in HEADS[d][3])
    collar = d * 0.4 * s.grow if "lock" in s.words else 0.0
    prism = Plate(s.axis, at_axis(s.axis, -height / 2 - (collar / 2 if s.sign > 0 else -collar / 2),
                                  0, 0), height, _hexagon(width),
                  ((0, 0, d / 2 * s.grow),), s.tone)  # fmt: skip
    if not collar:
        return [prism]
    start = height / 2 - collar / 2 if s.sign > 0 else -height / 2 - collar / 2
    ring = Turned(s.axis, at_axis(s.axis, start, 0, 0), collar, width * 0.42, width * 0.42,
                  170, d / 2 * s.grow)  # fmt: skip
    return [prism, ring] if s.sign > 0 else [ring, prism]


def _hex(s: Shape) -> list[Solid]:
    width, length = s.number(0) * s.grow, s.number(1) * s.grow
    bore = s.setting("bore") * s.grow
    holes = ((0.0, 0.0, bore),) if bore else ()
    return [Plate(s.axis, at_axis(s.axis, -length / 2, 0, 0), length, _hexagon(width), holes,
                  s.tone)]  # fmt: skip


def _ring(s: Shape) -> list[Solid]:
    outer, inner, length = (s.number(k) * s.grow for k in range(3))
    return _stack(s, [_turned(s, length, outer, bore=inner)])


def _bearing(s: Shape) -> list[Solid]:
    """Outer ring, shield and inner ring, of inner diameter, outer diameter, width."""
    inner, outer, width = (s.number(k) * s.grow for k in range(3))
    start = at_axis(s.axis, -width / 2, 0, 0)
    r_in, r_out = inner / 2, outer / 2
    gap = (r_out - r_in) / 4
    near = at_axis(s.axis, width / 2, 0, 0)
    last = at_axis(s.axis, width / 2 + 0.01, 0, 0)
    return [
        Turned(s.axis, start, width, r_out, r_out, 250),
        Turned(s.axis, near, 0.01, r_out - gap, r_out - gap, 195),
        Turned(s.axis, last, 0.01, r_in + gap, r_in + gap, 250, r_in),
    ]


def _gear(s: Shape) -> list[Solid]:
    teeth, radius, length = int(s.number(0)), s.number(1), s.number(2)
    depth = 2.25 * 2 * radius / (teeth + 2)
    outline = []
    for k in range(teeth):
        for share, r in ((0.0, radius - depth), (0.32, radius - depth), (0.5, radius),
                         (0.82, radius)):  # fmt: skip
            t = 2 * math.pi * (k + share) / teeth
            outline.append((r * math.cos(t), r * math.sin(t)))
    holes = _holes(s)
    return [Plate(s.axis, at_axis(s.axis, -length / 2, 0, 0), length, tuple(outline), holes,
                  s.tone, edges=teeth < 30)]  # fmt: skip


def _bevel(s: Shape) -> list[Solid]:
    teeth, radius, length = s.number(0), s.number(1) * s.grow, s.number(2) * s.grow
    bore = s.setting("bore")
    parts = [_turned(s, length * 0.45, radius * 0.55),
             _turned(s, length * 0.55, radius, radius * 0.62, ribs=teeth, bore=bore)]  # fmt: skip
    stack = _stack(s, parts)
    if s.sign < 0 and bore:
        last = stack[-1]
        assert isinstance(last, Turned)
        stack[-1] = Turned(last.axis, last.start, last.length, last.r0, last.r1, last.tone, bore)
    return stack


def _holes(s: Shape) -> tuple[tuple[float, float, float], ...]:
    """Holes: ``h4=60x40x2`` at the corners, ``h2=50x2`` along u,
    ``v4=80x50x2`` two pairs along v, ``hr=6x20x2`` on a circle, ``hc=5`` in the middle."""
    out: list[tuple[float, float, float]] = []
    if "h4" in s.kw:
        w, h, r = (float(v) for v in s.kw["h4"].split("x"))
        out += [(a * w / 2, b * h / 2, r) for a in (-1, 1) for b in (-1, 1)]
    if "h2" in s.kw:
        w, r = (float(v) for v in s.kw["h2"].split("x"))
        out += [(a * w / 2, 0, r) for a in (-1, 1)]
    if "v4" in s.kw:
        one, two, r = (float(v) for v in s.kw["v4"].split("x"))
        out += [(0, a * w / 2, r) for a in (-1, 1) for w in (one, two)]
    if "hr" in s.kw:
        n, ring, r = (float(v) for v in s.kw["hr"].split("x"))
        turns = [2 * math.pi * (k + 0.5) / n for k in range(int(n))]
        out += [(ring * math.cos(t), ring * math.sin(t), r) for t in turns]
    if "hc" in s.kw:
        out.append((0, 0, float(s.kw["hc"])))
    return tuple(out)


def rounded(w: float, h: float, r: float) -> tuple[Point, ...]:
    """Rectangle round the origin with rounded corners."""
    r = min(r, w / 2, h / 2)
    out = []
    for k, (cu, cv) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        for step in range(9):
            t = math.pi / 2 * (k + step / 8)
            out.append((cu * (w / 2 - r) + r * math.cos(t), cv * (h / 2 - r) + r * math.sin(t)))
    return tuple(out)


def _plate(s: Shape) -> list[Solid]:
    w, h, t = (s.number(k) for k in range(3))
    return [Plate(s.axis, at_axis(s.axis, -t / 2, 0, 0), t, rounded(w, h, s.setting("round", 4)),
                  _holes(s), s.tone, edges=False)]  # fmt: skip


def _outline(s: Shape) -> list[Solid]:
    points, holes = OUTLINES[s.words[0]]
    t = s.number(1)
    flip = s.setting("mirror", 1)
    size = s.setting("size", 1)
    return [Plate(s.axis, at_axis(s.axis, -t / 2, 0, 0), t,
                  tuple((u * size, v * flip * size) for u, v in points),
                  tuple((u * size, v * flip * size, r) for u, v, r in holes), s.tone)]  # fmt: skip


def _box(s: Shape) -> list[Solid]:
    long, w, h = (s.number(k) for k in range(3))
    outline = ((w / 2, h / 2), (-w / 2, h / 2), (-w / 2, -h / 2), (w / 2, -h / 2))
    return [Plate(s.axis, at_axis(s.axis, -long / 2, 0, 0), long, outline, _holes(s), s.tone)]


def _spring(s: Shape) -> list[Solid]:
    radius, wire, length, turns = (s.number(k) for k in range(4))
    count = int(turns * 20)
    points = tuple(
        at_axis(s.axis, -length / 2 + length * k / count,
                radius * math.cos(2 * math.pi * k / 20), radius * math.sin(2 * math.pi * k / 20))
        for k in range(count + 1)
    )  # fmt: skip
    return [Wire(points, wire, s.tone)]


def _wire(s: Shape) -> list[Solid]:
    """``wire 2 0,0,0 10,0,0 …``: radius, then points as along, u, v."""
    points = []
    for word in s.words[1:]:
        a, b, c = (float(v) for v in word.split(","))
        points.append((a, b, c) if "on" in s.kw else at_axis(s.axis, a, b, c))
    return [Wire(tuple(points), s.number(0) * s.grow, s.tone)]


def _ball(s: Shape) -> list[Solid]:
    return [Ball((0, 0, 0), s.number(0) * s.grow, s.tone, s.setting("bore") * s.grow,
                 s.kw.get("face", "z"))]  # fmt: skip


def _eye(s: Shape) -> list[Solid]:
    """Ball end of a link: eye with its ball, shank pointing along the axis."""
    r = s.number(0)
    face = s.kw.get("face", "z" if s.axis != "z" else "x")
    eye: list[Solid] = [
        Turned(face, at_axis(face, -r * 0.55, 0, 0), r * 1.1, r, r, s.tone, r * 0.62),
        Ball((0, 0, 0), r * 0.6, 250, r * 0.3, face),
    ]
    length = s.number(1)
    start = 0.9 * r if s.sign > 0 else -0.9 * r - length
    shank: list[Solid] = [
        Turned(s.axis, at_axis(s.axis, start, 0, 0), length, r * 0.55, r * 0.55, s.tone, 0)
    ]
    return shank + eye if s.sign < 0 else eye + shank


def _link(s: Shape) -> list[Solid]:
    """A threaded rod with a hexagon in its middle, thread at both ends."""
    length, r = s.number(0), s.number(1)
    side = length * 0.36
    rod = _stack(s, [_turned(s, side, r, thread=1.6), _turned(s, length - 2 * side, r * 1.5),
                     _turned(s, side, r, thread=1.6)])  # fmt: skip
    return rod


def _cross(s: Shape) -> list[Solid]:
    """Two pins crossing at right angles, both across the axis."""
    r, length = s.number(0), s.number(1)
    one, two = (("y", "z"), ("x", "z"), ("x", "y"))["xyz".index(s.axis)]
    return [Turned(a, at_axis(a, -length / 2, 0, 0), length, r, r, s.tone) for a in (one, two)] + [
        Ball((0, 0, 0), r * 1.6, s.tone)
    ]


def _prism(s: Shape) -> list[Solid]:
    """A body lofted between cross sections: ``prism x:halfwidth:bottom:top …`` along x, on=x."""
    cuts: list[tuple[Space, ...]] = []
    for word in s.words:
        x, half, low, high = (float(v) for v in word.split(":"))
        cuts.append(((x, -half, low), (x, half, low), (x, half * 0.82, high),
                     (x, -half * 0.82, high)))  # fmt: skip
    faces: list[tuple[Space, ...]] = [tuple(reversed(cuts[0])), cuts[-1]]
    for a, b in pairwise(cuts):
        for k in range(4):
            n = (k + 1) % 4
            faces.append((a[k], b[k], b[n], a[n])[::-1])
    faces = [_outward(face, cuts) for face in faces]
    return [Shell(tuple(faces), s.tone)]


def _outward(face: tuple[Space, ...], cuts: list[tuple[Space, ...]]) -> tuple[Space, ...]:
    every = [p for cut in cuts for p in cut]
    middle = [sum(p[k] for p in every) / len(every) for k in range(3)]
    a, b, c = face[0], face[1], face[2]
    ab = [b[k] - a[k] for k in range(3)]
    ac = [c[k] - a[k] for k in range(3)]
    n = (ab[1] * ac[2] - ab[2] * ac[1], ab[2] * ac[0] - ab[0] * ac[2],
         ab[0] * ac[1] - ab[1] * ac[0])  # fmt: skip
    toward = sum(n[k] * (sum(p[k] for p in face) / len(face) - middle[k]) for k in range(3))
    return face if toward >= 0 else face[::-1]


SHAPES: dict[str, Callable[[Shape], list[Solid]]] = {
    "turn": _turn, "cap": _screw(0), "btn": _screw(BUTTON), "csk": _screw(SUNK),
    "set": _set_screw, "nut": _nut, "hex": _hex, "ring": _ring, "bearing": _bearing,
    "gear": _gear, "bevel": _bevel, "plate": _plate, "outline": _outline, "box": _box,
    "spring": _spring, "wire": _wire, "ball": _ball, "eye": _eye, "link": _link,
    "cross": _cross, "prism": _prism,
}  # fmt: skip

__all__ = ["AXES", "box_of", "plus", "rounded", "solids_of"]
