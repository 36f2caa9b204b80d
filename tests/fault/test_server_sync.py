"""Failures of programs that sync, on the server's side; each test names the failure's number."""

from __future__ import annotations

import subprocess
import sys
import textwrap
import threading
import time
import uuid
from collections.abc import Iterator
from itertools import permutations

import pytest
import sqlalchemy as sa
from flask import Flask

from bagtrail.domain import epochs, journal, merge, upkeep
from bagtrail.domain.journal import Cursor
from bagtrail.settings import Settings
from bagtrail.storage.tables import change as journal_table
from bagtrail.storage.tables import db, record_state
from bagtrail.storage.work import engine, reading, writing
from bagtrail.trade import stamps
from bagtrail.wire.changes import Change
from bagtrail.wire.problems import BelowFloor, OtherEpoch
from tests.devices import SimDevice, new_workshop

NOW = 1_790_000_000_000
KIT = "11111111-1111-4111-8111-111111111111"


@pytest.fixture
def workshop(app: Flask) -> Iterator[str]:
    with app.app_context():
        yield new_workshop()


def _kit(device: SimDevice, name: str, now: int = NOW, record: str = KIT) -> Change:
    return device.write("kit", record, {"name": name}, now)


def _verdicts(device: SimDevice, changes: list[Change], now: int = NOW) -> list[str]:
    return [verdict.verdict for verdict in device.send(changes, now)]


def test_failure_1_no_pull_misses_a_row_that_commits_late(
    database: str | None, app: Flask, workshop: str
) -> None:
    """Failure 1: sequence is in the order of commits, so no cursor can step over a row."""
    slow, quick = SimDevice(workshop), SimDevice(workshop)
    began, go_on = threading.Event(), threading.Event()

    def late() -> None:
        with app.app_context(), writing() as conn:
            journal.write(conn, workshop, [journal.Draft("kit", KIT, {"name": "late"})])
            began.set()
            go_on.wait(10)

    writer = threading.Thread(target=late)
    writer.start()
    assert began.wait(10)
    overtaking = threading.Thread(
        target=lambda: _in(app, lambda: quick.push(NOW) if quick.unsent() else None)
    )
    _kit(quick, "quick", record=str(uuid.uuid4()))
    overtaking.start()
    time.sleep(0.3)
    slow.pull()
    go_on.set()
    writer.join(10)
    overtaking.join(10)
    slow.pull()
    assert KIT in slow.mirror
    assert len([type_ for type_ in slow.types.values() if type_ == "kit"]) == 2


def _in(app: Flask, do: object) -> None:
    with app.app_context():
        do()  # type: ignore[operator]


def test_failure_1_pollers_see_every_row_of_concurrent_writers(
    database: str | None, app: Flask, workshop: str
) -> None:
    """Failure 1, at random: 4 writers with delays, a reader that polls all the while."""
    seen: set[str] = set()
    done = threading.Event()

    def write(number: int) -> None:
        with app.app_context():
            for _ in range(15):
                with writing() as conn:
                    draft = journal.Draft("kit", str(uuid.uuid4()), {"name": f"{number}"})
                    journal.write(conn, workshop, [draft])
                    time.sleep(0.001 * number)

    def poll() -> None:
        with app.app_context():
            cursor: Cursor | None = None
            while True:
                last = done.is_set()
                cursor, _, changes = journal.pull(workshop, cursor, 3)
                seen.update(change.record for change in changes)
                if last and not changes:
                    return

    writers = [threading.Thread(target=write, args=(number,)) for number in range(4)]
    reader = threading.Thread(target=poll)
    for thread in (reader, *writers):
        thread.start()
    for thread in writers:
        thread.join(60)
    done.set()
    reader.join(60)
    with reading() as conn:
        everything = set(conn.execute(sa.select(record_state.c.id)).scalars())
    assert seen == everything
    assert len(everything) == 62


def test_failure_2_a_sequence_is_never_given_out_again(database: str | None, workshop: str) -> None:
    """Failure 2: the counter is a row of its own, whatever is deleted from the journal."""
    device = SimDevice(workshop)
    first = device.send([_kit(device, "a")], NOW)[0].seq
    with writing() as conn:
        conn.execute(journal_table.delete())
        conn.execute(record_state.delete())
    second = device.send([_kit(device, "b")], NOW)[0].seq
    assert first is not None
    assert second is not None
    assert second > first


