/** Order keys: properties that any scheme must have, and the vectors that the server runs too. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import vectors from "../../tests/contract/order.json";
import { between, byOrder, DIGITS, KEY_MAX, spread } from "../src/core/order";

describe("vectors of order.json", () => {
  test.each(vectors.between)("between $a and $b is $key", ({ a, b, key }) => {
    expect(between(a, b)).toBe(key);
  });
  test.each(vectors.refused)("between $a and $b is refused", ({ a, b }) => {
    expect(() => between(a, b)).toThrow(RangeError);
  });
  test.each(vectors.spread)("spread $n", ({ n, keys }) => {
    expect(spread(n)).toEqual(keys);
  });
});

const key = fc
  .string({ unit: fc.constantFrom(...DIGITS), minLength: 1, maxLength: 12 })
  .map((text) => text.replace(/0+$/, "") || "V");

describe("order keys", () => {
  it("sort between any two, by code unit, and never end in 0", () => {
    fc.assert(
      fc.property(fc.option(key), fc.option(key), (a, b) => {
        fc.pre(a === null || b === null || a !== b);
        const [low, high] = a !== null && b !== null && a > b ? [b, a] : [a, b];
        const made = between(low, high);
        expect(made).toMatch(/^[0-9A-Za-z]*[1-9A-Za-z]$/);
        if (low !== null) expect(made > low).toBe(true);
        if (high !== null) expect(made < high).toBe(true);
      }),
      { numRuns: 2000 },
    );
  });
  it("keep a list in the order in which a person arranged it", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(), { maxLength: 200 }), (places) => {
        const list: string[] = [];
        for (const place of places) {
          const at = place % (list.length + 1);
          list.splice(at, 0, between(list[at - 1] ?? null, list[at] ?? null));
        }
        expect([...list].sort()).toEqual(list);
        expect(new Set(list).size).toBe(list.length);
      }),
    );
  });
  it("stay short when a long list is appended to, or put before", () => {
    let last = between(null, null);
    let first = last;
    for (let i = 0; i < 5000; i += 1) {
      last = between(last, null);
      first = between(null, first);
    }
    expect(last.length).toBeLessThanOrEqual(4);
    expect(first.length).toBeLessThanOrEqual(4);
  });
  it("go on past the last and first four-digit step", () => {
    expect(between("zzzz", null) > "zzzz").toBe(true);
    const low = between(null, "0001");
    expect(low < "0001").toBe(true);
    expect(between(null, low) < low).toBe(true);
  });
  it("bear 300 insertions at one place and then say that there is no room", () => {
    const low = "A";
    let high = "B";
    for (let i = 0; i < 300; i += 1) high = between(low, high);
    expect(high.length).toBeLessThanOrEqual(KEY_MAX);
    expect(() => {
      for (let i = 0; i < 300; i += 1) high = between(low, high);
    }).toThrow(RangeError);
  });
  it("spread rise, and leave room at both ends", () => {
    for (const n of [0, 1, 2, 61, 62, 2000, 100_000]) {
      const keys = spread(n);
      expect(keys.length).toBe(n);
      expect([...keys].sort()).toEqual(keys);
      expect(new Set(keys).size).toBe(n);
    }
    expect(() => spread(-1)).toThrow(RangeError);
    expect(() => spread(1.5)).toThrow(RangeError);
  });
  it("sort records with equal keys by id, and those without a key last", () => {
    const records = [
      { id: "c" }, { id: "b", order: "V" }, { id: "a", order: "V" }, { id: "d", order: "z" },
    ];
    expect(records.sort(byOrder).map((r) => r.id)).toEqual(["a", "b", "d", "c"]);
  });
});
