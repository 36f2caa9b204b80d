"""Devices of a workshop: the first one, pairing, who is asking, revoking.

Nothing is open to strangers.  The first browser on the server's own machine takes a new server;
every other device is let in by a one-time code that a paired device shows.
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ..storage.tables import RECORD_TABLES, credential, device_clock, pairing, record_state
from ..storage.work import reading, writing
from ..trade import codes
from ..wire.problems import (
    AlreadyClaimed,
    CodeSpent,
    Invalid,
    NotAllowed,
    NotFound,
    NotPaired,
    OtherWorkshop,
)
from . import journal
from .journal import Draft

PAIRING_LASTS_MS = 10 * 60_000
#: Wrong codes after which every open code of the server is spent.
PAIRING_TRIES = 8


@dataclass(frozen=True, slots=True)
class Caller:
    """The paired device that asks."""

    device: str
    workshop: str
    clocks: frozenset[str]


@dataclass(frozen=True, slots=True)
class Arrival:
    """What a device says of itself when it is let in."""

    name: str
    kind: str
    device: str
    clock: str


def claimed() -> bool:
    """Whether the server has an owner already."""
    with reading() as conn:
        return _claimed(conn)


def only_workshop() -> str:
    """The workshop of this server.  Raises NotFound if there is none yet."""
    with reading() as conn:
        workshop = _only_workshop(conn)
    if workshop is None:
        raise NotFound("This server has no workshop yet: open it in a browser first.")
    return workshop


def claim(workshop_name: str, arrival: Arrival) -> tuple[str, str]:
    """Makes a workshop of a new server, with its first device.  Returns (workshop, token).

    Raises AlreadyClaimed.
    """
    workshop = str(uuid.uuid4())
    with writing() as conn:
        if _claimed(conn):
            raise AlreadyClaimed(
                "Ask for a pairing code on a paired device, or run `bagtrail pair` on the server."
            )
        journal.write(conn, workshop, [Draft("workshop", workshop, {"name": workshop_name})])
        return workshop, _let_in(conn, workshop, arrival)


def offer_pairing(workshop: str | None = None) -> tuple[str, int]:
    """A one-time pairing code, in clear, and when it ends (ms since 1970).

    ``workshop`` None: the only one of this server.  Raises NotFound if there is none.
    """
    code = "".join(secrets.choice(codes.ALPHABET) for _ in range(8))
    now = journal.now_ms()
    with writing() as conn:
        if workshop is None:
            workshop = _only_workshop(conn)
            if workshop is None:
                raise NotFound("This server has no workshop yet: open it in a browser first.")
        conn.execute(
            pairing.delete().where(
                sa.or_(pairing.c.expires_ms < now, pairing.c.used_ms.is_not(None))
            )
        )
        conn.execute(
            pairing.insert().values(
                code_hash=_hash(code),
                workshop_id=workshop,
                expires_ms=now + PAIRING_LASTS_MS,
                tries=0,
            )
        )
    return code, now + PAIRING_LASTS_MS


def redeem(code: str, arrival: Arrival) -> tuple[str, str]:
    """Lets a device in by a pairing code.  Returns (workshop, token).

    Raises CodeSpent: wrong, used, too old, or voided after too many wrong tries.
    """
    code = code.upper().translate(_FORGIVEN)
    now = journal.now_ms()
    with writing() as conn:
        row = conn.execute(sa.select(pairing).where(pairing.c.code_hash == _hash(code))).first()
        if (
            row is not None
            and row.used_ms is None
            and row.expires_ms >= now
            and row.tries < PAIRING_TRIES
        ):
            conn.execute(
                pairing.update().where(pairing.c.code_hash == row.code_hash).values(used_ms=now)
            )
            return row.workshop_id, _let_in(conn, row.workshop_id, arrival)
        # A wrong code cannot be told from one of another; so each counts against all open ones.
        conn.execute(pairing.update().values(tries=pairing.c.tries + 1))
    raise CodeSpent(
        "The code is wrong, was used, or is older than ten minutes."
        " Let a paired device show a new one."
    )


def whoever_holds(token: str) -> Caller:
    """The device that a token belongs to.  Raises NotPaired."""
    with reading() as conn:
        row = conn.execute(
            sa.select(credential.c.device_id, credential.c.workshop_id).where(
                credential.c.token_hash == _hash(token), credential.c.revoked_ms.is_(None)
            )
        ).first()
        if row is None:
            raise NotPaired(
                "Its pairing was taken back, or is not known here. What it holds is kept: let a"
                " paired device show a pairing code and type it here.",
                claimable=not _claimed(conn),
            )
        clocks: Iterable[str] = conn.execute(
            sa.select(device_clock.c.clock).where(device_clock.c.device_id == row.device_id)
        ).scalars()
        return Caller(row.device_id, row.workshop_id, frozenset(clocks))


def still_paired(caller: Caller) -> bool:
    """Whether the device's pairing has not been taken back since."""
    with reading() as conn:
        return (
            conn.execute(
                sa.select(credential.c.device_id).where(
                    credential.c.device_id == caller.device, credential.c.revoked_ms.is_(None)
                )
            ).first()
            is not None
        )


