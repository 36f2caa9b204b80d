"""The journal: the one write path of the server.

Every write, pushed by a device or made by the server itself, becomes a change here, is merged into
the state of its record and projected into its typed row, in one transaction.
"""

from __future__ import annotations

import json
import secrets
import time
from collections import Counter
from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Literal, NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Connection, RowMapping

from ..storage.tables import RECORD_TABLES, purged, record_state
from ..storage.tables import change as journal
from ..storage.work import reading, writing
from ..trade import stamps
from ..wire.changes import Change, Foreign
from ..wire.problems import (
    BelowFloor,
    GroupIncomplete,
    GroupRefused,
    IdReuse,
    Invalid,
    NotAllowed,
    OtherEpoch,
    OtherWorkshop,
    Problem,
    RecordPurged,
)
from . import epochs, merge, projection
from .checks import fields_problem
from .projection import Entry

#: A stamp further ahead of the server than this is replaced.
AHEAD_MAX_MS = 60_000
#: Ids in one IN clause.
_CHUNK = 500
#: Changes of another journal that are held in memory at a time.
_TAKE_IN = 2_000


class Cursor(NamedTuple):
    """How far a device has pulled: change ``change`` stands at ``seq`` of ``epoch``."""

    epoch: str
    seq: int
    change: str | None


@dataclass(slots=True)
class Verdict:
    verdict: Literal["applied", "duplicate", "refused", "retry"]
    seq: int | None = None
    restamped: str | None = None
    problem: Problem | None = None


class Draft(NamedTuple):
    """A write that the server makes itself.

    ``seen``: ids of the changes that it knew of and supersedes; None for all heads of its fields.
    Of other heads it knows nothing: they stay shown, and where they differ a person is asked.
    """

    type: str
    record: str
    set: Mapping[str, Any]
    seen: Sequence[str] | None = None


@dataclass(slots=True)
class Taken:
    """What came of changes that were taken in.  ``made``: records that were not here before, by
    type; ``added`` and ``known``: changes; ``cleared``: ids of records that were deleted here and
    cleared away since, and stay so."""

    made: Counter[str] = field(default_factory=Counter)
    added: int = 0
    known: int = 0
    cleared: set[str] = field(default_factory=set)


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def push(
    workshop: str,
    clocks: frozenset[str],
    changes: Sequence[Change | Invalid],
    cursor: Cursor | None = None,
    *,
    now: Callable[[], int] = now_ms,
) -> tuple[epochs.Ledger, list[Verdict]]:
    """Accepts changes of a device; one verdict for each, in order.

    ``clocks``: the clocks that belong to the device.  Raises OtherEpoch or BelowFloor if the device
    has to read everything anew before it may write (see server/PROTOCOL.md).
    """
    verdicts: list[Verdict | None] = [_unfit(change, clocks) for change in changes]
    with writing() as conn:
        ledger = epochs.read(conn)
        if cursor is not None:
            check_cursor(conn, ledger, cursor)
        accepted = _Acceptance(conn, ledger, workshop, now())
        verdicts = accepted.decide(changes, verdicts)
        accepted.apply(changes, verdicts)
    return ledger, [verdict for verdict in verdicts if verdict is not None]


def write(
    conn: Connection,
    workshop: str,
    drafts: Iterable[Draft],
    *,
    now: int | None = None,
    together: bool = False,
) -> list[Change]:
    """Writes drafts as changes of the server's own, within a writing transaction.

    ``together``: as one group, which devices pull as a whole.  Raises Invalid if a draft is not
    well formed.
    """
    drafts = list(drafts)
    if not drafts:
        return []
    for draft in drafts:
        problem = fields_problem(draft.type, draft.set)
        if problem is not None:
            raise problem
    ledger = epochs.read(conn)
    accepted = _Acceptance(conn, ledger, workshop, now_ms() if now is None else now)
    accepted.load({draft.record for draft in drafts})
    changes = []
    group = (ledger.counter + 1, len(drafts)) if together and len(drafts) > 1 else None
    for tick, draft in enumerate(drafts):
        blocked = accepted.blocked(draft.record, draft.type)
        if blocked is not None:
            raise blocked
        entry = accepted.entry(draft.record, draft.type)
        ledger.counter += 1
        heads = merge.superseded_by(entry.state, draft.set)
        seen = heads if draft.seen is None else list(draft.seen)
        ms = accepted.now + (tick >> 16)
        unseen = [head.stamp for head in entry.state.heads if head.id in {*heads} - {*seen}]
        if unseen:
            # What it did not know of is to stay shown: its moment is just before that.
            ms = max(stamps.parts(min(unseen))[0] - 1, 0)
        # A head may be up to AHEAD_MAX_MS ahead of the server, and is not to win over this.
        floor = merge.floor(entry.state, seen)
        stamp = stamps.above(floor, ms, tick & 0xFFFF, ledger.clock)
        change = Change(
            ledger.clock, ledger.counter, draft.type, draft.record, draft.set, stamp, seen, group
        )
        accepted.add(change, Verdict("applied"))
        changes.append(change)
    accepted.save()
    return changes


