"""A device as the tests need it: clock, outbox and mirror as server/PROTOCOL.md says, no screens.

It speaks to the domain directly, through the packed form, and keeps its state in plain
attributes, so that a test can lose, repeat, split and reorder what is sent.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from bagtrail.domain import devices, journal, merge
from bagtrail.domain.journal import Cursor, Verdict
from bagtrail.trade import stamps
from bagtrail.wire import packing
from bagtrail.wire.changes import Change
from bagtrail.wire.problems import BelowFloor, OtherEpoch


class SimDevice:
    """``skew_ms``: how far its clock is ahead of the true time."""

    def __init__(self, workshop: str, *, skew_ms: int = 0) -> None:
        self.workshop = workshop
        self.clock = secrets.token_hex(8)
        self.counter = 0
        self.skew_ms = skew_ms
        self.last = (0, 0)
        self.outbox: dict[str, Change] = {}
        self.acknowledged: dict[str, int] = {}
        self.history: dict[str, Change] = {}
        self.parked: dict[str, Any] = {}
        self.mirror: dict[str, list[merge.Head]] = {}
        self.types: dict[str, str] = {}
        self.cursor: Cursor | None = None
        #: Epoch in which the server acknowledged what is in ``acknowledged`` and ``history``.
        self.epoch: str | None = None

    def state(self, record: str) -> merge.State:
        """Shown state: what the server had, and own changes it has not, or not yet told of."""
        heads = [merge.Head(h.id, h.stamp, dict(h.set)) for h in self.mirror.get(record, [])]
        state = merge.State(heads)
        at = self.cursor.seq if self.cursor else 0
        for change in self.outbox.values():
            seq = self.acknowledged.get(change.id)
            if change.record == record and (seq is None or seq > at):
                merge.apply(state, change)
        return state

    def values(self, record: str) -> dict[str, Any]:
        return merge.values(self.state(record))

    def write(
        self,
        type_: str,
        record: str,
        fields: Mapping[str, Any],
        now_ms: int,
        group: tuple[int, int] | None = None,
    ) -> Change:
        state = self.state(record)
        supersedes = merge.superseded_by(state, fields)
        floor = max((h.stamp for h in state.heads if h.id in supersedes), default=None)
        ms, tick = max((now_ms + self.skew_ms, 0), self.last)
        stamp = stamps.above(floor, ms, tick, self.clock)
        ms, tick, _ = stamps.parts(stamp)
        self.last = (ms, tick + 1) if tick < stamps.MAX_TICK else (ms + 1, 0)
        self.counter += 1
        change = Change(
            self.clock, self.counter, type_, record, dict(fields), stamp, supersedes, group
        )
        self.outbox[change.id] = change
        self.types[record] = type_
        return change

    def delete(self, record: str, now_ms: int) -> Change:
        seen = [head.id for head in self.state(record).heads]
        return self.write(self.types[record], record, {"deleted": seen}, now_ms)

    def unsent(self) -> list[Change]:
        return [c for c in self.outbox.values() if c.id not in self.acknowledged]

    def send(self, changes: Sequence[Change], now_ms: int) -> list[Verdict]:
        """What the server answers; the device has not read it yet."""
        sent = packing.unpack(packing.pack(changes))
        ledger, verdicts = journal.push(
            self.workshop, frozenset({self.clock}), sent, self.cursor, now=lambda: now_ms
        )
        self._check_epoch(ledger.epoch)
        return verdicts

    def read_reply(self, changes: Sequence[Change], verdicts: Sequence[Verdict]) -> None:
        for change, verdict in zip(changes, verdicts, strict=True):
            if verdict.verdict in ("applied", "duplicate") and change.id in self.outbox:
                assert verdict.seq is not None
                kept = self.outbox[change.id]
                if verdict.restamped is not None:
                    kept = kept._replace(stamp=verdict.restamped)
                    self.skew_ms = 0
                    self.last = (0, 0)
                self.outbox[change.id] = kept
                self.acknowledged[change.id] = verdict.seq
            elif verdict.verdict == "refused" and change.id in self.outbox:
                self.parked[change.id] = (self.outbox.pop(change.id), verdict.problem)

    def push(self, now_ms: int) -> None:
        changes = self.unsent()
        if changes:
            self.read_reply(changes, self.send(changes, now_ms))

    def pull(self, limit: int = 1000) -> None:
        more = True
        while more:
            after, more, changes = journal.pull(self.workshop, self.cursor, limit)
            self._check_epoch(after.epoch)
            fresh: dict[str, list[merge.Head]] = {}
            for change in packing.unpack(packing.pack(changes, push=False), push=False):
                assert isinstance(change, Change)
                heads = fresh.setdefault(change.record, [])
                heads.append(merge.Head(change.id, change.stamp, dict(change.set)))
                self.types[change.record] = change.type
            self.mirror |= fresh
            self.cursor = after
        assert self.cursor is not None
        for id_, seq in list(self.acknowledged.items()):
            if seq <= self.cursor.seq:
                self.history[id_] = self.outbox.pop(id_)
                del self.acknowledged[id_]

    def exchange(self, now_ms: int) -> None:
        """Push, pull; starts anew and offers its history where the server asks for that."""
        try:
            self.push(now_ms)
            if not self.unsent():
                self.pull()
        except OtherEpoch:
            self.offer_again()
            self.exchange(now_ms)
        except BelowFloor:
            self.cursor = None
            self.mirror = {}
            self.exchange(now_ms)

    def _check_epoch(self, epoch: str) -> None:
        if self.epoch not in (None, epoch):
            raise OtherEpoch("The reply came from another epoch than the acknowledgements.")
        self.epoch = epoch

    def offer_again(self) -> None:
        """After the server was restored: what it lacks of this device's history is unsent again."""
        self.cursor = self.epoch = None
        self.mirror = {}
        # Sequences of another epoch say nothing.
        self.acknowledged = {}
        missing = journal.missing(self.workshop, list(self.history))
        again = {id_: self.history.pop(id_) for id_ in missing} | self.outbox
        self.outbox = dict(sorted(again.items(), key=lambda item: item[1].counter))


def new_workshop(name: str = "Shed") -> str:
    """A workshop in the database of the current app, without any credential of use."""
    workshop, _ = devices.claim(
        name, devices.Arrival("Desk", "desk", str(uuid.uuid4()), secrets.token_hex(8))
    )
    return workshop
