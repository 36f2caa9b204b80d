"""A workshop with everything that an archive has to carry, and archives taken apart without it.

Archives are read here with Python's zipfile, hashlib and json alone, as a stranger would.
"""

from __future__ import annotations

import hashlib
import io
import json
import shutil
import uuid
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from PIL import Image

from bagtrail.domain import devices, epochs, journal, photos
from bagtrail.domain.archive import bringing, writing
from bagtrail.domain.archive import members as in_members
from bagtrail.domain.journal import Draft
from bagtrail.settings import Settings
from bagtrail.storage.blobs import BlobStore
from bagtrail.storage.tables import change as journal_table
from bagtrail.storage.tables import metadata, record_state, taken_in
from bagtrail.storage.work import reading as reading_work
from bagtrail.storage.work import writing as writing_work
from bagtrail.trade import codes
from bagtrail.wire.records import derived_id
from tests.devices import SimDevice

NOW = 1_790_000_000_000
LIMITS = in_members.Limits(4_000_000_000, 12_000_000, 50_000_000)


def picture(seed: int, kind: str = "JPEG") -> bytes:
    """A small picture; the JPEG says where it was taken, so the server makes it clean."""
    image = Image.effect_noise((64 + seed, 48), 80).convert("RGB")
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "Somebody"
    image.save(out, kind, exif=exif) if kind == "JPEG" else image.save(out, kind)
    return out.getvalue()


def named(number: int) -> str:
    return str(uuid.UUID(int=0x40008000 << 64 | number))


@dataclass
class Shed:
    """A workshop with a kit and a build in which everything has happened.  ``blobs``: bytes as they
    were sent, by name; ``absent`` is named by a photo and not here yet."""

    settings: Settings
    workshop: str
    store: BlobStore
    phone: SimDevice
    tablet: SimDevice
    phone_id: str
    kit: str = named(1)
    build: str = named(2)
    blobs: dict[str, bytes] = field(default_factory=dict)
    absent: str = "f" * 64

    def export(self, what: str = "build") -> bytes:
        return export(
            self.settings, self.workshop, what, self.build if what == "build" else self.kit
        )

    def exchange(self) -> None:
        for device in (self.phone, self.tablet, self.phone):
            device.exchange(NOW)

    def keep(self, content: bytes) -> str:
        name = hashlib.sha256(content).hexdigest()
        photos.keep(self.store, self.workshop, name, content, LIMITS.pixels_max)
        self.blobs[name] = content
        return name


def export(settings: Settings, workshop: str, what: str, root: str) -> bytes:
    store = BlobStore(settings.blob_folder)
    return b"".join(writing.export(store, settings.data, workshop, what, root).chunks)


def bring(settings: Settings, workshop: str, archive: bytes) -> bringing.Brought:
    return bringing.bring(BlobStore(settings.blob_folder), workshop, io.BytesIO(archive), LIMITS)


def claim(settings: Settings, workshop: str | None = None) -> str:
    """A workshop, of this id if one is given (as a restored one would be)."""
    if workshop is None:
        arrival = devices.Arrival("Desk", "desk", str(uuid.uuid4()), uuid.uuid4().hex[:16])
        return devices.claim("Other shed", arrival)[0]
    with writing_work() as conn:
        journal.write(conn, workshop, [Draft("workshop", workshop, {"name": "Shed"})])
    return workshop


def wipe(settings: Settings) -> None:
    """The server is a new one: no records, no pictures."""
    with writing_work() as conn:
        for table in reversed(metadata.sorted_tables):
            conn.execute(table.delete())
    shutil.rmtree(settings.blob_folder)
    settings.blob_folder.mkdir()
    settings.epoch_file.unlink(missing_ok=True)
    epochs.settle(settings.epoch_file)


def paired(workshop: str, name: str, id_: str) -> SimDevice:
    device = SimDevice(workshop)
    code, _ = devices.offer_pairing(workshop)
    devices.redeem(code, devices.Arrival(name, "phone", id_, device.clock))
    return device


def fill(settings: Settings) -> Shed:
    """Makes the workshop; two devices write, and not all that they wrote agrees."""
    workshop = claim(settings)
    phone_id = named(90)
    shed = Shed(
        settings,
        workshop,
        BlobStore(settings.blob_folder),
        paired(workshop, "Bench phone", phone_id),
        paired(workshop, "Tablet", named(91)),
        phone_id,
    )
    _fill_kit(shed)
    shed.exchange()
    _fill_build(shed)
    shed.exchange()
    _disagree(shed)
    # Something else of the workshop that no archive of these is to hold.
    shed.phone.write("kit", named(60), {"name": "Another"}, NOW)
    shed.phone.write("part", named(61), {"kit": named(60), "name": "Not ours"}, NOW)
    shed.exchange()
    photos.mark_stored(workshop)
    with writing_work() as conn:
        (named_it,) = [head.id for head in shed.phone.mirror[named(16)] if "part" in head.set]
        said = {"quantity": [4, named_it], "step": [named(12), named_it]}
        conn.execute(
            taken_in.insert().values(record_id=named(16), workshop_id=workshop, fields=said)
        )
    return shed