def test_failure_3_a_push_whose_reply_was_lost_changes_nothing_when_sent_again(
    database: str | None, app: Flask, settings: Settings, workshop: str
) -> None:
    """Failure 3: the process dies between commit and reply."""
    device = SimDevice(workshop)
    change = _kit(device, "once")
    script = f"""
        import os
        from pathlib import Path
        from bagtrail.app import create_app
        from bagtrail.domain import journal
        from bagtrail.settings import Settings
        from bagtrail.wire.changes import Change
        settings = Settings(data=Path({str(settings.data)!r}), database={settings.database!r})
        with create_app(settings).app_context():
            journal.push({workshop!r}, frozenset([{device.clock!r}]), [Change(*{tuple(change)!r})])
            os._exit(9)
    """
    db.engine.dispose()
    died = subprocess.run([sys.executable, "-c", textwrap.dedent(script)], check=False)
    assert died.returncode == 9
    before = _everything()
    assert _verdicts(device, [change]) == ["duplicate"]
    assert _everything() == before
    assert device.send([change], NOW)[0].seq is not None


def _everything() -> list[tuple[object, ...]]:
    with reading() as conn:
        return [
            *map(tuple, conn.execute(sa.select(journal_table).order_by("seq"))),
            *map(tuple, conn.execute(sa.select(record_state).order_by("id"))),
        ]


