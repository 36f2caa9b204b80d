// @vitest-environment happy-dom
/** Photographing a page, over a bench in memory and a straightener that answers as it is told. */
import axe from "axe-core";
import { render } from "preact";
import { LocationProvider } from "preact-iso";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { StorageFailure } from "../src/db/failure";
import PageNew from "../src/screens/page-new";
import {
  makeStraightener, type AskedOfPage, type PageWorker, type ToldOfPage,
} from "../src/screens/pages/straightener"; // prettier-ignore
import { BenchContext } from "../src/ui/bench-context";
import { SayRegion } from "../src/ui/say";
import { BUILD, KIT, STEP1, STEP2, kitRows } from "./bench-kit";
import { type FakeBench, fakeBench } from "./fake-bench";

const GUESS = [
  { x: 0.1, y: 0.1 }, { x: 0.9, y: 0.12 }, { x: 0.88, y: 0.9 }, { x: 0.12, y: 0.88 },
] as const; // prettier-ignore
const MADE: ToldOfPage = {
  kind: "made",
  page: { type: "image/jpeg", bytes: new ArrayBuffer(8), widthPx: 1800, heightPx: 2560 },
};
const OPENED: ToldOfPage = { kind: "opened", width: 800, height: 600, guess: GUESS };

let root: HTMLElement;
let asked: AskedOfPage[];
let answers: (what: AskedOfPage) => ToldOfPage;
const rest = (ms = 30): Promise<void> => new Promise((done) => setTimeout(done, ms));
const text = (): string => root.textContent ?? "";

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  history.replaceState(null, "", `/kits/${KIT}/pages/new`);
  URL.createObjectURL = () => "blob:x";
  URL.revokeObjectURL = () => undefined;
  asked = [];
  answers = (what) => (what.kind === "open" ? OPENED : MADE);
});
afterEach(() => {
  render(null, root);
  root.remove();
});

async function open(bench: FakeBench, query: Record<string, string> = {}): Promise<void> {
  render(null, root);
  const straightener = () => ({
    ask(what: AskedOfPage) {
      asked.push(what);
      return Promise.resolve(answers(what));
    },
    close: () => undefined,
  });
  render(
    <BenchContext.Provider value={bench}>
      <LocationProvider>
        <PageNew kit={KIT} query={query} straightener={straightener} />
      </LocationProvider>
      <SayRegion />
    </BenchContext.Provider>,
    root,
  );
  await rest();
}

const named = (name: string): HTMLElement => {
  const all = [...root.querySelectorAll<HTMLElement>("button, a, label, summary")];
  const found = all.find(
    (one) => (one.getAttribute("aria-label") ?? one.textContent ?? "").trim().startsWith(name),
  );
  if (!found) throw new Error(`No "${name}" in: ${text()}`);
  return found;
};
const tap = async (name: string): Promise<void> => {
  named(name).click();
  await rest();
};
const take = async (label = "Take the picture"): Promise<void> => {
  const input = named(label).querySelector("input")!;
  const file = new File(["x"], "page.jpg", { type: "image/jpeg" });
  Object.defineProperty(input, "files", { value: [file], configurable: true });
  input.dispatchEvent(new Event("change", { bubbles: true }));
  await rest();
};
const press = async (name: string, key: string, shiftKey = false): Promise<void> => {
  named(name).dispatchEvent(new KeyboardEvent("keydown", { key, shiftKey, bubbles: true }));
  await rest(5);
};
const made = () => asked.filter((one) => one.kind === "make");
/** Axe-core's rules, but for colours, which need a real page: tests/browser/test_pages.py. */
async function accessible(): Promise<void> {
  const { violations } = await axe.run(root, {
    rules: { "color-contrast": { enabled: false }, region: { enabled: false } },
  });
  expect(violations.map(({ id, nodes }) => [id, nodes[0]?.html])).toEqual([]);
}
const fromStep = { step: STEP1, build: BUILD };

