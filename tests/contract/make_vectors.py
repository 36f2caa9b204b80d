"""Writes the generated part of merge.json, packing.json, stamps.json, ids.json and order.json.

    python tests/contract/make_vectors.py

Expected values do not come from the code under test: heads are found by their definition over the
whole set of changes (server/PROTOCOL.md, "Words"), stamps by arithmetic on 64-bit numbers, ids by
Python's own uuid module.  Cases written by hand stand in this file, each with why it is there.
``packing`` and ``order`` say how one form is spelled: their hand-written cases are the reference,
and the generated ones hold the two implementations to each other.  ``test_vectors.py`` and the
client's ``core.*.test.ts`` run them all.
"""

from __future__ import annotations

import json
import random
import uuid
from pathlib import Path
from typing import Any

from bagtrail.trade import order
from bagtrail.wire import packing
from bagtrail.wire.changes import Change
from bagtrail.wire.records import DERIVED_NAMESPACE

HERE = Path(__file__).parent
A, B, C = "aaaaaaaaaaaaaaaa", "bbbbbbbbbbbbbbbb", "cccccccccccccccc"
SEED = 20260504


def stamp(ms: int, clock: str, tick: int = 0) -> str:
    return f"{ms:012x}{tick:04x}{clock}"


def change(
    clock: str, counter: int, ms: int, set_: dict[str, Any], supersedes: tuple[str, ...] = ()
) -> dict[str, Any]:
    return {
        "id": f"{clock}.{counter}",
        "stamp": stamp(ms, clock),
        "set": set_,
        "supersedes": list(supersedes),
    }


# --- merge ------------------------------------------------------------------------------------


