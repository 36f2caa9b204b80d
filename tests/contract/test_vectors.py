"""The server's side of the shared vectors; the client's runs them in client/test/core.*.test.ts."""

import json
import random
from pathlib import Path
from typing import Any

import pytest

from bagtrail.domain import merge
from bagtrail.trade import order, stamps
from bagtrail.wire import packing
from bagtrail.wire.changes import Change
from bagtrail.wire.problems import Invalid
from bagtrail.wire.records import DERIVED_NAMESPACE, derived_id

HERE = Path(__file__).parent


def vectors(name: str) -> dict[str, Any]:
    return json.loads((HERE / f"{name}.json").read_text("utf-8"))


MERGE, PACKING, STAMPS, IDS, ORDER = map(vectors, ("merge", "packing", "stamps", "ids", "order"))


def why(case: dict[str, Any]) -> str:
    return case["why"]


def a_change(one: dict[str, Any]) -> Change:
    clock, counter = one["id"].split(".")
    group = (one["group"]["first"], one["group"]["size"]) if "group" in one else None
    type_, record = one.get("type", "step"), one.get("record", "")
    return Change(
        clock, int(counter), type_, record, one["set"], one["stamp"], one["supersedes"], group
    )


def text(value: Any) -> str:
    """JSON text: unlike ==, it tells true from 1."""
    return json.dumps(value, sort_keys=True)


@pytest.mark.parametrize("case", MERGE["cases"], ids=why)
def test_merge_comes_to_the_same_in_every_order(case):
    changes = [a_change(one) for one in case["changes"]]
    orders = [changes, changes[::-1]]
    for seed in range(5):
        orders.append(random.Random(seed).sample(changes, len(changes)))
    for arrival in orders:
        state = merge.fold(arrival)
        heads = [{"id": h.id, "stamp": h.stamp, "set": h.set} for h in state.heads]
        assert text(heads) == text(case["heads"])
        shown = merge.shown(state, case["quiet"])
        expected = case["shown"]
        assert text(shown.values) == text(expected["values"])
        assert text(merge.values(state)) == text(expected["values"])
        assert [
            {
                "field": clash.field,
                "others": [
                    {"value": value, "change": change, "stamp": stamp}
                    for value, change, stamp in clash.others
                ],
            }
            for clash in shown.clashes
        ] == [{k: clash[k] for k in ("field", "others")} for clash in expected["clashes"]]
        assert (shown.gone, shown.delete_asked) == (expected["gone"], expected["deleteAsked"])
        assert merge.load(*merge.dump(state)) == state


@pytest.mark.parametrize("case", MERGE["cases"], ids=why)
def test_merge_takes_a_change_that_is_still_head_again_without_effect(case):
    state = merge.fold(a_change(one) for one in case["changes"])
    before = merge.dump(state)
    for one in case["changes"]:
        if any(head.id == one["id"] for head in state.heads):
            merge.apply(state, a_change(one))
    assert merge.dump(state) == before


@pytest.mark.parametrize("case", PACKING["good"], ids=why)
def test_packing_spells_changes_as_agreed_and_gives_them_back(case):
    changes = [a_change(one) for one in case["changes"]]
    assert packing.pack(changes) == case["packed"]
    assert packing.unpack(case["packed"]) == changes
    pull = packing.pack(changes, push=False)
    assert "supersedes" not in pull
    assert "group" not in pull
    bare = [change._replace(supersedes=[], group=None) for change in changes]
    assert packing.unpack(pull, push=False) == bare


@pytest.mark.parametrize("case", PACKING["bad"], ids=why)
def test_packing_refuses_what_is_not_as_agreed(case):
    try:
        changes = packing.unpack(case["packed"])
    except Invalid:
        return
    assert any(isinstance(change, Invalid) for change in changes)


@pytest.mark.parametrize("case", STAMPS["parts"], ids=lambda case: case["stamp"])
def test_stamp_holds_its_parts(case):
    assert stamps.make(case["ms"], case["tick"], case["clock"]) == case["stamp"]
    assert stamps.parts(case["stamp"]) == (case["ms"], case["tick"], case["clock"])


def test_stamps_sort_as_text():
    shuffled = random.Random(1).sample(STAMPS["sorted"], len(STAMPS["sorted"]))
    assert sorted(shuffled) == STAMPS["sorted"]


@pytest.mark.parametrize("case", STAMPS["tick"], ids=why)
def test_stamp_stands_above_the_last_and_above_what_it_supersedes(case):
    state = case["state"]
    clock = state["clock"]
    last = stamps.make(state["ms"], state["tick"], clock)
    floor = max([last, *case["floor"]], key=lambda stamp: stamps.parts(stamp)[:2])
    wall = max(0, case["now"] + state["offsetMs"])
    # A wall time within the floor's millisecond does not start that millisecond's ticks anew.
    assert stamps.above(floor, wall, 0, clock) == case["stamp"]


def test_derived_ids_have_one_namespace():
    assert str(DERIVED_NAMESPACE) == IDS["namespace"]


@pytest.mark.parametrize("case", IDS["derived"], ids=lambda case: case["id"])
def test_derived_id(case):
    assert derived_id(case["type"], *case["parts"]) == case["id"]


@pytest.mark.parametrize("case", ORDER["between"], ids=lambda case: case["key"])
def test_order_key_between(case):
    assert order.between(case["a"], case["b"]) == case["key"]


@pytest.mark.parametrize("case", ORDER["refused"], ids=lambda case: f"{case['a']}-{case['b']}")
def test_order_key_for_which_there_is_no_room(case):
    with pytest.raises(ValueError, match=r"room|order key"):
        order.between(case["a"], case["b"])


@pytest.mark.parametrize("case", ORDER["spread"], ids=lambda case: str(case["n"]))
def test_order_keys_spread(case):
    assert order.spread(case["n"]) == case["keys"]


def test_generated_vectors_are_those_of_the_script():
    import importlib.util

    spec = importlib.util.spec_from_file_location("make_vectors", HERE / "make_vectors.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert script.everything() == {
        "merge": MERGE, "packing": PACKING, "stamps": STAMPS, "ids": IDS, "order": ORDER,
    }  # fmt: skip
