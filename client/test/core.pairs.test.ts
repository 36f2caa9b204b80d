/** What a new pair would close, rings, and columns: against networkx, and by hand. */
import { readFileSync } from "node:fs";
import { describe, expect, it, test } from "vitest";
import { columnsOf, KitOrder, wayBack, type Pair } from "../src/core/pairs";
import type { ComesBefore, Ordered } from "../src/core/precedence";

interface Graph {
  things: Ordered[];
  pairs: ComesBefore[];
  /** networkx: nodes on the shortest way from `then` to `first`; null where there is none. */
  closing: { first: string; then: string; nodes: number | null }[];
  /** networkx: topological_generations of the things that take part; null where there is a ring. */
  generations: string[][] | null;
}

const path = new URL("../../tests/reference/precedence.json", import.meta.url);
const graphs = (JSON.parse(readFileSync(path, "utf8")) as Graph[]).map((graph, i) => ({
  ...graph,
  name: `graph ${i}: ${graph.things.length} things, ${graph.pairs.length} pairs`,
}));

const follows = (pairs: readonly ComesBefore[], first: string, then: string): boolean =>
  pairs.some((pair) => pair.first === first && pair.then === then);

describe("a pair that would close a ring", () => {
  test.each(graphs)("is found, and the shortest way named, as by networkx: $name", (graph) => {
    for (const { first, then, nodes } of graph.closing) {
      const way = wayBack(graph.pairs, first, then);
      expect(way?.length ?? null).toBe(nodes);
      if (!way) continue;
      expect([way[0], way.at(-1)]).toEqual([then, first]);
      for (let i = 1; i < way.length; i += 1) {
        expect(follows(graph.pairs, way[i - 1]!, way[i]!)).toBe(true);
      }
    }
  });

  const steps = ["A", "B", "C"];
  const operations = [
    { id: "a1", step: "A" },
    { id: "a2", step: "A" },
    { id: "b1", step: "B" },
    { id: "c1", step: "C" },
  ];
  const pair = (kind: Pair["kind"], first: string, then: string): Pair => ({ kind, first, then });
  const names = (stops: ReturnType<KitOrder["closes"]>) => stops?.map(({ id }) => id) ?? null;

  it("names the steps on the way, each once", () => {
    const order = new KitOrder(steps, operations, [pair("step", "A", "B"), pair("step", "B", "C")]);
    expect(names(order.closes(pair("step", "C", "A")))).toEqual(["A", "B", "C"]);
    expect(order.closes(pair("step", "A", "C"))).toBe(null);
    expect(names(order.closes(pair("step", "A", "A")))).toEqual(["A"]);
    expect(order.ring()).toBe(null);
  });

  it("is seen through operations of different steps, too", () => {
    const order = new KitOrder(steps, operations, [pair("operation", "b1", "a1")]);
    expect(names(order.closes(pair("step", "A", "B")))).toEqual(["B", "b1", "a1", "A"]);
    // Each waits for a part of the other only: that can be done.
    expect(order.closes(pair("operation", "a2", "b1"))).toBe(null);
    expect(names(order.closes(pair("operation", "a1", "b1")))).toEqual(["b1", "a1"]);
  });

  it("does not go by way of what is deleted", () => {
    const order = new KitOrder(["A", "C"], [], [pair("step", "A", "B"), pair("step", "B", "C")]);
    expect(order.closes(pair("step", "C", "A"))).toBe(null);
  });

  it("is named where two devices have closed it", () => {
    const pairs = [pair("step", "A", "B"), pair("step", "B", "C"), pair("step", "C", "A")];
    const ring = names(new KitOrder(steps, operations, pairs).ring())!;
    expect([...ring].sort()).toEqual(steps);
    ring.forEach((id, i) => {
      expect(follows(pairs, id, ring[(i + 1) % ring.length]!)).toBe(true);
    });
    const inStep = [pair("operation", "a1", "a2"), pair("operation", "a2", "a1")];
    expect(names(new KitOrder(steps, operations, inStep).ring())!.sort()).toEqual(["a1", "a2"]);
  });
});

describe("columns", () => {
  test.each(graphs)("are networkx's topological generations: $name", (graph) => {
    const { things, pairs, generations } = graph;
    const columns = columnsOf(things, pairs);
    if (generations) {
      expect(columns.map((column) => [...column].sort())).toEqual(generations);
      return;
    }
    const named = new Set(pairs.flatMap(({ first, then }) => [first, then]));
    expect(columns.flat().sort()).toEqual([...named].sort());
  });
});