def heads_by_definition(changes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A change is head of a field if no other change that sets the field names it."""
    heads = []
    for one in changes:
        kept = {
            field: value
            for field, value in one["set"].items()
            if not any(
                one["id"] in other["supersedes"] and field in other["set"]
                for other in changes
                if other is not one
            )
        }
        if kept:
            heads.append({"id": one["id"], "stamp": one["stamp"], "set": kept})
    return sorted(heads, key=lambda head: (head["stamp"], head["id"]))


def shown_by_definition(heads: list[dict[str, Any]], quiet: list[str]) -> dict[str, Any]:
    """Values, clashes and deletion, straight from the words of the protocol."""
    values: dict[str, Any] = {}
    clashes = []
    for field in sorted({field for head in heads for field in head["set"]}):
        own = [head for head in heads if field in head["set"]]
        top = own[-1]
        values[field] = top["set"][field]
        others = [
            {"value": head["set"][field], "change": head["id"], "stamp": head["stamp"]}
            for head in own[:-1]
            if not same(head["set"][field], values[field])
        ]
        if others and field not in quiet and field != "deleted":
            shown = {"value": values[field], "change": top["id"], "stamp": top["stamp"]}
            clashes.append({"field": field, "shown": shown, "others": others})
    said = [head["set"]["deleted"] for head in heads if "deleted" in head["set"]]
    lists = [value for value in said if isinstance(value, list)]
    covered = {one for value in lists for one in value}
    standing = {head["id"] for head in heads if set(head["set"]) - {"deleted", *quiet}}
    gone = bool(lists) and len(lists) == len(said) and standing <= covered
    return {
        "values": values,
        "clashes": clashes,
        "gone": gone,
        "deleteAsked": bool(lists) and not gone,
    }


def same(a: Any, b: Any) -> bool:
    """Equal as JSON: true is not 1, 1.0 is 1, key order is nothing."""
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(same(a[key], b[key]) for key in a)
    return bool(a == b)


def merge_case(why: str, changes: list[dict[str, Any]], quiet: tuple[str, ...] = ()) -> Any:
    heads = heads_by_definition(changes)
    return {
        "why": why,
        "changes": changes,
        "quiet": list(quiet),
        "heads": heads,
        "shown": shown_by_definition(heads, list(quiet)),
    }


def merge_by_hand() -> list[Any]:
    a1 = change(A, 1, 100, {"title": "Axle", "text": "Grease"})
    return [
        merge_case("nothing written", []),
        merge_case("one change", [a1]),
        merge_case(
            "a later change that saw the first replaces it, field by field",
            [a1, change(B, 1, 200, {"title": "Front axle"}, (f"{A}.1",))],
        ),
        merge_case(
            "failure 11: two devices write different fields; both stand",
            [
                a1,
                change(B, 1, 200, {"title": "Front axle"}, (f"{A}.1",)),
                change(C, 1, 150, {"text": "Oil"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "two devices write one field unseen: the later stamp shows, the other is a clash",
            [
                a1,
                change(B, 1, 200, {"title": "Front axle"}, (f"{A}.1",)),
                change(C, 1, 150, {"title": "Steered axle"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "the same value twice is no clash",
            [change(A, 1, 100, {"done": True}), change(B, 1, 90, {"done": True})],
        ),
        merge_case(
            "a clash on a quiet field is kept as heads and asked of nobody",
            [change(A, 1, 100, {"at": "x"}), change(B, 1, 90, {"at": "y"})],
            ("at",),
        ),
        merge_case(
            "one phone writes twice offline, another device once: a base stamp would say either "
            "{a2,b1} or {b1}, by order of arrival; what it supersedes says the same always",
            [
                change(A, 1, 100, {"title": "one"}),
                change(A, 2, 101, {"title": "two"}, (f"{A}.1",)),
                change(B, 1, 99, {"title": "three"}),
            ],
        ),
        merge_case(
            "a person settles a clash: all heads superseded",
            [
                change(A, 1, 100, {"title": "one"}),
                change(B, 1, 99, {"title": "two"}),
                change(C, 1, 300, {"title": "two"}, (f"{A}.1", f"{B}.1")),
            ],
        ),
        merge_case(
            "two persons settle it differently: a clash again, seen by both",
            [
                change(A, 1, 100, {"title": "one"}),
                change(B, 1, 99, {"title": "two"}),
                change(A, 2, 300, {"title": "one"}, (f"{A}.1", f"{B}.1")),
                change(B, 2, 299, {"title": "two"}, (f"{A}.1", f"{B}.1")),
            ],
        ),
        merge_case(
            "superseding with a lower stamp still supersedes: stamps only choose between heads",
            [
                change(A, 1, 500, {"title": "clock ahead"}),
                change(B, 1, 100, {"title": "after"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "superseded on one field only: still head of the other",
            [a1, change(B, 1, 50, {"title": "B"}, (f"{A}.1",))],
        ),
        merge_case(
            "naming a change on a field that it does not set does nothing to it",
            [change(A, 1, 100, {"text": "x"}), change(B, 1, 200, {"title": "y"}, (f"{A}.1",))],
        ),
        merge_case(
            "superseding by two changes, one of which comes back late",
            [
                change(A, 1, 100, {"title": "one", "text": "t"}),
                change(B, 1, 200, {"title": "two"}, (f"{A}.1",)),
                change(C, 1, 150, {"text": "u"}, (f"{A}.1",)),
                change(C, 2, 160, {"title": "three"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "a change that names itself is taken as if it did not",
            [change(A, 1, 100, {"title": "one"}, (f"{A}.1",))],
        ),
        merge_case(
            "a change that names one id twice, and one that never arrives",
            [
                change(A, 1, 100, {"title": "one"}),
                change(B, 1, 200, {"title": "two"}, (f"{A}.1", f"{A}.1", f"{C}.77")),
            ],
        ),
        merge_case(
            "equal stamps (a copied device): order by id as text, so .10 stands before .9",
            [change(A, 9, 100, {"title": "nine"}), change(A, 10, 100, {"title": "ten"})],
        ),
        merge_case(
            "values are compared as JSON: key order is nothing, 1.0 is 1",
            [
                change(A, 1, 100, {"x": {"a": 1, "b": [1, 2]}, "n": 1.0}),
                change(B, 1, 90, {"x": {"b": [1, 2], "a": 1}, "n": 1}),
            ],
        ),
        merge_case(
            "true is not 1, null is not false, '1' is not 1, order of a list counts",
            [
                change(A, 1, 100, {"p": True, "q": None, "r": "1", "s": [1, 2]}),
                change(B, 1, 90, {"p": 1, "q": False, "r": 1, "s": [2, 1]}),
            ],
        ),
        merge_case(
            "unknown fields with awkward names are fields like any other",
            [
                change(A, 1, 100, {"__proto__": "a", "constructor": "b", "hasOwnProperty": "c"}),
                change(B, 1, 90, {"__proto__": "d", "toString": "e"}),
            ],
        ),
        merge_case(
            "deleted by one who had seen everything: gone",
            [a1, change(B, 1, 200, {"deleted": [f"{A}.1"]})],
        ),
        merge_case(
            "failure 10: edited beside the delete: kept, and asked",
            [
                a1,
                change(B, 1, 200, {"deleted": [f"{A}.1"]}),
                change(C, 1, 150, {"text": "Oil"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "failure 10: edited later than the delete, not knowing of it: kept, and asked",
            [
                a1,
                change(B, 1, 200, {"deleted": [f"{A}.1"]}),
                change(C, 1, 900, {"text": "Oil"}, (f"{A}.1",)),
            ],
        ),
        merge_case(
            "a quiet field written beside the delete speaks for nobody: gone",
            [
                a1,
                change(B, 1, 200, {"deleted": [f"{A}.1"]}),
                change(C, 1, 900, {"stored": True}),
            ],
            ("stored",),
        ),
        merge_case(
            "the person keeps it",
            [
                a1,
                change(B, 1, 200, {"deleted": [f"{A}.1"]}),
                change(C, 1, 150, {"text": "Oil"}, (f"{A}.1",)),
                change(C, 2, 300, {"deleted": None}, (f"{B}.1",)),
            ],
        ),
        merge_case(
            "the person lets it go",
            [
                a1,
                change(B, 1, 200, {"deleted": [f"{A}.1"]}),
                change(C, 1, 150, {"text": "Oil"}, (f"{A}.1",)),
                change(C, 2, 300, {"deleted": [f"{A}.1", f"{C}.1"]}, (f"{B}.1",)),
            ],
        ),
        merge_case(
            "two delete it, each having seen what the other had not: gone, no clash",
            [
                change(A, 1, 100, {"title": "one"}),
                change(B, 1, 101, {"text": "two"}),
                change(A, 2, 200, {"deleted": [f"{A}.1"]}),
                change(B, 2, 201, {"deleted": [f"{A}.1", f"{B}.1"]}),
            ],
        ),
        merge_case(
            "one keeps it, one deletes it later, neither knowing of the other: kept, and asked",
            [
                a1,
                change(B, 1, 200, {"deleted": None}),
                change(C, 1, 300, {"deleted": [f"{A}.1"]}),
            ],
        ),
        merge_case(
            "the same with the keeper's stamp the later one",
            [
                a1,
                change(B, 1, 400, {"deleted": None}),
                change(C, 1, 300, {"deleted": [f"{A}.1"]}),
            ],
        ),
        merge_case(
            "a delete that arrives before the change that it covers",
            [change(B, 1, 200, {"deleted": [f"{A}.1"]}), a1],
        ),
        merge_case(
            "a change that sets fields and deletes at once covers itself only if it says so",
            [change(A, 1, 100, {"title": "one", "deleted": []})],
        ),
    ]


def merge_generated(rng: random.Random, count: int) -> list[Any]:
    """Devices that write and exchange at random; each writes what it has seen as heads."""
    cases = []
    for number in range(count):
        clocks = [A, B, C][: rng.randint(1, 3)]
        seen: dict[str, list[dict[str, Any]]] = {clock: [] for clock in clocks}
        counters = dict.fromkeys(clocks, 0)
        for _ in range(rng.randint(2, 14)):
            clock = rng.choice(clocks)
            if rng.random() < 0.3:
                for one in seen[rng.choice(clocks)]:
                    if one not in seen[clock]:
                        seen[clock].append(one)
                continue
            heads = heads_by_definition(seen[clock])
            fields = rng.sample(["title", "text", "minutes", "at"], rng.randint(1, 3))
            set_: dict[str, Any] = {field: rng.randint(1, 3) for field in fields}
            if rng.random() < 0.15:
                set_ = {"deleted": [h["id"] for h in heads if set(h["set"]) - {"deleted"}]}
            elif rng.random() < 0.05:
                set_ = {"deleted": None}
            counters[clock] += 1
            named = tuple(head["id"] for head in heads if set(head["set"]) & set(set_))
            one = change(clock, counters[clock], rng.randint(1, 50), set_, named)
            seen[clock].append(one)
        everything: list[dict[str, Any]] = []
        for one in (one for clock in clocks for one in seen[clock]):
            if one not in everything:
                everything.append(one)
        rng.shuffle(everything)
        cases.append(merge_case(f"generated {number}, seed {SEED}", everything, ("at",)))
    return cases


# --- stamps -----------------------------------------------------------------------------------


def tick_case(why: str, state: dict[str, Any], now: int, floor: list[str]) -> Any:
    """The layout makes ms and tick one 64-bit number, so that the next stamp is a maximum."""
    last = state["ms"] << 16 | state["tick"]
    below = max([last, *(int(one[:16], 16) for one in floor)])
    wall = max(0, now + state["offsetMs"]) << 16
    value = wall if wall >> 16 > below >> 16 else below + 1
    return {
        "why": why,
        "state": state,
        "now": now,
        "floor": floor,
        "stamp": f"{value:016x}{state['clock']}",
        "next": {**state, "ms": value >> 16, "tick": value & 0xFFFF},
    }


def stamps_vectors(rng: random.Random) -> dict[str, Any]:
    def state(ms: int, tick: int = 0, offset: int = 0) -> dict[str, Any]:
        return {"clock": A, "counter": 0, "ms": ms, "tick": tick, "offsetMs": offset}

    now = 1_777_919_400_000  # 2026-05-04T18:30:00Z
    ticks = [
        tick_case("the first stamp is the time", state(0), now, []),
        tick_case("a second one within the millisecond", state(now), now, []),
        tick_case("time went on", state(now, 7), now + 1, []),
        tick_case("failure 12: clock set back an hour", state(now), now - 3_600_000, []),
        tick_case("the tick overflows into the millisecond", state(now, 0xFFFF), now, []),
        tick_case("superseded one is ahead", state(now), now + 5, [stamp(now + 9, C, 3)]),
        tick_case("floor with a full tick", state(now), now + 5, [stamp(now + 9, C, 0xFFFF)]),
        tick_case("a floor in the past", state(now), now + 5, [stamp(now - 9, C, 3)]),
        tick_case(
            "the greatest floor counts", state(now), now, [stamp(now + 1, B), stamp(now + 3, C)]
        ),
        tick_case("a floor at the very time", state(0), now, [stamp(now, "f" * 16)]),
        tick_case("corrected by the server's time", state(0, 0, -3_600_000), now, []),
        tick_case("before 1970 is 1970", state(0, 0, -10), 5, []),
    ]
    for number in range(60):
        floor = [
            stamp(now + rng.randint(-3, 3), rng.choice([B, C]), rng.choice([0, 1, 0xFFFE, 0xFFFF]))
            for _ in range(rng.randint(0, 3))
        ]
        own = state(now + rng.randint(-3, 3), rng.choice([0, 5, 0xFFFF]), rng.randint(-3, 3))
        ticks.append(
            tick_case(f"generated {number}, seed {SEED}", own, now + rng.randint(-3, 3), floor)
        )
    parsed = [
        {"stamp": f"{value:016x}{clock}", "ms": value >> 16, "tick": value & 0xFFFF, "clock": clock}
        for value, clock in [
            (0, "0" * 16),
            (2**64 - 1, "f" * 16),
            (now << 16 | 258, "0123456789abcdef"),
            *((rng.getrandbits(64), f"{rng.getrandbits(64):016x}") for _ in range(20)),
        ]
    ]
    return {
        "about": [
            "Stamps: 12 hex digits ms, 4 tick, 16 clock. Run by tests/contract/test_vectors.py and "
            "client/test/core.stamps.test.ts; written by make_vectors.py.",
            "parts: a stamp and its parts. sorted: stamps in the order in which they sort as text "
            "and as numbers. tick: a device's clock, its time, what it supersedes, and the stamp.",
        ],
        "parts": parsed,
        "sorted": sorted((entry["stamp"] for entry in parsed), key=lambda text: int(text, 16)),
        "tick": ticks,
    }


# --- packing ----------------------------------------------------------------------------------

R1 = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5e"
R2 = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5f"


def wire_change(
    clock: str,
    counter: int,
    ms: int,
    tick: int,
    record: tuple[str, str],
    set_: dict[str, Any],
    supersedes: list[str],
    group: dict[str, int] | None = None,
) -> dict[str, Any]:
    one = {
        "id": f"{clock}.{counter}",
        "type": record[0],
        "record": record[1],
        "set": set_,
        "stamp": stamp(ms, clock, tick),
        "supersedes": supersedes,
    }
    return one if group is None else {**one, "group": group}


def as_change(one: dict[str, Any]) -> Change:
    clock, counter = one["id"].split(".")
    group = (one["group"]["first"], one["group"]["size"]) if "group" in one else None
    return Change(
        clock, int(counter), one["type"], one["record"], one["set"], one["stamp"],
        one["supersedes"], group,
    )  # fmt: skip


def packing_vectors(rng: random.Random) -> dict[str, Any]:
    tick, step = ("operation_tick", R1), ("step", R2)
    hand = [
        {
            "why": "nothing",
            "changes": [],
            "packed": {
                "clocks": [], "records": [], "author": [], "counter": [], "record": [], "set": [],
                "ms": [], "tick": [], "supersedes": [], "group": [],
            },
        },
        {
            "why": "columns by hand: a group of two, then another device's change that saw one",
            "changes": [
                wire_change(A, 7, 1000, 0, tick, {"done": True}, [], {"first": 7, "size": 2}),
                wire_change(A, 8, 1000, 1, step, {"text": "é"}, [], {"first": 7, "size": 2}),
                wire_change(B, 3, 990, 5, tick, {"done": False}, [f"{A}.7", f"{C}.12"]),
                wire_change(A, 10, 2000, 0, tick, {"x_new": {"a": [1, None]}}, [f"{B}.3"]),
            ],
            "packed": {
                "clocks": [A, B, C],
                "records": [["operation_tick", R1], ["step", R2]],
                "author": [0, 0, 1, 0],
                "counter": [7, 1, 3, 2],
                "record": [0, 1, 0, 0],
                "set": [
                    {"done": True}, {"text": "é"}, {"done": False}, {"x_new": {"a": [1, None]}},
                ],
                "ms": [1000, 0, -10, 1010],
                "tick": [0, 1, 5, 0],
                "supersedes": [[], [], [0, 7, 2, 12], [1, 3]],
                "group": [[7, 2], [7, 2], None, None],
            },
        },
        {
            "why": "state of a pull: counters of one author may fall, times too; greatest values",
            "changes": [
                wire_change(A, 999_999_999_999_999, 2**48 - 1, 65535, step, {}, []),
                wire_change(A, 1, 0, 0, step, {"text": None}, []),
            ],
            "packed": {
                "clocks": [A],
                "records": [["step", R2]],
                "author": [0, 0],
                "counter": [999_999_999_999_999, -999_999_999_999_998],
                "record": [0, 0],
                "set": [{}, {"text": None}],
                "ms": [2**48 - 1, -(2**48 - 1)],
                "tick": [65535, 0],
                "supersedes": [[], []],
                "group": [None, None],
            },
        },
    ]  # fmt: skip
    generated = []
    for number in range(12):
        counters = dict.fromkeys((A, B, C), 0)
        changes = []
        for _ in range(rng.randint(1, 12)):
            clock = rng.choice([A, B, C])
            counters[clock] += rng.randint(1, 4)
            named = [
                f"{rng.choice([A, B, C])}.{rng.randint(1, 99)}" for _ in range(rng.randint(0, 3))
            ]
            changes.append(
                wire_change(
                    clock, counters[clock], rng.randint(0, 2**41), rng.randint(0, 65535),
                    rng.choice([tick, step]), {"text": rng.randint(0, 9)}, named,
                )
            )  # fmt: skip
        packed = packing.pack([as_change(one) for one in changes])
        generated.append(
            {"why": f"generated {number}, seed {SEED}", "changes": changes, "packed": packed}
        )
    good = hand[1]["packed"]
    assert isinstance(good, dict)
    bad = [
        {"why": why, "packed": {**good, **spoilt}}
        for why, spoilt in [
            ("a column is missing", {"tick": None}),
            ("a column is short", {"ms": [1000, 0, -10]}),
            ("a column is no list", {"set": {}}),
            ("an author that is not in the dictionary", {"author": [0, 0, 9, 0]}),
            ("an author below the dictionary", {"author": [0, 0, -1, 0]}),
            ("a record that is not in the dictionary", {"record": [0, 1, 2, 0]}),
            ("a counter of 0", {"counter": [7, -7, 3, 2]}),
            ("a counter of 16 digits", {"counter": [10**15, 1, 3, 2]}),
            ("a counter that is a fraction", {"counter": [7, 0.5, 3, 2]}),
            ("a counter that is text", {"counter": ["7", 1, 3, 2]}),
            ("a counter that is true", {"counter": [7, True, 3, 2]}),
            ("a time before 1970", {"ms": [1000, -1001, 0, 0]}),
            ("a time beyond 48 bits", {"ms": [2**48, 0, 0, 0]}),
            ("a tick beyond 16 bits", {"tick": [0, 65536, 5, 0]}),
            ("a tick below 0", {"tick": [0, -1, 5, 0]}),
            ("fields that are a list", {"set": [[], {}, {}, {}]}),
            ("fields that are null", {"set": [None, {}, {}, {}]}),
            ("a clock in capitals", {"clocks": [A.upper(), B, C]}),
            ("a clock that is too long", {"clocks": [A + "0", B, C]}),
            ("a clock with a line end", {"clocks": [A + "\n", B, C]}),
            ("a record that is no pair", {"records": [["step"], ["step", R2]]}),
            ("superseded ids in half a pair", {"supersedes": [[0], [], [], []]}),
            ("a superseded id by nobody", {"supersedes": [[3, 1], [], [], []]}),
            ("a superseded counter of 0", {"supersedes": [[0, 0], [], [], []]}),
            ("superseded ids as null", {"supersedes": [None, [], [], []]}),
            ("a group of three numbers", {"group": [[7, 2, 1], None, None, None]}),
            ("a group of text", {"group": [["7", 2], None, None, None]}),
            ("a group of nothing", {"group": [[7, 0], None, None, None]}),
        ]
    ]
    return {
        "about": [
            "Packed changes. Run by tests/contract/test_vectors.py and client/test/"
            "core.packing.test.ts; written by make_vectors.py.",
            "good: changes and their push form; the pull form is the same without supersedes and "
            "group. bad: forms that must not be read as if they were right.",
        ],
        "good": [*hand, *generated],
        "bad": [
            *bad,
            *({"why": f"not an object: {it!r}", "packed": it} for it in (None, [], 1, "")),
        ],
    }


# --- ids and order ----------------------------------------------------------------------------


def ids_vectors(rng: random.Random) -> dict[str, Any]:
    def case(record_type: str, *parts: str) -> Any:
        name = ":".join((record_type, *parts))
        return {
            "type": record_type,
            "parts": list(parts),
            "id": str(uuid.uuid5(DERIVED_NAMESPACE, name)),
        }

    def some_id() -> str:
        return str(uuid.UUID(int=rng.getrandbits(128), version=4))

    return {
        "about": [
            "Derived ids: RFC 9562 version 5 over 'type:part:part'. Made with Python's uuid "
            "module; run by tests/contract/test_vectors.py and client/test/core.ids.test.ts.",
        ],
        "namespace": str(DERIVED_NAMESPACE),
        "derived": [
            case("step_progress", R1, R2),
            case("step_progress", R2, R1),
            case("operation_tick", R1, R2),
            *(case(kind, some_id(), some_id()) for kind in ("part_tick", "pick", "place") * 4),
            case("é ü 😀", "text beyond ASCII is UTF-8"),
        ],
    }


def order_vectors(rng: random.Random) -> dict[str, Any]:
    hand = [
        (None, None, "V"), ("A", "C", "B"), ("A", "B", "AV"), ("A", "AV", "AF"), ("AV", "B", "Ak"),
        ("V", None, "V001"), ("V001", None, "V002"), ("Vzzz", None, "W"),
        ("zzzz", None, "zzzz0001"), (None, "V", "Uzzz"), (None, "0001", "0000V"),
        (None, "0000V", "0000Uzzz"), ("1", "10V", "10F"),
        ("Z", "a", "ZV"), ("9", "A", "9V"), ("a0", "a1", "a0V"),
    ]  # fmt: skip
    between: list[Any] = [{"a": a, "b": b, "key": key} for a, b, key in hand]
    keys: list[str] = []
    for _ in range(120):
        at = rng.choice([0, len(keys), rng.randint(0, len(keys)), min(3, len(keys))])
        a = keys[at - 1] if at else None
        b = keys[at] if at < len(keys) else None
        key = order.between(a, b)
        keys.insert(at, key)
        between.append({"a": a, "b": b, "key": key})
    return {
        "about": [
            "Order keys. between: the key that is made between a and b (null: an end). refused: "
            "nothing fits between. spread: n keys. The first sixteen of between by hand, the "
            "others hold the two implementations to each other. Run by "
            "tests/contract/test_vectors.py and client/test/core.order.test.ts.",
        ],
        "between": between,
        "refused": [
            {"a": a, "b": b}
            for a, b in [
                ("B", "A"), ("A", "A"), ("a", "a0"), ("a0", "a00"), ("", None), (None, ""),
                (None, "0"), (None, "0000"), ("a-b", None), ("é", None), ("A" * 65, None),
                ("z" * 64, None), ("A", "A" + "0" * 62 + "1"), ("A\n", None),
            ]
        ],
        "spread": [
            {"n": 0, "keys": []},
            {"n": 1, "keys": ["V"]},
            {"n": 3, "keys": ["FV", "V", "kV"]},
            *({"n": n, "keys": order.spread(n)} for n in (2, 12, 61, 150)),
        ],
    }  # fmt: skip


def everything() -> dict[str, Any]:
    """All vectors by the name of their file; the same each time."""
    rng = random.Random(SEED)
    merge = {
        "about": [
            "The merge of the changes to one record. Run by tests/contract/test_vectors.py and "
            "client/test/core.merge.test.ts in the order given, backwards, and shuffled; written "
            "by make_vectors.py, which finds heads by their definition.",
        ],
        "cases": [*merge_by_hand(), *merge_generated(rng, 60)],
    }
    return {
        "merge": merge,
        "stamps": stamps_vectors(rng),
        "packing": packing_vectors(rng),
        "ids": ids_vectors(rng),
        "order": order_vectors(rng),
    }


if __name__ == "__main__":
    for name, vectors in everything().items():
        text = json.dumps(vectors, indent=1, ensure_ascii=True) + "\n"
        (HERE / f"{name}.json").write_text(text, encoding="utf-8")
