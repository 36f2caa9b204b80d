"""The ledger, and how a server notices that it was restored.

The epoch is random text.  It stands in the database and, with the greatest sequence given out, in
a file beside the data.  A start that finds the database behind the file, or another epoch in it,
knows that an older copy was put back, and rolls a new epoch, so that no device goes on with
a cursor of a history that is no more.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ..storage.tables import ledger
from ..storage.work import reading, writing


@dataclass(slots=True)
class Ledger:
    epoch: str
    seq: int
    floor: int
    clock: str
    counter: int


def read(conn: Connection) -> Ledger:
    """The ledger as it stands in this transaction."""
    row = conn.execute(
        sa.select(ledger.c.epoch, ledger.c.seq, ledger.c.floor, ledger.c.clock, ledger.c.counter)
    ).one()
    return Ledger(row.epoch, row.seq, row.floor, row.clock, row.counter)


def save(conn: Connection, entry: Ledger) -> None:
    conn.execute(
        ledger.update().values(
            epoch=entry.epoch,
            seq=entry.seq,
            floor=entry.floor,
            clock=entry.clock,
            counter=entry.counter,
        )
    )


def current() -> Ledger:
    with reading() as conn:
        return read(conn)


def settle(file: Path) -> str:
    """Called at each start: makes the ledger, or rolls the epoch of a database that was put back.

    Returns ``"new"``, ``"same"`` or ``"restored"``.
    """
    remembered = _remembered(file)
    with writing() as conn:
        row = conn.execute(sa.select(ledger.c.epoch, ledger.c.seq)).first()
        if row is None:
            conn.execute(
                ledger.insert().values(
                    id=1,
                    epoch=secrets.token_hex(8),
                    seq=0,
                    floor=0,
                    clock=secrets.token_hex(8),
                    counter=0,
                )
            )
            outcome = "new"
        elif remembered and (remembered[0] != row.epoch or remembered[1] > row.seq):
            _roll(conn)
            outcome = "restored"
        else:
            _renew_clock(conn)
            outcome = "same"
        entry = read(conn)
    remember(file, entry.epoch, entry.seq, anew=True)
    return outcome


def _roll(conn: Connection) -> None:
    conn.execute(ledger.update().values(epoch=secrets.token_hex(8)))
    _renew_clock(conn)


def _renew_clock(conn: Connection) -> None:
    """At each start: counters that the server gave out for changes that a restore has lost must
    not be given out again for others, be it noticed or not (the file knows of pushes only)."""
    conn.execute(ledger.update().values(clock=secrets.token_hex(8), counter=0))


def forget(file: Path) -> None:
    """Makes the next start take the database for one that was put back."""
    remember(file, "", 0, anew=True)


def remember(file: Path, epoch: str, seq: int, *, anew: bool = False) -> None:
    """Writes epoch and sequence beside the data; never backwards unless ``anew``."""
    if not anew:
        known = _remembered(file)
        if known and known[0] == epoch and known[1] >= seq:
            return
    temporary = file.with_name(f"{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    # The file only makes restores noticed; a full disk must not undo what the database has kept.
    with contextlib.suppress(OSError):
        temporary.write_text(json.dumps({"epoch": epoch, "seq": seq}))
        temporary.replace(file)


def _remembered(file: Path) -> tuple[str, int] | None:
    try:
        content = json.loads(file.read_text())
        return str(content["epoch"]), int(content["seq"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