def test_failure_5_two_retries_at_once_write_once(
    database: str | None, app: Flask, workshop: str
) -> None:
    """Failure 5: both retries pass a barrier together; ids are unique in the database."""
    device = SimDevice(workshop)
    changes = [_kit(device, f"{number}") for number in range(50)]
    barrier = threading.Barrier(2)
    outcomes: list[list[str]] = []

    def retry() -> None:
        with app.app_context():
            barrier.wait(10)
            outcomes.append(_verdicts(device, changes))

    threads = [threading.Thread(target=retry) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert sorted(outcomes) == [["applied"] * 50, ["duplicate"] * 50]
    with reading() as conn:
        clock = journal_table.c.clock == device.clock
        assert conn.execute(sa.select(sa.func.count()).where(clock)).scalar() == 50


@pytest.mark.parametrize("bad_at", range(4))
def test_failure_6_one_bad_change_never_stops_its_neighbours(workshop: str, bad_at: int) -> None:
    """Failure 6: a refused change at every place of a push."""
    device = SimDevice(workshop)
    changes = []
    for index in range(4):
        fields = {"name": 7} if index == bad_at else {"name": f"kit {index}"}
        changes.append(device.write("kit", str(uuid.uuid4()), fields, NOW))
    verdicts = device.send(changes, NOW)
    assert [v.verdict for v in verdicts] == [
        "refused" if index == bad_at else "applied" for index in range(4)
    ]
    problem = verdicts[bad_at].problem
    assert problem is not None
    assert "name" in problem.body()["errors"]
    device.read_reply(changes, verdicts)
    assert list(device.parked) == [changes[bad_at].id]
    device.pull()
    assert not device.outbox


def test_failure_6_what_follows_a_refused_change_still_applies(workshop: str) -> None:
    device = SimDevice(workshop)
    bad = device.write("kit", KIT, {"name": "x" * 1000}, NOW)
    good = device.write("kit", KIT, {"name": "short"}, NOW)
    assert bad.id in good.supersedes
    assert _verdicts(device, [bad, good]) == ["refused", "applied"]


def test_failure_7_a_restored_server_gets_back_what_it_lost(
    settings: Settings, app: Flask, workshop: str
) -> None:
    """Failure 7: copy, write, restore, write MORE than was lost, pull."""
    phone, tablet = SimDevice(workshop), SimDevice(workshop)
    _kit(phone, "kept")
    phone.exchange(NOW)
    copy = settings.data / "copy.tar"
    upkeep.backup(settings, copy)
    lost = str(uuid.uuid4())
    _kit(phone, "lost", record=lost)
    phone.exchange(NOW)
    tablet.exchange(NOW)
    assert lost in tablet.mirror

    upkeep.restore(settings, copy)
    assert epochs.settle(settings.epoch_file) == "restored"
    for number in range(10):
        _kit(tablet, f"more {number}", record=str(uuid.uuid4()))
    tablet.exchange(NOW)
    assert lost not in tablet.mirror
    phone.exchange(NOW)
    tablet.exchange(NOW)
    assert phone.values(lost) == tablet.values(lost) == {"name": "lost"}
    assert len(tablet.mirror) == len(phone.mirror)


def test_failure_7_what_was_acknowledged_and_lost_is_sent_again_though_the_cursor_fits(
    settings: Settings, workshop: str
) -> None:
    """Failure 7: only the epoch tells a device that had not pulled since the copy was made."""
    phone, tablet = SimDevice(workshop), SimDevice(workshop)
    _kit(phone, "kept")
    phone.exchange(NOW)
    copy = settings.data / "copy.tar"
    upkeep.backup(settings, copy)
    lost = str(uuid.uuid4())
    _kit(phone, "lost", record=lost)
    phone.push(NOW)
    assert not phone.unsent()
    upkeep.restore(settings, copy)
    epochs.settle(settings.epoch_file)
    for number in range(5):
        _kit(tablet, f"more {number}", record=str(uuid.uuid4()))
    tablet.exchange(NOW)
    phone.exchange(NOW)
    tablet.exchange(NOW)
    assert phone.values(lost) == tablet.values(lost) == {"name": "lost"}


def test_failure_7_a_file_put_back_by_hand_is_noticed_at_the_next_start(
    settings: Settings, workshop: str
) -> None:
    device = SimDevice(workshop)
    db.engine.dispose()
    database = settings.data / "bagtrail.sqlite3"
    old = database.read_bytes()
    _kit(device, "later")
    device.exchange(NOW)
    entry = epochs.current()
    epochs.remember(settings.epoch_file, entry.epoch, entry.seq)
    db.engine.dispose()
    for suffix in ("-wal", "-shm"):
        database.with_name(database.name + suffix).unlink(missing_ok=True)
    database.write_bytes(old)
    assert epochs.settle(settings.epoch_file) == "restored"
    with pytest.raises(OtherEpoch):
        device.pull()
    assert epochs.settle(settings.epoch_file) == "same"


def test_failure_7_what_the_server_wrote_is_told_from_what_a_restore_has_lost(
    settings: Settings, workshop: str
) -> None:
    """Failure 7: lost were writes of the API's, which the file beside the data does not know of."""

    def write(name: str) -> None:
        with writing() as conn:
            journal.write(conn, workshop, [journal.Draft("kit", KIT, {"name": name})])

    device = SimDevice(workshop)
    db.engine.dispose()
    database = settings.data / "bagtrail.sqlite3"
    old = database.read_bytes()
    write("lost")
    device.pull()
    db.engine.dispose()
    for suffix in ("-wal", "-shm"):
        database.with_name(database.name + suffix).unlink(missing_ok=True)
    database.write_bytes(old)
    epochs.settle(settings.epoch_file)
    write("written instead")
    device.exchange(NOW)
    assert device.values(KIT) == {"name": "written instead"}


def test_failure_8_what_was_cleared_away_does_not_come_back(
    database: str | None, settings: Settings, workshop: str
) -> None:
    """Failure 8: a phone that was away while a deleted record was purged, and edited it."""
    phone, tablet = SimDevice(workshop), SimDevice(workshop)
    _kit(phone, "doomed")
    phone.exchange(NOW)
    tablet.exchange(NOW)
    phone.delete(KIT, NOW)
    phone.exchange(NOW)
    later = journal.now_ms() + 200 * 86_400_000
    assert upkeep.compact(settings, now_ms=later) == 1
    edit = _kit(tablet, "still here?")
    with pytest.raises(BelowFloor):
        tablet.push(NOW)
    tablet.exchange(NOW)
    assert KIT not in tablet.mirror
    change, problem = tablet.parked[edit.id]
    assert problem.slug == "record-purged"
    assert change.set == {"name": "still here?"}
    phone.exchange(NOW)
    assert merge.gone(phone.state(KIT)) == (True, False)


def test_failure_9_no_device_holds_the_floor_down(
    database: str | None, settings: Settings, workshop: str
) -> None:
    """Failure 9: a device that never comes again does not keep deleted records for ever."""
    phone, never_again = SimDevice(workshop), SimDevice(workshop)
    _kit(phone, "doomed")
    phone.exchange(NOW)
    never_again.exchange(NOW)
    phone.delete(KIT, NOW)
    phone.exchange(NOW)
    upkeep.compact(settings, now_ms=journal.now_ms() + 200 * 86_400_000)
    assert epochs.current().floor > never_again.cursor.seq  # type: ignore[union-attr]


def test_failure_10_delete_beside_edit_keeps_the_record_and_asks_in_every_order() -> None:
    """Failure 10: one rule, whatever arrives first; an edit seen by the deleter does not ask."""
    made = _change("a", 1, {"name": "made"})
    seen = _change("a", 2, {"name": "seen"}, [made.id])
    unseen = _change("b", 1, {"name": "unseen"}, [made.id])
    deleted = _change("a", 3, {"deleted": [seen.id]}, [])
    for order in permutations([made, seen, deleted]):
        assert merge.gone(merge.fold(order)) == (True, False)
    for order in permutations([made, seen, unseen, deleted]):
        assert merge.gone(merge.fold(order)) == (False, True)
    keep = _change("b", 2, {"deleted": None}, [deleted.id])
    for order in permutations([made, seen, unseen, deleted, keep]):
        assert merge.gone(merge.fold(order)) == (False, False)


def _change(clock: str, counter: int, fields: dict[str, object], supersedes: object = ()) -> Change:
    clock = clock * 16
    stamp = stamps.make(NOW + counter, 0, clock)
    return Change(clock, counter, "kit", KIT, fields, stamp, list(supersedes))  # type: ignore[call-overload]


def test_failure_11_edits_of_different_fields_both_survive(
    database: str | None, workshop: str
) -> None:
    """Failure 11: fields are merged, not records."""
    phone, tablet = SimDevice(workshop), SimDevice(workshop)
    phone.write("kit", KIT, {"name": "Kit", "maker": "?"}, NOW)
    phone.exchange(NOW)
    tablet.exchange(NOW)
    phone.write("kit", KIT, {"maker": "M"}, NOW + 5)
    tablet.write("kit", KIT, {"scale": "1:6"}, NOW + 9)
    for device in (phone, tablet, phone):
        device.exchange(NOW + 10)
    assert phone.values(KIT) == {"name": "Kit", "maker": "M", "scale": "1:6"} == tablet.values(KIT)
    assert merge.shown(phone.state(KIT)).clashes == []


@pytest.mark.parametrize("skew_ms", [3_600_000, 31_536_000_000])
def test_failure_12_a_clock_that_is_ahead_does_not_win_for_ever(
    database: str | None, workshop: str, skew_ms: int
) -> None:
    """Failure 12: +1 h, +1 y: accepted, restamped, told; what comes later wins."""
    ahead, right = SimDevice(workshop, skew_ms=skew_ms), SimDevice(workshop)
    first = _kit(ahead, "ahead")
    second = _kit(ahead, "ahead again")
    verdicts = ahead.send([first, second], NOW)
    new = [verdict.restamped for verdict in verdicts]
    assert all(new)
    assert NOW <= stamps.parts(new[0] or "")[0] < stamps.parts(first.stamp)[0]
    assert (new[0] or "") < (new[1] or "")
    ahead.read_reply([first, second], verdicts)
    ahead.pull()
    right.exchange(NOW)
    _kit(right, "later", NOW + 1000)
    right.exchange(NOW + 1000)
    ahead.exchange(NOW + 1000)
    assert ahead.values(KIT) == {"name": "later"}
    row = _journal_row(first)
    assert row.claimed_stamp == first.stamp
    assert row.stamp == new[0]


def test_failure_12_a_clock_of_1970_never_sorts_below_what_it_supersedes(
    database: str | None, workshop: str
) -> None:
    right, behind = SimDevice(workshop), SimDevice(workshop)
    _kit(right, "first")
    right.exchange(NOW)
    behind.exchange(NOW)
    behind.skew_ms = -NOW
    last = _kit(behind, "second")
    assert last.stamp > right.state(KIT).heads[0].stamp
    behind.exchange(NOW)
    right.exchange(NOW)
    assert right.values(KIT) == {"name": "second"}


def test_failure_12_the_server_lifts_a_stamp_below_what_it_supersedes(workshop: str) -> None:
    device = SimDevice(workshop)
    first = _kit(device, "first")
    device.exchange(NOW)
    low = Change(
        device.clock, 2, "kit", KIT, {"name": "2"}, f"{5:012x}0000{device.clock}", [first.id]
    )
    verdict = device.send([low], NOW)[0]
    assert verdict.restamped is not None
    assert verdict.restamped > first.stamp


def test_failure_12_what_the_server_writes_sorts_above_what_it_supersedes(
    database: str | None, workshop: str
) -> None:
    """A device may be up to a minute ahead without being restamped; the server is not."""
    ahead = SimDevice(workshop, skew_ms=50_000)
    now = journal.now_ms()
    first = ahead.write("kit", KIT, {"name": "ahead"}, now)
    assert ahead.send([first], now)[0].restamped is None
    with writing() as conn:
        change = journal.write(conn, workshop, [journal.Draft("kit", KIT, {"name": "server"})])[0]
    assert change.supersedes == [first.id]
    assert change.stamp > first.stamp


def _journal_row(change: Change) -> sa.Row[tuple[object, ...]]:
    with reading() as conn:
        return conn.execute(
            sa.select(journal_table).where(
                journal_table.c.clock == change.clock, journal_table.c.counter == change.counter
            )
        ).one()


def test_failure_13_a_push_that_fails_midway_leaves_nothing_and_no_gap(
    database: str | None, workshop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Failure 13: the sequence moves in the same transaction as the rows."""
    device = SimDevice(workshop)
    before = epochs.current()
    changes = [_kit(device, "a"), _kit(device, "b")]
    real = journal.projection.write

    def broken(*arguments: object) -> None:
        real(*arguments)  # type: ignore[arg-type]
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(journal.projection, "write", broken)
        with pytest.raises(OSError, match="disk"):
            device.send(changes, NOW)
    assert epochs.current() == before
    assert [v.seq for v in device.send(changes, NOW)] == [before.seq + 1, before.seq + 2]


def test_failure_14_a_first_read_with_writes_in_between_ends_in_one_state(
    database: str | None, workshop: str
) -> None:
    """Failure 14: records that change while pages are read come again at a later sequence."""
    writer, reader = SimDevice(workshop), SimDevice(workshop)
    ids = [str(uuid.uuid4()) for _ in range(20)]
    for id_ in ids:
        _kit(writer, "old", record=id_)
    writer.exchange(NOW)
    cursor: Cursor | None = None
    more, page = True, 0
    heads: dict[str, str] = {}
    while more:
        cursor, more, changes = journal.pull(workshop, cursor, 4)
        heads |= {c.record: str(c.set.get("name")) for c in changes if c.type == "kit"}
        if page < 5:
            _kit(writer, f"new {page}", record=ids[page * 3])
            writer.exchange(NOW)
        page += 1
    writer.pull()
    assert heads == {id_: writer.values(id_)["name"] for id_ in ids}
    assert reader.mirror == {}


def test_a_page_never_ends_within_a_group(database: str | None, workshop: str) -> None:
    device = SimDevice(workshop)
    group = (1, 6)
    for _ in range(6):
        device.write("kit", str(uuid.uuid4()), {"name": "one of six"}, NOW, group)
    device.exchange(NOW)
    _, _, changes = journal.pull(workshop, None, 4)
    assert len({change.record for change in changes if change.type == "kit"}) == 6


def test_a_page_ends_with_its_group_wherever_its_other_changes_are(
    database: str | None, workshop: str
) -> None:
    device = SimDevice(workshop)
    group = (1, 3)
    for _ in range(3):
        device.write("kit", str(uuid.uuid4()), {"name": "one of three"}, NOW, group)
    between = device.write("kit", str(uuid.uuid4()), {"name": "beside"}, NOW)
    after = [device.write("kit", str(uuid.uuid4()), {"name": "after"}, NOW) for _ in range(3)]
    one, two, three = (change for change in device.outbox.values() if change.group)
    device.send([one, between, two, three, *after], NOW)
    cursor, more, changes = journal.pull(workshop, None, 3)
    assert [change.record for change in changes[2:]] == [
        one.record, between.record, two.record, three.record,
    ]  # fmt: skip
    assert more
    _, more, changes = journal.pull(workshop, cursor, 3)
    assert [change.record for change in changes] == [change.record for change in after]
    assert not more


def test_a_group_is_taken_whole_or_not_at_all(workshop: str) -> None:
    device = SimDevice(workshop)
    whole = [
        device.write("kit", str(uuid.uuid4()), {"name": f"{n}"}, NOW, (1, 3)) for n in range(3)
    ]
    assert _verdicts(device, whole[:2]) == ["retry", "retry"]
    assert _verdicts(device, whole) == ["applied"] * 3
    assert _verdicts(device, whole) == ["duplicate"] * 3
    spoilt = [
        device.write("kit", str(uuid.uuid4()), fields, NOW, (4, 2))
        for fields in ({"name": "fine"}, {"name": None})
    ]
    assert _verdicts(device, spoilt) == ["refused", "refused"]


def test_failure_15_a_transaction_that_reads_then_writes_waits_its_turn(
    app: Flask, workshop: str
) -> None:
    """Failure 15: on SQLite a deferred transaction would fail at once when it comes to write."""
    first_reads, first_writes = threading.Event(), threading.Event()
    failures: list[BaseException] = []

    def second() -> None:
        try:
            with app.app_context():
                assert first_reads.wait(10)
                with writing() as conn:
                    journal.write(conn, workshop, [journal.Draft("kit", KIT, {"name": "second"})])
        except BaseException as failure:
            failures.append(failure)

    thread = threading.Thread(target=second)
    thread.start()
    with writing() as conn:
        epochs.read(conn)
        first_reads.set()
        time.sleep(0.5)
        journal.write(conn, workshop, [journal.Draft("kit", KIT, {"name": "first"})])
        first_writes.set()
    thread.join(30)
    assert failures == []
    assert engine().dialect.name == "sqlite"
    device = SimDevice(workshop)
    device.pull()
    assert device.values(KIT) == {"name": "second"}


def test_failure_33_a_copied_device_is_told_that_its_ids_are_taken(workshop: str) -> None:
    """Failure 33, server's side: same id, other content: refused, never silently dropped."""
    device = SimDevice(workshop)
    original = _kit(device, "original")
    copied = original._replace(set={"name": "copy"})
    assert _verdicts(device, [original]) == ["applied"]
    verdict = device.send([copied], NOW)[0]
    assert verdict.verdict == "refused"
    assert verdict.problem is not None
    assert verdict.problem.slug == "id-reuse"
    moved = original._replace(stamp=stamps.make(NOW + 1, 0, device.clock))
    assert device.send([moved], NOW)[0].problem is not None


def test_another_workshops_record_cannot_be_written_or_read(workshop: str, app: Flask) -> None:
    mine, stranger = SimDevice(workshop), SimDevice(str(uuid.uuid4()))
    _kit(mine, "mine")
    mine.exchange(NOW)
    attack = _kit(stranger, "theirs")
    verdict = stranger.send([attack], NOW)[0]
    assert verdict.problem is not None
    assert verdict.problem.slug == "other-workshop"
    stranger.pull()
    assert stranger.mirror == {}


def test_unknown_fields_and_types_are_kept_and_passed_on(workshop: str) -> None:
    """A newer device's work is not lost on an older server (DESIGN: versions)."""
    newer, other = SimDevice(workshop), SimDevice(workshop)
    newer.write("kit", KIT, {"name": "Kit", "colour_plan": {"roof": "red"}}, NOW)
    strange = str(uuid.uuid4())
    newer.write("paint_job", strange, {"coats": 3}, NOW)
    newer.exchange(NOW)
    other.exchange(NOW)
    assert other.values(KIT)["colour_plan"] == {"roof": "red"}
    assert other.values(strange) == {"coats": 3}
    journal.rebuild()
    other.cursor, other.mirror = None, {}
    other.pull()
    assert other.values(KIT)["colour_plan"] == {"roof": "red"}


def test_rebuild_makes_the_same_tables_from_the_journal(
    database: str | None, workshop: str
) -> None:
    device = SimDevice(workshop)
    for number in range(30):
        _kit(device, f"{number}", NOW + number, str(uuid.UUID(int=number % 7 + 1)))
    device.exchange(NOW)
    device.delete(str(uuid.UUID(int=3)), NOW + 50)
    device.exchange(NOW + 60)

    def tables() -> dict[str, list[tuple[object, ...]]]:
        with reading() as conn:
            return {
                name: sorted(map(tuple, conn.execute(table.select())), key=repr)
                for name, table in db.metadata.tables.items()
                if name in ("record_state", "kit")
            }

    before = tables()
    journal.rebuild()
    assert tables() == before
    assert len(before["kit"]) == 7
