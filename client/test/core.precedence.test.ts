/** What comes before what: against networkx (tests/reference), and what holds for every graph. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import { type ComesBefore, type Ordered, precedence } from "../src/core/precedence";

interface Graph {
  things: Ordered[];
  pairs: ComesBefore[];
  /** Of networkx's lexicographical_topological_sort; null where it found a cycle. */
  order: string[] | null;
}

const path = new URL("../../tests/reference/precedence.json", import.meta.url);
const graphs = (JSON.parse(readFileSync(path, "utf8")) as Graph[]).map((graph, i) => ({
  ...graph,
  name: `graph ${i}: ${graph.things.length} things, ${graph.pairs.length} pairs`,
}));

const follows = (pairs: readonly ComesBefore[], first: string, then: string): boolean =>
  pairs.some((pair) => pair.first === first && pair.then === then);

describe("order of things", () => {
  test.each(graphs)("agrees with networkx: $name", ({ things, pairs, order }) => {
    const ours = precedence([...things].reverse(), pairs);
    if (order) {
      expect(ours.order).toEqual(order);
      expect(ours.cycle).toBe(null);
      return;
    }
    const cycle = ours.cycle ?? [];
    expect(cycle.length).toBeGreaterThan(0);
    expect(new Set(cycle).size).toBe(cycle.length);
    cycle.forEach((id, i) => {
      expect(follows(pairs, id, cycle[(i + 1) % cycle.length]!)).toBe(true);
    });
    expect([...ours.order].sort()).toEqual(things.map(({ id }) => id).sort());
  });

  it("is that of the keys where nothing has to come before", () => {
    const keys = fc.array(fc.constantFrom("1", "A", "V", "a", "z"), { maxLength: 30 });
    fc.assert(
      fc.property(keys, (orders) => {
        const things = orders.map((order, i) => ({ id: String(i).padStart(3, "0"), order }));
        const expected = [...things]
          .sort((a, b) => (a.order < b.order ? -1 : a.order > b.order ? 1 : a.id < b.id ? -1 : 1))
          .map(({ id }) => id);
        expect(precedence(things, []).order).toEqual(expected);
      }),
    );
  });

  it("names every thing once, and is silent about pairs with one that is not here", () => {
    const id = fc.constantFrom("a", "b", "c", "d", "e");
    const some = fc.array(fc.record({ first: id, then: id }));
    fc.assert(
      fc.property(fc.uniqueArray(id), some, (ids, pairs) => {
        const things = ids.map((one) => ({ id: one }));
        const known = pairs.filter((p) => ids.includes(p.first) && ids.includes(p.then));
        const ours = precedence(things, pairs);
        expect([...ours.order].sort()).toEqual([...ids].sort());
        expect(ours.order).toEqual(precedence(things, known).order);
        for (const one of ids) {
          const open = ours.openBefore(one, () => false).map((before) => before.id);
          const expected = new Set(known.filter((p) => p.then === one).map((p) => p.first));
          expect(new Set(open)).toEqual(expected);
        }
      }),
    );
  });
});

describe("what is open before a thing", () => {
  const things = ["a", "b", "c"].map((id) => ({ id, order: id }));
  const pairs = [
    { first: "b", then: "c", reason: "The bearing goes in first." },
    { first: "a", then: "c" },
    { first: "a", then: "c", reason: "Said twice, once with why." },
  ];
  it("is named in order, with why", () => {
    expect(precedence(things, pairs).openBefore("c", () => false)).toEqual([
      { id: "a", reason: "Said twice, once with why." },
      { id: "b", reason: "The bearing goes in first." },
    ]);
  });
  it("is not what is done, nor anything for an unknown thing", () => {
    const ours = precedence(things, pairs);
    expect(ours.openBefore("c", (id) => id === "a").map(({ id }) => id)).toEqual(["b"]);
    expect(ours.openBefore("nobody", () => false)).toEqual([]);
  });
});
