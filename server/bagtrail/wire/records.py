"""The record types of a workshop and their fields: the one definition of the wire.

Database tables, the OpenAPI document, the client's types and the checks on every change are
made from these schemas.  A record belongs to a *scope*: the kit or build whose contents it is,
or the workshop itself.  ``id`` is a UUID; where a pair can exist only once (build x step), the id
is derived from the pair (see :func:`derived_id`), so that two devices cannot make it twice.
"""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from marshmallow import RAISE, Schema

from .fields import (
    CHANGE_PATTERN,
    Clock,
    Frame,
    Instant,
    LabelCode,
    Number,
    OrderKey,
    Ref,
    Several,
    Sha256,
    Text,
    Whole,
    Word,
    YesNo,
    _Shaped,
)

#: Namespace of derived ids, fixed for ever: it is part of the wire.
DERIVED_NAMESPACE = uuid.UUID("6b0f5f0a-4a51-5c7e-9d0e-7a1d3c5b9e20")


class ChangeId(_Shaped):
    """Id of a change: clock of its author, a full stop, the author's counter."""

    pattern, length, what = CHANGE_PATTERN, 32, "the id of a change"


class Record(Schema):
    """Fields of one record type.

    ``scope``: the field that holds the kit or build the record belongs to; None for records
    of the workshop itself.  ``quiet``: fields on which two unseen writes need no person to
    settle them, because the later one is simply right (moments, positions).  ``derived``: the
    fields, in order, from which the id follows.  ``lasting``: made by claiming and pairing alone,
    and never deleted, because who is let in hangs on it.
    """

    class Meta:
        unknown = RAISE

    record_type: ClassVar[str]
    collection: ClassVar[str]
    scope: ClassVar[str | None] = None
    quiet: ClassVar[frozenset[str]] = frozenset()
    derived: ClassVar[tuple[str, ...]] = ()
    lasting: ClassVar[bool] = False

    #: Null while the record stands.  Once deleted, the ids of all changes the deleter had seen
    #: as heads of the record: an edit that is not among them keeps the record and is asked about.
    deleted = Several(ChangeId(required=True), 512)


class Workshop(Record):
    record_type, collection = "workshop", "workshops"
    lasting = True
    name = Text(80, least=1, required=True)
    units = Word("mm", "inch")


class Device(Record):
    record_type, collection = "device", "devices"
    lasting = True
    quiet = frozenset({"clock", "paired_at", "revoked_at"})
    name = Text(60, least=1, required=True)
    kind = Word("phone", "tablet", "desk")
    clock = Clock()
    paired_at = Instant()
    revoked_at = Instant()


class Kit(Record):
    record_type, collection = "kit", "kits"
    name = Text(120, least=1, required=True)
    maker = Text(120)
    scale = Text(20)
    currency = Text(3)
    about = Text(4000)
    source = Word("outline", "demo", "table", "text", "manual", "archive")


class Section(Record):
    record_type, collection, scope = "section", "sections", "kit"
    kit = Ref("kit", required=True)
    mark = Text(20)
    title = Text(160)
    order = OrderKey(required=True)


class Bag(Record):
    record_type, collection, scope = "bag", "bags", "kit"
    kit = Ref("kit", required=True)
    number = Text(20, least=1, required=True)
    title = Text(160)
    code = LabelCode()
    order = OrderKey(required=True)


class Barcode(Record):
    """The maker's own code on a bag, taught to the kit once.  ``text``: what the symbol says; of a
    GTIN (EAN, UPC) its 14 digits, so that one number has one spelling (GS1 General
    Specifications, section 3.3.2)."""

    record_type, collection, scope = "barcode", "barcodes", "kit"
    derived = ("bag", "text")
    kit = Ref("kit", required=True)
    bag = Ref("bag", required=True)
    text = Text(300, least=1, required=True)
    symbology = Word("ean_13", "ean_8", "upc_a", "upc_e", "code_128", "qr")


class Part(Record):
    record_type, collection, scope = "part", "parts", "kit"
    kit = Ref("kit", required=True)
    number = Text(60)
    name = Text(160, least=1, required=True)
    designation = Text(120)
    material = Text(60)


class PartLine(Record):
    """So many of a part in a bag, at a step, or both (taken from that bag at that step)."""

    record_type, collection, scope = "part_line", "part_lines", "kit"
    kit = Ref("kit", required=True)
    part = Ref("part", required=True)
    quantity = Whole(0, 100_000, required=True)
    bag = Ref("bag")
    step = Ref("step")
    alternative = Ref("alternative")
    order = OrderKey()


