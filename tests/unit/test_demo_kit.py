"""The demo kit is whole, in order, and true to the trade.

Sources are named beside each check.  Lists of preferred lengths are from memory of the standards
named; the rule for thread-locking liquid is common practice.
"""

from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from typing import Any

import networkx
import pytest

from bagtrail.wire.fields import Ref, Several
from bagtrail.wire.records import RECORDS, field_kinds
from demo.model import step
from demo.records import make_records, order_key
from demo.tarn6.catalogue import hardware
from demo.tarn6.kit import tarn_6

Fields = dict[str, Any]


@pytest.fixture(scope="module")
def kit() -> dict[str, Any]:
    """The kit's records without pages, through JSON as they are handed on."""
    made: dict[str, Any] = json.loads(json.dumps(make_records(tarn_6())))
    return made


@pytest.fixture(scope="module")
def by_type(kit: dict[str, Any]) -> dict[str, dict[str, Fields]]:
    """Fields of each record, by type and id."""
    out: dict[str, dict[str, Fields]] = defaultdict(dict)
    for record in kit["records"]:
        out[record["type"]][record["id"]] = record["set"]
    return out


def test_every_field_is_one_of_the_wire_and_well_formed(kit: dict[str, Any]) -> None:
    for record in [kit["kit"], *kit["records"]]:
        kinds = field_kinds(record["type"])
        for name, value in record["set"].items():
            assert kinds[name].deserialize(value) == value, (record["type"], name)
        needed = {name for name, kind in kinds.items() if kind.required}
        assert needed <= record["set"].keys(), record


def test_ids_are_unique_and_everything_belongs_to_the_kit(kit: dict[str, Any]) -> None:
    ids = [record["id"] for record in [kit["kit"], *kit["records"]]]
    assert len(ids) == len(set(ids))
    assert all(record["set"]["kit"] == kit["kit"]["id"] for record in kit["records"])
    assert {record["type"] for record in kit["records"]} == {
        name for name, schema in RECORDS.items() if schema.scope == "kit"
    } - {"page"}


def test_references_name_records_of_the_right_type(
    kit: dict[str, Any], by_type: dict[str, dict[str, Fields]]
) -> None:
    for record in kit["records"]:
        for name, kind in field_kinds(record["type"]).items():
            inner = kind.inner if isinstance(kind, Several) else kind
            if name not in record["set"] or not isinstance(inner, Ref) or name == "kit":
                continue
            value = record["set"][name]
            wanted = inner.kind if record["type"] != "comes_before" else record["set"]["kind"]
            for one in value if isinstance(value, list) else [value]:
                assert one in by_type[wanted], (record, name)


def test_the_kit_is_as_large_as_a_real_one(by_type: dict[str, dict[str, Fields]]) -> None:
    assert 11 <= len(by_type["bag"]) <= 13
    assert 44 <= len(by_type["step"]) <= 46
    assert 240 <= len(by_type["part_line"]) <= 260
    assert len(by_type["choice"]) >= 3
    assert len(by_type["dimension"]) >= 8
    assert len(by_type["comes_before"]) >= 20
    operations = Counter(fields["step"] for fields in by_type["operation"].values())
    assert set(operations) == set(by_type["step"])
    assert all(3 <= count <= 7 for count in operations.values())


def test_order_keys_sort_as_the_manual_runs(by_type: dict[str, dict[str, Fields]]) -> None:
    steps = sorted(by_type["step"].values(), key=lambda fields: fields["order"])
    numbers = [fields["number"] for fields in steps]
    assert numbers == [step.number for _, step in tarn_6().steps()]
    keys = [order_key(place) for place in range(3842 - 62)]
    assert keys == sorted(keys)
    assert len(set(keys)) == len(keys)
    assert not any(key.endswith("0") for key in keys)


