"""Outlines of flat parts, in millimetres: corners (u, v) and holes (u, v, radius)."""

from __future__ import annotations

Outline = tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float, float], ...]]

OUTLINES: dict[str, Outline] = {
    # Lower arm seen from above: hinge at -v, knuckle at +v.
    "arm": (
        ((-42, -62), (-24, -62), (-22, -46), (22, -46), (24, -62), (42, -62), (40, -36),
         (22, 44), (22, 62), (8, 62), (8, 52), (-8, 52), (-8, 62), (-22, 62), (-22, 44),
         (-40, -36)),
        ((-17, -20, 8), (17, -20, 8), (0, 8, 6), (0, 32, 2.2), (-9, 32, 2.2), (9, 32, 2.2)),
    ),
}  # fmt: skip
