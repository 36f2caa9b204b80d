"""Backup, restore, and clearing away what was deleted long ago."""

from __future__ import annotations

import contextlib
import itertools
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
from .intake import store as intakes
from .intake.files import IntakeFiles

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
    part = file.with_name(f".{file.name}.part")
    try:
        with tempfile.TemporaryDirectory(dir=settings.data) as folder:
            copy = Path(folder) / _DATABASE
            with (
                contextlib.closing(sqlite3.connect(_database())) as source,
                contextlib.closing(sqlite3.connect(copy)) as target,
            ):
                source.backup(target)
            with tarfile.open(part, "w") as archive:
                archive.add(copy, _DATABASE)
                for picture in sorted(settings.blob_folder.rglob("[!.]*")):
                    # One may be cleared away meanwhile; no record names it then.
                    with contextlib.suppress(FileNotFoundError):
                        name = f"blobs/{picture.relative_to(settings.blob_folder).as_posix()}"
                        archive.add(picture, name, recursive=False)
        part.replace(file)
    except sqlite3.Error as error:
        raise NoBackup(f"The database cannot be read: {error}.") from error
    finally:
        part.unlink(missing_ok=True)


def restore(settings: Settings, file: Path) -> None:
    """Puts a backup in place of what is there, whatever state that is in.  The server must not run.

    What was there is kept beside it as ``*.before-restore``.  The next start finds that the epoch
    it remembers is another, and rolls it.
    """
    if engine().dialect.name != "sqlite":
        raise NoBackup("Restore PostgreSQL with pg_restore; the next start notices it.")
    with tempfile.TemporaryDirectory(dir=settings.data) as folder:
        try:
            with tarfile.open(file) as archive:
                archive.extractall(folder, filter="data")
        except (tarfile.TarError, OSError) as error:
            raise NoBackup(f"{file} is not a backup that can be read: {error}") from error
        copy = Path(folder) / _DATABASE
        _check_copy(file, copy)
        # Pictures first: they are added to those that are there, and harm nothing if it ends here.
        BlobStore(Path(folder) / "blobs").copy_to(settings.blob_folder)
        engine().dispose()
        epochs.forget(settings.epoch_file)
        database = _database()
        aside = _free_name(database)
        for suffix in ("", "-wal", "-shm"):
            old = database.with_name(database.name + suffix)
            if old.exists():
                old.replace(aside.with_name(aside.name + suffix))
        shutil.move(copy, database)


_DATABASE = "bagtrail.sqlite3"


def _database() -> Path:
    return Path(str(engine().url.database))


def _check_copy(file: Path, copy: Path) -> None:
    if not copy.is_file():
        raise NoBackup(f"{file} holds no {_DATABASE}: it is not a backup of Bagtrail.")
    try:
        with contextlib.closing(sqlite3.connect(copy)) as opened:
            found = [row[0] for row in opened.execute("PRAGMA quick_check")]
            opened.execute("SELECT epoch, seq FROM ledger")
    except sqlite3.Error as error:
        found = [str(error)]
    if found != ["ok"]:
        raise NoBackup(f"The database in {file} is damaged: {found[0]}. Use another backup.")


def _free_name(database: Path) -> Path:
    """Where what was there is put aside; what an earlier restore put aside stays."""
    names = (
        database.with_name(f"{database.name}.before-restore{number or ''}")
        for number in itertools.count()
    )
    return next(name for name in names if not name.exists())


def compact(settings: Settings, *, days: int = TOMBSTONE_DAYS, now_ms: int | None = None) -> int:
    """Clears away records deleted more than ``days`` ago, intakes and files of intakes that are
    of no use any more, and pictures nobody names.

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
    files = IntakeFiles(settings.intake_folder)
    intakes.clear_old(now_ms, lambda id_: files.path(id_).is_file())
    files.clear_but(intakes.ids(), (now_ms - intakes.COMING_MS) / 1000)
    with reading() as conn:
        workshops = [row.id for row in conn.execute(sa.select(RECORD_TABLES["workshop"].c.id))]
    store = BlobStore(settings.blob_folder)
    for workshop in workshops:
        photos.clear_unused(store, workshop, now_s=now_ms / 1000)
    return len(rows)