def take_in(
    conn: Connection, workshop: str, changes: Iterable[Foreign], *, now: int | None = None
) -> Taken:
    """Takes changes of another journal in, within a writing transaction, whoever made them.

    Each keeps its id, its author, what it supersedes and, unless it is ahead of this server, its
    stamp; so it comes to what it came to there.  They must be well formed and come in the order in
    which that journal had them, none twice.  Raises IdReuse, Invalid or OtherWorkshop where one
    cannot stand here; the caller's transaction is then to be given up.
    """
    accepted = _Acceptance(conn, epochs.read(conn), workshop, now_ms() if now is None else now)
    taken = Taken()
    rest = iter(changes)
    while chunk := list(islice(rest, _TAKE_IN)):
        accepted.take_in(chunk, taken)
    return taken


def history(conn: Connection, workshop: str, records: Container[str]) -> Iterator[Foreign]:
    """Every change of these records, in order of sequence; a few in memory at a time."""
    query = sa.select(journal).where(journal.c.workshop_id == workshop).order_by(journal.c.seq)
    rows = conn.execute(query.execution_options(yield_per=1_000))
    for row in rows.mappings():
        if row["record_id"] in records:
            yield Foreign(_from_row(row), row["claimed_stamp"], row["received_ms"])


def remove(conn: Connection, workshop: str, type_: str, record: str) -> list[Change]:
    """Deletes a record as the server sees it now."""
    row = conn.execute(
        sa.select(record_state.c.heads, record_state.c.ghosts).where(record_state.c.id == record)
    ).one()
    seen = [head.id for head in merge.load(row.heads, row.ghosts).heads]
    return write(conn, workshop, [Draft(type_, record, {"deleted": seen})])


def pull(workshop: str, cursor: Cursor | None, limit: int) -> tuple[Cursor, bool, list[Change]]:
    """States of the records changed since the cursor, each as the changes that are its heads.

    Returns the cursor after them, whether there is more, and the changes.  A page may be longer
    than ``limit`` records: it never ends within a group.
    """
    with reading() as conn:
        ledger = epochs.read(conn)
        if cursor is not None:
            check_cursor(conn, ledger, cursor)
        since = cursor.seq if cursor else 0
        columns = record_state.c
        wanted = (
            sa.select(
                columns.id, columns.type, columns.seq, columns.change_id, columns.group_key,
                columns.heads,
            )
            .where(columns.workshop_id == workshop)
            .order_by(columns.seq)
        )  # fmt: skip
        rows = list(conn.execute(wanted.where(columns.seq > since).limit(limit + 1)))
        more = len(rows) > limit
        if more:
            rows.pop()
            last = rows[-1]
            end = last.group_key and conn.execute(
                sa.select(sa.func.max(columns.seq)).where(
                    columns.workshop_id == workshop,
                    columns.seq > last.seq,
                    columns.group_key == last.group_key,
                )
            ).scalar()
            if end:
                rest = wanted.where(columns.seq > last.seq)
                rows += conn.execute(rest.where(columns.seq <= end))
                more = conn.execute(rest.where(columns.seq > end).limit(1)).first() is not None
        changes = [
            Change(*_split(head_id), row.type, row.id, fields, stamp)
            for row in rows
            for head_id, stamp, fields in json.loads(row.heads)
        ]
        if rows:
            after = Cursor(ledger.epoch, rows[-1].seq, rows[-1].change_id)
        else:
            after = cursor or Cursor(ledger.epoch, 0, None)
        return after, more, changes


