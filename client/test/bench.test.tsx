// @vitest-environment happy-dom
/** Path, Step and Bag over a bench in memory: what is shown, and what each tap saves. */
import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { derivedId } from "../src/core/ids";
import type { RecordType } from "../src/core/records";
import Bag from "../src/screens/bag";
import Path from "../src/screens/path";
import Step from "../src/screens/step";
import { BenchContext } from "../src/ui/bench-context";
import { SayRegion } from "../src/ui/say";
import {
  BAG,
  BUILD,
  CHOICE,
  DIMENSION,
  KIT,
  LINE,
  OP1,
  OP2,
  OP3,
  OTHER,
  PHONE,
  STEP1,
  STEP2,
  STEP3,
  id,
  kitRows,
} from "./bench-kit";
import { type FakeBench, type Row, SESSION, fakeBench } from "./fake-bench";

const ME = SESSION.device.id;
const NOW = Date.parse("2026-05-04T18:00:00.000Z");
let root: HTMLElement;

const settle = async (): Promise<void> => {
  for (let turn = 0; turn < 5; turn += 1) await vi.advanceTimersByTimeAsync(50);
};

async function open(bench: FakeBench, screen: "path" | "step" | "bag", what = STEP1) {
  render(null, root);
  render(
    <BenchContext.Provider value={bench}>
      {screen === "path" && <Path build={BUILD} />}
      {screen === "step" && <Step build={BUILD} step={what} />}
      {screen === "bag" && <Bag build={BUILD} bag={what} />}
      <SayRegion />
    </BenchContext.Provider>,
    root,
  );
  await settle();
}

const text = (): string => root.textContent ?? "";
const button = (name: string): HTMLElement => {
  const found = [...root.querySelectorAll<HTMLElement>("button, a")].find(
    (one) => (one.getAttribute("aria-label") ?? one.textContent ?? "").trim() === name,
  );
  if (!found) throw new Error(`No button or link "${name}" in: ${text()}`);
  return found;
};
const box = (name: string): HTMLInputElement => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.includes(name));
  const input = label?.querySelector("input");
  if (!input) throw new Error(`No box "${name}" in: ${text()}`);
  return input;
};
const field = (name: string): HTMLInputElement => {
  const label = [...root.querySelectorAll("label")].find((one) =>
    one.textContent?.startsWith(name),
  );
  const input = label && document.getElementById(label.getAttribute("for") ?? "");
  if (!input) throw new Error(`No field "${name}" in: ${text()}`);
  return input as HTMLInputElement;
};
const type = async (name: string, value: string): Promise<void> => {
  const input = field(name);
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  await settle();
};
const tap = async (element: HTMLElement): Promise<void> => {
  element.click();
  await settle();
};
const unfold = async (summary: string): Promise<void> => {
  const found = [...root.querySelectorAll("summary")].find((one) => one.textContent === summary);
  const details = found?.closest("details");
  if (!details) throw new Error(`Nothing to unfold: ${summary}`);
  details.open = true;
  details.dispatchEvent(new Event("toggle"));
  await settle();
};
const valuesOf = (bench: FakeBench, kind: RecordType, at: string) =>
  bench.store.get(kind, at)?.values as Record<string, unknown> | undefined;
const only = (bench: FakeBench, kind: RecordType) => {
  const all = bench.store.all(kind);
  expect(all).toHaveLength(1);
  return all[0]?.values as Record<string, unknown>;
};
const tickId = (operation: string): string => derivedId("operation_tick", BUILD, operation);
const progressId = (step: string): string => derivedId("step_progress", BUILD, step);
const place = (device: string, step: string, operation: string | null, at: string): Row => ({
  type: "place",
  id: derivedId("place", BUILD, device),
  values: { build: BUILD, device, step, operation, at },
});

beforeEach(() => {
  vi.useFakeTimers({ now: NOW });
  root = document.createElement("div");
  document.body.append(root);
  Element.prototype.scrollIntoView = () => undefined;
});
afterEach(() => {
  render(null, root);
  root.remove();
  vi.useRealTimers();
});