class Step(Record):
    """One numbered figure of the manual.  ``minutes``: expected working time."""

    record_type, collection, scope = "step", "steps", "kit"
    kit = Ref("kit", required=True)
    section = Ref("section")
    number = Text(20, least=1, required=True)
    title = Text(160)
    text = Text(4000)
    order = OrderKey(required=True)
    bags = Several(Ref("bag", required=True), 40)
    minutes = Number(0, 6000)
    page = Ref("page")
    frame = Frame()


class Operation(Record):
    record_type, collection, scope = "operation", "operations", "kit"
    kit = Ref("kit", required=True)
    step = Ref("step", required=True)
    text = Text(1000, least=1, required=True)
    order = OrderKey(required=True)


class ComesBefore(Record):
    """``first`` has to be done before ``then``: two operations or two steps, and why."""

    record_type, collection, scope = "comes_before", "comes_before", "kit"
    kit = Ref("kit", required=True)
    kind = Word("operation", "step", required=True)
    first = Ref("operation or step", required=True)
    then = Ref("operation or step", required=True)
    reason = Text(300)


class Joint(Record):
    """Where a fastener goes.  ``thread_lock`` is the manual's word: use, never, or unsaid.
    ``torque_nm``: the manual's tightening torque in newton metres, if it gives one."""

    record_type, collection, scope = "joint", "joints", "kit"
    kit = Ref("kit", required=True)
    step = Ref("step", required=True)
    operation = Ref("operation")
    part = Ref("part")
    text = Text(300)
    fastener = Text(120)
    count = Whole(1, 1000)
    through = Word("metal", "plastic", "rubber", "wood")
    into = Word("metal", "plastic", "rubber", "wood", "lock_nut")
    thread_lock = Word("use", "never", "unsaid")
    snug = YesNo()
    torque_nm = Number(0, 500)


class Dimension(Record):
    """What the manual asks for, in millimetres: ``target`` with ``plus``/``minus``."""

    record_type, collection, scope = "dimension", "dimensions", "kit"
    kit = Ref("kit", required=True)
    step = Ref("step", required=True)
    operation = Ref("operation")
    name = Text(160, least=1, required=True)
    measured = Text(300)
    target = Number(-100_000, 100_000, required=True)
    plus = Number(0, 10_000)
    minus = Number(0, 10_000)
    order = OrderKey()


class Choice(Record):
    record_type, collection, scope = "choice", "choices", "kit"
    kit = Ref("kit", required=True)
    step = Ref("step", required=True)
    title = Text(160, least=1, required=True)
    text = Text(2000)
    order = OrderKey()


class Alternative(Record):
    record_type, collection, scope = "alternative", "alternatives", "kit"
    kit = Ref("kit", required=True)
    choice = Ref("choice", required=True)
    title = Text(160, least=1, required=True)
    changes = Text(2000)
    in_manual = YesNo()
    order = OrderKey()


class Caution(Record):
    """What can hurt a person (``hurts``) or spoil a part (``spoils``)."""

    record_type, collection, scope = "caution", "cautions", "kit"
    kit = Ref("kit", required=True)
    step = Ref("step")
    kind = Word("hurts", "spoils", required=True)
    text = Text(1000, least=1, required=True)
    order = OrderKey()


class Page(Record):
    """A picture of a page of the manual; ``width_px`` and ``height_px`` of the stored picture.
    ``stored`` as with a photo, where a device photographed the page (``device``)."""

    record_type, collection, scope = "page", "pages", "kit"
    quiet = frozenset({"stored"})
    kit = Ref("kit", required=True)
    number = Text(20)
    title = Text(160)
    blob = Sha256(required=True)
    width_px = Whole(1, 20_000)
    height_px = Whole(1, 20_000)
    order = OrderKey()
    device = Ref("device")
    stored = YesNo()


class Build(Record):
    record_type, collection = "build", "builds"
    quiet = frozenset({"started_at"})
    kit = Ref("kit", required=True)
    name = Text(120, least=1, required=True)
    started_at = Instant()
    finished_at = Instant()


class StepProgress(Record):
    """What a builder has said of a step; waiting and ready are worked out, never stored.
    ``word``: what the next builder should watch for.  ``held_for``: why it is held."""

    record_type, collection, scope = "step_progress", "step_progress", "build"
    quiet = frozenset({"at", "device"})
    derived = ("build", "step")
    build = Ref("build", required=True)
    step = Ref("step", required=True)
    state = Word("open", "under_way", "done", "held", "left_out")
    at = Instant()
    device = Ref("device")
    word = Text(2000)
    held_for = Text(500)


class OperationTick(Record):
    """``overruled``: the note with which a builder went on although something comes before."""

    record_type, collection, scope = "operation_tick", "operation_ticks", "build"
    quiet = frozenset({"at", "device"})
    derived = ("build", "operation")
    build = Ref("build", required=True)
    step = Ref("step", required=True)
    operation = Ref("operation", required=True)
    done = YesNo(required=True)
    at = Instant()
    device = Ref("device")
    overruled = Text(500)


