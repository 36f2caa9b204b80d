"""Backup, restore, and clearing away what was deleted long ago."""

from __future__ import annotations

import shutil
import sqlite3
import tarfile
import tempfile
from pathlib import Path

import sqlalchemy as sa

from ..settings import Settings
from ..storage.blobs import BlobStore
from ..storage.tables import RECORD_TABLES, purged, record_state
from ..storage.tables import change as journal_table
from ..storage.work import engine, reading, writing
from . import epochs, journal, photos

#: Deleted records are listed to devices for this long; one that was away longer reads all anew.
TOMBSTONE_DAYS = 180


class NoBackup(ValueError):
    """The backup cannot be made or read; the text says why and what to do."""


def backup(settings: Settings, file: Path) -> None:
    """Writes database and pictures to one tar file, while the server may be running."""
    if engine().dialect.name != "sqlite":
        raise NoBackup(
            "This server keeps its records in PostgreSQL: back that up with pg_dump, and"
            f" copy the folder {settings.blob_folder}."
        )
    with tempfile.TemporaryDirectory(dir=settings.data) as folder:
        copy = Path(folder) / "bagtrail.sqlite3"
        source = sqlite3.connect(str(engine().url.database))
        target = sqlite3.connect(copy)
        with source, target:
            source.backup(target)
        source.close()
        target.close()
        part = file.with_name(f".{file.name}.part")
        with tarfile.open(part, "w") as archive:
            archive.add(copy, "bagtrail.sqlite3")
            if settings.blob_folder.is_dir():
                archive.add(settings.blob_folder, "blobs")
        part.replace(file)


def restore(settings: Settings, file: Path) -> None:
    """Puts a backup in place of what is there, and rolls the epoch.  The server must not run.

    What was there is kept beside it as ``*.before-restore``.
    """
    if engine().dialect.name != "sqlite":
        raise NoBackup("Restore PostgreSQL with pg_restore; the next start notices it.")
    database = Path(str(engine().url.database))
    with tempfile.TemporaryDirectory(dir=settings.data) as folder:
        try:
            with tarfile.open(file) as archive:
                archive.extractall(folder, filter="data")
        except (tarfile.TarError, OSError) as error:
            raise NoBackup(f"{file} is not a backup that can be read: {error}") from error
        copy = Path(folder) / "bagtrail.sqlite3"
        if not copy.is_file():
            raise NoBackup(f"{file} holds no bagtrail.sqlite3: it is not a backup of Bagtrail.")
        engine().dispose()
        for suffix in ("-wal", "-shm"):
            database.with_name(database.name + suffix).unlink(missing_ok=True)
        if database.exists():
            database.replace(database.with_name(database.name + ".before-restore"))
        shutil.move(copy, database)
        BlobStore(Path(folder) / "blobs").copy_to(settings.blob_folder)
    epochs.roll()
    entry = epochs.current()
    epochs.remember(settings.epoch_file, entry.epoch, entry.seq, anew=True)


def compact(settings: Settings, *, days: int = TOMBSTONE_DAYS, now_ms: int | None = None) -> int:
    """Clears away records deleted more than ``days`` ago, and pictures nobody names.

    The ledger's floor rises to the last change of what was cleared: a device whose cursor is
    below it reads everything anew.  No device can hold the floor down.  Returns how many records.
    """
    now_ms = journal.now_ms() if now_ms is None else now_ms
    before = now_ms - days * 86_400_000
    states = record_state.c
    with writing() as conn:
        rows = conn.execute(
            sa.select(states.id, states.workshop_id, states.type, states.seq).where(
                states.gone_ms.is_not(None), states.gone_ms < before
            )
        ).all()
        for row in rows:
            conn.execute(
                purged.insert().values(id=row.id, workshop_id=row.workshop_id, purged_ms=now_ms)
            )
            conn.execute(journal_table.delete().where(journal_table.c.record_id == row.id))
            conn.execute(record_state.delete().where(states.id == row.id))
            if row.type in RECORD_TABLES:
                table = RECORD_TABLES[row.type]
                conn.execute(table.delete().where(table.c.id == row.id))
        if rows:
            ledger = epochs.read(conn)
            ledger.floor = max(ledger.floor, *(row.seq for row in rows))
            epochs.save(conn, ledger)
    with reading() as conn:
        workshops = [row.id for row in conn.execute(sa.select(RECORD_TABLES["workshop"].c.id))]
    store = BlobStore(settings.blob_folder)
    for workshop in workshops:
        photos.clear_unused(store, workshop)
    return len(rows)
