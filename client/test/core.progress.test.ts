/** Where a build stands: states, waiting, what can be done next, bags, counts, other devices. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import {
  type BuildRecords, type KitRecords, nextAfter, type Rec, standing, whereabouts,
} from "../src/core/progress";
import type { RecordFields, RecordType } from "../src/core/records";

const rec = <T extends RecordType>(id: string, values: Partial<RecordFields[T]>): Rec<T> => ({
  id,
  values,
});

/** Three steps and two bags; step s2 needs s1, and operation o22 needs o21. */
const kit: KitRecords = {
  bags: [
    rec<"bag">("b2", { number: "2", order: "V" }),
    rec<"bag">("b1", { number: "1", order: "A" }),
  ],
  steps: [
    rec<"step">("s3", { number: "3", order: "k", bags: ["b2"], minutes: 20 }),
    rec<"step">("s1", { number: "1", order: "F", bags: ["b1"], minutes: 30 }),
    rec<"step">("s2", { number: "2", order: "V", bags: ["b1"] }),
  ],
  operations: [
    rec<"operation">("o11", { step: "s1", order: "A" }),
    rec<"operation">("o12", { step: "s1", order: "B" }),
    rec<"operation">("o22", { step: "s2", order: "A" }),
    rec<"operation">("o21", { step: "s2", order: "B" }),
  ],
  comesBefore: [
    rec<"comes_before">("c1", { kind: "step", first: "s1", then: "s2", reason: "It carries it." }),
    rec<"comes_before">("c2", { kind: "operation", first: "o21", then: "o22" }),
  ],
  partLines: [rec<"part_line">("l1", { bag: "b2", step: "s1" })],
};

const said = (step: string, state: RecordFields["step_progress"]["state"], more = {}) =>
  rec<"step_progress">(`p-${step}`, { step, ...(state ? { state } : {}), ...more });
const ticked = (operation: string, done = true): Rec<"operation_tick"> =>
  rec<"operation_tick">(`t-${operation}`, { operation, done });
const build = (over: Partial<BuildRecords> = {}): BuildRecords => ({
  progress: [],
  ticks: [],
  ...over,
});
const states = (over: Partial<BuildRecords>, of = kit): string => {
  const { path, steps } = standing(of, build(over));
  return path.map((id) => steps.get(id)!.state).join(" ");
};

describe("state of a step", () => {
  test.each<[string, Partial<BuildRecords>, string]>([
    ["nothing done", {}, "ready waiting ready"],
    ["an operation ticked", { ticks: [ticked("o11")] }, "under_way waiting ready"],
    ["a tick taken back", { ticks: [ticked("o11", false)] }, "ready waiting ready"],
    ["the first done", { progress: [said("s1", "done")] }, "done ready ready"],
    ["left out: none waits for it", { progress: [said("s1", "left_out")] }, "left_out ready ready"],
    ["held", { progress: [said("s1", "held")] }, "held waiting ready"],
    ["begun too early", { progress: [said("s2", "under_way")] }, "ready under_way ready"],
    ["opened again", { progress: [said("s1", "open")] }, "ready waiting ready"],
    ["no word", { progress: [said("s1", null)] }, "ready waiting ready"],
    ["a newer app's word", { progress: [said("s1", "new" as "done")] }, "ready waiting ready"],
  ])("%s", (_, over, expected) => {
    expect(states(over)).toBe(expected);
  });
  it("says what it waits for, and why", () => {
    expect(standing(kit, build()).steps.get("s2")!.waitsFor).toEqual([
      { kind: "step", id: "s1", step: "s1", reason: "It carries it." },
    ]);
  });
  it("waits where each operation that is left hangs on another step's", () => {
    const comesBefore = [
      rec<"comes_before">("c", { kind: "operation", first: "o12", then: "o21" }),
      kit.comesBefore[1]!,
    ];
    const of = { ...kit, comesBefore };
    expect(states({}, of)).toBe("ready waiting ready");
    expect(standing(of, build()).steps.get("s2")!.waitsFor).toEqual([
      { kind: "operation", id: "o12", step: "s1", reason: null },
    ]);
    expect(states({ ticks: [ticked("o12")] }, of)).toBe("under_way ready ready");
    expect(states({ progress: [said("s1", "done")] }, of)).toBe("done ready ready");
  });
  it("tells why it is held, and shortages by step or by the line's step", () => {
    const settled_at = "2026-05-04T18:30:00.000Z";
    const progress = [said("s1", "held", { held_for: "A bearing is missing." })];
    const shortages = [
      rec<"shortage">("x", { step: "s1", kind: "missing" }),
      rec<"shortage">("y", { part_line: "l1", kind: "wrong" }),
      rec<"shortage">("z", { step: "s1", kind: "missing", settled_at }),
    ];
    const s1 = standing(kit, build({ progress, shortages })).steps.get("s1")!;
    expect(s1).toMatchObject({ state: "held", heldFor: "A bearing is missing.", shortages: 2 });
  });
});