describe("Step", () => {
  it("saves a tick with its place, begins the sitting and the step, and takes the tick back", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await tap(box("Press in the bearing"));

    expect(valuesOf(bench, "operation_tick", tickId(OP1))).toEqual({
      build: BUILD,
      step: STEP1,
      operation: OP1,
      done: true,
      at: expect.stringMatching(/^2026-05-04T18:00:00\.\d{3}Z$/) as unknown,
      device: ME,
    });
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("under_way");
    expect(valuesOf(bench, "place", derivedId("place", BUILD, ME))).toMatchObject({
      step: STEP1,
      operation: OP2,
    });
    expect(only(bench, "sitting")).toMatchObject({ build: BUILD, device: ME });
    // One write for all of it: nothing can be half saved.
    expect(bench.store.written).toHaveLength(1);

    await tap(box("Press in the bearing"));
    expect(valuesOf(bench, "operation_tick", tickId(OP1))?.["done"]).toBe(false);
    // The second change says only what is new.
    expect(bench.store.written[1]?.[0]?.set).not.toHaveProperty("build");
  });

  it("says which operation comes first and why, and can be overruled with a note only", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await tap(box("Fit the axle"));
    expect(box("Fit the axle").checked).toBe(false);
    expect(bench.store.all("operation_tick")).toHaveLength(0);
    expect(text()).toContain("Operation 1: Press in the bearing");
    expect(text()).toContain("the axle closes the bore");

    await tap(button("Tick it all the same"));
    expect(bench.store.all("operation_tick")).toHaveLength(0);
    expect(text()).toContain("Write a word or two");

    await type("Why you go on", "Bearing is lost, axle tried for fit");
    await tap(button("Tick it all the same"));
    expect(valuesOf(bench, "operation_tick", tickId(OP2))).toMatchObject({
      done: true,
      overruled: "Bearing is lost, axle tried for fit",
    });
    expect(text()).toContain("Done out of order: Bearing is lost");
  });

  it("asks for the step that comes before, too", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step", STEP2);
    expect(text()).toContain("Waits for");
    expect(text()).toContain("the hub holds the arm");
    await tap(box("Hang the arm"));
    expect(bench.store.all("operation_tick")).toHaveLength(0);
    expect(valuesOf(bench, "operation_tick", tickId(OP3))).toBeUndefined();
  });

  it("puts what can hurt a person first and defers to label and local rules", async () => {
    await open(fakeBench(kitRows()), "step");
    const cautions = [...root.querySelectorAll(".caution")].map((one) => one.textContent);
    expect(cautions[0]).toContain("Wear glasses.");
    expect(cautions[1]).toContain("Square or not at all.");
    expect(text()).toContain("What the product's own label says");
  });

  it("says of a joint what it goes into, its thread-locking, and no torque the manual does not give", async () => {
    await open(fakeBench(kitRows()), "step");
    expect(text()).toContain("4 × M3x12 cap screw, ISO 4762 through metal into plastic");
    expect(text()).toContain("Thread-locking: never");
    expect(text()).not.toContain("N·m");
  });

  it("takes a reading with a comma, keeps millimetres and what was typed, and judges it (pitfall 41)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    expect(text()).toContain("112 mm, so 111.7 to 112.3 mm");
    expect(field("Reading").getAttribute("inputmode")).toBe("decimal");
    await type("Reading", "112,5");
    expect(text()).toContain("over by 0.2 mm");
    await tap(button("Keep this reading"));
    expect(only(bench, "reading")).toMatchObject({
      dimension: DIMENSION,
      value: 112.5,
      typed: "112,5 mm",
      device: ME,
    });
    expect(field("Reading").value).toBe("");

    await type("Reading", "4 13/32 in");
    await tap(button("Keep this reading"));
    // 4 13/32 in = 4.40625 x 25.4 mm = 111.91875 mm, kept to 0.0001 mm.
    expect(bench.store.all("reading")[1]?.values).toMatchObject({
      value: 111.9188,
      typed: "4 13/32 in",
    });
  });

  it("refuses what is no number, says how to mend it, and loses nothing", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await type("Reading", "about a hand");
    await tap(button("Keep this reading"));
    expect(bench.store.all("reading")).toHaveLength(0);
    expect(text()).toContain("Write a number");
    expect(field("Reading").value).toBe("about a hand");
  });

  it("keeps what is typed through a reload (pitfall 42)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await type("Note", "The bore was tight");
    await type("Reading", "111,");
    await open(bench, "step");
    expect(field("Note").value).toBe("The bore was tight");
    expect(field("Reading").value).toBe("111,");
    await tap(button("Keep note"));
    expect(only(bench, "note")).toMatchObject({ step: STEP1, text: "The bore was tight" });
    await open(bench, "step");
    expect(field("Note").value).toBe("");
  });

  it("says when the storage refuses, and keeps the words (failure 23)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await type("Note", "The bore was tight");
    bench.store.failNext = new Error("QuotaExceededError");
    await tap(button("Keep note"));
    expect(bench.store.all("note")).toHaveLength(0);
    expect(field("Note").value).toBe("The bore was tight");
    expect(root.querySelector(".say p")?.textContent).toContain(
      "Not saved",
    );
  });

  it("picks an alternative, lays out only its parts, and can change later", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    expect(text()).toContain("only for “17 teeth”");
    await tap(box("17 teeth · as in the manual"));
    expect(text()).not.toContain("Pinion, 19 teeth");
    await tap(box("19 teeth"));
    expect(valuesOf(bench, "pick", derivedId("pick", BUILD, CHOICE))?.["alternative"]).toBe(OTHER);
    expect(text()).toContain("Pinion, 19 teeth");
    expect(text()).not.toContain("Pinion, 17 teeth");
  });

  it("lays parts out one by one and all at once", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await tap(box("Bearing"));
    expect(valuesOf(bench, "part_tick", derivedId("part_tick", BUILD, LINE))).toMatchObject({
      laid_out: true,
    });
    expect(text()).toContain("1 of 3 laid out");
  });

  it("ticks what is in hand from under the thumb, one after the other, and then is done", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    const inHand = () => root.querySelector<HTMLElement>(".step-tick button");
    // Nobody has begun: nobody is there yet.
    expect(text()).toContain("Begin here");
    expect(text()).not.toContain("You are here");
    expect(inHand()?.textContent).toBe("Tick 1 Press in the bearing");
    await tap(inHand()!);
    expect(valuesOf(bench, "operation_tick", tickId(OP1))?.["done"]).toBe(true);
    expect(text()).toContain("You are here");
    expect(inHand()?.textContent).toBe("Tick 2 Fit the axle");
    await vi.advanceTimersByTimeAsync(500);
    // A finger that slips taps twice.
    inHand()?.click();
    inHand()?.click();
    await settle();
    expect(valuesOf(bench, "operation_tick", tickId(OP2))?.["done"]).toBe(true);
    expect(inHand()).toBeNull();
    expect(document.activeElement).toBe(button("Done"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("under_way");
    await vi.advanceTimersByTimeAsync(1_000);
    await tap(button("Done"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("done");
    // The way on stands once, lowest in the panel.
    const panel = [...root.querySelectorAll("dialog .sheet-inner > *")];
    expect(panel.at(-1)?.textContent).toBe("Next: 1.2");
  });

  it("goes from under the thumb to the step it waits for, and can be ticked from the box", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step", STEP2);
    const under = [...root.querySelectorAll<HTMLElement>(".step-tick > *")];
    expect(under.map((one) => one.textContent)).toEqual(["Go to 1.1 first the hub holds the arm"]);
    expect(under[0]?.getAttribute("href")).toBe(`/builds/${BUILD}/steps/${STEP1}`);
    expect(button("Done").className).toBe("quiet-button");
    await tap(box("Hang the arm"));
    expect(text()).toContain("Something comes before this");
    await type("Why you go on", "the arm is on another bench");
    await tap(button("Tick it all the same"));
    expect(valuesOf(bench, "operation_tick", tickId(OP3))?.["done"]).toBe(true);
  });

  it("goes to the step it waits for also where there is nothing to tick", async () => {
    const rows = kitRows().filter(({ id: at }) => at !== OP3);
    await open(fakeBench(rows), "step", STEP2);
    expect(root.querySelector(".step-tick")?.textContent).toContain("Go to 1.1 first");
    expect(button("Done").className).toBe("quiet-button");
  });

  it("asks from under the thumb, too, what comes before in the same step", async () => {
    const bench = fakeBench([...kitRows(), place(ME, STEP1, OP2, "2026-05-04T17:55:00.000Z")]);
    await open(bench, "step");
    const inHand = root.querySelector<HTMLElement>(".step-tick button");
    expect(inHand?.textContent).toContain("Fit the axle");
    await tap(inHand!);
    expect(text()).toContain("Something comes before this");
    expect(bench.store.all("operation_tick")).toHaveLength(0);
  });

  it("offers the reading that a ticked operation asks for, and goes on without it by one tap", async () => {
    const measured = kitRows().map((row) =>
      row.id === DIMENSION ? { ...row, values: { ...row.values, operation: OP1 } } : row,
    );
    const bench = fakeBench(measured);
    const panel = () => root.querySelector("dialog[open]");
    await open(bench, "step");
    await tap(box("Press in the bearing"));
    // It is ticked, whatever comes of the question.
    expect(valuesOf(bench, "operation_tick", tickId(OP1))?.["done"]).toBe(true);
    expect(panel()?.textContent).toContain("Length of the link");
    await tap(button("Go on without it"));
    expect(panel()).toBeNull();
    expect(bench.store.all("reading")).toHaveLength(0);
    expect(field("Reading").closest(".operation")?.id).toBe(OP1);

    await tap(box("Press in the bearing"));
    expect(panel()).toBeNull();
    await tap(box("Press in the bearing"));
    await type("Reading", "112,5");
    await tap(button("Keep this reading"));
    expect(only(bench, "reading")).toMatchObject({ dimension: DIMENSION, value: 112.5 });
    // What came of it is seen before the panel goes away.
    expect(panel()?.textContent).toContain("over by 0.2 mm");
    await tap(button("Go on"));

    // Once it is measured nobody asks again.
    for (let twice = 0; twice < 2; twice += 1) await tap(box("Press in the bearing"));
    expect(panel()).toBeNull();
  });

  it("opens a step under way at the operation to go on with, and any other at its top", async () => {
    const shown: string[] = [];
    Element.prototype.scrollIntoView = function (this: Element) {
      shown.push(this.id);
    };
    await open(fakeBench(kitRows()), "step");
    expect(shown).toEqual([]);
    const begun: Row = {
      type: "step_progress",
      id: progressId(STEP1),
      values: { build: BUILD, step: STEP1, state: "under_way" },
    };
    const ticked: Row = {
      type: "operation_tick",
      id: tickId(OP1),
      values: { build: BUILD, step: STEP1, operation: OP1, done: true },
    };
    await open(fakeBench([...kitRows(), begun, ticked]), "step");
    expect(shown).toEqual([OP2]);
    expect(document.activeElement?.closest(".operation") ?? null).toBeNull();
  });

  it("says once of joints that are treated alike how they are", async () => {
    const more = (at: number, word: string): Row => ({
      type: "joint",
      id: id(at),
      values: { kit: KIT, step: STEP1, operation: OP2, fastener: `Screw ${at}`, thread_lock: word },
    });
    await open(fakeBench([...kitRows(), more(91, "use"), more(92, "never")]), "step");
    const lines = [...root.querySelectorAll(".joint")].map((one) =>
      [...one.querySelectorAll("p")].map((line) => line.textContent?.trim()),
    );
    expect(lines).toEqual([
      [
        "4 × M3x12 cap screw, ISO 4762 through metal into plastic",
        "Screw 92",
        "Thread-locking: never",
      ],
      ["Screw 91", "Thread-locking: use"],
    ]);
  });

  it("has what is to be done with a report lowest in its panel", async () => {
    await open(fakeBench(kitRows()), "step");
    await tap(root.querySelector<HTMLElement>(".short-button")!);
    const panel = [...root.querySelectorAll("dialog[open] .sheet-inner > *")];
    expect(panel.at(-1)?.textContent).toBe("Keep this report");
  });

  it("folds parts up that lay ready when the step is opened, not while they are ticked", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    const boxes = () => [...root.querySelectorAll<HTMLInputElement>(".lines input")];
    const folds = () => root.querySelectorAll("details .lines").length;
    for (const at of boxes().keys()) await tap(boxes()[at]!);
    expect(boxes().every(({ checked }) => checked)).toBe(true);
    expect(folds()).toBe(0);
    await open(bench, "step");
    expect(folds()).toBe(1);
  });

  it("is done with one tap, offers photo and word and the next step, and can be taken back", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await tap(button("Done"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))).toMatchObject({
      state: "done",
      device: ME,
    });
    expect(text()).toContain("2 operations are not ticked.");
    expect(root.querySelector('dialog input[capture="environment"]')).not.toBeNull();
    expect(button("Next: 1.2").getAttribute("href")).toBe(`/builds/${BUILD}/steps/${STEP2}`);
    await tap(button("Tick them too"));
    expect(bench.store.all("operation_tick").every(({ values }) => values.done)).toBe(true);

    await type("What should the next builder", "Seat it square");
    field("What should the next builder").dispatchEvent(new Event("blur"));
    await settle();
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["word"]).toBe("Seat it square");

    await tap(button("Not done after all"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("under_way");
  });

  it("takes 'left out' back with one tap", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await unfold("Not now, or not at all");
    await tap(button("Leave it out"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("left_out");
    await tap(button("Undo"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBeNull();
    expect(text()).toContain("Ready");
  });

  it("is held with what holds it, and taken up again", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    await unfold("Not now, or not at all");
    await type("What holds it", "Waiting for a new bearing");
    await tap(button("Hold this step"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))).toMatchObject({
      state: "held",
      held_for: "Waiting for a new bearing",
    });
    await tap(button("Take it up again"));
    expect(valuesOf(bench, "step_progress", progressId(STEP1))?.["state"]).toBe("under_way");
  });

  it("hands pictures over and asks the camera only for kinds that can be kept (pitfalls 30, 31)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    const camera = root.querySelector<HTMLInputElement>("input[capture]");
    expect(camera?.accept).toBe("image/jpeg,image/png,image/webp");
    window.history.replaceState(null, "", `/builds/${BUILD}/steps/${STEP1}`);
    camera?.dispatchEvent(new Event("click", { bubbles: true }));
    expect(bench.jotter.read("camera")).toContain(`/builds/${BUILD}/steps/${STEP1}`);
    // The page was killed behind the camera and comes up again at the step.
    await open(bench, "step");
    expect(text()).toContain("The phone closed the app behind its camera");
    expect(bench.jotter.read("camera")).toBeUndefined();
  });

  it("shows two devices' different words and settles with one tap", async () => {
    const progress: Row = {
      type: "step_progress",
      id: progressId(STEP1),
      values: { build: BUILD, step: STEP1, state: "done" },
    };
    const bench = fakeBench([...kitRows(), progress]);
    bench.store.clash("step_progress", progress.id, {
      field: "state",
      shown: { value: "done", change: "00000000000000d1.2", stamp: "0".repeat(32) },
      others: [{ value: "held", change: "00000000000000d3.4", stamp: "0".repeat(32) }],
    });
    await open(bench, "step");
    expect(text()).toContain("State of the step: two devices said different things");
    await tap([...root.querySelectorAll<HTMLElement>(".clash-value")][1]!);
    expect(valuesOf(bench, "step_progress", progress.id)?.["state"]).toBe("held");
  });

  it("stands at the operation that the address names, also when this device was elsewhere in it", async () => {
    window.history.replaceState(null, "", `/builds/${BUILD}/steps/${STEP1}#${OP2}`);
    const bench = fakeBench([
      ...kitRows(),
      place(ME, STEP1, OP1, "2026-05-04T17:00:00.000Z"),
      place(PHONE, STEP1, OP2, "2026-05-04T17:55:00.000Z"),
    ]);
    await open(bench, "step");
    expect(root.querySelector(".operation.is-here")?.id).toBe(OP2);
    await vi.advanceTimersByTimeAsync(2_500);
    expect(valuesOf(bench, "place", derivedId("place", BUILD, ME))?.["operation"]).toBe(OP2);
    // Going on counts from then on.
    await tap(box("Press in the bearing"));
    await tap(box("Fit the axle"));
    expect(valuesOf(bench, "place", derivedId("place", BUILD, ME))?.["operation"]).toBeNull();
    window.history.replaceState(null, "", "/");
  });

  it("deletes a note and brings it back", async () => {
    const note: Row = {
      type: "note",
      id: id(95),
      values: { build: BUILD, step: STEP1, text: "tight", at: "2026-05-04T17:00:00.000Z" },
    };
    const bench = fakeBench([...kitRows(), note]);
    await open(bench, "step");
    await tap(button("Delete note"));
    expect(bench.store.all("note")).toHaveLength(0);
    await tap(button("Undo"));
    expect(only(bench, "note")["text"]).toBe("tight");
  });

  it("says where it is after a moment, not for a step that is only passed by", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "step");
    expect(bench.store.all("place")).toHaveLength(0);
    await open(bench, "step", STEP3);
    await vi.advanceTimersByTimeAsync(2_500);
    expect(only(bench, "place")).toMatchObject({ device: ME, step: STEP3, operation: null });
    expect(bench.store.all("sitting")).toHaveLength(0);
  });
});

