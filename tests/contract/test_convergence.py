"""Three devices and an import against one server, with everything that goes wrong between them.

The oracle is the definition, not the program's merge: a change is head of a field unless an
accepted change that sets the field supersedes it (server/PROTOCOL.md, "Words").
Sync failures 3, 4, 7, 10, 11, 12, 13, 14.
"""

from __future__ import annotations

import json
import shutil
import tempfile
import uuid
from pathlib import Path
from typing import Any

import flask_migrate
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
)

from bagtrail.app import create_app
from bagtrail.domain import epochs, journal, merge
from bagtrail.settings import Settings
from bagtrail.storage.tables import db
from bagtrail.wire.changes import Change
from bagtrail.wire.problems import OtherEpoch
from tests.devices import SimDevice, new_workshop

START_MS = 1_790_000_000_000
RECORDS = [str(uuid.UUID(int=number)) for number in range(1, 5)]
FIELDS = ["name", "about", "maker"]
_template: list[Path] = []


def _fresh_data() -> Path:
    """A data folder with an empty, migrated database; migrated once, then copied."""
    if not _template:
        folder = Path(tempfile.mkdtemp(prefix="bagtrail-template-"))
        app = create_app(Settings(data=folder))
        with app.app_context():
            flask_migrate.upgrade()
            db.engine.dispose()
        _template.append(folder)
    folder = Path(tempfile.mkdtemp(prefix="bagtrail-machine-"))
    shutil.copytree(_template[0], folder, dirs_exist_ok=True)
    return folder


