"""Order of things some of which come before others, against networkx.

Source: networkx, ``lexicographical_topological_sort`` (Kahn's algorithm with a sort key) and
``find_cycle``.  ``precedence.json`` beside this file is what networkx says of these graphs; the
client's ``core.precedence.test.ts`` compares its own order with it.

    python tests/reference/test_precedence_reference.py      writes precedence.json
"""

import json
import random
from pathlib import Path
from typing import Any

import networkx as nx

PATH = Path(__file__).with_name("precedence.json")


def answer(things: list[dict[str, Any]], pairs: list[dict[str, str]]) -> dict[str, Any]:
    """networkx's order by (order key, id), or null where there is a cycle."""
    graph = nx.DiGraph()
    keys = {thing["id"]: (thing["order"], thing["id"]) for thing in things}
    graph.add_nodes_from(keys)
    graph.add_edges_from((pair["first"], pair["then"]) for pair in pairs)
    try:
        order = list(nx.lexicographical_topological_sort(graph, key=keys.__getitem__))
    except nx.NetworkXUnfeasible:
        order = None
    return {"things": things, "pairs": pairs, "order": order}


def graphs() -> list[dict[str, Any]]:
    rng = random.Random(20260504)
    made = []
    for size, edges, forwards in [
        (0, 0, True), (1, 0, True), (5, 0, True), (6, 5, True), (12, 10, True), (12, 30, True),
        (40, 60, True), (40, 25, True), (150, 200, True), (3, 3, False), (6, 6, False),
        (10, 8, False), (10, 14, False), (30, 25, False),
    ]:  # fmt: skip
        for _ in range(4):
            ids = [f"t{number:03d}" for number in range(size)]
            # Fewer keys than things: equal keys, made by two devices, are told apart by id.
            things = [{"id": one, "order": rng.choice("0159AFVZafmz")} for one in ids]
            hidden = rng.sample(ids, size)
            pairs = []
            for _ in range(edges if size > 1 else 0):
                first, then = rng.sample(range(size), 2)
                if forwards and first > then:
                    first, then = then, first
                pairs.append({"first": hidden[first], "then": hidden[then]})
            made.append(answer(things, pairs))
    made.append(answer([{"id": "a", "order": "1"}], [{"first": "a", "then": "a"}]))
    return made


def test_precedence_fixture_is_what_networkx_says():
    kept = json.loads(PATH.read_text("utf-8"))
    assert kept == graphs()
    assert any(graph["order"] is None for graph in kept)
    assert any(graph["order"] for graph in kept)


if __name__ == "__main__":
    PATH.write_text(json.dumps(graphs(), indent=None) + "\n", encoding="utf-8")
