"""Which records belong to a kit or a build, whatever became of them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ...storage.tables import record_state
from ...wire.records import RECORDS

SCOPES = ("kit", "build")


def records_of(conn: Connection, workshop: str, scope: str, root: str) -> dict[str, str]:
    """Ids and types of a kit (``scope`` "kit") or a build and of all that belongs to it: deleted
    ones, ones that clash, and records of types that only newer devices know."""
    found: dict[str, str] = {}
    columns = record_state.c
    query = sa.select(columns.id, columns.type, columns.heads).where(
        columns.workshop_id == workshop,
        # As the journal spells it; what is meant is looked at below.
        sa.or_(columns.id == root, columns.heads.contains(f'"{scope}":"{root}"')),
    )
    for row in conn.execute(query.execution_options(yield_per=1_000)):
        sets = [head[2] for head in json.loads(row.heads)]
        if row.id == root or _belongs(row.type, sets, scope, root):
            found[row.id] = row.type
    return found


def scope_of(type_: str, sets: Iterable[Mapping[str, Any]]) -> str:
    """To which of the two a record belongs, by what was written to it; "" if to neither.

    Of a type that this program does not know, ``build`` counts for more: what names both says
    something of the build.
    """
    if type_ in SCOPES:
        return type_
    if type_ in RECORDS:
        return RECORDS[type_].scope or ""
    named = {name for fields in sets for name, value in fields.items() if value is not None}
    return next((scope for scope in ("build", "kit") if scope in named), "")


def _belongs(type_: str, sets: list[Mapping[str, Any]], scope: str, root: str) -> bool:
    if type_ in SCOPES or scope_of(type_, sets) != scope:
        return False
    return any(fields.get(scope) == root for fields in sets)