def missing(workshop: str, ids: Sequence[str]) -> list[str]:
    """Those of the change ids that the journal does not hold."""
    known: set[str] = set()
    with reading() as conn:
        for chunk in _chunks(ids):
            pairs = [_split(id_) for id_ in chunk]
            rows = conn.execute(
                sa.select(journal.c.clock, journal.c.counter)
                .where(journal.c.workshop_id == workshop)
                .where(sa.tuple_(journal.c.clock, journal.c.counter).in_(pairs))
            )
            known.update(f"{clock}.{counter}" for clock, counter in rows)
    return [id_ for id_ in ids if id_ not in known]


def check_cursor(conn: Connection, ledger: epochs.Ledger, cursor: Cursor) -> None:
    """Raises OtherEpoch or BelowFloor unless a device may go on from this cursor."""
    if cursor.epoch != ledger.epoch or cursor.seq > ledger.seq:
        raise OtherEpoch("The server was put back to an older copy. Read everything again.")
    if 0 < cursor.seq < ledger.floor:
        raise BelowFloor("Things deleted since are no longer listed. Read everything again.")
    if cursor.seq > 0:
        row = conn.execute(
            sa.select(journal.c.clock, journal.c.counter).where(journal.c.seq == cursor.seq)
        ).first()
        if row is not None and f"{row.clock}.{row.counter}" != cursor.change:
            raise OtherEpoch("Another change stands where this device stopped reading.")


def rebuild() -> int:
    """Makes states and typed rows again from the journal.  Returns the number of records."""
    with writing() as conn:
        for table in (record_state, *RECORD_TABLES.values()):
            conn.execute(table.delete())
        entries: dict[str, Entry] = {}
        rows = conn.execute(sa.select(journal).order_by(journal.c.seq))
        for row in rows.mappings():
            entry = entries.get(row["record_id"])
            if entry is None:
                entry = Entry(row["record_id"], row["type"], row["workshop_id"], merge.State())
                entries[entry.id] = entry
            _advance(entry, _from_row(row), row["seq"], row["received_ms"])
        projection.write(conn, entries.values())
    return len(entries)


def _unfit(change: Change | Invalid, clocks: frozenset[str]) -> Verdict | None:
    if isinstance(change, Invalid):
        return Verdict("refused", problem=change)
    if change.clock not in clocks:
        return Verdict(
            "refused", problem=NotAllowed("This change was made by a clock of another device.")
        )
    problem = fields_problem(change.type, change.set)
    return Verdict("refused", problem=problem) if problem else None


def _advance(entry: Entry, change: Change, seq: int, at_ms: int) -> None:
    merge.apply(entry.state, change)
    entry.seq = seq
    entry.at_ms = at_ms
    entry.change_id = change.id
    entry.group_key = f"{change.clock}.{change.group[0]}" if change.group else None
    entry.touched = True


