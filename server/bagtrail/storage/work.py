"""The one door to the database: transactions for reading and for writing.

A writing transaction takes the lock on the ledger's row before it reads anything, on SQLite by
BEGIN IMMEDIATE and on PostgreSQL by SELECT ... FOR UPDATE.  So writers run one after the other,
the merge reads heads that nobody else is changing, and sequence is in the order of commits.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import Connection, Engine

from .tables import db, ledger

#: How long a writer waits for another, in seconds.
BUSY_TIMEOUT_S = 20


def engine() -> Engine:
    return db.engine


@contextmanager
def reading() -> Iterator[Connection]:
    """A connection for reading only; sees one consistent state."""
    with engine().connect().execution_options(**_reading_options()) as conn, conn.begin() as txn:
        yield conn
        txn.rollback()


@contextmanager
def writing() -> Iterator[Connection]:
    """A transaction that holds the writers' lock; commits at the end, or nothing at all."""
    with engine().connect().execution_options(bagtrail_writes=True) as conn, conn.begin():
        if conn.dialect.name != "sqlite":
            conn.execute(sa.select(ledger.c.id).with_for_update())
        yield conn


def _reading_options() -> dict[str, Any]:
    if engine().dialect.name == "postgresql":
        return {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    return {}


def upsert(conn: Connection, table: sa.Table, rows: list[dict[str, Any]]) -> None:
    """Inserts rows or, where the primary key is there, replaces all their columns."""
    if not rows:
        return
    insert = postgresql.insert if conn.dialect.name == "postgresql" else sqlite.insert
    statement = insert(table)
    keys = [column.name for column in table.primary_key]
    others = {c.name: statement.excluded[c.name] for c in table.columns if c.name not in keys}
    conn.execute(statement.on_conflict_do_update(index_elements=keys, set_=others), rows)


def prepare(engine: Engine) -> None:
    """Sets up connections of an engine; called once when the app is made."""
    if engine.dialect.name != "sqlite":
        return

    @sa.event.listens_for(engine, "connect")
    def _connect(raw: Any, _record: Any) -> None:
        # The driver's own transaction handling would begin too late; "begin" below does it.
        raw.isolation_level = None
        cursor = raw.cursor()
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_S * 1000}")
        cursor.close()

    @sa.event.listens_for(engine, "begin")
    def _begin(conn: Connection) -> None:
        # A deferred transaction that reads first and then writes fails at once when another has
        # written in between, whatever the timeout; so writers say at the start that they write.
        writes = conn.get_execution_options().get("bagtrail_writes")
        conn.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