describe("Path", () => {
  it("shows states in words, what a step waits for, and the next step under the thumb", async () => {
    await open(fakeBench(kitRows()), "path");
    expect(text()).toContain("0 of 3 steps done");
    expect(text()).toContain("after 1.1");
    const states = [...root.querySelectorAll(".tag-state")].map((one) => one.textContent?.trim());
    expect(states).toEqual(["Ready", "Waiting", "Ready"]);
    expect(button("Begin with 1.1").getAttribute("href")).toBe(
      `/builds/${BUILD}/steps/${STEP1}`,
    );
    // The bag hangs before the step that opens it first, once.
    expect(root.querySelectorAll(".path-bag")).toHaveLength(1);
  });

  it("says where the other device is and goes there with one tap", async () => {
    const rows = [...kitRows(), place(PHONE, STEP1, OP2, "2026-05-04T17:55:00.000Z")];
    await open(fakeBench(rows), "path");
    expect(text()).toContain("Phone is at 1.1, operation 2");
    expect(text()).toContain("5 minutes ago");
    expect(button("Go there").getAttribute("href")).toBe(
      `/builds/${BUILD}/steps/${STEP1}#${OP2}`,
    );
  });

  it("goes on at this device's own operation", async () => {
    const rows = [...kitRows(), place(ME, STEP1, OP2, "2026-05-04T17:55:00.000Z")];
    await open(fakeBench(rows), "path");
    expect(button("Go on at 1.1").getAttribute("href")).toBe(
      `/builds/${BUILD}/steps/${STEP1}#${OP2}`,
    );
    expect(root.querySelectorAll('[aria-current="location"]')).toHaveLength(1);
  });

  it("asks when nothing was done for long, with one tap either way", async () => {
    const sitting: Row = {
      type: "sitting",
      id: id(90),
      values: {
        build: BUILD,
        device: ME,
        began_at: "2026-05-04T17:00:00.000Z",
        last_at: "2026-05-04T17:30:00.000Z",
      },
    };
    const bench = fakeBench([...kitRows(), sitting]);
    await open(bench, "path");
    expect(text()).toContain("Still at the bench?");
    await tap(root.querySelectorAll<HTMLElement>(".ask button")[1]!);
    expect(valuesOf(bench, "sitting", id(90))?.["ended_at"]).toBe("2026-05-04T17:30:00.000Z");
    expect(text()).toContain("30 min at the bench");
  });

  it("makes only what is near for 2,000 steps, and the rest can be unfolded by keyboard", async () => {
    class Never {
      observe(): void {}
      disconnect(): void {}
    }
    vi.stubGlobal("IntersectionObserver", Never);
    const rows = kitRows();
    for (let n = 0; n < 2000; n += 1)
      rows.push({
        type: "step",
        id: id(100_000 + n),
        values: { kit: KIT, number: `9.${n}`, order: `d${String(n).padStart(5, "0")}1` },
      });
    await open(fakeBench(rows), "path");
    expect(text()).toContain("0 of 2,003 steps done");
    expect(root.querySelectorAll(".tag").length).toBeLessThan(70);
    const folds = root.querySelectorAll<HTMLElement>(".path-fold button");
    expect(folds.length).toBeGreaterThan(60);
    await tap(folds[0]!);
    expect(root.querySelectorAll(".path-fold button").length).toBe(folds.length - 1);
    vi.unstubAllGlobals();
  });
});

