"""Bytes of photos and pages: taken in, verified, kept, handed out, cleared away."""

from __future__ import annotations

import contextlib
import hashlib
import re
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass

import sqlalchemy as sa

from ..storage.blobs import BlobStore
from ..storage.tables import RECORD_TABLES, intake_page, record_state
from ..storage.tables import blob as blobs
from ..storage.work import reading, upsert, writing
from ..wire.fields import SHA256_PATTERN
from ..wire.problems import Invalid, NotAPicture, NotFound, TooLarge
from . import journal, pictures
from .journal import Draft

#: Bytes that no record names are kept this long: their record may still be on its way.
GRACE_S = 30 * 24 * 3600
#: Types of record that show a picture which a device took.
PICTURED = ("photo", "page")


@dataclass(frozen=True, slots=True)
class Kept:
    sha256: str
    media_type: str
    width_px: int
    height_px: int
    size_bytes: int


def keep(
    store: BlobStore, workshop: str, sha256: str, content: bytes, pixels_max: int
) -> tuple[Kept, bool]:
    """Takes in a picture's bytes and marks the records of it as stored.  Again is harmless.

    Returns what is kept and whether it is new.  Raises Invalid if the bytes do not hash to
    ``sha256`` (an upload that was cut off), NotAPicture, TooLarge.
    """
    if hashlib.sha256(content).hexdigest() != sha256:
        raise Invalid("The bytes do not hash to this name: the upload was cut off or changed.")
    kept = find(workshop, sha256)
    # The folder may have been lost, or put back older than the database.
    new = kept is None or not store.has(workshop, sha256)
    if kept is None or new:
        kept = _take_in(store, workshop, sha256, content, pixels_max)
    mark_stored(workshop)
    return kept, new


def put_back(
    store: BlobStore, workshop: str, sha256: str, content: bytes, pixels_max: int
) -> bool:
    """Keeps a picture as a server had kept it under this name; returns whether it is new.

    What is kept need not hash to its name: that is of what was sent, before it was made clean.
    Raises NotAPicture, TooLarge, OSError (disk full, say), with nothing left behind.
    """
    if find(workshop, sha256) is not None and store.has(workshop, sha256):
        return False
    try:
        _take_in(store, workshop, sha256, content, pixels_max)
    except BaseException:
        store.delete(workshop, sha256)
        raise
    return True


def drop(store: BlobStore, workshop: str, names: Iterable[str]) -> None:
    """Forgets pictures that were kept for records which then did not come."""
    names = list(names)
    with writing() as conn:
        for sha in names:
            conn.execute(
                blobs.delete().where(blobs.c.workshop_id == workshop, blobs.c.sha256 == sha)
            )
            store.delete(workshop, sha)


def mark_stored(workshop: str) -> None:
    """Marks the standing photos and pages whose bytes are here, whichever of the two came first."""
    with writing() as conn:
        drafts: list[Draft] = []
        for type_ in PICTURED:
            table = RECORD_TABLES[type_]
            here = sa.select(blobs.c.sha256).where(
                blobs.c.workshop_id == workshop, blobs.c.sha256 == table.c.blob
            )
            waiting: Iterable[str] = conn.execute(
                sa.select(table.c.id).where(
                    table.c.workshop_id == workshop,
                    sa.or_(table.c.stored.is_(None), sa.not_(table.c.stored)),
                    # What was deleted must not seem changed beside that.
                    sa.not_(table.c.gone),
                    here.exists(),
                )
            ).scalars()
            drafts += [Draft(type_, id_, {"stored": True}) for id_ in waiting]
        journal.write(conn, workshop, drafts)


def adopt(store: BlobStore, pixels_max: int) -> None:
    """After a restore: pictures that came in since the copy was made are known again."""
    for workshop in store.workshops():
        for sha256, _ in list(store.all(workshop)):
            content = store.read(workshop, sha256)
            if content is not None and find(workshop, sha256) is None:
                with contextlib.suppress(NotAPicture, TooLarge):
                    _take_in(store, workshop, sha256, content, pixels_max)
        mark_stored(workshop)


def _take_in(store: BlobStore, workshop: str, sha256: str, content: bytes, pixels_max: int) -> Kept:
    picture = pictures.clean(content, pixels_max)
    for size, smaller in picture.smaller.items():
        store.write(workshop, sha256, size, smaller)
    store.write(workshop, sha256, "", picture.content)
    kept = Kept(
        sha256, picture.media_type, picture.width_px, picture.height_px, len(picture.content)
    )
    row = {"workshop_id": workshop, "stored_ms": journal.now_ms(), **asdict(kept)}
    with writing() as conn:
        upsert(conn, blobs, [row])
    return kept


def find(workshop: str, sha256: str) -> Kept | None:
    """What is kept under this name, or None."""
    if not re.fullmatch(SHA256_PATTERN, sha256):
        return None
    with reading() as conn:
        row = conn.execute(
            sa.select(
                blobs.c.sha256,
                blobs.c.media_type,
                blobs.c.width_px,
                blobs.c.height_px,
                blobs.c.size_bytes,
            ).where(blobs.c.workshop_id == workshop, blobs.c.sha256 == sha256)
        ).first()
    return Kept(**row._mapping) if row else None


def fetch(store: BlobStore, workshop: str, sha256: str, size: str) -> tuple[bytes, str]:
    """Bytes and media type of a picture at a size ("" for as kept).  Raises NotFound."""
    kept = find(workshop, sha256)
    content = store.read(workshop, sha256, size) if kept else None
    if kept is None or content is None:
        raise NotFound("The picture is not here: it may still be on the device that took it.")
    return content, kept.media_type


def clear_unused(store: BlobStore, workshop: str, *, now_s: float | None = None) -> int:
    """Deletes bytes that no record names, after a time of grace.

    A record names them until it is purged: a deleted one may be kept after all, and the other side
    of a clash may be chosen.  Looked up and forgotten in one writing transaction, so that no record
    can begin to name them in between.  Returns how many.
    """
    now_s = time.time() if now_s is None else now_s
    old = [sha for sha, written_s in store.all(workshop) if written_s < now_s - GRACE_S]
    with writing() as conn:
        states: Iterable[str] = conn.execute(
            sa.select(record_state.c.heads).where(record_state.c.workshop_id == workshop)
        ).scalars()
        # In whatever field it stands: those of newer devices' records count too.
        named = {sha for heads in states for sha in _NAMES.findall(heads)}
        # Pages of a manual that is not taken in yet have no records.
        named.update(conn.execute(sa.select(intake_page.c.blob)).scalars())
        unused = [sha for sha in old if sha not in named]
        for sha in unused:
            conn.execute(
                blobs.delete().where(blobs.c.workshop_id == workshop, blobs.c.sha256 == sha)
            )
            store.delete(workshop, sha)
    return len(unused)


_NAMES = re.compile('"([0-9a-f]{64})"')
