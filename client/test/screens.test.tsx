// @vitest-environment happy-dom
/** Screens when the storage refuses, a thumb taps twice, or the app itself has a mistake. */
import { signal } from "@preact/signals";
import { type ComponentChildren, render } from "preact";
import { LocationProvider } from "preact-iso";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { App } from "../src/app";
import { StorageFailure } from "../src/db/failure";
import Builds from "../src/screens/builds";
import Devices from "../src/screens/devices";
import NewKit from "../src/screens/kit-new";
import Labels from "../src/screens/labels";
import Path from "../src/screens/path";
import Step from "../src/screens/step";
import { BenchContext } from "../src/ui/bench-context";
import { Clashes } from "../src/ui/clash";
import { SayRegion, say } from "../src/ui/say";
import type { Parked, Sheet, View } from "../src/sync/types";
import { BAG, BUILD, CHOICE, KIT, OP1, OP2, OTHER, STEP1, STEP2, id, kitRows } from "./bench-kit";
import { type FakeBench, fakeBench } from "./fake-bench";

let root: HTMLElement;
const rest = (ms = 40): Promise<void> => new Promise((done) => setTimeout(done, ms));

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  history.replaceState(null, "", "/");
  HTMLDialogElement.prototype.showModal ??= function (this: HTMLDialogElement) {
    this.open = true;
  };
});
afterEach(() => {
  render(null, root);
  root.remove();
  vi.restoreAllMocks();
});

async function open(bench: FakeBench, screen: ComponentChildren): Promise<void> {
  render(
    <BenchContext.Provider value={bench}>
      <LocationProvider>{screen}</LocationProvider>
      <SayRegion />
    </BenchContext.Provider>,
    root,
  );
  await rest();
}

const text = (): string => root.textContent ?? "";
const button = (name: string): HTMLElement => {
  const all = [...root.querySelectorAll<HTMLElement>("button, a, label")];
  const found = all.find((one) => (one.getAttribute("aria-label") ?? one.textContent ?? "").trim() === name);
  if (!found) throw new Error(`No "${name}" in: ${text()}`);
  return found;
};
const box = (name: string): HTMLInputElement => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.includes(name));
  return label!.querySelector("input")!;
};
const typeIn = (name: string, value: string): void => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.startsWith(name));
  const input = document.getElementById(label!.getAttribute("for") ?? "") as HTMLInputElement;
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
};
const step = <Step build={BUILD} step={STEP1} />;
/** Three across, seven down on A4, as the server hands it out. */
const SHEET = {
  name: "a4-3x7",
  width_mm: 210,
  height_mm: 297,
  columns: 3,
  rows: 7,
  label_width_mm: 63.5,
  label_height_mm: 38.1,
} as Sheet;
const full = (): StorageFailure => new StorageFailure("full");

/** A store whose writes come through only when told. */
function slow(bench: FakeBench): () => void {
  const write = bench.store.write.bind(bench.store);
  let go = (): void => undefined;
  const gate = new Promise<void>((done) => (go = done));
  bench.store.write = async (drafts) => {
    await gate;
    return write(drafts);
  };
  return go;
}

describe("what the storage refuses", () => {
  it("is not left ticked on the screen (failure 27)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    for (const name of ["Press in the bearing", "Bearing"]) {
      bench.store.failNext = full();
      box(name).click();
      await rest();
      expect(text()).toContain("Not saved");
      expect(box(name).checked).toBe(false);
    }
    bench.store.failNext = full();
    box("19 teeth").click();
    await rest();
    expect(bench.store.where("pick", "alternative", OTHER)).toEqual([]);
    expect(box("19 teeth").checked).toBe(false);
  });

  it("keeps the word on why something is done out of order (pitfall 42)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    box("Fit the axle").click();
    await rest();
    typeIn("Why you go on all the same", "the bore is open");
    await rest();
    bench.store.failNext = full();
    button("Tick it all the same").click();
    await rest();
    expect(text()).toContain("Not saved");
    expect(bench.jotter.read(`overrule/${BUILD}/${OP2}`)).toBe("the bore is open");
    button("Tick it all the same").click();
    await rest();
    expect(bench.store.all("operation_tick").map(({ values }) => values.overruled)).toEqual(["the bore is open"]);
    expect(bench.jotter.read(`overrule/${BUILD}/${OP2}`)).toBeUndefined();
  });

  it("is said also where something was to be taken back", async () => {
    await open(fakeBench(), null);
    say("Done", () => Promise.reject(full()));
    await rest();
    button("Undo").click();
    await rest();
    expect(text()).toContain("Not saved");
  });

  it("leaves a picture in memory until it fits (pitfall 29)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    bench.store.failNext = full();
    const input = root.querySelector<HTMLInputElement>('input[type="file"]')!;
    const file = new File(["x"], "a.jpg", { type: "image/jpeg" });
    Object.defineProperty(input, "files", { configurable: true, value: [file] });
    input.dispatchEvent(new Event("change", { bubbles: true }));
    await rest();
    expect(bench.store.all("photo")).toHaveLength(0);
    expect(text()).toContain("1 photo is not kept yet");
    button("Try again").click();
    await rest();
    expect(bench.store.all("photo")).toHaveLength(1);
    expect(bench.added.map((one) => one.file)).toEqual([file, file]);
    expect(text()).not.toContain("not kept yet");
  });

  it("does not turn a saved kit into an unsaved one when it cannot be read back", async () => {
    const bench = fakeBench();
    await open(bench, <NewKit />);
    typeIn("Steps", "1-3");
    await rest();
    bench.store.load = () => Promise.reject(new StorageFailure("lost"));
    button("Make kit and labels").click();
    await rest();
    expect(bench.store.all("kit")).toHaveLength(1);
    expect(text()).not.toContain("Not saved");
    expect(text()).toContain("is on your bench");
  });
});

