/** The merge: the vectors that the server runs too, and what holds for every set of changes. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import {
  apply, type Change, deletion, EMPTY, floorOf, type Head, merge, overlay, sameJson, shown,
  type Shown, type State, supersededBy,
} from "../src/core/merge";
import { mint, newClock } from "../src/core/stamps";
import { vectors } from "./vectors";

interface Case {
  why: string;
  changes: Change[];
  quiet: string[];
  heads: Head[];
  shown: Shown;
}

const { cases } = vectors<{ cases: Case[] }>("merge");

describe("vectors of merge.json", () => {
  test.each(cases)("$why", ({ changes, quiet, heads, shown: expected }) => {
    for (const order of [changes, [...changes].reverse()]) {
      const state = merge(order);
      expect(state.heads).toEqual(heads);
      const seen = shown(state, new Set(quiet));
      expect(seen).toEqual(expected);
      // toEqual does not look at members of a prototype: names must be the same too.
      expect(Object.keys(seen.values).sort()).toEqual(Object.keys(expected.values).sort());
    }
  });
});

/** What devices do: write what they see as heads, delete, keep, and hear of each other late. */
type Action =
  | { kind: "write"; device: number; now: number; set: Record<string, number> }
  | { kind: "delete" | "keep"; device: number; now: number }
  | { kind: "hear"; device: number; from: number };

const DEVICES = 3;
const device = fc.nat({ max: DEVICES - 1 });
const now = fc.nat({ max: 20 });
const value = fc.integer({ min: 1, max: 3 });
const action: fc.Arbitrary<Action> = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({
      kind: fc.constant("write" as const),
      device,
      now,
      set: fc
        .record({ a: value, b: value, c: value }, { requiredKeys: [] })
        .filter((set) => Object.keys(set).length > 0),
    }),
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constantFrom("delete", "keep"), device, now }) },
  { weight: 4, arbitrary: fc.record({ kind: fc.constant("hear" as const), device, from: device }) },
);

interface Sim {
  all: Change[];
  /** What each device had seen at the end. */
  seen: Change[][];
}

function simulate(actions: readonly Action[]): Sim {
  const seen: Change[][] = Array.from({ length: DEVICES }, () => []);
  const clocks = Array.from({ length: DEVICES }, (_, i) => newClock(String(i).repeat(16)));
  const all: Change[] = [];
  for (const act of actions) {
    const mine = seen[act.device]!;
    if (act.kind === "hear") {
      for (const change of seen[act.from]!) if (!mine.includes(change)) mine.push(change);
      continue;
    }
    const state = merge(mine);
    const set =
      act.kind === "write" ? act.set : act.kind === "delete" ? deletion(state) : { deleted: null };
    const fields = Object.keys(set);
    const next = mint(clocks[act.device]!, act.now, floorOf(state, fields));
    clocks[act.device] = next.state;
    const change = { id: next.id, stamp: next.stamp, set, supersedes: supersededBy(state, fields) };
    mine.push(change);
    all.push(change);
  }
  return { all, seen };
}

const sim = fc.array(action, { maxLength: 25 }).map(simulate);
const simAndOrder = sim.chain((one) =>
  fc.tuple(
    fc.constant(one),
    fc.shuffledSubarray(one.all, { minLength: one.all.length, maxLength: one.all.length }),
  ),
);