def _fill_kit(shed: Shed) -> None:
    phone, kit, step = shed.phone, shed.kit, named(12)
    page = shed.keep(picture(1, "PNG"))
    code = codes.issue(shed.workshop, iter(range(1000, 9000)).__next__)
    other = codes.issue(shed.workshop, iter(range(9000, 90000)).__next__)
    bag = named(10)
    # Made together with the build, as the app makes a kit from an outline.
    first = phone.counter + 1
    whole = [
        ("kit", kit, {"name": "Tärn 6 ½", "maker": "Corrie Model Works", "scale": "1:6"}),
        ("bag", bag, {"kit": kit, "number": "1", "order": "a1", "code": code}),
        ("bag", named(11), {"kit": kit, "number": "2", "order": "a2", "code": other}),
        ("build", shed.build, {"kit": kit, "name": "Red one"}),
    ]
    for type_, id_, fields in whole:
        phone.write(type_, id_, fields, NOW, (first, len(whole)))
    rest: list[tuple[str, str, dict[str, Any]]] = [
        ("barcode", derived_id("barcode", bag, "4006381333931"),
         {"kit": kit, "bag": bag, "text": "4006381333931", "symbology": "ean_13"}),
        ("page", named(13), {"kit": kit, "blob": page, "width_px": 65, "height_px": 48}),
        ("step", step, {"kit": kit, "number": "1.1", "order": "a1", "bags": [bag, named(11)],
                        "page": named(13), "frame": [0, 0.25, 1, 0.5], "minutes": 4.5}),
        ("operation", named(14), {"kit": kit, "step": step, "text": "Press", "order": "a1"}),
        ("part", named(15), {"kit": kit, "name": "Screw", "number": "T6-001",
                             "designation": "M3x12 cap screw"}),
        ("part_line", named(16), {"kit": kit, "part": named(15), "quantity": 4, "bag": bag,
                                  "step": step}),
        # What only a newer device knows: a field, and a type.
        ("part", named(15), {"paint": {"step": step, named(14): [bag, "blue", 1e-7, None]}}),
        ("jig", named(17), {"kit": kit, "holds": [step, {"n": 1}], "odd": "half \ud83d"}),
        ("jig", named(18), {"build": shed.build, "kit": kit, "word": "of the build"}),
    ]  # fmt: skip
    for type_, id_, fields in rest:
        phone.write(type_, id_, fields, NOW)


def _fill_build(shed: Shed) -> None:
    phone, tablet, build, step = shed.phone, shed.tablet, shed.build, named(12)
    at = "2026-05-04T18:30:00.000Z"
    jpeg, webp = shed.keep(picture(2)), shed.keep(picture(3, "WEBP"))
    phone.write("step_progress", derived_id("step_progress", build, step),
                {"build": build, "step": step, "state": "under_way", "at": at}, NOW)  # fmt: skip
    tick = {"build": build, "step": step, "operation": named(14), "done": True}
    tablet.write("operation_tick", derived_id("operation_tick", build, named(14)), tick, NOW)
    phone.write("place", derived_id("place", build, shed.phone_id),
                {"build": build, "device": shed.phone_id, "step": step, "at": at}, NOW)  # fmt: skip
    for number, blob in ((20, jpeg), (21, webp), (22, shed.absent)):
        phone.write("photo", named(number),
                    {"build": build, "step": step, "blob": blob, "taken_at": at,
                     "device": shed.phone_id}, NOW)  # fmt: skip
    tablet.write("note", named(23), {"build": build, "text": "Tight fit", "at": at}, NOW)
    tablet.write("note", named(24), {"build": build, "text": "to be deleted", "at": at}, NOW)
    tablet.write("note", named(25), {"build": build, "text": "deleted and edited", "at": at}, NOW)
    tablet.write("reading", named(26), {"build": build, "step": step, "dimension": named(27),
                                        "value": 41.5, "typed": "41,5", "at": at}, NOW)  # fmt: skip


def _disagree(shed: Shed) -> None:
    """Neither device knows of what the other writes here."""
    phone, tablet = shed.phone, shed.tablet
    # In the same instant: which one is shown hangs on nothing but the order of the clocks.
    phone.last = tablet.last = (NOW + 5000, 0)
    phone.write("kit", shed.kit, {"about": "says the phone"}, NOW)
    tablet.write("kit", shed.kit, {"about": "says the tablet"}, NOW)
    phone.write("build", shed.build, {"name": "Red"}, NOW)
    tablet.write("build", shed.build, {"name": "Blue"}, NOW)
    phone.delete(named(24), NOW)
    phone.delete(named(25), NOW)
    tablet.write("note", named(25), {"text": "deleted and edited: keep me"}, NOW)


def members(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as file:
        return {name: file.read(name) for name in file.namelist()}


def lines(archive: bytes, name: str) -> list[Any]:
    return [json.loads(line) for line in members(archive)[name].splitlines()]


def repacked(content: dict[str, bytes], *, sums: bool = True, method: int = 8) -> bytes:
    """An archive of these members, its checksums made anew unless they are what is wrong."""
    if sums:
        listed = [
            f"{hashlib.sha256(plain).hexdigest()}  {name}\n"
            for name, plain in content.items()
            if name != "checksums.sha256"
        ]
        content = {**content, "checksums.sha256": "".join(listed).encode()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as file:
        for name, plain in content.items():
            file.writestr(name, plain)
    return out.getvalue()


def everything(settings: Settings) -> tuple[list[Any], list[Any], list[Path]]:
    """All that an import could write: journal, states, pictures."""
    with reading_work() as conn:
        changes = [tuple(row) for row in conn.execute(sa.select(journal_table))]
        states = [tuple(row) for row in conn.execute(sa.select(record_state))]
        states += [(row.record_id, str(row.fields)) for row in conn.execute(sa.select(taken_in))]
    kept = [path for path in settings.blob_folder.rglob("*") if path.is_file()]
    return sorted(changes), sorted(states), sorted(kept)