class _Acceptance:
    """What happens to changes within one writing transaction."""

    def __init__(self, conn: Connection, ledger: epochs.Ledger, workshop: str, now: int) -> None:
        self.conn = conn
        self.ledger = ledger
        self.workshop = workshop
        self.now = now
        self._entries: dict[str, Entry] = {}
        self._blocked: dict[str, Problem] = {}
        self._rows: list[dict[str, Any]] = []
        self._restamp_tick = 0

    def decide(
        self, changes: Sequence[Change | Invalid], verdicts: Sequence[Verdict | None]
    ) -> list[Verdict | None]:
        """Verdicts of those that will not be applied; None for the others."""
        decided = list(verdicts)
        fit = [(i, c) for i, c in enumerate(changes) if isinstance(c, Change)]
        self.load({change.record for index, change in fit if decided[index] is None})
        known = self._known([change for _, change in fit])
        here: dict[str, Change] = {}
        types: dict[str, str] = {}
        for index, change in fit:
            earlier = known.get(change.id)
            if earlier is not None:
                decided[index] = self._repeated(change, *earlier)
            elif change.id in here:
                twice = _same(change, here[change.id])
                decided[index] = (
                    Verdict("retry") if twice else Verdict("refused", problem=_reuse(change))
                )
            elif decided[index] is None:
                problem = self.blocked(change.record, change.type)
                if types.setdefault(change.record, change.type) != change.type:
                    problem = Invalid(f"The record is a {types[change.record]}.")
                decided[index] = Verdict("refused", problem=problem) if problem else None
            here.setdefault(change.id, change)
        _keep_groups_whole(changes, decided)
        return decided

    def load(self, records: Iterable[str]) -> None:
        """Reads the states of these records, and which of them must not be written."""
        wanted = [record for record in records if record not in self._entries]
        columns = record_state.c
        for chunk in _chunks(wanted):
            rows = self.conn.execute(
                sa.select(
                    columns.id, columns.type, columns.workshop_id, columns.heads, columns.ghosts
                ).where(columns.id.in_(chunk))
            )
            for row in rows:
                state = merge.load(row.heads, row.ghosts)
                self._entries[row.id] = Entry(row.id, row.type, row.workshop_id, state)
                if row.workshop_id != self.workshop:
                    self._blocked[row.id] = OtherWorkshop(
                        "This record belongs to another workshop."
                    )
            unknown = [record for record in chunk if record not in self._entries]
            wanted_ids = sa.select(purged.c.id).where(purged.c.id.in_(unknown))
            for row in self.conn.execute(wanted_ids):
                self._blocked[row.id] = RecordPurged("It was deleted, and cleared away since.")

    def blocked(self, record: str, type_: str) -> Problem | None:
        """Why nothing may be written to this record as one of this type, or None."""
        problem = self._blocked.get(record)
        entry = self._entries.get(record)
        if problem is None and entry is not None and entry.type != type_:
            problem = Invalid(f"The record is a {entry.type}, not a {type_}.")
        if problem is None and type_ == "workshop" and record != self.workshop:
            problem = OtherWorkshop("A workshop is made by claiming a server.")
        return problem

    def entry(self, record: str, type_: str) -> Entry:
        entry = self._entries.get(record)
        if entry is None:
            entry = Entry(record, type_, self.workshop, merge.State())
            self._entries[record] = entry
        return entry

    def apply(self, changes: Sequence[Change | Invalid], verdicts: list[Verdict | None]) -> None:
        """Applies every change without a verdict, and gives it one."""
        for index, change in enumerate(changes):
            if verdicts[index] is None and isinstance(change, Change):
                entry = self.entry(change.record, change.type)
                verdict = Verdict("applied")
                stamp = self._stamp(change, entry)
                if stamp != change.stamp:
                    verdict.restamped = stamp
                self.add(change, verdict)
                verdicts[index] = verdict
        self.save()

    def take_in(self, chunk: Sequence[Foreign], taken: Taken) -> None:
        """Applies those of another journal's changes that are not here yet, and saves them."""
        self.load({foreign.change.record for foreign in chunk})
        known = self._known([foreign.change for foreign in chunk])
        for change, claimed, received_ms in chunk:
            earlier = known.get(change.id)
            if earlier is not None:
                # Its stamp may have become another on the way; who wrote what has not.
                if not _same(change, earlier[2]):
                    raise _reuse(change)
                taken.known += 1
                continue
            problem = self.blocked(change.record, change.type)
            if isinstance(problem, RecordPurged):
                taken.cleared.add(change.record)
                continue
            if problem is not None:
                raise problem
            taken.made[change.type] += change.record not in self._entries
            taken.added += 1
            stamp = self._stamp(change, self.entry(change.record, change.type))
            verdict = Verdict("applied", restamped=stamp if stamp != change.stamp else None)
            self.add(change, verdict, claimed=claimed, received_ms=min(received_ms, self.now))
            if change.clock == self.ledger.clock and change.counter > self.ledger.counter:
                # Counters that this server is yet to give out must not be spent already.
                self.ledger.clock, self.ledger.counter = secrets.token_hex(8), 0
        self.save()

    def add(
        self,
        change: Change,
        verdict: Verdict,
        *,
        claimed: str | None = None,
        received_ms: int | None = None,
    ) -> None:
        """Puts one change into the journal and into its record's state."""
        at_ms = self.now if received_ms is None else received_ms
        if verdict.restamped is not None:
            claimed = claimed or change.stamp
            change = change._replace(stamp=verdict.restamped)
        self.ledger.seq += 1
        verdict.seq = self.ledger.seq
        _advance(self._entries[change.record], change, verdict.seq, at_ms)
        group_first, group_size = change.group or (None, None)
        self._rows.append(
            {
                "seq": verdict.seq,
                "workshop_id": self.workshop,
                "clock": change.clock,
                "counter": change.counter,
                "type": change.type,
                "record_id": change.record,
                "stamp": change.stamp,
                "claimed_stamp": claimed,
                "fields": _dumps(change.set),
                "supersedes": " ".join(change.supersedes),
                "group_first": group_first,
                "group_size": group_size,
                "received_ms": at_ms,
            }
        )

    def save(self) -> None:
        if not self._rows:
            return
        self.conn.execute(journal.insert(), self._rows)
        touched = [entry for entry in self._entries.values() if entry.touched]
        projection.write(self.conn, touched)
        epochs.save(self.conn, self.ledger)
        self._rows = []
        for entry in touched:
            entry.touched = False

    def _stamp(self, change: Change, entry: Entry) -> str:
        floor = merge.floor(entry.state, change.supersedes)
        ms = int(change.stamp[:12], 16)
        if ms > self.now + AHEAD_MAX_MS:
            tick = self._restamp_tick
            self._restamp_tick += 1
            return stamps.above(floor, self.now + (tick >> 16), tick & 0xFFFF, change.clock)
        if floor is not None and floor >= change.stamp:
            return stamps.above(floor, ms, 0, change.clock)
        return change.stamp

    def _known(self, changes: Sequence[Change]) -> dict[str, tuple[int, str, Change]]:
        """Of these ids, the ones the journal holds: sequence, claimed stamp, change."""
        counters: dict[str, list[int]] = {}
        for change in changes:
            counters.setdefault(change.clock, []).append(change.counter)
        known = {}
        for clock, numbers in counters.items():
            rows = self.conn.execute(
                sa.select(journal)
                .where(journal.c.workshop_id == self.workshop, journal.c.clock == clock)
                .where(journal.c.counter.between(min(numbers), max(numbers)))
            )
            for row in rows.mappings():
                change = _from_row(row)
                known[change.id] = (row["seq"], row["claimed_stamp"] or row["stamp"], change)
        return known

    def _repeated(self, change: Change, seq: int, claimed: str, earlier: Change) -> Verdict:
        stamp_known = change.stamp in (claimed, earlier.stamp)
        if not stamp_known or not _same(change, earlier):
            return Verdict("refused", problem=_reuse(change))
        restamped = earlier.stamp if earlier.stamp != change.stamp else None
        return Verdict("duplicate", seq, restamped)