describe("a way back", () => {
  it("is offered on the screen that it came up on, and nowhere else", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, <App bench={bench} />);
    await rest(400);
    button("Start a kit").click();
    await rest(400);
    typeIn("Steps", "1-3");
    typeIn("Bags", "1");
    await rest();
    button("Make kit and labels").click();
    await rest(400);
    expect(location.pathname).toContain("/labels");
    expect(text()).toContain("is on your bench");
    expect(button("Undo")).toBeTruthy();
    button("To the path").click();
    await rest(400);
    expect(location.pathname).toMatch(/^\/builds\/[^/]+$/);
    expect(() => button("Undo")).toThrow();
    expect(text()).not.toContain("is on your bench");
    expect(bench.store.all("kit")).toHaveLength(2);
  });

  it("does not take along what is only said", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, <App bench={bench} />);
    say("Everything is fine");
    button("Devices").click();
    await rest(400);
    expect(location.pathname).toBe("/devices");
    expect(text()).toContain("Everything is fine");
  });

  it("stays longer than mere news, which lies over the work", async () => {
    await open(fakeBench(), null);
    const timers = vi.spyOn(globalThis, "setTimeout");
    /** How long a message is to stay, in ms; it is taken away when that is over. */
    const stays = async (): Promise<number> => {
      timers.mockClear();
      for (;;) {
        const [leave, ms] = timers.mock.calls.find(([, delay]) => (delay ?? 0) > 1_000) ?? [];
        if (leave) {
          leave();
          await rest();
          expect(root.querySelector(".say.is-silent")).not.toBeNull();
          return ms ?? 0;
        }
        await rest();
      }
    };
    say("News");
    const news = await stays();
    say("A deed", () => undefined);
    expect([news, await stays()]).toEqual([6_000, 20_000]);
  });
});

describe("what to tap next", () => {
  it("stands lowest in the panel that asks whether to revoke a device", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, <Devices />);
    button("Revoke: Phone").click();
    await rest();
    const panel = [...root.querySelectorAll("dialog[open] .sheet-inner > *")];
    expect(panel.at(-1)?.textContent).toBe("Revoke it");
  });

  it("is under the thumb on Labels: print", async () => {
    const bench = fakeBench(kitRows());
    // Labels are drawn of what the server has.
    for (const type of ["kit", "bag"] as const)
      for (const view of bench.store.all(type)) Object.assign(view, { unsent: false });
    bench.membership.sheets = () => Promise.resolve({ kind: "ok", value: [SHEET] });
    await open(bench, <Labels kit={KIT} />);
    const print = root.querySelector(".reach .big-button");
    expect(print?.textContent).toBe("Print");
    expect(print?.getAttribute("href")).toContain(`/labels/kits/${KIT}.pdf?sheet=a4-3x7&start=1`);
    typeIn("Begin at label", "22");
    await rest();
    expect(root.querySelector(".reach .big-button")?.getAttribute("aria-disabled")).toBe("true");
  });
});

