"""An archive on its way out: one consistent state, streamed."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ...storage.blobs import BlobStore
from ...storage.tables import RECORD_TABLES, device_clock, record_state, taken_in
from ...storage.tables import blob as blobs
from ...storage.work import reading
from ...wire.problems import NotFound
from ...wire.records import RECORDS
from .. import journal, merge
from . import form, lines, scope, zipping
from .spool import Spool
from .zipping import Member, Zip

_CHUNK = 500
_PICTURES = re.compile('"([0-9a-f]{64})"')


@dataclass(frozen=True, slots=True)
class Outgoing:
    """An archive to be sent: a plain file name, and its bytes.  ``chunks`` is to be read to its end
    or closed."""

    name: str
    chunks: Iterator[bytes]


@dataclass(slots=True)
class _Content:
    """What was read in one transaction."""

    about: dict[str, Any]
    spools: list[Spool]
    #: Path and media type of each picture, by its name.
    pictures: dict[str, str]


def export(
    store: BlobStore, folder: Path, workshop: str, what: str, root: str, *, now: int | None = None
) -> Outgoing:
    """The archive of a kit or a build that stands (``what`` "kit" or "build").  Raises NotFound.

    Records are read here, in one transaction, into files without a name in ``folder``; the bytes
    of pictures follow as they are sent.  Memory holds ids and the largest picture, no more.
    """
    now = journal.now_ms() if now is None else now
    with ExitStack() as stack:
        names = (form.CHANGES, form.RECORDS, form.DEVICES, form.INTAKES)
        spools = [Spool(name, folder) for name in names]
        for spool in spools:
            stack.callback(spool.close)
        with reading() as conn:
            content = _read(conn, store, workshop, what, root, spools, now)
        held = stack.pop_all()
    name = file_name(content.about["name"], what, now)
    return Outgoing(f"{name}.zip", _stream(store, workshop, content, now, held))


def kind_of(workshop: str, root: str) -> str:
    """Whether a kit or a build has this id.  Raises NotFound."""
    columns = record_state.c
    with reading() as conn:
        found = conn.execute(
            sa.select(columns.type).where(columns.id == root, columns.workshop_id == workshop)
        ).scalar()
    if found not in scope.SCOPES:
        raise NotFound("No kit or build of this workshop has this id.")
    return str(found)


def file_name(name: str, what: str, now: int) -> str:
    """A name that every file system takes: ``Tarn-6-build-2026-05-04``."""
    plain = "-".join(re.findall(r"[A-Za-z0-9]+", name))[:60].strip("-")
    return "-".join(part for part in (plain, what, lines.instant(now)[:10]) if part)


def _read(
    conn: Connection,
    store: BlobStore,
    workshop: str,
    what: str,
    root: str,
    spools: list[Spool],
    now: int,
) -> _Content:
    name, kits = _standing(conn, workshop, what, root)
    types = scope.records_of(conn, workshop, what, root)
    if what == "build":
        for kit in kits:
            types |= scope.records_of(conn, workshop, "kit", kit)
        kits = [kit for kit in kits if kit in types]
    changes, records, devices, intakes = spools
    named: set[str] = set()
    clocks: set[str] = set()
    wrote: set[str] = set()
    for foreign in journal.history(conn, workshop, types):
        words = lines.said(foreign)
        changes.write(words)
        clocks.add(foreign.change.clock)
        device = foreign.change.set.get("device")
        if isinstance(device, str):
            wrote.add(device)
        named.update(_PICTURES.findall(json.dumps(words["set"])))
    _write_records(conn, types, records)
    _write_devices(conn, workshop, clocks, wrote, devices)
    _write_intakes(conn, workshop, types, intakes)
    pictures = _kept(conn, store, workshop, named)
    table = RECORD_TABLES["workshop"]
    workshop_name = conn.execute(sa.select(table.c.name).where(table.c.id == workshop)).scalar()
    about = {
        "format": form.FORMAT,
        "version": form.VERSION,
        "made_by": {"program": "bagtrail", "version": form.program_version()},
        "made_at": lines.instant(now),
        "what": what,
        "name": name,
        "build": root if what == "build" else None,
        "kits": kits,
        "workshop": {"id": workshop, "name": workshop_name},
        "counts": {
            "changes": changes.lines,
            "records": records.lines,
            "devices": devices.lines,
            "intakes": intakes.lines,
            "files": len(pictures),
        },
    }
    return _Content(about, spools, pictures)


def _standing(conn: Connection, workshop: str, what: str, root: str) -> tuple[str, list[str]]:
    """Name of what is asked for, and the kits of it: the one that is shown first."""
    table = RECORD_TABLES[what]
    row = conn.execute(
        sa.select(table).where(
            table.c.id == root,
            table.c.workshop_id == workshop,
            table.c.complete,
            sa.not_(table.c.gone),
        )
    ).first()
    if row is None:
        raise NotFound(f"There is no such {what} in this workshop.")
    if what == "kit":
        return row.name, [root]
    heads: str = conn.execute(
        sa.select(record_state.c.heads).where(record_state.c.id == root)
    ).scalar_one()
    said = [head[2]["kit"] for head in json.loads(heads) if "kit" in head[2]]
    return row.name, list(dict.fromkeys(kit for kit in reversed(said) if isinstance(kit, str)))


def _write_records(conn: Connection, types: dict[str, str], spool: Spool) -> None:
    """Records as they are shown, by type and id."""
    rank = {type_: at for at, type_ in enumerate(RECORDS)}
    order = sorted(types, key=lambda id_: (rank.get(types[id_], len(rank)), types[id_], id_))
    columns = record_state.c
    for at in range(0, len(order), _CHUNK):
        chunk = order[at : at + _CHUNK]
        query = sa.select(columns.id, columns.heads, columns.ghosts).where(columns.id.in_(chunk))
        states = {row.id: merge.load(row.heads, row.ghosts) for row in conn.execute(query)}
        for id_ in chunk:
            spool.write(shown(types[id_], id_, states[id_]))


def shown(type_: str, id_: str, state: merge.State) -> dict[str, Any]:
    """A record as its line in an archive says it."""
    seen = merge.shown(state, RECORDS[type_].quiet if type_ in RECORDS else ())
    words: dict[str, Any] = {"type": type_, "id": id_, "gone": seen.gone, "values": seen.values}
    seen.values.pop("deleted", None)
    if seen.clashes:
        words["clashes"] = [
            {
                "field": clash.field,
                "others": [{"value": v, "change": c, "stamp": s} for v, c, s in clash.others],
            }
            for clash in seen.clashes
        ]
    if seen.delete_asked:
        words["delete_asked"] = True
    return words


def _write_devices(
    conn: Connection, workshop: str, clocks: set[str], named: set[str], spool: Spool
) -> None:
    """The devices that wrote these changes, or that records name; with all their clocks."""
    table = RECORD_TABLES["device"]
    owned: dict[str, list[str]] = {}
    known = sa.select(device_clock.c.clock, device_clock.c.device_id).where(
        device_clock.c.workshop_id == workshop
    )
    for row in conn.execute(known.order_by(device_clock.c.clock)):
        owned.setdefault(row.device_id, []).append(row.clock)
    query = sa.select(table).where(table.c.workshop_id == workshop, table.c.complete)
    for device in conn.execute(query.order_by(table.c.id)).mappings():
        own, present = owned.get(device["id"], []), device["clock"]
        if device["id"] in named or not clocks.isdisjoint(own):
            about = {name: device[name] for name in ("name", "kind", "paired_at", "revoked_at")}
            # The present one last.
            own = [clock for clock in own if clock != present] + [present] * (present in own)
            spool.write({"id": device["id"], **about, "clocks": own})


def _write_intakes(conn: Connection, workshop: str, types: dict[str, str], spool: Spool) -> None:
    """What intakes wrote last: by that, the next one knows what people have changed since."""
    query = sa.select(taken_in.c.record_id, taken_in.c.fields).where(
        taken_in.c.workshop_id == workshop
    )
    for row in conn.execute(query.order_by(taken_in.c.record_id)):
        if row.record_id in types:
            spool.write({"record": row.record_id, "fields": row.fields})


def _kept(conn: Connection, store: BlobStore, workshop: str, named: set[str]) -> dict[str, str]:
    """Of these pictures, the ones that are here, with their extensions."""
    query = sa.select(blobs.c.sha256, blobs.c.media_type).where(blobs.c.workshop_id == workshop)
    return {
        row.sha256: form.EXTENSIONS[row.media_type]
        for row in conn.execute(query.order_by(blobs.c.sha256))
        if row.sha256 in named and store.has(workshop, row.sha256)
    }


def _stream(
    store: BlobStore, workshop: str, content: _Content, now: int, held: ExitStack
) -> Iterator[bytes]:
    with held:
        file = Zip(datetime.fromtimestamp(now / 1000, UTC))
        sums: dict[str, str] = {}
        about = (json.dumps(content.about, indent=1, ensure_ascii=False) + "\n").encode(
            errors="replace"
        )
        small = (
            (form.MIMETYPE, form.MEDIA_TYPE.encode()),
            (form.README, form.README_TEXT.encode()),
            (form.ABOUT, about),
        )
        for name, plain in small:
            sums[name] = hashlib.sha256(plain).hexdigest()
            yield from file.add(zipping.stored(name, plain), [plain])
        for spool in content.spools:
            member, sums[spool.name] = spool.done()
            yield from file.add(member, spool.packed())
        for sha256, extension in content.pictures.items():
            name, picture = f"files/{sha256}.{extension}", store.read(workshop, sha256)
            if picture is None:
                # What cannot be told any more in a reply that has begun has to break it off.
                raise OSError(f"the picture {sha256} is no longer there")
            sums[name] = hashlib.sha256(picture).hexdigest()
            yield from file.add(zipping.stored(name, picture), [picture])
        listed = "".join(f"{sums[name]}  {name}\n" for name in sums).encode()
        packed = zipping.deflated(listed)
        crc = zipping.stored(form.CHECKSUMS, listed).crc
        member = Member(form.CHECKSUMS, zipping.DEFLATED, crc, len(listed), len(packed))
        yield from file.add(member, [packed])
        yield from file.end()