def _same(one: Change, other: Change) -> bool:
    return (
        (one.type, one.record, one.group) == (other.type, other.record, other.group)
        and list(one.supersedes) == list(other.supersedes)
        and merge.canonical(one.set) == merge.canonical(other.set)
    )


def _reuse(change: Change) -> IdReuse:
    return IdReuse(f"The id {change.id} stands for another change already.")


def _keep_groups_whole(changes: Sequence[Change | Invalid], verdicts: list[Verdict | None]) -> None:
    """A group is applied as a whole, refused as a whole, or waits until all of it is here."""
    groups: dict[tuple[str, int], list[int]] = {}
    for index, change in enumerate(changes):
        if isinstance(change, Change) and change.group is not None:
            groups.setdefault((change.clock, change.group[0]), []).append(index)
    for (clock, first), members in groups.items():
        size = max(group[1] for index in members if (group := _change(changes[index]).group))
        # Each lies within its group (packing), so that counting them tells whether all are here.
        present = {_change(changes[index]).counter for index in members}
        refused = any(_verdict(verdicts[index]) == "refused" for index in members)
        whole = len(present) == size
        if whole and not refused:
            continue
        for index in members:
            if verdicts[index] is None:
                verdicts[index] = (
                    Verdict("refused", problem=GroupRefused(f"Of the group {clock}.{first}."))
                    if refused
                    else Verdict("retry", problem=GroupIncomplete(f"It has {size} changes."))
                )


def _verdict(verdict: Verdict | None) -> str | None:
    return verdict.verdict if verdict else None


def _change(change: Change | Invalid) -> Change:
    assert isinstance(change, Change)
    return change


def _from_row(row: RowMapping) -> Change:
    group = (row["group_first"], row["group_size"]) if row["group_first"] is not None else None
    return Change(
        row["clock"],
        row["counter"],
        row["type"],
        row["record_id"],
        json.loads(row["fields"]),
        row["stamp"],
        row["supersedes"].split(),
        group,
    )


def _split(id_: str) -> tuple[str, int]:
    clock, counter = id_.split(".")
    return clock, int(counter)


def _chunks(items: Sequence[str]) -> Iterator[Sequence[str]]:
    for at in range(0, len(items), _CHUNK):
        yield items[at : at + _CHUNK]


_dumps = json.JSONEncoder(separators=(",", ":")).encode
