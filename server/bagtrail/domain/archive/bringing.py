"""What an archive holds, written into a workshop: all of it or nothing."""

from __future__ import annotations

import errno
import json
import secrets
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ...storage.blobs import BlobStore
from ...storage.tables import RECORD_TABLES, device_clock, purged, record_state, taken_in
from ...storage.work import writing
from ...trade import codes
from ...wire.problems import NoRoom
from .. import journal, photos
from ..journal import Draft
from . import copying, lines
from .content import Archive
from .copying import Copying
from .members import Limits
from .reading import opened


@dataclass(frozen=True, slots=True)
class Brought:
    """What came in.  ``made``: new records by type; ``added`` and ``known``: changes that are new
    and that were here already; ``photos``: new pictures; ``cleared``: records that were deleted
    here and cleared away, and stay so; ``copied``: it got ids of its own."""

    name: str
    kits: list[str]
    build: str | None
    made: dict[str, int]
    added: int
    known: int
    photos: int
    cleared: int
    copied: bool


def bring(store: BlobStore, workshop: str, source: Path | IO[bytes], limits: Limits) -> Brought:
    """Brings the archive in a file into a workshop; again changes nothing.

    Raises what :func:`reading.opened` raises, before anything is written; NoRoom; IdReuse, Invalid
    or OtherWorkshop where one of its changes cannot stand here: then nothing is kept of it.
    """
    with opened(source, limits) as archive, _disk_may_be_full():
        kept: list[str] = []
        try:
            # Pictures first: no record is to say that they are here before they are.
            for sha256 in archive.pictures:
                content = archive.picture(sha256)
                if photos.put_back(store, workshop, sha256, content, limits.pixels_max):
                    kept.append(sha256)
            with writing() as conn:
                plan = _plan(conn, workshop, archive)
                _write_devices(conn, workshop, archive, plan)
                taken = journal.take_in(conn, workshop, map(plan.change, archive.changes()))
                _remember_intakes(conn, workshop, archive, plan)
                _give_codes(conn, workshop, archive, plan)
        except BaseException:
            photos.drop(store, workshop, kept)
            raise
        for sha256 in archive.pictures:
            # The same archive may have been brought in beside this one, and given up.
            if not store.has(workshop, sha256):
                photos.put_back(store, workshop, sha256, archive.picture(sha256), limits.pixels_max)
    photos.mark_stored(workshop)
    return Brought(
        archive.name,
        [plan.names[kit] for kit in archive.kits],
        plan.names[archive.build] if archive.build else None,
        {type_: count for type_, count in sorted(taken.made.items()) if count},
        taken.added,
        taken.known,
        len(kept),
        len(taken.cleared),
        plan.copies,
    )


@contextmanager
def _disk_may_be_full() -> Iterator[None]:
    try:
        yield
    except (OSError, sa.exc.OperationalError) as why:
        if not is_full(why):
            raise
        raise NoRoom(
            "There is not enough room for this archive. Free some space there, then bring it in"
            " again. Nothing was written."
        ) from why


def is_full(why: Exception) -> bool:
    """Whether an error of the system or of a database says that no room is left."""
    if isinstance(why, OSError):
        return why.errno in (errno.ENOSPC, errno.EDQUOT)
    return "disk is full" in str(why) or "No space left" in str(why)


def _plan(conn: Connection, workshop: str, archive: Archive) -> Copying:
    """Which of its kits and builds come in as they are, and which as a copy."""
    own = archive.workshop == workshop
    first = copying.first_salt(workshop, archive.workshop)
    salts: dict[str, uuid.UUID | None] = {}
    copied = not own
    for root in archive.roots:
        if root == archive.build and archive.kits and salts[archive.kits[0]] != first:
            # It points at its kit: there is one copy of it for each copy of that.
            kit = copying.renamed(salts[archive.kits[0]], archive.kits[0])
            first = copying.first_salt(kit, archive.workshop)
        salt = first if copied else None
        # Deleted there as well, it comes in as deleted.
        while not archive.records[root].gone and _is_lost(
            conn, workshop, copying.renamed(salt, root)
        ):
            salt = first if salt is None else copying.next_salt(salt)
        salts[root] = salt
        copied = copied or salt is not None
    return Copying(archive, salts, None if own else copying.first_salt(workshop, archive.workshop))