describe("the merge", () => {
  it("failure 10: comes to the same in every order of arrival", () => {
    fc.assert(
      fc.property(simAndOrder, ([{ all }, order]) => {
        const one = merge(all);
        const other = merge(order);
        expect(other.heads).toEqual(one.heads);
        expect(shown(other)).toEqual(shown(one));
      }),
      { numRuns: 400 },
    );
  });
  it("converges: devices that have heard everything show the same", () => {
    fc.assert(
      fc.property(sim, ({ all, seen }) => {
        for (const mine of seen) {
          const missing = all.filter((change) => !mine.includes(change));
          expect(shown(merge([...mine, ...missing]))).toEqual(shown(merge(all)));
        }
      }),
    );
  });
  it("takes a change that is still head again without effect, at any time", () => {
    fc.assert(
      fc.property(simAndOrder, ([, order]) => {
        let state: State = EMPTY;
        for (const change of order) {
          state = apply(state, change);
          for (const again of order) {
            if (state.heads.some((head) => head.id === again.id)) {
              expect(apply(state, again)).toBe(state);
            }
          }
        }
      }),
    );
  });
  it("loses no value: on each field it sets, each change is head or superseded", () => {
    fc.assert(
      fc.property(simAndOrder, ([{ all }, order]) => {
        const { heads } = merge(order);
        for (const change of all) {
          for (const [field, wrote] of Object.entries(change.set)) {
            const head = heads.find((one) => one.id === change.id && field in one.set);
            const by = all.some((one) => one.supersedes.includes(change.id) && field in one.set);
            expect(head === undefined).toBe(by);
            if (head) expect(head.set[field]).toEqual(wrote);
          }
        }
        const fields = new Set(all.flatMap((change) => Object.keys(change.set)));
        expect(new Set(heads.flatMap((head) => Object.keys(head.set)))).toEqual(fields);
      }),
    );
  });
  it("shows or puts to a person every value that stands", () => {
    fc.assert(
      fc.property(sim, ({ all }) => {
        const state = merge(all);
        const { values, clashes } = shown(state);
        for (const head of state.heads) {
          for (const [field, wrote] of Object.entries(head.set)) {
            if (field === "deleted") continue;
            const asked = clashes.find((clash) => clash.field === field)?.others ?? [];
            if (sameJson(values[field], wrote)) continue;
            expect(asked.map((one) => one.change)).toContain(head.id);
          }
        }
      }),
    );
  });
  it("never takes a record away from a device that changed or kept it unknowing", () => {
    fc.assert(
      fc.property(sim, ({ all }) => {
        const state = merge(all);
        const { gone, deleteAsked } = shown(state);
        const lists = state.heads.map((head) => head.set["deleted"]).filter(Array.isArray);
        expect(gone && deleteAsked).toBe(false);
        expect(gone || deleteAsked).toBe(lists.length > 0);
        if (!gone) return;
        for (const head of state.heads) {
          expect(head.set["deleted"]).not.toBe(null);
          if (Object.keys(head.set).some((field) => field !== "deleted")) {
            expect(lists.flat()).toContain(head.id);
          }
        }
      }),
    );
  });
  it("settles any clash with one change that supersedes all heads", () => {
    fc.assert(
      fc.property(sim, ({ all }) => {
        const state = merge(all);
        const { values } = shown(state);
        const fields = Object.keys(values).filter((field) => field !== "deleted");
        fc.pre(fields.length > 0);
        const settled = apply(state, {
          id: "ffffffffffffffff.1",
          stamp: mint(newClock("f".repeat(16)), 0, floorOf(state, fields)).stamp,
          set: Object.fromEntries(fields.map((field) => [field, values[field]])),
          supersedes: supersededBy(state, fields),
        });
        expect(shown(settled).clashes).toEqual([]);
        for (const field of fields) expect(shown(settled).values[field]).toEqual(values[field]);
      }),
    );
  });
  it("lays this device's pending changes over what the server has, and spoils neither", () => {
    fc.assert(
      fc.property(sim, fc.nat(), ({ all }, n) => {
        const cut = all.length ? n % (all.length + 1) : 0;
        const server = merge(all.slice(0, cut)).heads;
        const before = JSON.stringify(server);
        expect(overlay(server, all.slice(cut)).heads).toEqual(merge(all).heads);
        expect(JSON.stringify(server)).toBe(before);
      }),
    );
  });
});

describe("ghosts", () => {
  const stamp = (ms: number): string => ms.toString(16).padStart(32, "0");
  const early: Change = { id: "a.1", stamp: stamp(1), set: { x: 1, y: 1 }, supersedes: [] };
  const late: Change = { id: "b.1", stamp: stamp(2), set: { x: 2 }, supersedes: ["a.1"] };
  it("are only of changes that have not arrived, and go when these do", () => {
    expect(merge([early, late]).ghosts).toEqual({});
    expect(merge([late]).ghosts).toEqual({ "a.1": ["x"] });
    expect(merge([late, early]).ghosts).toEqual({});
  });
});

describe("JSON equality", () => {
  it("is that of the values, whatever the order of keys", () => {
    fc.assert(
      fc.property(fc.jsonValue(), (one) => {
        const turned = JSON.parse(JSON.stringify(one), (_, it: unknown) =>
          it !== null && typeof it === "object" && !Array.isArray(it)
            ? Object.fromEntries(Object.entries(it).reverse())
            : it,
        ) as unknown;
        expect(sameJson(JSON.parse(JSON.stringify(one)), turned)).toBe(true);
        expect(sameJson(one, [one])).toBe(false);
      }),
    );
  });
});
