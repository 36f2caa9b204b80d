/** Packed changes: the vectors that the server runs too, and that nothing is lost on the way. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import { pack, PackingError, parseChangeId, type RecordChange, unpack } from "../src/core/packing";
import { make } from "../src/core/stamps";
import { vectors } from "./vectors";

interface Vectors {
  good: { why: string; changes: RecordChange[]; packed: Record<string, unknown[]> }[];
  bad: { why: string; packed: unknown }[];
}

const known = vectors<Vectors>("packing");

describe("vectors of packing.json", () => {
  test.each(known.good)("$why", ({ changes, packed }) => {
    expect(pack(changes, "push")).toEqual(packed);
    expect(unpack(packed)).toEqual(changes);
  });
  test.each(known.good)("$why: pull form", ({ changes, packed }) => {
    // Clocks that only occur in `supersedes` need not travel in a pull, so authors may differ.
    const pull = pack(changes, "pull");
    for (const name of ["counter", "record", "set", "ms", "tick", "records"] as const) {
      expect(pull[name]).toEqual(packed[name]);
    }
    expect("supersedes" in pull || "group" in pull).toBe(false);
    expect(unpack(pull)).toEqual(
      changes.map(({ group: _, ...change }) => ({ ...change, supersedes: [] })),
    );
  });
  test.each(known.bad)("refused: $why", ({ packed }) => {
    expect(() => unpack(packed)).toThrow(PackingError);
  });
});

const clock = fc.constantFrom("0".repeat(16), "a".repeat(16), "0123456789abcdef");
const changeId = fc
  .tuple(clock, fc.integer({ min: 1, max: 999_999_999_999_999 }))
  .map(([by, counter]) => `${by}.${counter}`);
const change: fc.Arbitrary<RecordChange> = fc
  .tuple(changeId, fc.nat({ max: 2 ** 48 - 1 }), fc.nat({ max: 65535 }), fc.boolean())
  .chain(([id, ms, tick, grouped]) =>
    fc
      .record({
        id: fc.constant(id),
        type: fc.constantFrom("step", "bag", "a_new_type"),
        record: fc.uuid(),
        set: fc.dictionary(fc.string(), fc.jsonValue()),
        stamp: fc.constant(make(ms, tick, parseChangeId(id).clock)),
        supersedes: fc.array(changeId, { maxLength: 3 }),
      })
      .map((one) => (grouped ? { ...one, group: { first: 1, size: 2 } } : one)),
  );

describe("packing", () => {
  it("gives every change back, unknown types and fields and all, after a way through JSON", () => {
    fc.assert(
      fc.property(fc.array(change, { maxLength: 12 }), (changes) => {
        const travelled: unknown = JSON.parse(JSON.stringify(pack(changes, "push")));
        const plain: unknown = JSON.parse(JSON.stringify(changes));
        expect(unpack(travelled)).toEqual(plain);
      }),
    );
  });
  it("says where, for any spoilt entry, and throws nothing else", () => {
    const good = known.good[1]!.packed;
    const column = fc.constantFrom(...Object.keys(good));
    fc.assert(
      fc.property(column, fc.nat(), fc.jsonValue(), (name, n, spoilt) => {
        const entries = [...good[name]!];
        entries[n % entries.length] = spoilt;
        try {
          unpack({ ...good, [name]: entries });
        } catch (error) {
          expect(error).toBeInstanceOf(PackingError);
        }
      }),
      { numRuns: 2000 },
    );
  });
  it("will not pack a stamp of another's clock", () => {
    const one: RecordChange = {
      id: `${"a".repeat(16)}.1`, type: "step", record: "r", set: {}, supersedes: [],
      stamp: make(1, 0, "b".repeat(16)),
    };
    expect(() => pack([one], "push")).toThrow(PackingError);
  });
});
