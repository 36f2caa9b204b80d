"""Order of things some of which come before others, against networkx.

Source: networkx, ``lexicographical_topological_sort`` (Kahn's algorithm with a sort key),
``find_cycle``, ``shortest_path`` (what a new pair would close into a ring) and
``topological_generations`` (the columns of a drawing).  ``precedence.json`` beside this file is
what networkx says of these graphs; the client's ``core.precedence.test.ts`` and
``core.pairs.test.ts`` compare what they find with it.

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
    return {
        "things": things,
        "pairs": pairs,
        "order": order,
        "closing": closing(graph),
        "generations": generations(graph),
    }


def closing(graph: nx.DiGraph) -> list[dict[str, Any]]:
    """For some pairs: how many things stand on the shortest way from ``then`` back to ``first``."""
    rng = random.Random(graph.number_of_edges() * 1000 + graph.number_of_nodes())
    nodes = sorted(graph)
    found = []
    for _ in range(6 if nodes else 0):
        first, then = rng.choice(nodes), rng.choice(nodes)
        try:
            count = len(nx.shortest_path(graph, then, first))
        except nx.NetworkXNoPath:
            count = None
        found.append({"first": first, "then": then, "nodes": count})
    return found


def generations(graph: nx.DiGraph) -> list[list[str]] | None:
    """Things that take part in pairs, each behind all that come before it; null with a cycle."""
    part = graph.subgraph([node for node in graph if graph.degree(node)])
    try:
        return [sorted(generation) for generation in nx.topological_generations(part)]
    except nx.NetworkXUnfeasible:
        return None


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
    ways = [one["nodes"] for graph in kept for one in graph["closing"]]
    assert None in ways
    assert max(way or 0 for way in ways) > 3


if __name__ == "__main__":
    PATH.write_text(json.dumps(graphs(), indent=None) + "\n", encoding="utf-8")