class Convergence(RuleBasedStateMachine):
    """Failure 4 most of all: batches are cut anew, repeated and lost in any order."""

    @initialize(skews=st.tuples(*[st.sampled_from([0, 0, 3_600_000, -3_600_000])] * 3))
    def start(self, skews: tuple[int, ...]) -> None:
        self.folder = _fresh_data()
        self.app = create_app(Settings(data=self.folder))
        self.context = self.app.app_context()
        self.context.push()
        epochs.settle(self.folder / "epoch.json")
        self.workshop = new_workshop()
        self.devices = [SimDevice(self.workshop, skew_ms=skew) for skew in skews]
        self.importer = SimDevice(self.workshop)
        self.imported: dict[tuple[str, str], str] = {}
        self.now = START_MS
        self.accepted: dict[str, Change] = {}
        self.in_flight: list[tuple[SimDevice, list[Change]]] = []
        self.values = 0

    def teardown(self) -> None:
        if not hasattr(self, "context"):
            return
        self._settle_everything()
        self._check_convergence()
        db.engine.dispose()
        self.context.pop()
        shutil.rmtree(self.folder, ignore_errors=True)

    # What people do

    @rule(
        who=st.integers(0, 2),
        record=st.sampled_from(RECORDS),
        fields=st.sets(st.sampled_from(FIELDS), min_size=1),
        same=st.booleans(),
    )
    def write(self, who: int, record: str, fields: set[str], same: bool) -> None:
        self.devices[who].write("kit", record, self._set(fields, same), self._tick())

    @rule(who=st.integers(0, 2), size=st.integers(2, 3))
    def write_together(self, who: int, size: int) -> None:
        device = self.devices[who]
        group = (device.counter + 1, size)
        for record in RECORDS[:size]:
            device.write("kit", record, self._set({"name"}, False), self._tick(), group)

    @rule(who=st.integers(0, 2), record=st.sampled_from(RECORDS))
    def delete(self, who: int, record: str) -> None:
        if record in self.devices[who].types:
            self.devices[who].delete(record, self._tick())

    @rule(who=st.integers(0, 2), record=st.sampled_from(RECORDS))
    def keep_after_all(self, who: int, record: str) -> None:
        device = self.devices[who]
        if any(merge.gone(device.state(record))):
            device.write("kit", record, {"deleted": None}, self._tick())

    @rule(record=st.sampled_from(RECORDS), field=st.sampled_from(FIELDS))
    def import_again(self, record: str, field: str) -> None:
        """An import supersedes what the last import wrote, not what people made of it since."""
        last = self.imported.get((record, field))
        self.importer.counter += 1
        self.values += 1
        stamp = f"{self._tick():012x}0000{self.importer.clock}"
        change = Change(
            self.importer.clock, self.importer.counter, "kit", record,
            {field: f"import {self.values}"}, stamp, [last] if last else [],
        )  # fmt: skip
        self.importer.outbox[change.id] = change
        self.imported[record, field] = change.id
        self._deliver(self.importer, [change], lost=False)

    # What goes wrong

    @rule(who=st.integers(0, 2), lost=st.booleans(), cut=st.integers(0, 20))
    def push(self, who: int, lost: bool, cut: int) -> None:
        """A push of all or the first few unsent changes; its reply may be lost."""
        device = self.devices[who]
        self._deliver(device, self._whole_groups(device.unsent()[: cut or None]), lost)

    @rule(who=st.integers(0, 2))
    def push_later(self, who: int) -> None:
        """A request that is under way while others overtake it."""
        changes = self.devices[who].unsent()
        if changes:
            self.in_flight.append((self.devices[who], changes))

    @rule(which=st.integers(0, 10))
    def arrive(self, which: int) -> None:
        if self.in_flight:
            device, changes = self.in_flight.pop(which % len(self.in_flight))
            self._deliver(device, changes, lost=True)

    @rule(who=st.integers(0, 2), data=st.data())
    def repeat_mixed_up(self, who: int, data: st.DataObject) -> None:
        """Already accepted changes again, in any order and cut anew."""
        device = self.devices[who]
        known = [c for c in (*device.history.values(), *device.outbox.values()) if not c.group]
        if known:
            again = data.draw(
                st.lists(st.sampled_from(known), max_size=4, unique_by=lambda c: c.id)
            )
            self._deliver(device, again, lost=True)

    @rule(who=st.integers(0, 2), limit=st.integers(1, 3))
    def pull(self, who: int, limit: int) -> None:
        self._pull(self.devices[who], limit)

    @rule()
    def copy_server(self) -> None:
        db.engine.dispose()
        shutil.copy(self._file(), self._file(".copy"))

    @rule()
    def restore_server(self) -> None:
        """The older copy is put back: what was accepted since is lost on the server."""
        if self._file(".copy").exists():
            db.engine.dispose()
            for suffix in ("-wal", "-shm"):
                self._file(suffix).unlink(missing_ok=True)
            shutil.copy(self._file(".copy"), self._file())
            remembered = json.loads((self.folder / "epoch.json").read_text())
            entry = epochs.current()
            behind = entry.seq < remembered["seq"] or entry.epoch != remembered["epoch"]
            outcome = epochs.settle(self.folder / "epoch.json")
            assert outcome == ("restored" if behind else "same")
            lost = journal.missing(self.workshop, list(self.accepted))
            for id_ in lost:
                del self.accepted[id_]

    @rule(who=st.integers(0, 2))
    def start_anew(self, who: int) -> None:
        """The browser forgot what it had read; outbox and clock are in a database of their own."""
        self.devices[who].cursor = None
        self.devices[who].mirror = {}

    @rule(who=st.integers(0, 2), jump=st.sampled_from([-86_400_000, 3_600_000, 31_536_000_000]))
    def clock_jumps(self, who: int, jump: int) -> None:
        self.devices[who].skew_ms += jump

    @rule()
    def server_restarts(self) -> None:
        db.engine.dispose()
        assert epochs.settle(self.folder / "epoch.json") == "same"

    @invariant()
    def each_device_agrees_with_itself(self) -> None:
        for device in getattr(self, "devices", []):
            for record in RECORDS:
                state = device.state(record)
                ids = [head.id for head in state.heads]
                assert len(ids) == len(set(ids))

    # Helpers

    def _tick(self) -> int:
        self.now += 1_000
        return self.now

    def _set(self, fields: set[str], same: bool) -> dict[str, Any]:
        self.values += 1
        return dict.fromkeys(sorted(fields), "same" if same else f"value {self.values}")

    @staticmethod
    def _whole_groups(changes: list[Change]) -> list[Change]:
        counters = {change.counter for change in changes}
        return [
            change
            for change in changes
            if change.group is None or change.group[0] + change.group[1] - 1 in counters
        ]

    def _deliver(self, device: SimDevice, changes: list[Change], lost: bool) -> None:
        if not changes:
            return
        try:
            verdicts = device.send(changes, self._tick())
        except OtherEpoch:
            device.offer_again()
            return
        entry = epochs.current()
        epochs.remember(self.folder / "epoch.json", entry.epoch, entry.seq)
        for change, verdict in zip(changes, verdicts, strict=True):
            assert verdict.verdict in ("applied", "duplicate"), verdict
            stamp = verdict.restamped or change.stamp
            self.accepted.setdefault(change.id, change._replace(stamp=stamp))
        if not lost:
            device.read_reply(changes, verdicts)

    def _pull(self, device: SimDevice, limit: int) -> None:
        if device.unsent():
            return
        try:
            device.pull(limit)
        except OtherEpoch:
            device.offer_again()

    def _file(self, suffix: str = "") -> Path:
        return self.folder / f"bagtrail.sqlite3{suffix}"

    def _settle_everything(self) -> None:
        for device, changes in self.in_flight:
            self._deliver(device, changes, lost=True)
        for _ in range(3):
            for device in (*self.devices, self.importer):
                self._deliver(device, device.unsent(), lost=False)
                self._deliver(device, device.unsent(), lost=False)
                self._pull(device, 1000)

    def _check_convergence(self) -> None:
        for record in RECORDS:
            changes = [c for c in self.accepted.values() if c.record == record]
            heads = _heads_by_definition(changes)
            for device in (*self.devices, self.importer):
                assert not device.outbox
                assert not device.parked
                shown = {h.id: h.set for h in device.state(record).heads}
                assert shown == heads
            state = self.devices[0].state(record)
            self._check_nothing_is_lost(changes, state)
            for head in state.heads:
                assert head.stamp == self.accepted[head.id].stamp
        before = self._tables()
        journal.rebuild()
        assert self._tables() == before

    @staticmethod
    def _check_nothing_is_lost(changes: list[Change], state: merge.State) -> None:
        """Every accepted value is winner, clash or ancestor."""
        values = merge.shown(state)
        kept = {(head.id, name) for head in state.heads for name in head.set}
        for change in changes:
            for name, value in change.set.items():
                ancestor = any(
                    change.id in later.supersedes and name in later.set for later in changes
                )
                assert ancestor or (change.id, name) in kept
                if not ancestor and name != "deleted":
                    clashing = [
                        other
                        for clash in values.clashes
                        if clash.field == name
                        for other, _, _ in clash.others
                    ]
                    assert value == values.values[name] or value in clashing

    def _tables(self) -> dict[str, Any]:
        from bagtrail.storage.tables import RECORD_TABLES, record_state
        from bagtrail.storage.work import reading

        with reading() as conn:
            return {
                table.name: sorted(
                    tuple(v for k, v in row.items() if k != "gone_ms")
                    for row in conn.execute(table.select()).mappings()
                )
                for table in (record_state, RECORD_TABLES["kit"])
            }


def _heads_by_definition(changes: list[Change]) -> dict[str, dict[str, Any]]:
    heads = {}
    for change in changes:
        fields = {
            name: value
            for name, value in change.set.items()
            if not any(change.id in other.supersedes and name in other.set for other in changes)
        }
        if fields:
            heads[change.id] = fields
    return heads


Convergence.TestCase.settings = settings(
    max_examples=100,
    stateful_step_count=40,
    # Shrinking runs of a real database takes longer than reading one.
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    deadline=None,
    print_blob=True,
    suppress_health_check=list(HealthCheck),
)
TestConvergence = Convergence.TestCase