describe("photographing a page", () => {
  it("goes from picture to corners to the page, and keeps it for the step it came from", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, fromStep);
    await accessible();
    await take();
    expect(bench.held.get(`page/${KIT}`)).toBeInstanceOf(File);
    expect(text()).toContain("The corners look like this");
    await accessible();
    await press("Upper left corner", "ArrowRight", true);
    await tap("Make it straight");
    const [first] = made();
    expect(first!.corners[0].x).toBeCloseTo(0.12);
    expect(first!.corners.slice(1)).toEqual(GUESS.slice(1));
    await accessible();
    await tap("Keep it for step 1.1");
    expect(bench.paged).toHaveLength(1);
    const [page] = bench.store.all("page");
    expect(page?.values).toMatchObject({ kit: KIT, number: null });
    expect(bench.store.get("step", STEP1)?.values).toMatchObject({ page: page?.id, frame: null });
    // What it was made of is not needed any more.
    expect(bench.held.size).toBe(0);
    expect(bench.jotter.read(`page/${KIT}`)).toBeUndefined();
    expect(location.pathname).toBe(`/builds/${BUILD}/steps/${STEP1}`);
  });

  it("attaches one page to several steps, after the pages there are, and takes it all back", async () => {
    const bench = fakeBench([
      ...kitRows(),
      { type: "page", id: "p1", values: { kit: KIT, number: "1", blob: "a".repeat(64), order: "V" } },
    ]);
    await bench.store.write([{ type: "step", id: STEP2, set: { page: "p1", frame: [0, 0, 1, 0.5] } }]);
    await open(bench);
    await take();
    await tap("Make it straight");
    expect(text()).toContain("shows page 1 now");
    for (const name of ["Step 1.1", "Step 1.2"]) {
      named(name).querySelector("input")!.click();
      await rest();
    }
    await tap("Keep it for 2 steps");
    const page = bench.store.all("page").find(({ id }) => id !== "p1")!;
    expect(page.values.order! > "V").toBe(true);
    for (const id of [STEP1, STEP2]) {
      expect(bench.store.get("step", id)?.values.page).toBe(page.id);
    }
    // The next page can follow at once.
    expect(text()).toContain("Take the picture");
    await tap("Undo");
    expect(bench.store.get("step", STEP1)?.values).toMatchObject({ page: null, frame: null });
    expect(bench.store.get("step", STEP2)?.values).toMatchObject({ page: "p1", frame: [0, 0, 1, 0.5] });
    expect(bench.store.all("page").map(({ id }) => id)).toEqual(["p1"]);
  });

  it("takes up where it was when the page was closed (pitfall 30)", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, fromStep);
    await take();
    await press("Lower right corner", "ArrowUp");
    await tap("Make it straight");
    const before = made()[0]!.corners;
    asked = [];
    await open(bench, fromStep);
    expect(text()).toContain("taken before");
    expect(asked.map(({ kind }) => kind)).toEqual(["open", "make"]);
    expect(made()[0]!.corners).toEqual(before);
    expect(named("Keep it for step 1.1")).toBeTruthy();
    // Another picture takes its place, with corners of its own.
    await take("Take it again");
    expect(text()).not.toContain("taken before");
    expect(text()).toContain("The corners look like this");
  });

  it("does not mind what was jotted down by something else", async () => {
    const bench = fakeBench(kitRows());
    await bench.photos.hold(`page/${KIT}`, new File(["x"], "x.jpg"));
    for (const junk of ["no json", "[]", '{"corners":[1,2,3,4]}', '{"corners":[]}']) {
      bench.jotter.write(`page/${KIT}`, junk);
      await open(bench);
      expect(text()).toContain("The corners look like this");
    }
  });

  it("turns, and looks otherwise, without asking for the corners again", async () => {
    const bench = fakeBench(kitRows());
    await open(bench);
    await take();
    await tap("Make it straight");
    await tap("Turn a quarter");
    expect(made().at(-1)!.corners[0]).toEqual(GUESS[1]);
    const look = root.querySelector("select")!;
    look.value = "grey";
    look.dispatchEvent(new Event("change", { bubbles: true }));
    await rest();
    expect(made().at(-1)).toMatchObject({ look: "grey" });
    await tap("Corners again");
    expect(named("Make it straight")).toBeTruthy();
  });

  it("says what is wrong with a picture or its corners, and goes on from there", async () => {
    const bench = fakeBench(kitRows());
    answers = () => ({ kind: "unreadable" });
    await open(bench);
    await take();
    expect(text()).toContain("cannot read the file as a picture");
    expect(named("Take the picture")).toBeTruthy();
    answers = (what) => (what.kind === "open" ? { ...OPENED, guess: null } : { kind: "lost", why: "" });
    await take();
    expect(text()).toContain("No page stands out");
    await tap("Make it straight");
    expect(text()).toContain("could not be made straight");
    // Dragged across: no page.
    for (let n = 0; n < 51; n += 1) await press("Upper left corner", "ArrowRight", true);
    for (let n = 0; n < 51; n += 1) await press("Upper left corner", "ArrowDown", true);
    expect(text()).toContain("The corners are crossed");
    expect(named("Make it straight").getAttribute("aria-disabled")).toBe("true");
    await tap("Whole picture");
    expect(text()).not.toContain("The corners are crossed");
  });

  it("keeps the page in sight when the device has no room, for another try", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, fromStep);
    await take();
    await tap("Make it straight");
    bench.store.failNext = new StorageFailure("full");
    await tap("Keep it for step 1.1");
    expect(bench.store.all("page")).toEqual([]);
    expect(bench.held.size).toBe(1);
    await tap("Keep it for step 1.1");
    expect(bench.store.all("page")).toHaveLength(1);
  });

  it("says so when not even the picture itself could be put by", async () => {
    const bench = fakeBench(kitRows());
    bench.photos.hold = () => Promise.reject(new StorageFailure("full"));
    await open(bench);
    await take();
    expect(text()).toContain("do not leave this screen");
    expect(named("Make it straight")).toBeTruthy();
  });

  it("of a kit that is not here says so", async () => {
    await open(fakeBench([]));
    expect(text()).toContain("This kit is not on this device");
  });
});

describe("the worker's page side", () => {
  it("tells that the worker was lost, and starts another", async () => {
    const workers: (PageWorker & { gone: boolean })[] = [];
    const straightener = makeStraightener(() => {
      const worker = {
        gone: false,
        onmessage: null,
        onerror: null,
        postMessage: vi.fn(),
        terminate: () => (worker.gone = true),
      } as unknown as PageWorker & { gone: boolean };
      workers.push(worker);
      return worker;
    });
    const told = straightener.ask({ kind: "open", file: new Blob() });
    workers[0]!.onerror?.({ message: "404" } as ErrorEvent);
    expect(await told).toEqual({ kind: "lost", why: "404" });
    expect(workers[0]!.gone).toBe(true);
    const again = straightener.ask({ kind: "open", file: new Blob() });
    workers[1]!.onmessage?.({ data: { id: 2, told: OPENED } } as MessageEvent);
    expect(await again).toEqual(OPENED);
  });
});
