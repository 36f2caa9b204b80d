"""Out, in, out again: nothing of a kit or a build is lost (server/ARCHIVE.md, "Nothing lost").

Archives are compared as text: a copy's text is the original's with every id put in place of
another, one for one.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from bagtrail.domain import journal, merge, photos, records, upkeep
from bagtrail.settings import Settings
from bagtrail.storage.tables import record_state
from bagtrail.storage.work import reading
from bagtrail.trade import codes
from bagtrail.wire.records import derived_id
from tests import archives
from tests.archives import NOW, Shed, named
from tests.devices import SimDevice

WHATS = pytest.mark.parametrize("what", ["kit", "build"])


@pytest.fixture
def shed(app_context: Flask, settings: Settings) -> Shed:
    return archives.fill(settings)


def _states() -> list[Any]:
    columns = [c for c in record_state.c if c.name != "group_key"]
    with reading() as conn:
        return sorted(tuple(row) for row in conn.execute(sa.select(*columns)))


@WHATS
def test_into_the_same_workshop_it_changes_nothing(
    database: str | None, shed: Shed, settings: Settings, what: str
) -> None:
    archive = shed.export(what)
    before = archives.everything(settings)
    brought = archives.bring(settings, shed.workshop, archive)
    assert (brought.made, brought.added, brought.photos, brought.copied) == ({}, 0, 0, False)
    assert brought.known == len(archives.lines(archive, "changes.jsonl"))
    assert archives.everything(settings) == before


@WHATS
def test_a_lost_workshop_gets_everything_back_as_it_was(
    database: str | None, shed: Shed, settings: Settings, what: str
) -> None:
    first = shed.export(what)
    archives.wipe(settings)
    archives.claim(settings, shed.workshop)
    brought = archives.bring(settings, shed.workshop, first)
    assert brought.kits == [shed.kit]
    assert brought.build == (shed.build if what == "build" else None)
    second = shed.export(what)
    one, two = archives.members(first), archives.members(second)
    assert one.keys() == two.keys()
    for name in one.keys() - {"about.json", "checksums.sha256", "devices.jsonl"}:
        assert one[name] == two[name], name
    for before, after in zip(
        archives.lines(first, "devices.jsonl"), archives.lines(second, "devices.jsonl"), strict=True
    ):
        # Known by name; let in again only by a pairing code.
        assert before["revoked_at"] is None
        assert after.pop("revoked_at") is not None
        assert {**after, "revoked_at": None} == before
    # What came in is what the journal comes to.
    states = _states()
    journal.rebuild()
    assert _states() == states
    assert archives.bring(settings, shed.workshop, first).added == 0


@WHATS
def test_into_another_workshop_it_comes_as_a_copy_with_its_history(
    database: str | None, shed: Shed, settings: Settings, what: str
) -> None:
    first = shed.export(what)
    archives.wipe(settings)
    other = archives.claim(settings)
    brought = archives.bring(settings, other, first)
    assert brought.copied
    root = brought.build if what == "build" else brought.kits[0]
    assert root is not None
    second = archives.export(settings, other, what, root)
    ours = archives.lines(first, "changes.jsonl")
    theirs = archives.lines(second, "changes.jsonl")
    # Two bags stand, and got labels of this workshop; nothing else was written.
    assert [(c["type"], list(c["set"])) for c in theirs[len(ours) :]] == [("bag", ["code"])] * 2
    swaps = _swaps(ours, theirs)
    old_devices = archives.lines(first, "devices.jsonl")
    new_devices = archives.lines(second, "devices.jsonl")
    assert {one["name"] for one in old_devices} == {one["name"] for one in new_devices}
    new_ids = {one["name"]: one["id"] for one in new_devices}
    swaps |= {one["id"]: new_ids[one["name"]] for one in old_devices}
    assert len(set(swaps.values())) == len(swaps)
    assert not set(swaps) & set(swaps.values()), "an id of the other workshop is still there"
    text = _lines(ours)
    for old, new in swaps.items():
        text = text.replace(old, new)
    assert text == _lines(theirs[: len(ours)])
    remembered = archives.members(first)["intakes.jsonl"].decode()
    assert remembered.count("\n") == 1
    for old, new in swaps.items():
        remembered = remembered.replace(old, new)
    assert remembered == archives.members(second)["intakes.jsonl"].decode()
    # Shown values and clashes are the same, but for the labels of the bags.
    shown = archives.members(first)["records.jsonl"].decode()
    for old, new in swaps.items():
        shown = shown.replace(old, new)
    before = {one["id"]: one for one in map(json.loads, shown.splitlines())}
    after = {one["id"]: one for one in archives.lines(second, "records.jsonl")}
    assert before.keys() == after.keys()
    for id_, record in after.items():
        code = record["values"].get("code")
        if code is not None:
            assert codes.same_workshop(code, other)
            assert code != before[id_]["values"]["code"]
            before[id_]["values"]["code"] = code
        assert record == before[id_]
    files = {n: b for n, b in archives.members(first).items() if n.startswith("files/")}
    assert files == {n: b for n, b in archives.members(second).items() if n.startswith("files/")}
    states = _states()
    journal.rebuild()
    assert _states() == states
    # Again: it is here already.
    before_again = archives.everything(settings)
    again = archives.bring(settings, other, first)
    assert (again.added, again.made, again.photos) == (0, {}, 0)
    assert archives.everything(settings) == before_again


def _lines(changes: list[Any]) -> str:
    return "\n".join(json.dumps(change, sort_keys=True) for change in changes)


def _swaps(ours: list[Any], theirs: list[Any]) -> dict[str, str]:
    """New ids of records and clocks by their old ones, read off pairs of changes."""
    swaps: dict[str, str] = {}
    for one, two in zip(ours, theirs, strict=False):
        for old, new in ((one["record"], two["record"]), (one["id"][:16], two["id"][:16])):
            assert swaps.setdefault(old, new) == new, "one id became two"
    return swaps


def test_what_is_shown_where_two_devices_wrote_in_one_instant_stays_so(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    """The order of heads hangs on clocks alone here: those of a copy must sort as they did."""
    about = records.one(shed.workshop, "kit", shed.kit).values["about"]
    clashes = records.clashes(shed.workshop, "kit", shed.kit)
    assert [clash.field for clash in clashes] == ["about"]
    archive = shed.export("kit")
    for _ in range(3):
        archives.wipe(settings)
        other = archives.claim(settings)
        (kit,) = archives.bring(settings, other, archive).kits
        assert records.one(other, "kit", kit).values["about"] == about


def test_a_device_of_the_other_workshop_goes_on_with_the_same_records(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    """Ids that follow from others follow from the new ones: a pair is still there only once."""
    archive = shed.export()
    archives.wipe(settings)
    other = archives.claim(settings)
    brought = archives.bring(settings, other, archive)
    build, kit = brought.build, brought.kits[0]
    assert build is not None
    device = SimDevice(other)
    device.pull()
    (step,) = [one.id for one in records.page(other, "step", {"kit": kit}, None, 9)[0]]
    progress = derived_id("step_progress", build, step)
    assert device.values(progress)["state"] == "under_way"
    device.write("step_progress", progress, {"state": "done"}, NOW)
    device.push(NOW)
    found, _ = records.page(other, "step_progress", {"build": build}, None, 9)
    assert [(one.id, one.values["state"]) for one in found] == [(progress, "done")]
    (bag, _) = records.page(other, "bag", {"kit": kit}, None, 9)[0]
    barcodes, _ = records.page(other, "barcode", {"kit": kit}, None, 9)
    assert [one.id for one in barcodes] == [
        derived_id("barcode", str(one.values["bag"]), "4006381333931") for one in barcodes
    ]
    assert bag.values["number"] in ("1", "2")
    places, _ = records.page(other, "place", {"build": build}, None, 9)
    (place,) = places
    who = records.one(other, "device", place.values["device"])
    assert who.values["name"] == "Bench phone"
    assert who.values["revoked_at"] is not None


def test_a_later_archive_adds_what_is_new_to_the_copy(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    early = shed.export()
    shed.tablet.write("note", named(40), {"build": shed.build, "text": "later",
                                          "at": "2026-05-05T18:30:00.000Z"}, NOW)  # fmt: skip
    shed.tablet.write("kit", shed.kit, {"maker": "Corrie"}, NOW)
    shed.exchange()
    late = shed.export()
    archives.wipe(settings)
    other = archives.claim(settings)
    first = archives.bring(settings, other, early)
    second = archives.bring(settings, other, late)
    assert (second.kits, second.build) == (first.kits, first.build)
    assert (second.made, second.added, second.photos) == ({"note": 1}, 2, 0)
    # Labels that were given to the copy stay.
    assert archives.bring(settings, other, late).added == 0
    third = archives.export(settings, other, "build", str(first.build))
    assert [c["set"] for c in archives.lines(third, "changes.jsonl") if "code" in c["set"]][
        4:
    ] == []


def test_a_kit_that_was_deleted_here_comes_back_as_a_copy_with_its_labels(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    archive = shed.export()
    labels = _labels(shed.workshop, shed.kit)
    records.delete(shed.workshop, "kit", shed.kit, None)
    brought = archives.bring(settings, shed.workshop, archive)
    assert brought.copied
    assert brought.kits != [shed.kit]
    # The build had not been deleted, but it points at the kit that was: it comes along.
    assert brought.build != shed.build
    assert _labels(shed.workshop, brought.kits[0]) == labels
    again = archives.bring(settings, shed.workshop, archive)
    assert (again.kits, again.build, again.added) == (brought.kits, brought.build, 0)
    # Where a label of it has gone to another bag meanwhile, that bag keeps it.
    records.delete(shed.workshop, "kit", brought.kits[0], None)
    (taken, *_rest) = labels.values()
    records.create(
        shed.workshop, "bag", {"kit": named(60), "number": "9", "order": "a", "code": taken}
    )
    third = archives.bring(settings, shed.workshop, archive)
    assert third.kits not in ([shed.kit], brought.kits)
    assert set(_labels(shed.workshop, third.kits[0]).values()) & set(labels.values()) == {
        code for code in labels.values() if code != taken
    }


def _labels(workshop: str, kit: str) -> dict[str, str]:
    found, _ = records.page(workshop, "bag", {"kit": kit}, None, 9)
    return {one.values["number"]: one.values["code"] for one in found}


def test_a_build_that_was_deleted_here_comes_back_to_the_kit_that_stands(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    archive = shed.export()
    records.delete(shed.workshop, "build", shed.build, None)
    brought = archives.bring(settings, shed.workshop, archive)
    assert brought.kits == [shed.kit]
    assert brought.build not in (None, shed.build)
    assert "step" not in brought.made
    assert records.one(shed.workshop, "build", str(brought.build)).values["kit"] == shed.kit
    notes, _ = records.page(shed.workshop, "note", {"build": str(brought.build)}, None, 9)
    assert {note.values["text"] for note in notes} == {"Tight fit", "deleted and edited: keep me"}


def test_what_was_cleared_away_here_stays_away(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    archive = shed.export()
    records.delete(shed.workshop, "note", named(23), None)
    later = journal.now_ms() + 200 * 86_400_000
    assert upkeep.compact(settings, now_ms=later) >= 1
    brought = archives.bring(settings, shed.workshop, archive)
    # The note, and the one that had been deleted before.
    assert brought.cleared == 2
    assert brought.added == 0
    found, _ = records.page(shed.workshop, "note", {"build": shed.build}, None, 9)
    assert named(23) not in {one.id for one in found}


def test_a_photo_whose_bytes_come_later_is_marked_then(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    content = archives.picture(9)
    photos_here, _ = records.page(shed.workshop, "photo", {"build": shed.build}, None, 9)
    assert {one.id: bool(one.values["stored"]) for one in photos_here} == {
        named(20): True, named(21): True, named(22): False,
    }  # fmt: skip
    archive = shed.export()
    assert not [n for n in archives.members(archive) if shed.absent in n]
    archives.wipe(settings)
    archives.claim(settings, shed.workshop)
    archives.bring(settings, shed.workshop, archive)
    name = shed.keep(content)
    shed.phone = SimDevice(shed.workshop)
    shed.phone.pull()
    shed.phone.write("photo", named(22), {"blob": name}, NOW)
    shed.phone.push(NOW)
    photos.mark_stored(shed.workshop)
    assert records.one(shed.workshop, "photo", named(22)).values["stored"] is True


def test_a_clock_that_was_ahead_is_set_right_and_its_changes_are_known_again(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    ahead = archives.members(shed.export("kit"))
    changes = ahead["changes.jsonl"].decode().splitlines()
    far = f"{journal.now_ms() + 86_400_000:012x}"
    moved = [json.loads(line) for line in changes]
    for change in moved:
        if change["type"] == "part":
            change["stamp"] = far + change["stamp"][12:]
    ahead["changes.jsonl"] = "\n".join(map(json.dumps, moved)).encode() + b"\n"
    archive = archives.repacked(ahead)
    archives.wipe(settings)
    archives.claim(settings, shed.workshop)
    archives.bring(settings, shed.workshop, archive)
    again = archives.lines(
        archives.export(settings, shed.workshop, "kit", shed.kit), "changes.jsonl"
    )
    for change in again:
        if change["type"] == "part":
            assert int(change["stamp"][:12], 16) <= journal.now_ms() + 60_000
            assert change["claimed"].startswith(far)
    assert archives.bring(settings, shed.workshop, archive).added == 0


def test_numbers_of_the_servers_own_clock_cannot_be_spent_by_an_archive(
    database: str | None, shed: Shed, settings: Settings
) -> None:
    from bagtrail.domain import epochs

    own = epochs.current()
    content = archives.members(shed.export("kit"))
    change = json.loads(content["changes.jsonl"].splitlines()[0])
    forged = {**change, "id": f"{own.clock}.{own.counter + 1}", "set": {"maker": "Nobody"}}
    forged.pop("group", None)
    forged["stamp"] = change["stamp"][:16] + own.clock
    content["changes.jsonl"] += json.dumps({**forged, "record": shed.kit}).encode() + b"\n"
    shown = [json.loads(line) for line in content["records.jsonl"].splitlines()]
    state = merge.State()
    for line in content["changes.jsonl"].splitlines():
        words = json.loads(line)
        if words["record"] == shed.kit:
            merge.apply(
                state,
                journal.Change(
                    words["id"][:16], int(words["id"][17:]), words["type"], words["record"],
                    words["set"], words["stamp"], words["supersedes"],
                ),
            )  # fmt: skip
    for one in shown:
        if one["id"] == shed.kit:
            one["values"] = merge.values(state)
    content["records.jsonl"] = "\n".join(map(json.dumps, shown)).encode() + b"\n"
    about = json.loads(content["about.json"])
    about["counts"]["changes"] += 1
    content["about.json"] = json.dumps(about).encode()
    assert archives.bring(settings, shed.workshop, archives.repacked(content)).added == 1
    records.create(shed.workshop, "kit", {"name": "The server goes on"})
