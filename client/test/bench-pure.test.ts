/** What the bench does, without screens: drafts, taking back, places, the camera, the screen's light. */
import { describe, expect, it } from "vitest";
import { openJotter } from "../src/db/jotter";
import {
  type Hand,
  layOut,
  operationTickId,
  pick,
  progressId,
  reportShortage,
  sayState,
  tickOperations,
  undoOf,
  writeNote,
} from "../src/screens/bench/actions";
import { stayAwake } from "../src/screens/bench/awake";
import { PLACE_MS, moveTo, seenFrom } from "../src/screens/bench/here";
import { afterCamera, beforeCamera, lostBehindCamera } from "../src/screens/bench/pending";
import { BUILD, LINE, OP1, OP2, PHONE, STEP1, STEP2, id } from "./bench-kit";
import { FakeStore, SESSION } from "./fake-bench";

const ME = SESSION.device.id;
const NOW = Date.parse("2026-05-04T18:00:00.000Z");

function bench() {
  const store = new FakeStore();
  let made = 0;
  const hand: Hand = {
    build: BUILD,
    device: ME,
    nowMs: NOW,
    newId: () => id(500 + (made += 1)),
  };
  const look = store.get.bind(store) as Parameters<typeof undoOf>[0];
  return { store, hand, look };
}

describe("taking back", () => {
  it("brings back what stood before, and never deletes what exists once", async () => {
    const { store, hand, look } = bench();
    const held = sayState(look, hand, STEP1, "held", "no bearing");
    await store.write(held);
    const done = [
      ...tickOperations(look, hand, STEP1, [OP1], true),
      ...sayState(look, hand, STEP1, "done"),
      ...layOut(look, hand, null, [LINE], true),
      ...pick(look, hand, id(9), id(8)),
      ...writeNote(hand, STEP1, "tight"),
    ];
    const undo = undoOf(look, done);
    await store.write(done);
    await store.write(undo.drafts);
    expect(look("step_progress", progressId(BUILD, STEP1))?.values).toMatchObject({
      state: "held",
      held_for: "no bearing",
    });
    expect(look("operation_tick", operationTickId(BUILD, OP1))?.values).toMatchObject({
      done: false,
      operation: OP1,
    });
    expect(store.all("part_tick")[0]?.values.laid_out).toBe(false);
    expect(store.all("pick")[0]?.values.alternative).toBeNull();
    expect(undo.gone).toEqual([{ type: "note", id: id(501) }]);
  });

  it("says of a new step that nothing is said, so that it is ready or waiting again", () => {
    const { hand, look } = bench();
    const undo = undoOf(look, sayState(look, hand, STEP1, "left_out"));
    expect(undo.drafts[0]?.set).toMatchObject({ state: null });
    expect(undo.drafts[0]?.set).not.toHaveProperty("step");
  });
});

describe("drafts", () => {
  it("leave the state of a held or finished step alone when something in it is ticked", async () => {
    const { store, hand, look } = bench();
    await store.write(sayState(look, hand, STEP1, "done"));
    expect(tickOperations(look, hand, STEP1, [OP1], true).map(({ type }) => type)).toEqual([
      "operation_tick",
    ]);
  });

  it("take back the word of overruling when the tick is made in order later", async () => {
    const { store, hand, look } = bench();
    await store.write(tickOperations(look, hand, STEP1, [OP2], true, " lost the pin "));
    const tick = operationTickId(BUILD, OP2);
    expect(look("operation_tick", tick)?.values.overruled).toBe("lost the pin");
    await store.write(tickOperations(look, hand, STEP1, [OP2], true));
    expect(look("operation_tick", tick)?.values.overruled).toBeNull();
  });

  it("hold no step with a shortage unless asked", () => {
    const { hand, look } = bench();
    const found = {
      kind: "wrong" as const,
      quantity: 1,
      text: "",
      part: null,
      partLine: null,
      bag: null,
      step: STEP1,
    };
    expect(reportShortage(look, hand, { ...found, hold: null })).toHaveLength(1);
    const held = reportShortage(look, hand, { ...found, hold: { step: STEP1, why: "w" } });
    expect(held.map(({ type }) => type)).toEqual(["shortage", "step_progress"]);
  });
});

