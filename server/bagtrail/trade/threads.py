"""Threads of small screws: diameters and pitches in millimetres.

Sources: ISO 261 and ISO 262 for metric threads (M1.6 to M8 and the old sizes were compared with
reference tables, see ``tests/reference/threads.json``; the others are from memory); ASME B1.1 for
Unified threads, D = 0.060 in + 0.013 in * number; ISO 1478 for tapping screws.
"""

from __future__ import annotations

#: Coarse pitch of each metric diameter.
COARSE: dict[float, float] = {
    1.0: 0.25, 1.2: 0.25, 1.4: 0.3, 1.6: 0.35, 2.0: 0.4, 2.5: 0.45, 3.0: 0.5, 3.5: 0.6, 4.0: 0.7,
    5.0: 0.8, 6.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75, 14.0: 2.0, 16.0: 2.0, 18.0: 2.5,
    20.0: 2.5, 22.0: 2.5, 24.0: 3.0,
}  # fmt: skip
#: Fine pitches that are met in practice.
FINE: dict[float, tuple[float, ...]] = {
    1.6: (0.2,), 2.0: (0.25,), 2.5: (0.35,), 3.0: (0.35,), 3.5: (0.35,), 4.0: (0.5,),
    5.0: (0.5,), 6.0: (0.75, 0.5), 8.0: (1.0, 0.75), 10.0: (1.25, 1.0, 0.75),
    12.0: (1.5, 1.25, 1.0), 14.0: (1.5, 1.25, 1.0), 16.0: (1.5, 1.0), 18.0: (2.0, 1.5, 1.0),
    20.0: (2.0, 1.5, 1.0), 22.0: (2.0, 1.5, 1.0), 24.0: (2.0, 1.5, 1.0),
}  # fmt: skip
#: Sizes that ISO 262 has no more and old screws still have.
OLD: dict[float, float] = {1.7: 0.35, 2.3: 0.4, 2.6: 0.45}
#: Other pitches that the old screws of sizes still in use have.
OLD_PITCHES: dict[float, float] = {3.0: 0.6, 4.0: 0.75, 5.0: 0.9}

#: Threads to an inch of each Unified size, coarse first.
UNIFIED: dict[str, tuple[int, ...]] = {
    "#0": (80,), "#1": (64, 72), "#2": (56, 64), "#3": (48, 56), "#4": (40, 48), "#5": (40, 44),
    "#6": (32, 40), "#8": (32, 36), "#10": (24, 32), "#12": (24, 28), "1/4": (20, 28),
    "5/16": (18, 24), "3/8": (16, 24),
}  # fmt: skip

#: Pitch of each size of ISO 1478.
TAPPING: dict[float, float] = {
    2.2: 0.8, 2.6: 0.9, 2.9: 1.1, 3.3: 1.3, 3.5: 1.3, 3.9: 1.3, 4.2: 1.4, 4.8: 1.6,
}  # fmt: skip

MM_PER_INCH = 25.4


def coarse_pitch(d_mm: float) -> float | None:
    """Pitch in mm that a metric thread has when none is said; None for a size unknown here."""
    return COARSE.get(d_mm) or OLD.get(d_mm)


def is_pitch(d_mm: float, pitch_mm: float) -> bool:
    """Whether the metric diameter is made with this pitch, today or formerly."""
    return pitch_mm in (
        coarse_pitch(d_mm), *FINE.get(d_mm, ()), OLD_PITCHES.get(d_mm)
    )  # fmt: skip


def unified_diameter(size: str) -> float:
    """Diameter in mm of a Unified size such as ``#4`` or ``1/4``.

    Raises KeyError for a size that is not in :data:`UNIFIED`.
    """
    if size not in UNIFIED:
        raise KeyError(size)
    if size.startswith("#"):
        return round((0.060 + 0.013 * int(size[1:])) * MM_PER_INCH, 4)
    over, under = size.split("/")
    return int(over) / int(under) * MM_PER_INCH