describe("operations", () => {
  it("stand in an order that respects what comes before", () => {
    const { steps } = standing(kit, build());
    expect(steps.get("s2")!.operations).toEqual(["o21", "o22"]);
    expect(steps.get("s2")!.nextOperation).toBe("o21");
  });
  it("tell what is open before them, their step's predecessors included", () => {
    const { before } = standing(kit, build());
    const open = before("o22").map(({ kind, id }) => `${kind} ${id}`);
    expect(open).toEqual(["step s1", "operation o21"]);
    expect(before("o11")).toEqual([]);
    expect(before("nobody")).toEqual([]);
    const later = standing(kit, build({ progress: [said("s1", "done")], ticks: [ticked("o21")] }));
    expect(later.before("o22")).toEqual([]);
  });
  it("are all done with their step, and the next is none", () => {
    const s1 = standing(kit, build({ progress: [said("s1", "done")] })).steps.get("s1")!;
    expect(s1).toMatchObject({ operationsDone: 2, nextOperation: null, waitsFor: [] });
  });
});

describe("what can be done next", () => {
  it("is what is under way, then what is ready, in order", () => {
    expect(standing(kit, build()).next).toEqual(["s1", "s3"]);
    const begun = build({ progress: [said("s3", "under_way")] });
    expect(standing(kit, begun).next).toEqual(["s3", "s1"]);
    const held = build({ progress: [said("s1", "held")] });
    expect(standing(kit, held).next).toEqual(["s3"]);
  });
  it("goes on behind the step just done, then from the beginning", () => {
    const now = standing(kit, build({ progress: [said("s1", "done")] }));
    expect(nextAfter(now, "s1")).toBe("s2");
    expect(nextAfter(now, "s3")).toBe("s2");
    expect(nextAfter(now, "s2")).toBe("s3");
    const all = ["s1", "s2", "s3"].map((step) => said(step, "done"));
    expect(nextAfter(standing(kit, build({ progress: all })), "s3")).toBe(null);
  });
});

describe("bags", () => {
  const bag = (id: string, over: Partial<BuildRecords> = {}) =>
    standing(kit, build(over)).bags.get(id)!;
  it("stand in their order, with the steps they serve, those of part lines too", () => {
    expect([...standing(kit, build()).bags.keys()]).toEqual(["b1", "b2"]);
    expect(bag("b1").steps).toEqual(["s1", "s2"]);
    expect(bag("b2").steps).toEqual(["s1", "s3"]);
  });
  test.each<[string, Partial<BuildRecords>, string, string | null]>([
    ["nothing done", {}, "ready", "s1"],
    ["one begun", { ticks: [ticked("o11")] }, "under_way", "s1"],
    ["one of two done", { progress: [said("s1", "done")] }, "under_way", "s2"],
    ["the ready one held", { progress: [said("s1", "held")] }, "held", "s1"],
    ["done and left out", { progress: [said("s1", "done"), said("s2", "left_out")] }, "done", "s1"],
    [
      "all left out",
      { progress: [said("s1", "left_out"), said("s2", "left_out")] },
      "left_out",
      "s1",
    ],
    ["the later one begun", { progress: [said("s2", "under_way")] }, "under_way", "s2"],
  ])("%s", (_, over, state, nextStep) => {
    expect(bag("b1", over)).toMatchObject({ state, nextStep });
  });
  it("without steps say so", () => {
    const of = { ...kit, bags: [rec<"bag">("b9", { number: "9", order: "z" })] };
    expect(standing(of, build()).bags.get("b9")).toMatchObject({ state: "empty", nextStep: null });
  });
});

