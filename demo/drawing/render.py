"""From a scene to a picture: paint far to near, then find room for the leaders' labels."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from PIL import Image, ImageDraw

from .figure import (
    FIRST,
    HEAD,
    MARGIN,
    OVER,
    SECOND,
    WIDTH,
    FigureMaker,
    Item,
    Scene,
    arrange,
    bounds,
    font,
    rect_of,
)
from .shapes import box_of
from .solids import INK, PAPER, Canvas, Point, Solid, far_to_near

CELL = 8
GREY = 110
LOCK_WIDE = 62
LOCK_LEGEND = "lock = thread-locking liquid"


@dataclass
class Label:
    """Text of a leader and the spots it may point at, in pixels."""

    lines: tuple[str, ...]
    tips: list[Point]
    width: int
    height: int
    left: int = 0
    top: int = 0
    tip: Point = (0.0, 0.0)
    faint: bool = False
    lock: bool = False

    @property
    def box(self) -> tuple[int, int, int, int]:
        return self.left, self.top, self.left + self.width, self.top + self.height


def figure_picture(
    maker: FigureMaker, lines: tuple[str, ...], number: str, title: str, remark: str,
    counts: dict[str, int], locked: frozenset[str],
) -> Image.Image:  # fmt: skip
    """Greyscale picture, :data:`figure.WIDTH` px wide, of one step.

    ``counts``: pieces of each key that the step fits, said in the labels.  ``locked``: keys that
    go in with thread-locking liquid.  Raises ValueError if the labels find no room.
    """
    scene = maker.scene(lines)
    arrange(scene, 620, 560)
    labels = _labels(maker, scene, counts, locked)
    left, top, right, bottom = bounds(scene.items)
    foot = bool(remark or any(label.lock for label in labels))
    best: tuple[float, Image.Image, list[Label]] | None = None
    for shrink in range(9):
        size = 0.9**shrink
        scale = min(620 * size / (right - left), 540 * size / (bottom - top), 7.0)
        room = 60 + 34 * len(labels)
        high = int(HEAD + max(330, (bottom - top) * scale + room * (0.72 + 0.1 * shrink)))
        high = -(-min(high, 800) // CELL) * CELL
        origin = (
            WIDTH / 2 - (left + right) / 2 * scale,
            (HEAD + high - 8) / 2 - (top + bottom) / 2 * scale,
        )
        big = _paint(scene, (WIDTH, high), scale, origin)
        _aim(labels, scene, (WIDTH, high), scale, origin)
        muddle = _find_room(labels, big, high, foot)
        if muddle is not None and (best is None or muddle < best[0]):
            best = muddle, big, [replace(label) for label in labels]
        # Leaders that cross are worth a smaller drawing, but not much smaller.
        if best is not None and (best[0] == 0 or shrink >= 3):
            break
    if best is None:
        raise ValueError(f"No room for the labels of figure {number}.")
    _, big, labels = best
    # Cut the empty paper above and below away, keeping room for the head and the remark.
    drawn = big.reduce(OVER).point(lambda v: 0 if v > 250 else 255).getbbox()
    assert drawn is not None
    _, above, _, below = drawn
    above = min([above, *(label.top for label in labels)]) - HEAD - 14
    below = max([below, *(label.box[3] for label in labels)]) + 16 + (40 if foot else 0)
    picture = big.reduce(OVER).crop((0, above, WIDTH, below))
    high = below - above
    for label in labels:
        label.top, label.tip = label.top - above, (label.tip[0], label.tip[1] - above)
    draw = ImageDraw.Draw(picture)
    for label in labels:
        _leader(draw, label)
    for label in labels:
        _text(draw, label)
    _header(draw, number, title, remark, high)
    if any(label.lock for label in labels):
        draw.text((MARGIN, high - 36), LOCK_LEGEND, font=font(SECOND), fill=60)
    return picture


def _paint(scene: Scene, size: tuple[int, int], scale: float, origin: Point) -> Image.Image:
    big = Image.new("L", (size[0] * OVER, size[1] * OVER), PAPER)
    draw = ImageDraw.Draw(big)
    canvas = Canvas(draw, scale * OVER, (origin[0] * OVER, origin[1] * OVER), 2.1 * OVER)
    for _, a, b in scene.lines:
        _centre_line(draw, canvas.px(a), canvas.px(b))
    for item, solids in pieces_of(scene):
        canvas.faint = item.faint
        paint_piece(canvas, solids)
    for first, last, text in scene.sizes:
        _size_line(draw, canvas, scene, first, last, text)
    return big


def pieces_of(scene: Scene) -> list[tuple[Item, list[Solid]]]:
    """Every piece, far ones first.

    What is already on the car stays behind, so that it never hides what this step fits.
    """
    pieces = [(item, solids) for item in scene.items for solids in item.places]
    order = far_to_near([box_of(solids) for _, solids in pieces])
    return sorted((pieces[k] for k in order), key=lambda piece: not piece[0].faint)


def paint_piece(canvas: Canvas, solids: list[Solid]) -> None:
    for k in far_to_near([solid.box for solid in solids]) if len(solids) > 1 else [0]:
        solids[k].paint(canvas)


def _aim(
    labels: list[Label], scene: Scene, size: tuple[int, int], scale: float, origin: Point
) -> None:
    """Give each label the spots it may point at: on each piece of its key, where it is seen."""
    seen = Image.new("L", size, 0)
    canvas = Canvas(ImageDraw.Draw(seen), scale, origin, 1.0)
    tips: dict[str, list[Point]] = {item.key: [] for item in scene.items}
    pieces = pieces_of(scene)
    for number, (_, solids) in enumerate(pieces, 1):
        canvas.only = number
        paint_piece(canvas, solids)
    for number, (item, solids) in enumerate(pieces, 1):
        left, top, right, bottom = rect_of(box_of(solids))
        middle = (left + right) / 2 * scale + origin[0], (top + bottom) / 2 * scale + origin[1]
        reach = max(right - left, bottom - top) * scale / 2 + 4
        tip = _spot(seen, number, middle, reach)
        if tip:
            tips[item.key].append(tip)
    for label, (key, spots) in zip(labels, tips.items(), strict=True):
        if not spots:
            raise ValueError(f"{key} cannot be seen in the figure.")
        label.tips = spots


def _spot(seen: Image.Image, number: int, middle: Point, reach: float) -> Point | None:
    """The spot nearest the middle that shows piece ``number``, a little inside it if it can be."""
    wide, high = seen.size
    px = seen.load()
    assert px is not None
    for inside in (4, 2, 0):
        for ring in range(0, int(reach) + 1, 2):
            for dx, dy in _ring(ring):
                x, y = int(middle[0]) + dx, int(middle[1]) + dy
                if inside <= x < wide - inside and inside <= y < high - inside and all(
                    px[x + a, y + b] == number
                    for a, b in ((0, 0), (inside, 0), (-inside, 0), (0, inside), (0, -inside))
                ):
                    return x, y
    return None


def _ring(ring: int) -> list[tuple[int, int]]:
    """Spots on a square ring, two pixels apart."""
    if ring == 0:
        return [(0, 0)]
    side = range(-ring, ring + 1, 2)
    return [(k, s) for k in side for s in (-ring, ring)] + [
        (s, k) for k in side for s in (-ring, ring)
    ]


def _centre_line(draw: ImageDraw.ImageDraw, a: Point, b: Point) -> None:
    """Long dash, short dash (ISO 128: centre lines)."""
    total = math.dist(a, b)
    if total < 1:
        return
    ux, uy = (b[0] - a[0]) / total, (b[1] - a[1]) / total
    at, turn = 0.0, 0
    while at < total:
        dash = (22, 6)[turn % 2] * OVER
        stop = min(total, at + dash)
        draw.line((a[0] + ux * at, a[1] + uy * at, a[0] + ux * stop, a[1] + uy * stop),
                  fill=GREY, width=OVER)  # fmt: skip
        at, turn = stop + 6 * OVER, turn + 1


def _labels(
    maker: FigureMaker, scene: Scene, counts: dict[str, int], locked: frozenset[str]
) -> list[Label]:
    """One label for each key, whichever and however many items show it."""
    out: list[Label] = []
    seen: set[str] = set()
    for item in scene.items:
        if item.key in seen:
            continue
        seen.add(item.key)
        look = maker.look(item.key)
        if item.faint:
            lines: tuple[str, ...] = (look.first,)
            if item.label:
                lines = (look.first, f"from {item.label}")
        else:
            lines = (f"{counts[item.key]} x {look.first}", look.second)
        width = max(_width(lines[0], FIRST if not item.faint else SECOND),
                    *(_width(line, SECOND) for line in lines[1:]), 10)  # fmt: skip
        height = (FIRST if not item.faint else SECOND) + (SECOND + 3) * (len(lines) - 1) + 6
        lock = item.key in locked
        if lock:
            width = max(width, _width(lines[0], FIRST) + LOCK_WIDE)
        out.append(Label(lines, [], width + 8, height, faint=item.faint, lock=lock))
    return out


def _width(text: str, size: int) -> int:
    return math.ceil(font(size).getlength(text))


def _find_room(
    labels: list[Label], big: Image.Image, high: int, remark: bool
) -> float | None:
    """Place every label on free paper, near what it names.

    Gives how much the leaders cross one another and the labels (0: not at all), or None if a
    label finds no room.
    """
    cells = big.point(lambda v: 0 if v > 250 else 255).reduce(CELL * OVER)
    wide, tall = cells.size
    data = cells.tobytes()
    total = [[0] * (wide + 1) for _ in range(tall + 1)]
    for y in range(tall):
        run = 0
        for x in range(wide):
            taken = data[y * wide + x] > 0 or y * CELL < HEAD - 6
            taken = taken or (remark and y * CELL > high - 44)
            run += taken
            total[y + 1][x + 1] = total[y][x + 1] + run
    middle = WIDTH / 2, (HEAD + high) / 2
    placed: list[Label] = []
    muddle = 0.0
    for label in sorted(labels, key=lambda la: -max(math.dist(t, middle) for t in la.tips)):
        w, h = -(-label.width // CELL), -(-label.height // CELL)
        best: tuple[float, int, int, Point] | None = None
        for y in range(0, tall - h, 2):
            upper, lower = total[y], total[y + h]
            for x in range(1, wide - w - 1, 2):
                if lower[x + w + 1] - lower[x - 1] - upper[x + w + 1] + upper[x - 1]:
                    continue
                label.left, label.top = x * CELL, y * CELL
                tip, far = _nearest(label)
                if far < 10 or (best is not None and far >= best[0]):
                    continue
                if any(_overlap(label.box, other.box, 10) for other in placed):
                    continue
                cost = far + _crossings(label, tip, placed)
                if best is None or cost < best[0]:
                    best = (cost, label.left, label.top, tip)
        if best is None:
            return None
        _, label.left, label.top, label.tip = best
        muddle += _crossings(label, label.tip, placed)
        placed.append(label)
    return muddle


def _nearest(label: Label) -> tuple[Point, float]:
    left, top, right, bottom = label.box
    best, far = label.tips[0], math.inf
    for tip in label.tips:
        dx = max(left - tip[0], 0, tip[0] - right)
        dy = max(top - tip[1], 0, tip[1] - bottom)
        d = math.hypot(dx, dy)
        if d < far:
            best, far = tip, d
    return best, far


def _overlap(a: tuple[int, int, int, int], b: tuple[int, int, int, int], by: int) -> bool:
    return a[0] < b[2] + by and b[0] < a[2] + by and a[1] < b[3] + by and b[1] < a[3] + by


def _start(label: Label, tip: Point) -> Point:
    """Where a leader leaves its label: the middle of the side that faces the tip."""
    left, top, right, bottom = label.box
    if left - 4 <= tip[0] <= right + 4:
        return min(max(tip[0], left), right), (top if tip[1] < top else bottom)
    return (left - 3 if tip[0] < left else right + 1), min(max(tip[1], top + 8), bottom - 8)


def _crossings(label: Label, tip: Point, placed: list[Label]) -> float:
    cost = 0.0
    start = _start(label, tip)
    for other in placed:
        if _cross(start, tip, _start(other, other.tip), other.tip):
            cost += 600
        left, top, right, bottom = other.box
        for k in range(1, 9):
            x = start[0] + (tip[0] - start[0]) * k / 9
            y = start[1] + (tip[1] - start[1]) * k / 9
            if left - 3 < x < right + 3 and top - 3 < y < bottom + 3:
                cost += 700
                break
        begin = _start(other, other.tip)
        for k in range(1, 9):
            x = begin[0] + (other.tip[0] - begin[0]) * k / 9
            y = begin[1] + (other.tip[1] - begin[1]) * k / 9
            if label.left - 3 < x < label.box[2] + 3 and label.top - 3 < y < label.box[3] + 3:
                cost += 700
                break
    return cost


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def _leader(draw: ImageDraw.ImageDraw, label: Label) -> None:
    start, tip = _start(label, label.tip), label.tip
    tone = 140 if label.faint else INK
    draw.line((*start, *tip), fill=PAPER, width=5)
    draw.line((*start, *tip), fill=tone, width=2)
    draw.ellipse((tip[0] - 6, tip[1] - 6, tip[0] + 6, tip[1] + 6), fill=PAPER)
    draw.ellipse((tip[0] - 4, tip[1] - 4, tip[0] + 4, tip[1] + 4), fill=tone)


def _text(draw: ImageDraw.ImageDraw, label: Label) -> None:
    x, y = label.left + 4, label.top + 2
    if label.faint:
        for line in label.lines:
            draw.text((x, y), line, font=font(SECOND), fill=GREY)
            y += SECOND + 3
        return
    draw.text((x, y), label.lines[0], font=font(FIRST), fill=INK, stroke_width=0.5, stroke_fill=INK)
    if label.lock:
        left = x + _width(label.lines[0], FIRST) + 9
        wide = _width("lock", SECOND)
        draw.rounded_rectangle((left, y + 2, left + wide + 12, y + 29), 5, fill=INK)
        draw.text((left + 6, y + 4), "lock", font=font(SECOND), fill=PAPER)
    for line in label.lines[1:]:
        y += FIRST + 2
        draw.text((x, y), line, font=font(SECOND), fill=60)


def _size_line(
    draw: ImageDraw.ImageDraw, canvas: Canvas, scene: Scene, first: str, last: str, text: str
) -> None:
    """Dimension line between the middles of two items, set off upwards (ISO 129-1)."""
    a = next(item for item in scene.items if item.key == first).middle
    b = next(item for item in reversed(scene.items) if item.key == last).middle
    feet = canvas.px(a), canvas.px(b)
    up = 74 * OVER
    start, stop = ((x, y - up) for x, y in feet)
    for (x, y), (_, top) in zip(feet, (start, stop), strict=True):
        draw.line((x, y, x, top - 8 * OVER), fill=90, width=OVER)
    draw.line((*start, *stop), fill=INK, width=2 * OVER)
    for p, q in ((start, stop), (stop, start)):
        t = math.atan2(q[1] - p[1], q[0] - p[0])
        for turn in (-0.3, 0.3):
            tip = p[0] + 16 * OVER * math.cos(t + turn), p[1] + 16 * OVER * math.sin(t + turn)
            draw.line((*p, *tip), fill=INK, width=2 * OVER)
    size = FIRST * OVER
    width = font(size).getlength(text)
    x, y = (start[0] + stop[0]) / 2 - width / 2, (start[1] + stop[1]) / 2 - size / 2
    draw.rectangle((x - 8, y - 4, x + width + 8, y + size + 8), fill=PAPER)
    draw.text((x, y), text, font=font(size), fill=INK, stroke_width=1, stroke_fill=INK)


def _header(
    draw: ImageDraw.ImageDraw, number: str, title: str, remark: str, high: int
) -> None:
    """The step's number on a tag with a punched hole, its title, and how often it is made."""
    wide = 66 + _width(number, 44)
    draw.polygon(
        [(MARGIN - 10, 40), (MARGIN + 12, 16), (wide + 10, 16), (wide + 10, 72), (MARGIN + 12, 72),
         (MARGIN - 10, 48)], fill=INK,
    )  # fmt: skip
    draw.ellipse((MARGIN + 2, 37, MARGIN + 16, 51), fill=PAPER)
    draw.text((MARGIN + 26, 18), number, font=font(44), fill=PAPER, stroke_width=0.6,
              stroke_fill=PAPER)  # fmt: skip
    lines = _wrap(title, 27, WIDTH - wide - 54)
    y = 44 - 16 * len(lines)
    for line in lines[:2]:
        draw.text((wide + 28, y), line, font=font(27), fill=INK, stroke_width=0.4, stroke_fill=INK)
        y += 32
    if remark:
        width = _width(remark, FIRST)
        draw.rectangle((0, high - 44, WIDTH, high - 4), fill=PAPER)
        draw.text((WIDTH - MARGIN - width, high - 40), remark, font=font(FIRST), fill=INK,
                  stroke_width=0.5, stroke_fill=INK)  # fmt: skip


def _wrap(text: str, size: int, width: int) -> list[str]:
    lines, line = [], ""
    for word in text.split():
        trial = f"{line} {word}".strip()
        if _width(trial, size) > width and line:
            lines.append(line)
            line = word
        else:
            line = trial
    return [*lines, line]
