"""Reading records, and the plain writes of the API, which go through the journal like all."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, RowMapping

from ..storage.tables import RECORD_TABLES, record_state
from ..storage.work import reading, writing
from ..wire.problems import ChangedElsewhere, Invalid, NotFound
from ..wire.records import RECORDS, derived_id, field_kinds
from . import journal, merge
from .journal import Draft


@dataclass(frozen=True, slots=True)
class Read:
    """A record as it stands: ``seq`` of its last change; ``asks``: something is to be settled."""

    id: str
    seq: int
    asks: bool
    values: dict[str, Any]


def one(workshop: str, type_: str, id_: str) -> Read:
    """A record that stands.  Raises NotFound."""
    with reading() as conn:
        return _one(conn, workshop, type_, id_)


def page(
    workshop: str, type_: str, where: Mapping[str, Any], after: str | None, limit: int
) -> tuple[list[Read], str | None]:
    """Records that stand and hold these values, in order of id, and the id to go on after."""
    table = RECORD_TABLES[type_]
    query = _standing(workshop, type_).order_by(table.c.id).limit(limit + 1)
    for name, value in where.items():
        query = query.where(table.c[name] == value)
    if after is not None:
        query = query.where(table.c.id > after)
    with reading() as conn:
        rows = [_read(type_, row) for row in conn.execute(query).mappings()]
    return rows[:limit], rows[limit - 1].id if len(rows) > limit else None


def newest(workshop: str) -> int:
    """Sequence of the last change of a workshop; 0 if there is none."""
    with reading() as conn:
        return (
            conn.execute(
                sa.select(sa.func.max(record_state.c.seq)).where(
                    record_state.c.workshop_id == workshop
                )
            ).scalar()
            or 0
        )


def create(workshop: str, type_: str, values: Mapping[str, Any], id_: str | None = None) -> Read:
    """Makes a record.  Raises Invalid; ChangedElsewhere if one with its id is there already."""
    schema = RECORDS[type_]
    lacking = [n for n, kind in field_kinds(type_).items() if kind.required and n not in values]
    if lacking:
        raise Invalid(
            f"{type_}: {', '.join(lacking)} must be given.",
            errors={name: ["Must be given."] for name in lacking},
        )
    if schema.derived:
        wanted = derived_id(type_, *(str(values[name]) for name in schema.derived))
        if id_ not in (None, wanted):
            raise Invalid(f"The id of a {type_} follows from {' and '.join(schema.derived)}.")
        id_ = wanted
    id_ = id_ or str(uuid.uuid4())
    with writing() as conn:
        if conn.execute(sa.select(record_state.c.id).where(record_state.c.id == id_)).first():
            raise ChangedElsewhere("A record with this id is there already.")
        journal.write(conn, workshop, [Draft(type_, id_, values)])
        return _one(conn, workshop, type_, id_)


def change(
    workshop: str, type_: str, id_: str, values: Mapping[str, Any], seen: int | None
) -> Read:
    """Sets fields of a record.  ``seen``: the sequence its writer had read, if it says so.

    Raises NotFound, Invalid, ChangedElsewhere.
    """
    with writing() as conn:
        _check_seen(_one(conn, workshop, type_, id_), seen)
        journal.write(conn, workshop, [Draft(type_, id_, values)])
        return _one(conn, workshop, type_, id_)


def delete(workshop: str, type_: str, id_: str, seen: int | None) -> None:
    """Deletes a record.  Raises NotFound, ChangedElsewhere."""
    with writing() as conn:
        _check_seen(_one(conn, workshop, type_, id_), seen)
        journal.remove(conn, workshop, type_, id_)


def clashes(workshop: str, type_: str, id_: str) -> list[merge.Clash]:
    """What a person has to settle on a record."""
    with reading() as conn:
        _one(conn, workshop, type_, id_)
        row = conn.execute(
            sa.select(record_state.c.heads, record_state.c.ghosts).where(record_state.c.id == id_)
        ).one()
    return merge.shown(merge.load(row.heads, row.ghosts), RECORDS[type_].quiet).clashes


def _check_seen(read: Read, seen: int | None) -> None:
    if seen is not None and read.seq != seen:
        raise ChangedElsewhere("Read it again, look at what is new, and send your change anew.")


def _standing(workshop: str, type_: str) -> sa.Select[Any]:
    table = RECORD_TABLES[type_]
    return sa.select(table).where(
        table.c.workshop_id == workshop, table.c.complete, sa.not_(table.c.gone)
    )


def _one(conn: Connection, workshop: str, type_: str, id_: str) -> Read:
    query = _standing(workshop, type_).where(RECORD_TABLES[type_].c.id == id_)
    row = conn.execute(query).mappings().first()
    if row is None:
        raise NotFound(f"There is no such {type_} in this workshop.")
    return _read(type_, row)


def _read(type_: str, row: RowMapping) -> Read:
    values = {name: row[name] for name in field_kinds(type_) if name != "deleted"}
    return Read(row["id"], row["seq"], row["asks"], values)
