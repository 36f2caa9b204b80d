"""The Tarn 6 as one note, from its tables."""

from __future__ import annotations

from ..model import SectionNote, lines_of
from ..records import KitNote
from . import differentials, drive, finish, front, gearboxes, radio, rear, shocks, steering
from .catalogue import PARTS
from .frame import ABOUT, BAGS, CAUTIONS, ORDER, SPARES

SECTIONS: tuple[SectionNote, ...] = tuple(
    module.SECTION
    for module in (differentials, gearboxes, rear, front, steering, shocks, drive, radio, finish)
)


def tarn_6() -> KitNote:
    """The whole kit, without pages."""
    bags = [line.split("|") for line in lines_of(BAGS)]
    order = []
    for line in lines_of(ORDER):
        pair, _, reason = line.partition("|")
        first, _, then = pair.partition(">")
        order.append((first.strip(), then.strip(), reason.strip()))
    spares = []
    for line in lines_of(SPARES):
        bag, _, listed = line.partition(":")
        for piece in listed.split(","):
            quantity, part = piece.split()
            spares.append((int(quantity), part, bag.strip()))
    cautions = [line.split("|") for line in lines_of(CAUTIONS)]
    return KitNote(
        slug="tarn-6",
        fields={"name": "Tarn 6", "maker": "Corrie Model Works", "scale": "1:5",
                "currency": "EUR", "about": " ".join(lines_of(ABOUT)), "source": "demo"},
        bags=tuple((number.strip(), title.strip()) for number, title in bags),
        parts=PARTS,
        sections=SECTIONS,
        order=tuple(order),
        cautions=tuple((kind.strip(), text.strip()) for kind, text in cautions),
        spares=tuple(spares),
    )  # fmt: skip