describe("places", () => {
  const at = (device: string, step: string, operation: string | null, moment: string) => ({
    type: "place" as const,
    id: device,
    values: { build: BUILD, device, step, operation, at: moment },
    clashes: [],
    deleteAsked: false,
    unsent: false,
  });

  it("offer the device that moved last, unless this one did or is there too", () => {
    const phone = at(PHONE, STEP1, OP1, "2026-05-04T17:55:00.000Z");
    expect(seenFrom([phone], ME, NOW).ahead).toMatchObject({ step: STEP1, present: true });
    const later = at(ME, STEP2, null, "2026-05-04T17:56:00.000Z");
    expect(seenFrom([phone, later], ME, NOW)).toMatchObject({
      ahead: null,
      others: [{ device: PHONE }],
    });
    const same = at(ME, STEP1, OP1, "2026-05-04T17:50:00.000Z");
    expect(seenFrom([phone, same], ME, NOW).ahead).toBeNull();
  });

  it("say 'was' of a device that has not moved for ten minutes", () => {
    const old = at(PHONE, STEP1, OP1, "2026-05-04T17:49:59.000Z");
    expect(seenFrom([old], ME, NOW).ahead?.present).toBe(false);
  });

  it("are written when the builder moves, and otherwise once a minute at most", async () => {
    const { store, hand, look } = bench();
    await store.write(moveTo(look, hand, STEP1, OP1));
    expect(moveTo(look, { ...hand, nowMs: NOW + PLACE_MS - 1 }, STEP1, OP1)).toEqual([]);
    expect(moveTo(look, { ...hand, nowMs: NOW + PLACE_MS }, STEP1, OP1)).toHaveLength(1);
    expect(moveTo(look, { ...hand, nowMs: NOW + 1 }, STEP1, OP2)[0]?.set).toEqual({
      operation: OP2,
      at: "2026-05-04T18:00:00.001Z",
    });
  });
});

describe("pitfall 30: the page is killed behind the camera", () => {
  it("knows for a quarter of an hour where the builder was", () => {
    const jotter = openJotter(null);
    beforeCamera(jotter, `/builds/${BUILD}/steps/${STEP1}`, NOW);
    expect(lostBehindCamera(jotter, NOW + 60_000)).toBe(`/builds/${BUILD}/steps/${STEP1}`);
    expect(lostBehindCamera(jotter, NOW + 16 * 60_000)).toBeNull();
    afterCamera(jotter);
    expect(lostBehindCamera(jotter, NOW)).toBeNull();
    // Also for which step a page was being photographed.
    beforeCamera(jotter, `/kits/k/pages/new?build=${BUILD}&step=${STEP1}`, NOW);
    expect(lostBehindCamera(jotter, NOW)).toBe(`/kits/k/pages/new?build=${BUILD}&step=${STEP1}`);
  });

  it("goes nowhere that is not of this app", () => {
    const jotter = openJotter(null);
    for (const kept of ["{", "null", '{"address":"https://a.example/","atMs":0}', '{"address":3}']) {
      jotter.write("camera", kept);
      expect(lostBehindCamera(jotter, 1)).toBeNull();
    }
  });
});

describe("the jotter", () => {
  it("keeps words in memory when the browser's storage refuses", () => {
    const refuses = {
      getItem: () => {
        throw new Error("SecurityError");
      },
      setItem: () => {
        throw new Error("QuotaExceededError");
      },
      removeItem: () => undefined,
    } as unknown as Storage;
    const jotter = openJotter(refuses);
    jotter.write("note", "tight");
    expect(jotter.read("note")).toBe("tight");
    jotter.drop("note");
    expect(jotter.read("note")).toBeUndefined();
  });
});

describe("pitfall 37: the screen stays on, where the phone can", () => {
  const page = () => {
    const listeners = new Set<() => void>();
    return {
      visibilityState: "visible",
      addEventListener: (_: string, on: () => void) => void listeners.add(on),
      removeEventListener: (_: string, on: () => void) => void listeners.delete(on),
      look() {
        for (const on of listeners) on();
      },
    };
  };

  it("asks again when the page is visible again, and lets go at the end", async () => {
    const shown = page();
    let asked = 0;
    let released = 0;
    const lock = {
      request: () => {
        asked += 1;
        return Promise.resolve({ release: () => Promise.resolve(void (released += 1)) });
      },
    };
    const letGo = stayAwake(shown, lock);
    shown.visibilityState = "hidden";
    shown.look();
    expect(asked).toBe(1);
    shown.visibilityState = "visible";
    shown.look();
    expect(asked).toBe(2);
    await Promise.resolve();
    letGo();
    expect(released).toBe(1);
    shown.look();
    expect(asked).toBe(2);
  });

  it("does without it where there is none or it is refused", async () => {
    expect(() => stayAwake(page(), undefined)()).not.toThrow();
    const letGo = stayAwake(page(), { request: () => Promise.reject(new Error("low battery")) });
    await Promise.resolve();
    expect(letGo).not.toThrow();
  });
});