describe("while something is being kept", () => {
  it("a second tap keeps nothing twice (pitfall 40)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    const go = slow(bench);
    typeIn("Note", "shim it");
    typeIn("Reading", "112");
    await rest();
    for (const name of ["Keep note", "Keep note", "Keep this reading", "Keep this reading"]) button(name).click();
    go();
    await rest();
    expect(bench.store.all("note")).toHaveLength(1);
    expect(bench.store.all("reading")).toHaveLength(1);
  });

  it("a second tap begins no second build (pitfall 40)", async () => {
    const bench = fakeBench(kitRows().filter(({ type }) => type !== "build"));
    await open(bench, <Builds />);
    const go = slow(bench);
    button("Build it").click();
    button("Build it").click();
    go();
    await rest();
    expect(bench.store.all("build")).toHaveLength(1);
  });

  it("words typed meanwhile stay", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    const go = slow(bench);
    typeIn("Note", "shim it");
    await rest();
    button("Keep note").click();
    typeIn("Note", "shim it, left side only");
    go();
    await rest();
    expect(bench.store.all("note")[0]?.values.text).toBe("shim it");
    expect(bench.jotter.read(`note/${BUILD}/${STEP1}`)).toBe("shim it, left side only");
  });

  it("a newer app is not taken up over a picture (pitfall 22)", async () => {
    const bench = fakeBench(kitRows());
    let done = (): void => undefined;
    bench.photos.add = () => new Promise<void>((kept) => (done = kept));
    await open(bench, step);
    const input = root.querySelector<HTMLInputElement>('input[type="file"]')!;
    Object.defineProperty(input, "files", { configurable: true, value: [new File(["x"], "a.jpg")] });
    input.dispatchEvent(new Event("change", { bubbles: true }));
    await rest();
    // What main.tsx asks before it loads the page again.
    expect(root.querySelector('[aria-busy="true"]')).not.toBeNull();
    done();
    await rest();
    expect(root.querySelector('[aria-busy="true"]')).toBeNull();
  });
});

describe("a mistake of the app", () => {
  it("stops one screen, not the way to the others", async () => {
    const bench = fakeBench(kitRows());
    vi.spyOn(console, "error").mockImplementation(() => undefined);
    history.replaceState(null, "", `/builds/${BUILD}/steps/${STEP1}`);
    const where = bench.store.where.bind(bench.store);
    bench.store.where = (type, field, value) => {
      if (type === "joint") throw new Error("a mistake");
      return where(type, field, value);
    };
    render(<App bench={bench} />, root);
    await vi.waitFor(() => expect(text()).toContain("This screen has stopped"));
    root.querySelector<HTMLElement>('nav a[href="/devices"]')!.click();
    await vi.waitFor(() => expect(text()).toContain("Exchange now"), 10_000);
    expect(text()).not.toContain("This screen has stopped");
  });

  it("is not made of an address that was cut in the middle", async () => {
    const bench = fakeBench(kitRows());
    history.replaceState(null, "", `/builds/${BUILD}/steps/${STEP1}#%E0%A4%A`);
    await open(bench, step);
    expect(text()).toContain("Press in the bearing");
  });
});

describe("Devices", () => {
  const parked = (more: Partial<Parked>): Parked => ({
    change: "00000000000000d1.7",
    type: "note",
    record: id(900),
    set: {},
    problem: { type: "/api/problems/invalid", title: "Not valid", detail: "text: too long" },
    along: 0,
    ...more,
  });
  const withParked = (...all: Parked[]): FakeBench => {
    const bench = fakeBench(kitRows());
    const state = signal({ ...bench.courier.state.value, parked: all });
    bench.courier = { ...bench.courier, state };
    return bench;
  };

  it("says in plain words what was refused, why, and leads to its place", async () => {
    const at = "2026-05-04T18:00:00.000Z";
    const bench = withParked(
      parked({ set: { build: BUILD, step: STEP1, text: "shim it", at, device: id(3) } }),
      parked({
        change: "00000000000000d1.8", type: "operation_tick", record: id(901), along: 2,
        set: { build: BUILD, step: STEP1, operation: OP1, done: true, at, device: id(3) },
      }),
      parked({ change: "00000000000000d1.9", type: "crane", record: id(902), set: { mystery_field: 4 } }),
    );
    await open(bench, <Devices />);
    expect(text()).toContain("Note: step 1.1, Spring build");
    expect(text()).toContain("Text: shim it");
    expect(text()).toContain("Tick of an operation: step 1.1, Spring build");
    expect(text()).toContain("Ticked: yes");
    expect(text()).toContain("2 other changes stand or fall with it");
    expect(text()).toContain("text: too long");
    // Of a type that only a newer app knows, what was entered is still shown.
    expect(text()).toContain("mystery field: 4");
    expect(text()).not.toContain(at);
    expect(text()).not.toContain(OP1);
    expect(root.querySelector(`a[href="/builds/${BUILD}/steps/${STEP1}"]`)).not.toBeNull();
  });

  it("lets go of a refused change only after asking, for that cannot be undone", async () => {
    const bench = withParked(parked({ set: { build: BUILD, text: "shim it" } }));
    const dropped: string[] = [];
    bench.courier.dropParked = (change) => {
      dropped.push(change);
      return Promise.resolve();
    };
    await open(bench, <Devices />);
    button("Let go").click();
    await rest();
    expect(dropped).toEqual([]);
    button("Let it go for good").click();
    await rest();
    expect(dropped).toEqual(["00000000000000d1.7"]);
  });

  it("takes back a saved copy, and says what came of it", async () => {
    const bench = fakeBench(kitRows());
    const load = vi.spyOn(bench.keeping, "loadCopy");
    await open(bench, <Devices />);
    const choose = async (): Promise<void> => {
      const input = root.querySelector<HTMLInputElement>('input[type="file"]')!;
      Object.defineProperty(input, "files", { configurable: true, value: [new File(["{}"], "copy.json")] });
      input.dispatchEvent(new Event("change", { bubbles: true }));
      await rest();
    };
    load.mockResolvedValueOnce(3);
    await choose();
    expect(text()).toContain("3 changes taken in");
    load.mockRejectedValueOnce(new Error("This copy belongs to another workshop."));
    await choose();
    expect(text()).toContain("This copy belongs to another workshop.");
  });

  it("stands when a build cannot be read", async () => {
    const unhandled: unknown[] = [];
    const note = (reason: unknown): void => void unhandled.push(reason);
    process.on("unhandledRejection", note);
    const bench = fakeBench(kitRows());
    bench.store.load = () => Promise.reject(new StorageFailure("lost"));
    await open(bench, <Devices />);
    await rest();
    process.off("unhandledRejection", note);
    expect(unhandled).toEqual([]);
    expect(text()).toContain("What is on the server");
  });
});

