"""Puts the demo kit into a workshop, with a build of it to try."""

from __future__ import annotations

import json
import secrets
import uuid
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ..storage.blobs import BlobStore
from ..storage.tables import RECORD_TABLES, purged, record_state
from ..storage.work import reading, writing
from ..trade import codes
from ..wire.records import RECORDS, derived_id
from . import journal, photos
from .journal import Draft

FILE = "tarn-6.json"


def install(store: BlobStore, workshop: str, folder: Path, pixels_max: int) -> tuple[str, str]:
    """Writes the demo kit's records and pictures, and a build.  Returns (kit, build).

    Where it is already there, that one is returned; where it was deleted, it comes anew.
    """
    content = json.loads((folder / FILE).read_text())
    records: list[dict[str, Any]] = [content["kit"], *content["records"]]
    original = content["kit"]["id"]
    salt = _free_salt(workshop, original)
    names = {record["id"]: str(uuid.uuid5(salt, record["id"])) for record in records}
    kit, build = names[original], str(uuid.uuid5(salt, "build"))
    with reading() as conn:
        if _made(conn, kit):
            return kit, build
    for record in records:
        if record["type"] == "page":
            picture = (folder / "pages" / f"{record['set']['blob']}.png").read_bytes()
            photos.keep(store, workshop, record["set"]["blob"], picture, pixels_max)
    with writing() as conn:
        if _made(conn, kit):
            return kit, build
        bag = RECORD_TABLES["bag"]
        taken: set[str] = set(
            conn.execute(sa.select(bag.c.code).where(bag.c.workshop_id == workshop)).scalars()
        )
        drafts = []
        for record in records:
            fields = {name: _renamed(value, names) for name, value in record["set"].items()}
            if record["type"] == "bag":
                fields["code"] = codes.issue(
                    workshop, lambda: secrets.randbits(codes.RANDOM_BITS), taken
                )
                taken.add(fields["code"])
            if record["type"] == "page":
                fields["stored"] = True
            # Where an id follows from what the record ties together, a device makes the same.
            parts = RECORDS[record["type"]].derived
            id_ = derived_id(record["type"], *(fields[part] for part in parts)) if parts else None
            drafts.append(Draft(record["type"], id_ or names[record["id"]], fields))
        name = next(draft.set["name"] for draft in drafts if draft.type == "kit")
        drafts.append(Draft("build", build, {"kit": kit, "name": f"My {name}"}))
        journal.write(conn, workshop, drafts)
    return kit, build


def _free_salt(workshop: str, original: str) -> uuid.UUID:
    """Namespace of the ids: the first whose kit was not deleted, nor cleared away since."""
    kits = RECORD_TABLES["kit"]
    salt = uuid.UUID(workshop)
    with reading() as conn:
        while True:
            salt = uuid.uuid5(salt, "demo")
            kit = str(uuid.uuid5(salt, original))
            deleted = sa.select(kits.c.id).where(kits.c.id == kit, kits.c.gone)
            cleared = sa.select(purged.c.id).where(purged.c.id == kit)
            if conn.execute(deleted.union_all(cleared)).first() is None:
                return salt


def _made(conn: Connection, kit: str) -> bool:
    return (
        conn.execute(sa.select(record_state.c.id).where(record_state.c.id == kit)).first()
        is not None
    )


def _renamed(value: Any, names: dict[str, str]) -> Any:
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, list):
        return [_renamed(item, names) for item in value]
    return value