describe("Bag", () => {
  it("shows its code in clear and the first open step under the thumb", async () => {
    const done: Row = {
      type: "step_progress",
      id: progressId(STEP1),
      values: { build: BUILD, step: STEP1, state: "done" },
    };
    await open(fakeBench([...kitRows(), done]), "bag", BAG);
    expect(text()).toContain("7K3Q-XWM0");
    expect(button("Open step 1.2").getAttribute("href")).toBe(
      `/builds/${BUILD}/steps/${STEP2}`,
    );
  });

  it("reports a shortage and holds the step in one group, and settles it", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, "bag", BAG);
    await tap(root.querySelector<HTMLElement>(".short-button")!);
    await type("How many", "two");
    await tap(button("Keep this report"));
    expect(bench.store.all("shortage")).toHaveLength(0);
    await type("How many", "2");
    await tap(box("Hold step 1.1"));
    await tap(button("Keep this report"));
    expect(only(bench, "shortage")).toMatchObject({
      part: id(81),
      part_line: LINE,
      bag: BAG,
      step: STEP1,
      kind: "missing",
      quantity: 2,
    });
    expect(valuesOf(bench, "step_progress", progressId(STEP1))).toMatchObject({
      state: "held",
      held_for: "Missing: 2 × Bearing",
    });
    // Report and hold stand together; time is written beside them.
    expect(bench.store.written[0]?.map((draft) => draft.type)).toEqual([
      "shortage",
      "step_progress",
    ]);
    await tap(button("Settle it"));
    expect(only(bench, "shortage")["settled_at"]).toMatch(/^2026-05-04T18:0/);
  });
});