describe("a clash", () => {
  const differ = (field: string) => ({
    field,
    shown: { value: "x", change: "00000000000000d1.1", stamp: "019df4e00000000100000000000000d1" },
    others: [{ value: "y", change: "00000000000000d3.1", stamp: "019df4e00000000000000000000000d3" }],
  });

  it("deep in a build is told on its path, with the way there", async () => {
    const bench = fakeBench([
      ...kitRows(),
      { type: "pick", id: id(700), values: { build: BUILD, choice: CHOICE, alternative: OTHER } },
      { type: "note", id: id(701), values: { build: BUILD, step: STEP2, text: "x" } },
      { type: "shortage", id: id(702), values: { build: BUILD, bag: BAG, kind: "missing", quantity: 1 } },
    ]);
    await open(bench, <Path build={BUILD} />);
    expect(text()).not.toContain("Two devices said different things");
    bench.store.clash("pick", id(700), differ("alternative"));
    bench.store.clash("note", id(701), differ("text"));
    bench.store.clash("shortage", id(702), differ("settled_at"));
    await rest();
    expect(text()).toContain("Two devices said different things");
    const links = [...root.querySelectorAll(".notice a")];
    expect(links.map((link) => [link.textContent, link.getAttribute("href")])).toEqual([
      ["Step 1.1", `/builds/${BUILD}/steps/${STEP1}`],
      ["Step 1.2", `/builds/${BUILD}/steps/${STEP2}`],
      ["Bag 3", `/builds/${BUILD}/bags/${BAG}`],
    ]);
  });

  it("about whether a shortage is settled is asked also where it is shown as settled", async () => {
    const bench = fakeBench([
      ...kitRows(),
      {
        type: "shortage", id: id(702),
        values: { build: BUILD, step: STEP1, kind: "missing", quantity: 1, settled_at: "2026-05-04T18:00:00.000Z" },
      },
    ]);
    await open(bench, step);
    expect(text()).not.toContain("two devices said different things");
    bench.store.clash("shortage", id(702), differ("settled_at"));
    await rest();
    expect(text()).toContain("Settled: two devices said different things");
  });

  it("shows moments as a person says them", async () => {
    const one = (value: unknown, n: number) => ({
      value, change: `00000000000000d1.${n}`, stamp: `019df4e00000000${n}00000000000000d1`,
    });
    const view = {
      type: "build", id: BUILD, values: {}, deleteAsked: false, unsent: false,
      clashes: [{ field: "finished_at", shown: one("2026-05-04T18:00:00.000Z", 1), others: [one(null, 2)] }],
    } as unknown as View<"build">;
    await open(fakeBench(), <Clashes view={view} labels={{ finished_at: "Finished" }} />);
    expect(text()).not.toContain("T18:00");
    expect(text()).toContain("4");
  });
});

