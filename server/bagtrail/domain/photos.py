"""Bytes of photos and pages: taken in, verified, kept, handed out, cleared away."""

from __future__ import annotations

import hashlib
import re
import time
from collections.abc import Collection, Iterable
from dataclasses import dataclass

import sqlalchemy as sa

from ..storage.blobs import BlobStore
from ..storage.tables import RECORD_TABLES
from ..storage.tables import blob as blobs
from ..storage.work import reading, upsert, writing
from ..wire.fields import SHA256_PATTERN
from ..wire.problems import Invalid, NotFound
from . import journal, pictures
from .journal import Draft

#: Bytes that no record names are kept this long: their record may still be on its way.
GRACE_S = 30 * 24 * 3600


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
    """Takes in a picture's bytes and marks the photos of it as stored.  Again is harmless.

    Returns what is kept and whether it is new.  Raises Invalid if the bytes do not hash to
    ``sha256`` (an upload that was cut off), NotAPicture, TooLarge.
    """
    if hashlib.sha256(content).hexdigest() != sha256:
        raise Invalid("The bytes do not hash to this name: the upload was cut off or changed.")
    known = find(workshop, sha256)
    if known is None:
        picture = pictures.clean(content, pixels_max)
        for size, smaller in picture.smaller.items():
            store.write(workshop, sha256, size, smaller)
        store.write(workshop, sha256, "", picture.content)
    with writing() as conn:
        if known is None:
            row = {
                "workshop_id": workshop,
                "sha256": sha256,
                "media_type": picture.media_type,
                "width_px": picture.width_px,
                "height_px": picture.height_px,
                "size_bytes": len(picture.content),
                "stored_ms": journal.now_ms(),
            }
            upsert(conn, blobs, [row])
        _mark_stored(conn, workshop, [sha256])
    kept = find(workshop, sha256)
    assert kept is not None
    return kept, known is None


def confirm(workshop: str, named: Collection[str]) -> None:
    """Marks the photos of these blobs as stored whose bytes are here already.

    Bytes may come before their record: a device takes a photo while its pictures are being sent.
    """
    if not named:
        return
    with reading() as conn:
        here: Iterable[str] = conn.execute(
            sa.select(blobs.c.sha256).where(
                blobs.c.workshop_id == workshop, blobs.c.sha256.in_(sorted(set(named)))
            )
        ).scalars()
        arrived = list(here)
    if arrived:
        with writing() as conn:
            _mark_stored(conn, workshop, arrived)


def _mark_stored(conn: sa.Connection, workshop: str, named: Collection[str]) -> None:
    photo = RECORD_TABLES["photo"]
    waiting: Iterable[str] = conn.execute(
        sa.select(photo.c.id).where(
            photo.c.workshop_id == workshop,
            photo.c.blob.in_(named),
            sa.or_(photo.c.stored.is_(None), sa.not_(photo.c.stored)),
        )
    ).scalars()
    drafts = [Draft("photo", id_, {"stored": True}) for id_ in waiting]
    if drafts:
        journal.write(conn, workshop, drafts)


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
    """Deletes bytes that no standing photo or page names, after a time of grace.

    Looked up and forgotten in one writing transaction, so that no record can begin to name them
    in between.  Returns how many.
    """
    now_s = time.time() if now_s is None else now_s
    old = [sha for sha, written_s in store.all(workshop) if written_s < now_s - GRACE_S]
    with writing() as conn:
        named: set[str] = set()
        for type_ in ("photo", "page"):
            table = RECORD_TABLES[type_]
            named.update(
                conn.execute(
                    sa.select(table.c.blob).where(
                        table.c.workshop_id == workshop, sa.not_(table.c.gone)
                    )
                ).scalars()
            )
        unused = [sha for sha in old if sha not in named]
        for sha in unused:
            conn.execute(
                blobs.delete().where(blobs.c.workshop_id == workshop, blobs.c.sha256 == sha)
            )
            store.delete(workshop, sha)
    return len(unused)
