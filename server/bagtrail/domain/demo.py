"""Puts the demo kit into a workshop, with a build of it to try."""

from __future__ import annotations

import json
import secrets
import uuid
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from ..storage.blobs import BlobStore
from ..storage.tables import RECORD_TABLES, record_state
from ..storage.work import reading, writing
from ..trade import codes
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
    if _stands(kit):
        return kit, build
    for record in records:
        if record["type"] == "page":
            picture = (folder / "pages" / f"{record['set']['blob']}.png").read_bytes()
            photos.keep(store, workshop, record["set"]["blob"], picture, pixels_max)
    with writing() as conn:
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
            drafts.append(Draft(record["type"], names[record["id"]], fields))
        name = next(draft.set["name"] for draft in drafts if draft.type == "kit")
        drafts.append(Draft("build", build, {"kit": kit, "name": f"My {name}"}))
        journal.write(conn, workshop, drafts)
    return kit, build


def _free_salt(workshop: str, original: str) -> uuid.UUID:
    """Namespace of the ids: the first in which the kit is not there, or has not been deleted."""
    salt = uuid.UUID(workshop)
    with reading() as conn:
        while True:
            salt = uuid.uuid5(salt, "demo")
            gone = conn.execute(
                sa.select(RECORD_TABLES["kit"].c.gone).where(
                    RECORD_TABLES["kit"].c.id == str(uuid.uuid5(salt, original))
                )
            ).scalar()
            if not gone:
                return salt


def _stands(kit: str) -> bool:
    with reading() as conn:
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
