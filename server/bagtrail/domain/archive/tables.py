"""Tables of a kit or a build as CSV: each record type, and two that people read."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ...storage.tables import RECORD_TABLES
from ...storage.work import reading
from ...wire.problems import Invalid, NotFound
from ...wire.records import RECORDS, field_kinds
from .. import csv_out, journal
from . import zipping
from .writing import Outgoing, file_name
from .zipping import DEFLATED, Member, Zip

#: Types by the names of their collections.
TYPES = {schema.collection: name for name, schema in RECORDS.items()}
PARTS_LIST, BUILD_LOG = "parts-list.csv", "build-log.csv"

_PARTS = ("Bag", "Step", "Quantity", "Part number", "Name", "Designation", "Material")
_LOG = ("At", "Step", "What", "Says", "Device")
#: What the log tells of records of a type: the moment's field, and the words.
_TOLD: dict[str, tuple[str, Callable[[Mapping[str, Any]], str]]] = {
    "step_progress": ("at", lambda one: _words(one["state"], one["held_for"], one["word"])),
    "operation_tick": (
        "at",
        lambda one: _words("done" if one["done"] else "open", one["overruled"]),
    ),
    "pick": ("at", lambda one: one["why"] or ""),
    "reading": ("at", lambda one: _words(f"{one['value']} mm", one["instrument"])),
    "note": ("at", lambda one: one["text"]),
    "photo": ("taken_at", lambda one: _words(one["caption"], f"{one['blob']}")),
    "shortage": ("found_at", lambda one: _words(one["kind"], one["quantity"], one["text"])),
    "sitting": ("began_at", lambda one: f"until {one['ended_at'] or one['last_at'] or '?'}"),
    "movement": ("at", lambda one: _words(one["reason"], one["quantity"], one["place"])),
}


def one(workshop: str, type_: str, kit: str | None, build: str | None) -> str:
    """The records of one type that stand, or those that belong to a kit or a build, as CSV.

    Raises Invalid where records of the type belong to neither.
    """
    with reading() as conn:
        return _table(type_, _rows(conn, workshop, type_, kit, build))


def all_of(workshop: str, what: str, root: str, *, now: int | None = None) -> Outgoing:
    """Every table of a kit or a build that stands, as one ZIP.  Raises NotFound."""
    now = journal.now_ms() if now is None else now
    files: dict[str, str] = {}
    with reading() as conn:
        rows: dict[str, list[Mapping[str, Any]]] = {}
        name = _name(conn, workshop, what, root)
        for type_, schema in RECORDS.items():
            scope = type_ if type_ in ("kit", "build") else schema.scope
            if scope == "kit" or (scope == "build" and what == "build"):
                rows[type_] = _rows(
                    conn, workshop, type_, *((root, None) if what == "kit" else (None, root))
                )
                files[f"{schema.collection}.csv"] = _table(type_, rows[type_])
        if what == "build":
            rows["device"] = _rows(conn, workshop, "device", None, None)
    files[PARTS_LIST] = "".join(csv_out.table(_parts_list(rows), _PARTS))
    if what == "build":
        files[BUILD_LOG] = "".join(csv_out.table(_build_log(rows), _LOG))
    return Outgoing(f"{file_name(name, what, now)}-tables.zip", _zipped(files, now))


def _table(type_: str, rows: Iterable[Mapping[str, Any]]) -> str:
    columns = ("id", *(name for name in field_kinds(type_) if name != "deleted"))
    return "".join(csv_out.table(map(_spelled, rows), columns))


def _spelled(row: Mapping[str, Any]) -> dict[str, Any]:
    """Lists, yes and no as JSON spells them: a table says exactly what its record does."""
    return {
        name: json.dumps(value) if isinstance(value, list | bool) else value
        for name, value in row.items()
    }


def _standing(workshop: str, type_: str) -> sa.Select[Any]:
    table = RECORD_TABLES[type_]
    return sa.select(table).where(
        table.c.workshop_id == workshop, table.c.complete, sa.not_(table.c.gone)
    )


def _name(conn: Connection, workshop: str, what: str, root: str) -> str:
    row = conn.execute(_standing(workshop, what).where(RECORD_TABLES[what].c.id == root)).first()
    if row is None:
        raise NotFound(f"There is no such {what} in this workshop.")
    return str(row.name)


def _rows(
    conn: Connection, workshop: str, type_: str, kit: str | None, build: str | None
) -> list[Mapping[str, Any]]:
    """Standing records of a type, in the order in which people have them.

    Of a build: its own, and those of its kit.  Of a kit: its own, and those of all its builds.
    """
    table, builds = RECORD_TABLES[type_], RECORD_TABLES["build"]
    query = _standing(workshop, type_)
    scope = RECORDS[type_].scope
    of_build = table.c.id if type_ == "build" else table.c.build if scope == "build" else None
    of_kit = table.c.id if type_ == "kit" else table.c.kit if "kit" in table.c else None
    if (kit or build) and of_build is None and of_kit is None:
        raise Invalid(f"A {type_} belongs to no kit or build: leave kit and build out.")
    if build is not None:
        mine = sa.select(builds.c.kit).where(builds.c.id == build)
        own = of_build == build if of_build is not None else of_kit.in_(mine)  # type: ignore[union-attr]
        query = query.where(own)
    if kit is not None:
        theirs = sa.select(builds.c.id).where(builds.c.kit == kit)
        own = of_kit == kit if of_kit is not None else of_build.in_(theirs)  # type: ignore[union-attr]
        query = query.where(own)
    first = next(
        (table.c[name] for name in ("order", "at", "taken_at", "began_at") if name in table.c),
        table.c.id,
    )
    return [dict(row) for row in conn.execute(query.order_by(first, table.c.id)).mappings()]


def _by_id(rows: Mapping[str, list[Mapping[str, Any]]], type_: str) -> dict[str, Mapping[str, Any]]:
    return {one["id"]: one for one in rows.get(type_, ())}


def _parts_list(rows: Mapping[str, list[Mapping[str, Any]]]) -> Iterator[dict[str, Any]]:
    """So many of a part in a bag and at a step: by bags, then steps, then as the kit has them."""
    bags, steps, parts = (_by_id(rows, name) for name in ("bag", "step", "part"))
    place = {id_: at for group in (bags, steps) for at, id_ in enumerate(group)}

    def order(line: Mapping[str, Any]) -> tuple[Any, ...]:
        last = len(place)
        return (
            place.get(line["bag"], last),
            place.get(line["step"], last),
            line["order"] or "",
            line["id"],
        )

    for line in sorted(rows["part_line"], key=order):
        part = parts.get(line["part"], {})
        yield {
            "Bag": bags.get(line["bag"], {}).get("number"),
            "Step": steps.get(line["step"], {}).get("number"),
            "Quantity": line["quantity"],
            "Part number": part.get("number"),
            "Name": part.get("name"),
            "Designation": part.get("designation"),
            "Material": part.get("material"),
        }


def _build_log(rows: Mapping[str, list[Mapping[str, Any]]]) -> Iterator[dict[str, Any]]:
    """What was done, measured, noted and photographed, in the order of time."""
    steps, devices = _by_id(rows, "step"), _by_id(rows, "device")
    subjects = {
        name: _by_id(rows, name)
        for name in ("operation", "choice", "alternative", "dimension", "part")
    }
    told = [
        (one[at] or "", type_, one, says)
        for type_, (at, says) in _TOLD.items()
        for one in rows.get(type_, ())
    ]
    for at, type_, one, says in sorted(
        told, key=lambda entry: (entry[0], entry[1], entry[2]["id"])
    ):
        about = [
            subject.get("text") or subject.get("title") or subject.get("name")
            for name, known in subjects.items()
            if (subject := known.get(one.get(name) or ""))
        ]
        yield {
            "At": at,
            "Step": steps.get(one.get("step") or "", {}).get("number"),
            "What": type_.replace("_", " "),
            "Says": _words(*about, says(one)),
            "Device": devices.get(one.get("device") or "", {}).get("name"),
        }


def _words(*said: Any) -> str:
    return ": ".join(str(one).replace("_", " ") for one in said if one not in (None, ""))


def _zipped(files: Mapping[str, str], now: int) -> Iterator[bytes]:
    file = Zip(datetime.fromtimestamp(now / 1000, UTC))
    for name, text in files.items():
        plain = text.encode()
        packed = zipping.deflated(plain)
        crc = zipping.stored(name, plain).crc
        yield from file.add(Member(name, DEFLATED, crc, len(plain), len(packed)), [packed])
    yield from file.end()
