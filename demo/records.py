"""From the notes of a kit to records of the wire, with stable ids and order keys."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from .model import SectionNote, StepNote

#: Namespace of the demo's ids: any fixed UUID will do, as long as it never changes.
NAMESPACE = uuid.UUID("3d1b0e52-6f0a-5a0e-9b57-2f4f1c6c7a11")
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"


def order_key(place: int) -> str:
    """Order key of the ``place``-th sibling (from 0): two base-62 digits and a closing ``V``.

    Fixed width keeps text order equal to number order, and a key that ends in a digit other than
    0 always leaves room before it.
    """
    high, low = divmod(place + 1, 62)
    if not 0 <= high < 62:
        raise ValueError(f"No order key for place {place}: at most 3842 siblings.")
    return f"{_DIGITS[high]}{_DIGITS[low]}V"


@dataclass(frozen=True)
class PartNote:
    """A part of the catalogue."""

    key: str
    number: str
    name: str
    designation: str | None
    material: str


@dataclass(frozen=True)
class PageNote:
    """A drawn page and the frames of the steps on it (fractions of the page)."""

    number: str
    title: str
    blob: str
    width_px: int
    height_px: int
    frames: dict[str, tuple[float, float, float, float]]


@dataclass(frozen=True)
class KitNote:
    """A whole kit as it is written down."""

    slug: str
    fields: dict[str, Any]
    bags: tuple[tuple[str, str], ...]
    parts: dict[str, PartNote]
    sections: tuple[SectionNote, ...]
    order: tuple[tuple[str, str, str], ...]
    cautions: tuple[tuple[str, str], ...]
    spares: tuple[tuple[int, str, str], ...] = ()
    pages: tuple[PageNote, ...] = ()

    def steps(self) -> Iterator[tuple[SectionNote, StepNote]]:
        """All steps in the order of the manual."""
        for section in self.sections:
            for step in section.steps:
                yield section, step


@dataclass
class _Maker:
    """Collects records; fields that say nothing are left out."""

    slug: str
    records: list[dict[str, Any]] = field(default_factory=list)
    _seen: set[str] = field(default_factory=set)

    def id(self, kind: str, name: str) -> str:
        return str(uuid.uuid5(NAMESPACE, f"{self.slug}/{kind}/{name}"))

    def add(self, kind: str, name: str, /, **fields: Any) -> str:
        made = self.id(kind, name)
        if made in self._seen:
            raise ValueError(f"Two records named {kind} {name!r}.")
        self._seen.add(made)
        said = {key: value for key, value in fields.items() if value not in (None, "", [])}
        self.records.append(
            {"type": kind, "id": made, "set": {"kit": self.id("kit", self.slug), **said}}
        )
        return made


def make_records(kit: KitNote) -> dict[str, Any]:
    """Records of the kit: ``{"kit": record, "records": [record, ...]}``.

    A record is ``{"type", "id", "set"}``.  Raises ValueError if something is named that is not
    there (a part outside the catalogue, an operation that the step has not).
    """
    maker = _Maker(kit.slug)
    for place, (number, title) in enumerate(kit.bags):
        bag = maker.add("bag", number, number=number, title=title, order=order_key(place))
        maker.add("barcode", number, bag=bag, text=f"TARN6-BAG-{number.zfill(2)}",
                  symbology="code_128")  # fmt: skip
    _add_parts(maker, kit)
    for place, page in enumerate(kit.pages):
        maker.add("page", page.number, number=page.number, title=page.title, blob=page.blob,
                  width_px=page.width_px, height_px=page.height_px,
                  order=order_key(place))  # fmt: skip
    for place, section in enumerate(kit.sections):
        maker.add("section", section.mark, mark=section.mark, title=section.title,
                  order=order_key(place))  # fmt: skip
    for place, (section, step) in enumerate(kit.steps()):
        _add_step(maker, kit, section, step, place)
    for place, (quantity, part, bag) in enumerate(kit.spares):
        maker.add("part_line", f"spare/{bag}/{part}", part=maker.id("part", part),
                  quantity=quantity, bag=maker.id("bag", bag),
                  order=order_key(3000 + place))  # fmt: skip
    _add_order(maker, kit)
    for place, (kind, text) in enumerate(kit.cautions):
        maker.add("caution", f"kit/{place}", kind=kind, text=text, order=order_key(place))
    fields = {"name": kit.fields["name"], **kit.fields}
    return {
        "kit": {"type": "kit", "id": maker.id("kit", kit.slug), "set": fields},
        "records": maker.records,
    }


def _add_parts(maker: _Maker, kit: KitNote) -> None:
    used = {line.part for _, step in kit.steps() for line in step.lines}
    used |= {part for _, part, _ in kit.spares}
    missing = used - kit.parts.keys()
    if missing:
        raise ValueError(f"Not in the catalogue: {', '.join(sorted(missing))}.")
    for key, part in kit.parts.items():
        if key in used:
            maker.add("part", key, number=part.number, name=part.name,
                      designation=part.designation, material=part.material)  # fmt: skip


def _add_step(
    maker: _Maker, kit: KitNote, section: SectionNote, step: StepNote, place: int
) -> None:
    page = next((page for page in kit.pages if step.number in page.frames), None)
    at = maker.add(
        "step", step.number,
        section=maker.id("section", section.mark), number=step.number, title=step.title,
        text=step.text, order=order_key(place), bags=[maker.id("bag", bag) for bag in step.bags],
        minutes=step.minutes,
        page=maker.id("page", page.number) if page else None,
        frame=list(page.frames[step.number]) if page else None,
    )  # fmt: skip

    def operation(count: int) -> str | None:
        if count > len(step.operations):
            raise ValueError(f"Step {step.number} has no operation {count}.")
        return maker.id("operation", f"{step.number}#{count}") if count else None

    alternatives = {}
    for index, note in enumerate(step.choices):
        name = f"{step.number}/{index}"
        made = maker.add("choice", name, step=at, title=note.title, text=note.text,
                         order=order_key(index))  # fmt: skip
        for inner, (title, changes) in enumerate(note.alternatives):
            alternatives[title] = maker.add(
                "alternative", f"{name}/{inner}", choice=made, title=title, changes=changes,
                in_manual=inner == 0, order=order_key(inner),
            )  # fmt: skip
    for index, line in enumerate(step.lines):
        if line.alternative and line.alternative not in alternatives:
            raise ValueError(f"Step {step.number} has no alternative {line.alternative!r}.")
        maker.add(
            "part_line", f"{step.number}/{line.bag}/{line.part}/{line.alternative}",
            part=maker.id("part", line.part), quantity=line.quantity, step=at,
            bag=maker.id("bag", line.bag), alternative=alternatives.get(line.alternative),
            order=order_key(index),
        )  # fmt: skip
    for index, text in enumerate(step.operations):
        maker.add("operation", f"{step.number}#{index + 1}", step=at, text=text,
                  order=order_key(index))  # fmt: skip
    for first, then, reason in step.before:
        maker.add("comes_before", f"{step.number}#{first}>{then}", kind="operation",
                  first=operation(first), then=operation(then), reason=reason)  # fmt: skip
    for index, joint in enumerate(step.joints):
        part = kit.parts[joint.part]
        maker.add(
            "joint", f"{step.number}/{index}", step=at, operation=operation(joint.operation),
            part=maker.id("part", joint.part), text=joint.text,
            fastener=part.designation or part.name, count=joint.count, through=joint.through,
            into=joint.into, thread_lock=joint.thread_lock, snug=joint.snug or None,
            torque_nm=joint.torque_nm,
        )  # fmt: skip
    for index, dimension in enumerate(step.dimensions):
        maker.add(
            "dimension", f"{step.number}/{index}", step=at,
            operation=operation(dimension.operation), name=dimension.name,
            measured=dimension.measured, target=dimension.target, plus=dimension.plus,
            minus=dimension.minus, order=order_key(index),
        )  # fmt: skip
    for index, (kind, text) in enumerate(step.cautions):
        maker.add("caution", f"{step.number}/{index}", step=at, kind=kind, text=text,
                  order=order_key(index))  # fmt: skip


def _add_order(maker: _Maker, kit: KitNote) -> None:
    """Order between steps (``3.6``) and between operations of different steps (``3.6#2``)."""
    known = {step.number: len(step.operations) for _, step in kit.steps()}
    for first, then, reason in kit.order:
        kinds = {"operation" if "#" in end else "step" for end in (first, then)}
        if len(kinds) != 1:
            raise ValueError(f"{first} > {then}: two steps or two operations, not one of each.")
        for end in (first, then):
            number, _, count = end.partition("#")
            if int(count or 0) > known.get(number, -1):
                raise ValueError(f"{first} > {then}: there is no {end}.")
        kind = kinds.pop()
        maker.add("comes_before", f"{first}>{then}", kind=kind, first=maker.id(kind, first),
                  then=maker.id(kind, then), reason=reason)  # fmt: skip