def take_clock(caller: Caller, clock: str) -> None:
    """Gives a device a new clock, because another device is a copy of it."""
    with writing() as conn:
        _register_clock(conn, caller.workshop, caller.device, clock)
        journal.write(conn, caller.workshop, [Draft("device", caller.device, {"clock": clock})])


def revoke(caller: Caller, device: str) -> None:
    """Takes a device's pairing back; what it wrote stays.  Raises NotFound."""
    with writing() as conn:
        known = conn.execute(
            sa.select(credential.c.device_id).where(
                credential.c.device_id == device, credential.c.workshop_id == caller.workshop
            )
        ).first()
        if known is None:
            raise NotFound("No such device is paired with this workshop.")
        now = journal.now_ms()
        conn.execute(
            credential.update()
            .where(credential.c.device_id == device, credential.c.revoked_ms.is_(None))
            .values(revoked_ms=now)
        )
        journal.write(
            conn, caller.workshop, [Draft("device", device, {"revoked_at": instant(now)})]
        )


def instant(ms: int) -> str:
    """Milliseconds since 1970 as the wire writes a moment."""
    moment = datetime.fromtimestamp(ms / 1000, UTC).isoformat(timespec="milliseconds")
    return moment.replace("+00:00", "Z")


_FORGIVEN = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None})


def _claimed(conn: Connection) -> bool:
    return _only_workshop(conn) is not None


def _only_workshop(conn: Connection) -> str | None:
    table = RECORD_TABLES["workshop"]
    found: str | None = conn.execute(
        sa.select(table.c.id).where(table.c.id == table.c.workshop_id)
    ).scalar()
    return found


def _let_in(conn: Connection, workshop: str, arrival: Arrival) -> str:
    owner = conn.execute(
        sa.select(record_state.c.workshop_id, record_state.c.type).where(
            record_state.c.id == arrival.device
        )
    ).first()
    if owner is not None and owner.type != "device":
        raise Invalid("The id that this device gives itself belongs to something else.")
    if owner is not None and owner.workshop_id != workshop:
        raise OtherWorkshop("This device belongs to another workshop: let it take a new id.")
    _register_clock(conn, workshop, arrival.device, arrival.clock)
    now = journal.now_ms()
    journal.write(
        conn,
        workshop,
        [
            Draft(
                "device",
                arrival.device,
                {
                    "name": arrival.name,
                    "kind": arrival.kind,
                    "clock": arrival.clock,
                    "paired_at": instant(now),
                    "revoked_at": None,
                },
            )
        ],
    )
    token = secrets.token_urlsafe(32)
    conn.execute(
        credential.insert().values(
            token_hash=_hash(token),
            device_id=arrival.device,
            workshop_id=workshop,
            created_ms=now,
        )
    )
    return token


def _register_clock(conn: Connection, workshop: str, device: str, clock: str) -> None:
    owner = conn.execute(
        sa.select(device_clock.c.device_id).where(device_clock.c.clock == clock)
    ).scalar()
    if owner is None:
        conn.execute(
            device_clock.insert().values(
                clock=clock, device_id=device, workshop_id=workshop, since_ms=journal.now_ms()
            )
        )
    elif owner != device:
        raise NotAllowed("This clock belongs to another device: take a new one.")


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