def test_order_has_no_circle_and_the_manual_itself_keeps_it(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    """networkx is the independent judge: all of a step's operations follow those of an earlier."""
    operations: dict[str, list[str]] = defaultdict(list)
    place: dict[str, tuple[str, str]] = {}
    for name, fields in by_type["operation"].items():
        operations[fields["step"]].append(name)
        place[name] = (by_type["step"][fields["step"]]["order"], fields["order"])
    graph = networkx.DiGraph()
    graph.add_nodes_from(place)
    for fields in by_type["comes_before"].values():
        assert fields["reason"]
        if fields["kind"] == "operation":
            graph.add_edge(fields["first"], fields["then"])
        else:
            for first in operations[fields["first"]]:
                graph.add_edges_from((first, then) for then in operations[fields["then"]])
    assert networkx.is_directed_acyclic_graph(graph)
    assert all(place[first] < place[then] for first, then in graph.edges)


def test_steps_take_their_parts_from_their_own_bags(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    """What the steps take and the spares left over are together what the bags hold."""
    taken: dict[str, set[str]] = defaultdict(set)
    totals: Counter[tuple[str, str]] = Counter()
    spent: Counter[tuple[str, str]] = Counter()
    for fields in by_type["part_line"].values():
        assert fields["quantity"] > 0
        totals[fields["bag"], fields["part"]] += fields["quantity"]
        if "step" in fields:
            taken[fields["step"]].add(fields["bag"])
            spent[fields["bag"], fields["part"]] += fields["quantity"]
    for name, fields in by_type["step"].items():
        assert taken[name] == set(fields["bags"]), fields["number"]
        assert len(fields["bags"]) == len(set(fields["bags"]))
        assert fields["minutes"] > 0
    assert {bag for bag, _ in totals} == set(by_type["bag"])
    spares = totals - spent
    assert 1 <= len(spares) <= 6
    # The only parts that no step uses would be parts that a builder looks for in vain.
    assert {part for _, part in spent} == set(by_type["part"])


def test_joints_never_use_more_fasteners_than_the_step_has(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    at_step: Counter[tuple[str, str]] = Counter()
    for fields in by_type["part_line"].values():
        if "step" in fields:
            at_step[fields["step"], fields["part"]] += fields["quantity"]
    used: Counter[tuple[str, str]] = Counter()
    for fields in by_type["joint"].values():
        used[fields["step"], fields["part"]] += fields["count"]
        assert by_type["operation"][fields["operation"]]["step"] == fields["step"]
    assert not used - at_step


def test_thread_locking_liquid_only_goes_between_metals(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    """Common practice: metal into metal; never plastic, rubber or a lock nut; rubber only snug."""
    words = Counter(fields["thread_lock"] for fields in by_type["joint"].values())
    assert words["use"] >= 10
    assert words["never"] >= 10
    for fields in by_type["joint"].values():
        ends = {fields["through"], fields["into"]}
        if fields["thread_lock"] == "use":
            assert ends == {"metal"}, fields
        if ends & {"plastic", "rubber", "lock_nut"}:
            assert fields["thread_lock"] == "never", fields
        assert fields.get("snug", False) == ("rubber" in ends), fields
        if fields["into"] == "plastic":
            assert "torque_nm" not in fields, "no torque figure is known for plastic"


def test_cautions_that_hurt_leave_the_last_word_to_label_or_rules(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    chemicals = re.compile(r"thread-locking liquid:|instant glue|lithium|fuel burns", re.IGNORECASE)
    cautions = [fields for fields in by_type["caution"].values() if fields["kind"] == "hurts"]
    told = [fields["text"] for fields in cautions if chemicals.search(fields["text"])]
    assert len(told) >= 4
    assert all(re.search("label|local rules", text) for text in told)
    assert any("local rules" in fields["text"] for fields in cautions)


#: Preferred lengths in mm: ISO 4762, ISO 7380-1, ISO 10642, ISO 4029 (common part of their lists).
LENGTHS = {
    "ISO 4762": {3: (5, 6, 8, 10, 12, 16, 20, 25, 30), 4: (6, 8, 10, 12, 16, 20, 25, 30, 35, 40),
                 5: (8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50)},
    "ISO 7380-1": {3: (6, 8, 10, 12), 4: (8, 10, 12, 16), 5: (10, 12, 16, 20, 25, 30)},
    "ISO 10642": {3: (8, 10, 12, 16, 20, 25, 30), 4: (8, 10, 12, 16, 20, 25, 30, 35, 40),
                  5: (8, 10, 12, 16, 20, 25, 30, 35, 40)},
    "ISO 4029": {3: (3, 4, 5, 6, 8, 10, 12, 16), 4: (4, 5, 6, 8, 10, 12, 16, 20),
                 5: (5, 6, 8, 10, 12, 16, 20, 25)},
    "ISO 8734": {2.5: (6, 8, 10, 12, 14, 16, 18, 20, 24), 3: (8, 10, 12, 14, 16, 18, 20, 24, 28),
                 4: (10, 12, 14, 16, 18, 20, 24, 28, 30)},
}  # fmt: skip
#: Boundary dimensions, bore x outside x width: ISO 15.
BEARINGS = {"MR105": "5x10x4", "688": "8x16x5", "6001": "12x28x8", "61802": "15x24x5"}


def test_designations_are_of_standard_sizes(by_type: dict[str, dict[str, Fields]]) -> None:
    said = [f["designation"] for f in by_type["part"].values() if "designation" in f]
    assert len(said) >= 20
    for text in said:
        if found := re.match(r"M?([\d.]+)x(\d+) .*(ISO [\d-]+)$", text):
            size, length, standard = found.groups()
            assert int(length) in LENGTHS[standard][float(size)], text
        elif found := re.match(r"(\w+)-2RS ball bearing ([\dx]+), ISO 15$", text):
            assert BEARINGS[found[1]] == found[2]
        else:
            # ISO 7040 has M3, M4, M5; DIN 6799 has 4 and 5 for shafts around those diameters.
            assert text in {"M3 lock nut, ISO 7040", "M4 lock nut, ISO 7040",
                            "5 retaining washer, DIN 6799"}  # fmt: skip


def test_unknown_hardware_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="wing3x8 is no kind of hardware"):
        hardware("wing3x8", "T6-999")


def test_dimensions_of_links_fit_their_rods(by_type: dict[str, dict[str, Fields]]) -> None:
    """A link is longer than its rod, and by no more than two ball ends: own geometry of the kit."""
    links = [f for f in by_type["dimension"].values() if re.search(r"link|rod$", f["name"])]
    assert len(links) == 4
    for fields in links:
        rods = [
            int(found[1])
            for line in by_type["part_line"].values()
            if line.get("step") == fields["step"]
            and (found := re.search(r" M\dx(\d+)$", by_type["part"][line["part"]]["name"]))
            and "designation" not in by_type["part"][line["part"]]
        ]
        assert len(rods) == 1, fields
        assert rods[0] + 15 < fields["target"] < rods[0] + 40, fields


def test_texts_are_short_sentences_of_their_own(by_type: dict[str, dict[str, Fields]]) -> None:
    texts = [fields["text"] for fields in by_type["operation"].values()]
    assert all(text.endswith(".") and text[0].isupper() for text in texts)
    assert max(map(len, texts)) <= 140
    assert not any("  " in text or "\n" in text or "\\" in text for text in texts)


def test_alternatives_belong_to_a_choice_of_the_same_step(
    by_type: dict[str, dict[str, Fields]],
) -> None:
    per_choice = Counter(fields["choice"] for fields in by_type["alternative"].values())
    assert set(per_choice) == set(by_type["choice"])
    assert all(count >= 2 for count in per_choice.values())
    picked = [f for f in by_type["part_line"].values() if "alternative" in f]
    assert len(picked) >= 5
    for fields in picked:
        choice = by_type["alternative"][fields["alternative"]]["choice"]
        assert by_type["choice"][choice]["step"] == fields["step"]


def test_a_line_that_cannot_be_read_is_named() -> None:
    with pytest.raises(ValueError, match="Cannot read the line 'two T101'"):
        step("9.9", "x", bags="1", minutes=1, parts="two T101", operations="Do.", figure="")


def test_a_reference_to_an_operation_that_is_not_there_is_refused() -> None:
    note = tarn_6()
    broken = type(note)(**{**vars(note), "order": (("1.1#9", "1.2#1", "no such operation"),)})
    with pytest.raises(ValueError, match=r"there is no 1\.1#9"):
        make_records(broken)
