"""Parts of the Tarn 6: numbers, names, materials, and the shape each is drawn with."""

from __future__ import annotations

import re

from ..drawing.figure import Look
from ..model import lines_of
from ..records import PartNote
from .parts import FITTED, HARDWARE, OWN

#: Bearing designations by boundary dimensions (ISO 15), in the makers' common numbering.
BEARINGS = {"5x10x4": "MR105", "8x16x5": "688", "12x28x8": "6001", "15x24x5": "61802"}

_SCREWS = {
    "cap": ("Hexagon socket head cap screw", "cap screw, ISO 4762", "cap"),
    "btn": ("Hexagon socket button head screw", "button head screw, ISO 7380-1", "button"),
    "csk": ("Hexagon socket countersunk screw", "countersunk screw, ISO 10642", "csk"),
    "set": ("Hexagon socket set screw, cup point", "set screw, ISO 4029", "set"),
}
_NUTS = {
    "lock": ("Lock nut with plastic insert", "lock nut, ISO 7040", "lock nut", "nut {} lock"),
    "nut": ("Hexagon nut", "hexagon nut, ISO 4032", "nut", "nut {}"),
}


def hardware(key: str, number: str) -> tuple[PartNote, Look]:
    """Part and look of a piece of hardware from its key, such as ``cap3x12`` or ``bb10x22x6``.

    Raises ValueError for a key of no known kind.
    """
    kind, size = re.match(r"([a-z]+)(.*)", key).groups()  # type: ignore[union-attr]
    bits = size.split("x")
    if kind in _SCREWS:
        name, text, short = _SCREWS[kind]
        made = f"M{size} {text}", f"{kind} {bits[0]} {bits[1]}", f"M{size} {short}"
        name = f"{name} M{size}"
    elif kind in _NUTS:
        name, text, short, shape = _NUTS[kind]
        made = f"M{size} {text}", shape.format(size), f"M{size} {short}"
        name = f"{name} M{size}"
    elif kind == "was":
        outer, thick = {"3": (3.5, 0.5), "4": (4.5, 0.8), "5": (5, 1), "6": (6, 1.6)}[size]
        name = f"Plain washer M{size}"
        made = (f"{size} plain washer, ISO 7089", f"ring {outer} {float(size) / 2 + 0.15} {thick}",
                f"M{size} washer")  # fmt: skip
    elif kind == "bb":
        name = f"Ball bearing {size}, two seals"
        made = (f"{BEARINGS[size]}-2RS ball bearing {size}, ISO 15",
                f"bearing {' '.join(bits)}", f"{size} bearing")  # fmt: skip
    elif kind == "pin":
        name = f"Parallel pin {size}, hardened"
        made = (f"{size} parallel pin, ISO 8734", f"turn {float(bits[0]) / 2}:{bits[1]}",
                f"{size} pin")  # fmt: skip
    elif kind == "ering":
        name = f"Retaining washer {size}"
        made = (f"{size} retaining washer, DIN 6799", f"ring {float(size) * 1.1} "
                f"{float(size) / 2} 0.9", f"E-ring {size}")  # fmt: skip
    elif kind == "tap":
        name = f"Pan head tapping screw ST{size}"
        made = (f"ST{size} tapping screw, ISO 7049", f"btn 3 {bits[1]}", f"ST{size} tapping")
    else:
        raise ValueError(f"{key} is no kind of hardware.")
    designation, shape, short = made
    return (PartNote(key, number, name, designation, "steel"),
            Look(shape, "steel", number, short, True))  # fmt: skip


def _own() -> tuple[dict[str, PartNote], dict[str, Look]]:
    parts, looks = {}, {}
    for line in lines_of(OWN):
        key, name, material, shape = (cell.strip() for cell in line.split("|"))
        number = f"T6-{key[1:]}"
        parts[key] = PartNote(key, number, name, None, material)
        looks[key] = Look(shape, material, number, name, False)
    for place, key in enumerate(HARDWARE.split()):
        parts[key], looks[key] = hardware(key, f"T6-{901 + place}")
    for line in lines_of(FITTED):
        key, name, material, shape = (cell.strip() for cell in line.split("|"))
        looks[key] = Look(shape, material, name, "", False)
    return parts, looks


PARTS, LOOKS = _own()