class PartTick(Record):
    record_type, collection, scope = "part_tick", "part_ticks", "build"
    quiet = frozenset({"at"})
    derived = ("build", "part_line")
    build = Ref("build", required=True)
    part_line = Ref("part_line", required=True)
    laid_out = YesNo(required=True)
    at = Instant()


class Pick(Record):
    record_type, collection, scope = "pick", "picks", "build"
    quiet = frozenset({"at"})
    derived = ("build", "choice")
    build = Ref("build", required=True)
    choice = Ref("choice", required=True)
    alternative = Ref("alternative")
    why = Text(1000)
    at = Instant()


class Reading(Record):
    """What was measured, in millimetres, whatever unit was typed (``typed`` keeps that)."""

    record_type, collection, scope = "reading", "readings", "build"
    build = Ref("build", required=True)
    step = Ref("step", required=True)
    dimension = Ref("dimension", required=True)
    value = Number(-100_000, 100_000, required=True)
    typed = Text(40)
    instrument = Text(120)
    at = Instant(required=True)
    device = Ref("device")


class Note(Record):
    record_type, collection, scope = "note", "notes", "build"
    build = Ref("build", required=True)
    step = Ref("step")
    text = Text(4000, least=1, required=True)
    at = Instant(required=True)
    device = Ref("device")


class Photo(Record):
    """``stored`` turns true when the server has the bytes that ``blob`` names."""

    record_type, collection, scope = "photo", "photos", "build"
    quiet = frozenset({"stored"})
    build = Ref("build", required=True)
    step = Ref("step")
    blob = Sha256(required=True)
    media_type = Word("image/jpeg", "image/png", "image/webp")
    width_px = Whole(1, 20_000)
    height_px = Whole(1, 20_000)
    size_bytes = Whole(1, 100_000_000)
    taken_at = Instant(required=True)
    caption = Text(500)
    device = Ref("device")
    stored = YesNo()


class Shortage(Record):
    record_type, collection, scope = "shortage", "shortages", "build"
    build = Ref("build", required=True)
    part = Ref("part")
    part_line = Ref("part_line")
    bag = Ref("bag")
    step = Ref("step")
    kind = Word("missing", "wrong", "damaged", required=True)
    quantity = Whole(1, 100_000)
    text = Text(1000)
    found_at = Instant(required=True)
    settled_at = Instant()


class Sitting(Record):
    """A stretch of work at the bench.  ``last_at``: the last thing done in it."""

    record_type, collection, scope = "sitting", "sittings", "build"
    quiet = frozenset({"last_at", "ended_at"})
    build = Ref("build", required=True)
    device = Ref("device")
    began_at = Instant(required=True)
    last_at = Instant()
    ended_at = Instant()


class Movement(Record):
    """So many of a part into (+) or out of (-) a place, and why; counts are sums of these."""

    record_type, collection, scope = "movement", "movements", "build"
    build = Ref("build", required=True)
    part = Ref("part", required=True)
    part_line = Ref("part_line")
    quantity = Whole(-100_000, 100_000, required=True)
    place = Text(120)
    reason = Word("counted", "fitted", "lost", "spare", "sent", required=True)
    at = Instant(required=True)


class Place(Record):
    """Where a device is in a build: 'I am here'.  One for each device and build."""

    record_type, collection, scope = "place", "places", "build"
    quiet = frozenset({"step", "operation", "at"})
    derived = ("build", "device")
    build = Ref("build", required=True)
    device = Ref("device", required=True)
    step = Ref("step")
    operation = Ref("operation")
    at = Instant(required=True)


RECORDS: dict[str, type[Record]] = {
    schema.record_type: schema
    for schema in (
        Workshop, Device, Kit, Section, Bag, Barcode, Part, PartLine, Step, Operation, ComesBefore,
        Joint, Dimension, Choice, Alternative, Caution, Page, Build, StepProgress, OperationTick,
        PartTick, Pick, Reading, Note, Photo, Shortage, Sitting, Movement, Place,
    )
}  # fmt: skip


def derived_id(record_type: str, *parts: str) -> str:
    """Id of a record that can exist only once for its parts (RFC 9562 version 5, name-based).

    ``parts``: the ids named by the type's ``derived``, in that order.
    """
    return str(uuid.uuid5(DERIVED_NAMESPACE, ":".join((record_type, *parts))))


def field_kinds(record_type: str) -> dict[str, Any]:
    """Bound marshmallow field of each field of a type, made once (schemas hold no state)."""
    return _FIELDS[record_type]


_FIELDS: dict[str, dict[str, Any]] = {name: dict(s().fields) for name, s in RECORDS.items()}
