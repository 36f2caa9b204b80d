"""Taking an intake into a kit, again and again, beside people who change the kit meanwhile."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask

from bagtrail.domain import journal, records
from bagtrail.domain.intake import store, taking
from bagtrail.domain.intake.findings import Ask, Found
from bagtrail.domain.intake.taking import Taken
from bagtrail.trade import codes
from bagtrail.wire.problems import ChangedElsewhere, NotFound
from tests.devices import SimDevice, new_workshop

NOW = 1_790_000_000_000


def findings() -> list[Found]:
    line = {"quantity": 4, "number": "T6-930", "name": "Ball bearing", "bag": "1", "step": "1.1"}
    return [
        Found("section", {"title": "Differentials", "mark": "1"}, row=1),
        Found("step", {"number": "1.1", "title": "Seals", "section": "Differentials"}, row=2),
        Found("bag", {"number": "1", "title": "Differentials"}, row=3),
        Found("part_line", line, row=4),
        Found("operation", {"step": "1.1", "text": "Grease the seals."}, row=5),
        Found("operation", {"step": "1.1", "text": "Press them in."}, row=6),
        Found("step", {"number": "1.2", "bags": ["1", "2"]}, row=7),
        Found("part", {"designation": "M3x12 button head screw, ISO 7380-1"}, row=8),
    ]


def take(
    workshop: str, found: list[Found], kit: str | None = None, name: str = "Tarn 6.csv"
) -> Taken:
    id_ = store.make(workshop, "table", name, kit)
    assert store.claim_next(workshop, "me") == id_
    store.finish(id_, "me", "ready", found, [])
    return taking.take(workshop, id_, kit, None, pages=True)


def all_of(workshop: str, type_: str) -> list[dict[str, Any]]:
    items, following = records.page(workshop, type_, {}, None, 1000)
    assert following is None
    return sorted(
        ({"id": one.id, "asks": one.asks, **one.values} for one in items),
        key=lambda one: one.get("order") or "",
    )


@pytest.fixture
def workshop(app_context: Flask) -> str:
    return new_workshop()


def test_a_new_kit_with_a_build_comes_from_what_was_found(
    database: str | None, app_context: Flask
) -> None:
    workshop = new_workshop()
    taken = take(workshop, findings())
    (kit,) = all_of(workshop, "kit")
    assert (kit["id"], kit["name"], kit["source"]) == (taken.kit, "Tarn 6", "table")
    assert [one["id"] for one in all_of(workshop, "build")] == [taken.build]
    (section,) = all_of(workshop, "section")
    bags = all_of(workshop, "bag")
    assert [(one["number"], one["title"]) for one in bags] == [("1", "Differentials"), ("2", None)]
    assert all(codes.same_workshop(one["code"], workshop) for one in bags)
    first, second = all_of(workshop, "step")
    assert (first["number"], first["title"], first["section"]) == ("1.1", "Seals", section["id"])
    assert second["bags"] == [one["id"] for one in bags]
    texts = [one["text"] for one in all_of(workshop, "operation")]
    assert texts == ["Grease the seals.", "Press them in."]
    parts = {one["number"]: one for one in all_of(workshop, "part")}
    assert parts[None]["name"] == parts[None]["designation"]
    (line,) = all_of(workshop, "part_line")
    assert (line["part"], line["quantity"]) == (parts["T6-930"]["id"], 4)
    assert (line["bag"], line["step"]) == (bags[0]["id"], first["id"])
    assert taken.made == {
        "section": 1, "bag": 2, "step": 2, "operation": 2, "part": 2, "part_line": 1
    }  # fmt: skip


def test_it_is_one_group_that_devices_pull_as_a_whole(workshop: str) -> None:
    take(workshop, findings())
    device = SimDevice(workshop)
    # The workshop and its device come first; the third record is the group's first.
    _, more, changes = journal.pull(workshop, None, 3)
    kits = {change.type for change in changes}
    assert {"kit", "part_line", "build"} <= kits
    assert not more
    device.pull()
    assert len(device.mirror) == len({change.record for change in changes})


def test_what_still_asks_is_left_and_counted(workshop: str) -> None:
    asking = Found("part_line", {"number": "T6-1"}, asks=[Ask("quantity", "How many?", [1, 2])])
    out = Found("bag", {"number": "9"}, left_out=True)
    taken = take(workshop, [asking, out, Found("bag", {"number": "1"})])
    assert (taken.left, taken.made) == (1, {"bag": 1})
    assert all_of(workshop, "part") == []


def test_taking_the_same_again_writes_nothing(workshop: str) -> None:
    kit = take(workshop, findings()).kit
    before = records.newest(workshop)
    again = take(workshop, findings(), kit)
    assert (again.made, again.changed, again.clashes, again.left) == ({}, {}, 0, 0)
    assert (again.build, records.newest(workshop)) == (None, before)


def test_a_newer_file_updates_what_the_last_one_wrote(workshop: str) -> None:
    kit = take(workshop, findings()).kit
    newer = findings()
    newer[1].values["title"] = "Seals and bearings"
    newer[3].values["quantity"] = 6
    newer.append(Found("step", {"number": "1.3"}, row=9))
    taken = take(workshop, newer, kit)
    assert (taken.made, taken.changed, taken.clashes) == (
        {"step": 1}, {"step": 1, "part_line": 1}, 0
    )  # fmt: skip
    steps = all_of(workshop, "step")
    assert [one["number"] for one in steps] == ["1.1", "1.2", "1.3"]
    assert steps[0]["title"] == "Seals and bearings"
    assert all_of(workshop, "part_line")[0]["quantity"] == 6
    assert not any(one["asks"] for one in steps)


def edited(workshop: str, number: str, **fields: Any) -> SimDevice:
    """A person who changes a step on a device."""
    device = SimDevice(workshop)
    device.pull()
    step = next(one for one in all_of(workshop, "step") if one["number"] == number)
    device.types[step["id"]] = "step"
    device.write("step", step["id"], fields, store.now_ms())
    device.exchange(store.now_ms())
    assert not device.parked
    return device


def test_what_a_person_changed_stays_while_the_file_says_nothing_new(workshop: str) -> None:
    kit = take(workshop, findings()).kit
    edited(workshop, "1.1", title="Mind the seals")
    taken = take(workshop, findings(), kit)
    step = all_of(workshop, "step")[0]
    assert (step["title"], step["asks"], taken.clashes) == ("Mind the seals", False, 0)


def test_where_both_said_something_new_the_persons_word_is_shown_and_a_clash_asks(
    database: str | None, app_context: Flask
) -> None:
    """Failure list of sync, protocol advice 8: it supersedes what the last import wrote only."""
    workshop = new_workshop()
    kit = take(workshop, findings()).kit
    device = edited(workshop, "1.1", title="Mind the seals")
    newer = findings()
    newer[1].values["title"] = "Seals and bearings"
    taken = take(workshop, newer, kit)
    step = all_of(workshop, "step")[0]
    assert (step["title"], step["asks"], taken.clashes) == ("Mind the seals", True, 1)
    (clash,) = records.clashes(workshop, "step", step["id"])
    assert [value for value, _, _ in clash.others] == ["Seals and bearings"]
    # The device sees it alike, and settles it; a third taking asks nothing again.
    device.pull()
    assert device.values(step["id"])["title"] == "Mind the seals"
    device.write("step", step["id"], {"title": "Mind the seals"}, store.now_ms())
    device.exchange(store.now_ms())
    assert take(workshop, newer, kit).clashes == 0
    assert not all_of(workshop, "step")[0]["asks"]


def test_a_kit_typed_by_hand_is_filled_and_what_differs_asks(workshop: str) -> None:
    kit = records.create(workshop, "kit", {"name": "By hand"}).id
    hand = {"kit": kit, "number": "1.1", "order": "V"}
    mine = records.create(workshop, "step", hand).id
    titled = {"kit": kit, "number": "1.2", "order": "W", "title": "Typed"}
    records.create(workshop, "step", titled)
    found = findings()
    found[6].values["title"] = "From the file"
    taken = take(workshop, found, kit)
    first, second = all_of(workshop, "step")
    assert (first["id"], first["title"], first["asks"]) == (mine, "Seals", False)
    assert (second["title"], second["asks"], taken.clashes) == ("Typed", True, 1)


def test_what_a_person_deleted_stays_deleted(workshop: str) -> None:
    kit = take(workshop, findings()).kit
    (line,) = all_of(workshop, "part_line")
    records.delete(workshop, "part_line", line["id"], None)
    newer = findings()
    newer[3].values["quantity"] = 6
    assert take(workshop, newer, kit).left == 1
    assert all_of(workshop, "part_line") == []


def test_new_steps_stand_between_those_that_were_there(workshop: str) -> None:
    numbers = ["1.1", "1.2", "1.4"]
    kit = take(workshop, [Found("step", {"number": one}) for one in numbers]).kit
    take(workshop, [Found("step", {"number": one}) for one in ["1.2", "1.3", "1.4", "1.5"]], kit)
    steps = [one["number"] for one in all_of(workshop, "step")]
    assert steps == ["1.1", "1.2", "1.3", "1.4", "1.5"]


def test_one_cannot_be_taken_twice_nor_while_it_is_read_nor_into_a_kit_that_is_gone(
    workshop: str,
) -> None:
    id_ = store.make(workshop, "text", "list", None)
    with pytest.raises(ChangedElsewhere, match="still being read"):
        taking.take(workshop, id_, None, None, pages=True)
    assert store.claim_next(workshop, "me") == id_
    store.finish(id_, "me", "ready", findings(), [])
    gone = "00000000-0000-4000-8000-0000000000ff"
    with pytest.raises(NotFound, match="no such kit"):
        taking.take(workshop, id_, gone, None, pages=True)
    taking.take(workshop, id_, None, "Red one", pages=True)
    assert [one["name"] for one in all_of(workshop, "kit")] == ["Red one"]
    with pytest.raises(ChangedElsewhere, match="taken in already"):
        taking.take(workshop, id_, None, None, pages=True)
    assert store.listing(workshop) == []
    with pytest.raises(NotFound):
        store.one("00000000-0000-4000-8000-0000000000fe", id_)


def test_the_pages_of_a_manual_come_with_frames_of_their_steps(workshop: str) -> None:
    id_ = store.make(workshop, "manual", "manual.pdf", None)
    assert store.claim_next(workshop, "me") == id_
    for number in (1, 2):
        store.keep_page(id_, "me", number, blob=f"{number}" * 64, width_px=1400, height_px=2000)
    store.keep_page(id_, "me", 3, problem={"title": "no"})
    frame = [0.1, 0.2, 0.5, 0.4]
    store.finish(id_, "me", "ready", [Found("step", {"number": "7"}, page=2, frame=frame)], [])
    taken = taking.take(workshop, id_, None, None, pages=True)
    first, second = all_of(workshop, "page")
    assert [first["number"], second["number"]] == ["1", "2"]
    (step,) = all_of(workshop, "step")
    assert (step["page"], step["frame"]) == (second["id"], frame)
    assert taken.made == {"page": 2, "step": 1}


def test_corrections_of_a_person_outlast_another_reading(workshop: str) -> None:
    id_ = store.make(workshop, "table", "a.csv", None)
    assert store.claim_next(workshop, "me") == id_
    store.finish(id_, "me", "ready", findings(), [])
    (number,) = [number for number, one in store.findings(id_) if one.row == 4]
    line = {"quantity": 5, "number": "T6-930"}
    store.correct(workshop, id_, [{"id": number, "values": line}], [
        {"what": "bag", "values": {"number": "12"}}
    ])  # fmt: skip
    store.set_state(workshop, id_, "reading", of=["ready"])
    assert store.claim_next(workshop, "again") == id_
    store.finish(id_, "again", "ready", findings(), [])
    found = [one for _, one in store.findings(id_)]
    assert len(found) == len(findings()) + 1
    lines = [one.values["quantity"] for one in found if one.what == "part_line"]
    assert lines == [5]
    assert {"number": "12"} in [one.values for one in found]


def test_ten_thousand_lines_go_in_at_once(workshop: str) -> None:
    lines = [
        Found("part_line", {"quantity": 1, "number": f"T6-{at}", "bag": str(at % 40)}, row=at)
        for at in range(1, 10_001)
    ]
    kit = take(workshop, lines).kit
    items, _ = records.page(workshop, "part_line", {"kit": kit}, None, 20_000)
    assert len(items) == 10_000