describe("counts", () => {
  it("leave out what is left out", () => {
    const { counts } = standing(kit, build({
      progress: [said("s1", "done"), said("s3", "left_out")],
      ticks: [ticked("o21")],
      shortages: [rec<"shortage">("x", { kind: "missing" })],
    }));
    expect(counts).toEqual({
      steps: { waiting: 0, ready: 0, under_way: 1, done: 1, held: 0, left_out: 1 },
      stepsTotal: 3, operationsDone: 3, operationsTotal: 4, shortages: 1, share: 0.5,
      minutesLeft: 0, stepsWithoutMinutes: 1,
    });
  });
  it("of nothing are nothing", () => {
    const none = standing({ steps: [], bags: [], operations: [], comesBefore: [] }, build());
    expect(none.counts).toMatchObject({ stepsTotal: 0, share: 0 });
    expect(none.next).toEqual([]);
  });
});

describe("any records", () => {
  const step = fc.constantFrom("s1", "s2", "s3", "s4", "gone");
  const operation = fc.constantFrom("o1", "o2", "o3", "o4", "o5", "gone");
  const progress = fc.array(
    fc.record({ step, state: fc.constantFrom("open", "under_way", "done", "held", "left_out") }),
  );
  const someTicks = fc.array(operation);
  const someHomes = fc.array(step, { minLength: 5, maxLength: 5 });
  it("always leave something to do, unless a ring, a hold or the end is in the way", () => {
    const pairs = fc.array(
      fc.oneof(
        fc.record({ kind: fc.constant("step" as const), first: step, then: step }),
        fc.record({ kind: fc.constant("operation" as const), first: operation, then: operation }),
      ),
      { maxLength: 5 },
    );
    fc.assert(
      fc.property(pairs, progress, someTicks, someHomes, (before, words, ticks, homes) => {
        const of: KitRecords = {
          bags: [],
          steps: ["s1", "s2", "s3", "s4"].map((id) => rec<"step">(id, { order: id })),
          operations: homes.map((home, i) =>
            rec<"operation">(`o${i + 1}`, { step: home, order: `o${i}` }),
          ),
          comesBefore: before.map((pair, i) => rec<"comes_before">(String(i), pair)),
        };
        const now = standing(of, {
          progress: words.map((word, i) => rec<"step_progress">(String(i), word)),
          ticks: ticks.map((id) => ticked(id)),
        });
        expect(now.steps.size).toBe(4);
        for (const one of now.steps.values()) {
          expect(one.state === "waiting" && one.waitsFor.length === 0).toBe(false);
          expect(one.state === "ready" && one.waitsFor.length > 0).toBe(false);
        }
        const sum = Object.values(now.counts.steps).reduce((a, b) => a + b, 0);
        expect(sum).toBe(4);
        const { done, left_out, held } = now.counts.steps;
        // Operation pairs may make a ring between steps that is none between operations.
        const plain = before.every(({ kind }) => kind === "step");
        const free = plain && !now.cycle && !held && done + left_out < 4;
        if (free) expect(now.next.length).toBeGreaterThan(0);
      }),
      { numRuns: 400 },
    );
  });
  it("of the greatest kit, 2,000 steps and 10,000 operations, take less than a second", () => {
    const ids = [...Array(2000).keys()].map((i) => `s${String(i).padStart(4, "0")}`);
    const of: KitRecords = {
      bags: [...Array(500).keys()].map((i) => rec<"bag">(`b${i}`, { order: String(i) })),
      steps: ids.map((id, i) => rec<"step">(id, { order: id, bags: [`b${i % 500}`] })),
      operations: ids.flatMap((id) =>
        [..."abcde"].map((x) => rec<"operation">(id + x, { step: id, order: x })),
      ),
      comesBefore: ids
        .slice(1)
        .map((id, i) => rec<"comes_before">(id, { kind: "step", first: ids[i]!, then: id })),
    };
    const began = performance.now();
    expect(standing(of, build({ progress: [said(ids[0]!, "done")] })).next).toEqual([ids[1]]);
    expect(performance.now() - began).toBeLessThan(1000);
  });
});

describe("whereabouts", () => {
  const place = (device: string, at: string, step: string): Rec<"place"> =>
    rec<"place">(device, { build: "b", device, step, at });
  it("of this device and of the others, the latest first", () => {
    const places = [
      place("tablet", "2026-05-04T18:30:00.000Z", "s1"),
      place("phone", "2026-05-04T18:20:00.000Z", "s2"),
      place("desk", "2026-05-04T18:40:00.000Z", "s3"),
    ];
    const { mine, others } = whereabouts(places, "phone");
    expect(mine?.step).toBe("s2");
    expect(others.map(({ device }) => device)).toEqual(["desk", "tablet"]);
    expect(whereabouts(places, "new phone").mine).toBe(null);
  });
});