def _is_lost(conn: Connection, workshop: str, id_: str) -> bool:
    """Whether a record was deleted here, or belongs to another workshop, so that it cannot come."""
    if conn.execute(sa.select(purged.c.id).where(purged.c.id == id_)).first() is not None:
        return True
    columns = record_state.c
    row = conn.execute(
        sa.select(columns.workshop_id, columns.gone_ms).where(columns.id == id_)
    ).first()
    return row is not None and (row.workshop_id != workshop or row.gone_ms is not None)


def _write_devices(conn: Connection, workshop: str, archive: Archive, plan: Copying) -> None:
    """Whoever wrote the changes is known by name, but not let in; and nobody takes their clocks."""
    now = journal.now_ms()
    drafts = []
    for device in archive.devices:
        id_ = plan.names[device.id]
        known = conn.execute(sa.select(record_state.c.id).where(record_state.c.id == id_)).first()
        clocks = [
            new
            for salt in dict.fromkeys(plan.salts.values())
            for clock in device.clocks
            for new in [plan.clocks[salt][clock] if salt else clock]
        ]
        if known is None:
            fields = {
                "name": device.name,
                "kind": device.kind,
                "clock": clocks[-1] if clocks else None,
                "paired_at": device.paired_at,
                "revoked_at": device.revoked_at or lines.instant(now),
            }
            drafts.append(Draft("device", id_, fields))
        for clock in clocks:
            owned = sa.select(device_clock.c.clock).where(device_clock.c.clock == clock)
            if conn.execute(owned).first() is None:
                row = {"clock": clock, "device_id": id_, "workshop_id": workshop, "since_ms": now}
                conn.execute(device_clock.insert().values(row))
    journal.write(conn, workshop, drafts)


def _remember_intakes(conn: Connection, workshop: str, archive: Archive, plan: Copying) -> None:
    """What intakes wrote there counts for records of which none is remembered here."""
    for record, fields in archive.intakes():
        id_, here = plan.intake(record, fields)
        stands = sa.select(record_state.c.id).where(record_state.c.id == id_)
        known = sa.select(taken_in.c.record_id).where(taken_in.c.record_id == id_)
        if conn.execute(stands).first() and not conn.execute(known).first():
            row = {"record_id": id_, "workshop_id": workshop, "fields": here}
            conn.execute(taken_in.insert().values(row))


def _give_codes(conn: Connection, workshop: str, archive: Archive, plan: Copying) -> None:
    """Bags of a copy whose labels cannot stand here get codes of this workshop."""
    bag, kit = RECORD_TABLES["bag"], RECORD_TABLES["kit"]
    copied = {
        plan.names[id_]
        for id_, record in archive.records.items()
        if record.type == "bag" and plan.salts[record.root] is not None
    }
    if not copied:
        return
    standing = (
        sa.select(bag.c.id, bag.c.code)
        .join(kit, kit.c.id == bag.c.kit)
        .where(bag.c.workshop_id == workshop, sa.not_(bag.c.gone), sa.not_(kit.c.gone))
        .where(bag.c.code.is_not(None))
    )
    taken: dict[str, set[str]] = {}
    for row in conn.execute(standing):
        taken.setdefault(row.code, set()).add(row.id)
    drafts = []
    for id_ in sorted(copied & set().union(*taken.values())):
        heads: str = conn.execute(
            sa.select(record_state.c.heads).where(record_state.c.id == id_)
        ).scalar_one()
        said = [head[2]["code"] for head in json.loads(heads) if "code" in head[2]]
        fit = [
            code
            for code in said
            if code is None
            or (codes.same_workshop(code, workshop) and not taken.get(code, set()) - {id_})
        ]
        if fit == said:
            continue
        chosen = next((code for code in reversed(fit) if code is not None), None)
        chosen = chosen or codes.issue(workshop, lambda: secrets.randbits(codes.RANDOM_BITS), taken)
        taken.setdefault(chosen, set()).add(id_)
        drafts.append(Draft("bag", id_, {"code": chosen}))
    journal.write(conn, workshop, drafts)
