"""From the states of records to rows of the typed tables."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy.engine import Connection

from ..storage.tables import RECORD_TABLES, record_state
from ..storage.work import upsert
from ..wire.records import RECORDS, field_kinds
from . import merge


class Entry:
    """A record's state while changes are added to it."""

    __slots__ = (
        "at_ms",
        "change_id",
        "group_key",
        "id",
        "seq",
        "state",
        "touched",
        "type",
        "workshop",
    )

    def __init__(self, id_: str, type_: str, workshop: str, state: merge.State) -> None:
        self.id = id_
        self.type = type_
        self.workshop = workshop
        self.state = state
        self.seq = 0
        self.change_id = ""
        self.at_ms = 0
        self.group_key: str | None = None
        self.touched = False


_COLUMNS = {
    name: tuple(field for field in field_kinds(name) if field != "deleted") for name in RECORDS
}
_REQUIRED = {
    name: tuple(field for field, kind in field_kinds(name).items() if kind.required)
    for name in RECORDS
}


def write(conn: Connection, entries: Iterable[Entry]) -> None:
    """Writes ``record_state`` and the typed rows of these records."""
    states = []
    typed: dict[str, list[dict[str, Any]]] = {}
    for entry in entries:
        heads, ghosts = merge.dump(entry.state)
        quiet = RECORDS[entry.type].quiet if entry.type in RECORDS else ()
        is_gone, asked = merge.gone(entry.state, quiet)
        states.append(
            {
                "id": entry.id,
                "workshop_id": entry.workshop,
                "type": entry.type,
                "seq": entry.seq,
                "change_id": entry.change_id,
                "group_key": entry.group_key,
                "heads": heads,
                "ghosts": ghosts,
                "gone_ms": entry.at_ms if is_gone else None,
            }
        )
        if entry.type in RECORDS:
            typed.setdefault(entry.type, []).append(_row(entry, is_gone, asked))
    upsert(conn, record_state, states)
    for type_, rows in typed.items():
        upsert(conn, RECORD_TABLES[type_], rows)


def _row(entry: Entry, is_gone: bool, delete_asked: bool) -> dict[str, Any]:
    state = entry.state
    asks = delete_asked or (
        len(state.heads) > 1 and bool(merge.shown(state, RECORDS[entry.type].quiet).clashes)
    )
    values = merge.values(state)
    row = {name: values.get(name) for name in _COLUMNS[entry.type]}
    return row | {
        "id": entry.id,
        "workshop_id": entry.workshop,
        "seq": entry.seq,
        "complete": all(values.get(name) is not None for name in _REQUIRED[entry.type]),
        "gone": is_gone,
        "asks": asks,
    }
