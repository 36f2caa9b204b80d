// @vitest-environment happy-dom
/** Getting a kit in, on the screens: over a server in memory that reads intakes. */
import axe from "axe-core";
import { signal } from "@preact/signals";
import { type ComponentChildren, render } from "preact";
import { LocationProvider } from "preact-iso";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { openHttp } from "../src/net/http";
import AddToKit from "../src/screens/kit-add";
import IntakeScreen from "../src/screens/intake";
import Waiting from "../src/screens/intake/waiting";
import NewKit from "../src/screens/kit-new";
import { SyncIntakes } from "../src/sync/intakes";
import { BenchContext } from "../src/ui/bench-context";
import { SayRegion } from "../src/ui/say";
import { BUILD, KIT, kitRows } from "./bench-kit";
import { fakeBench, type FakeBench } from "./fake-bench";
import { FakeIntakes, finding } from "./fake-intakes";

let root: HTMLElement;
let server: FakeIntakes;
let bench: FakeBench;
/** Until what was asked of the server in memory is on the screen, and at least `ms`. */
async function rest(ms = 40): Promise<void> {
  await new Promise((done) => setTimeout(done, ms));
  for (let turn = 0; turn < 50 && root.textContent?.includes("Asking the server…"); turn += 1) {
    await new Promise((done) => setTimeout(done, 40));
  }
}

beforeEach(() => {
  root = document.createElement("main");
  document.body.append(root);
  history.replaceState(null, "", "/");
  HTMLDialogElement.prototype.showModal ??= function (this: HTMLDialogElement) {
    this.open = true;
  };
  server = new FakeIntakes();
  bench = fakeBench(kitRows());
  const intakes = new SyncIntakes({
    http: openHttp((input, init) => server.fetch(String(input), init ?? {})),
    world: { visible: () => true, watch: () => () => undefined, later: () => () => undefined },
    workshop: () => null,
    exchange: () => bench.courier.exchange(),
    load: (kit) => bench.store.load(kit),
    lost: () => undefined,
  });
  bench.intakes = () => Promise.resolve(intakes);
});
afterEach(() => {
  render(null, root);
  root.remove();
  vi.restoreAllMocks();
});

async function open(screen: ComponentChildren): Promise<void> {
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
const maybe = (name: string): HTMLElement | undefined =>
  [...root.querySelectorAll<HTMLElement>("button, a")].find(
    (one) => (one.getAttribute("aria-label") ?? one.textContent ?? "").trim() === name,
  );
const button = (name: string): HTMLElement => {
  const found = maybe(name);
  if (!found) throw new Error(`No "${name}" in: ${text()}`);
  return found;
};
const tap = async (name: string): Promise<void> => {
  button(name).click();
  await rest();
};
const field = (name: string): HTMLInputElement => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.startsWith(name));
  const input = label && document.getElementById(label.getAttribute("for") ?? "");
  if (!input) throw new Error(`No field "${name}" in: ${text()}`);
  return input as HTMLInputElement;
};
const type = async (name: string, value: string, event = "input"): Promise<void> => {
  field(name).value = value;
  field(name).dispatchEvent(new Event(event, { bubbles: true }));
  await rest();
};
const way = async (name: string): Promise<void> => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.startsWith(name));
  label!.querySelector("input")!.click();
  await rest();
};
const choose = async (file: File): Promise<void> => {
  const input = root.querySelector<HTMLInputElement>('input[type="file"]')!;
  Object.defineProperty(input, "files", { configurable: true, value: [file] });
  input.dispatchEvent(new Event("change", { bubbles: true }));
  await rest();
};
const posts = (part: string) =>
  server.seen.filter((one) => one.method === "POST" && one.path.endsWith(part)).map((one) => one.body);
/** Colours need a real browser: tests/browser does those. */
const rules = { rules: { "color-contrast": { enabled: false }, region: { enabled: false } } };
async function accessible(): Promise<void> {
  const { violations } = await axe.run(root, rules);
  expect(violations.map((one) => [one.id, one.nodes.map((node) => node.html)])).toEqual([]);
}

const PDF = (name = "Tarn 6 manual.pdf") => new File(["%PDF-1.7 "], name, { type: "application/pdf" });
const intake = <IntakeScreen intake="i1" />;

describe("Start a kit", () => {
  it("has four ways, each told in a line, and keeps the one that was chosen", async () => {
    await open(<NewKit />);
    const ways = [...root.querySelectorAll(".ways label")].map((one) => one.textContent ?? "");
    expect(ways.map((one) => one.split("  ")[0])).toHaveLength(4);
    expect(field("Steps")).toBeTruthy();
    await accessible();
    for (const name of ["From a table", "From a copied list", "From the manual as PDF"]) {
      await way(name);
      await accessible();
    }
    expect(button("Choose the PDF")).toBeTruthy();
    render(null, root);
    await open(<NewKit />);
    expect(button("Choose the PDF")).toBeTruthy();
  });

  it("suggests which bag serves which steps, and takes no suggestion unasked", async () => {
    await open(<NewKit />);
    await type("Steps", "1.1-1.3, 2.1-2.2");
    await type("Bags", "1-2");
    expect(text()).toContain("no steps yet");
    await tap("Suggest it by the numbers");
    expect(field("Which bag serves").value).toBe("bag 1: 1.1-1.3\nbag 2: 2.1-2.2");
    expect(text()).toContain("steps 2.1-2.2");
    expect(maybe("Suggest it by the numbers")).toBeUndefined();
  });

  it("sends a chosen file at once and goes to where it is looked through", async () => {
    await open(<NewKit />);
    await way("From the manual as PDF");
    await choose(PDF());
    expect(server.seen.at(-1)?.path).toBe("/api/intakes?kind=manual&name=Tarn+6+manual.pdf");
    expect(location.pathname).toBe("/intakes/i1");
  });

  it("tells at once that a file is plainly another kind, and reads it as that with a tap", async () => {
    await open(<NewKit />);
    await way("From a table");
    server.seen.length = 0;
    await choose(PDF());
    expect(text()).toContain("Tarn 6 manual.pdf is a PDF, and no table");
    expect(server.seen).toEqual([]);
    await tap("Read it as the manual");
    expect(server.seen[0]?.path).toContain("kind=manual");
  });

  it("reads a file that is dropped as what it is", async () => {
    await open(<NewKit />);
    const drop = new Event("drop", { cancelable: true }) as DragEvent;
    Object.assign(drop, { dataTransfer: { types: ["Files"], files: [PDF()] } });
    dispatchEvent(drop);
    await rest();
    expect(drop.defaultPrevented).toBe(true);
    expect(server.seen.at(-1)?.path).toContain("kind=manual");
  });

  it("keeps a pasted list while the server is out of reach, and says so", async () => {
    server.online = false;
    await open(<NewKit />);
    await way("From a copied list");
    await tap("Read it");
    expect(text()).toContain("Paste or type at least one line");
    await type("The list", "Bag 3: 4x M3x12");
    await tap("Read it");
    expect(text()).toContain("What you pasted is kept on this device");
    render(null, root);
    await open(<NewKit />);
    expect(field("The list").value).toBe("Bag 3: 4x M3x12");
    server.online = true;
    await tap("Read it");
    expect(location.pathname).toBe("/intakes/i1");
    expect(bench.jotter.read("intake.text.new")).toBeUndefined();
  });

  it("remembers which file could not be sent, and sends it again with a tap", async () => {
    server.online = false;
    await open(<NewKit />);
    await way("From the manual as PDF");
    await choose(PDF());
    expect(text()).toContain("Tarn 6 manual.pdf could not be sent");
    render(null, root);
    await open(<NewKit />);
    expect(text()).toContain("Last time it was Tarn 6 manual.pdf");
    await choose(PDF());
    server.online = true;
    await tap("Send Tarn 6 manual.pdf again");
    expect(location.pathname).toBe("/intakes/i1");
  });

  it("says that these ways need the server before anything is chosen", async () => {
    const state = signal({ ...bench.courier.state.value, server: "unreachable" as const });
    bench.courier = { ...bench.courier, state };
    await open(<NewKit />);
    expect(text()).not.toContain("This way needs the server");
    await way("From a table");
    expect(text()).toContain("This way needs the server");
  });

  it("sends for the kit that more is added to", async () => {
    await open(<AddToKit kit={KIT} />);
    await accessible();
    expect(text()).not.toContain("From the manual's numbers");
    await choose(new File(["a;b\n"], "bags.csv"));
    expect(server.seen.at(-1)?.path).toContain(`kit=${KIT}`);
  });
});

describe("what is on its way in", () => {
  it("is listed with where it stands", async () => {
    Object.assign(server.intake, { kind: "manual", name: "Manual.pdf", state: "reading", done: 42, total: 120 });
    await open(<Waiting />);
    await vi.waitFor(() => expect(text()).toContain("Manual.pdf: page 42 of 120"));
    expect(root.querySelector("a")?.getAttribute("href")).toBe("/intakes/i1");
    await accessible();
    render(null, root);
    Object.assign(server.intake, { state: "ready" });
    await open(<Waiting />);
    await vi.waitFor(() => expect(text()).toContain("Manual.pdf: waits for you"));
  });
});

describe("an intake", () => {
  it("that is read shows how far it is, and can be stopped", async () => {
    Object.assign(server.intake, { kind: "manual", name: "Manual.pdf", state: "reading", done: 42, total: 120 });
    await open(intake);
    expect(text()).toContain("42 of 120 pages read");
    await accessible();
    await tap("Stop");
    expect(posts("/stop")).toHaveLength(1);
    expect(text()).toContain("Stopped after 42 of 120");
    await tap("Read on");
    expect(text()).toContain("42 of 120 pages read");
  });

  it("that failed says why in the server's words, and what to do", async () => {
    Object.assign(server.intake, {
      kind: "manual", state: "failed",
      problem: { type: "/api/problems/locked", title: "This PDF is locked", detail: "Save a copy without a password." },
    });
    await open(intake);
    expect(text()).toContain("This PDF is locked");
    expect(text()).toContain("Save a copy without a password.");
    await accessible();
    await tap("Try once more");
    expect(posts("/resume")).toHaveLength(1);
  });

  it("that is gone, or cannot be asked for, says so", async () => {
    await open(<IntakeScreen intake="i2" />);
    expect(text()).toContain("This is not on its way in any more");
    render(null, root);
    server.online = false;
    await open(intake);
    expect(text()).toContain("the server cannot be reached just now");
    server.online = true;
    await tap("Try again");
    expect(text()).toContain("Nothing was found");
  });

  it("is thrown away only after asking", async () => {
    await open(intake);
    await tap("Throw away");
    expect(server.seen.some((one) => one.method === "DELETE")).toBe(false);
    await accessible();
    await tap("Throw it away");
    expect(server.seen.at(-1)?.method).toBe("DELETE");
    expect(location.pathname).toBe("/kits/new");
  });
});

describe("a copied list", () => {
  beforeEach(() => {
    server.findings = [
      finding(1, "bag", { number: "3" }, { row: 1, text: "Bag 3" }),
      finding(2, "part_line", { quantity: 4, designation: "M3x12", bag: "3" }, { row: 2, text: "4x M3x12", sure: 0.7 }),
      finding(3, "part_line", { name: "bearing", bag: "3" }, {
        row: 3, text: "bearings 2/4", sure: 0.4,
        asks: [{ field: "quantity", says: "How many bearings?", options: [2, 4] }],
      }),
    ];
  });
  const says = (): string[] => [...root.querySelectorAll(".finding-says")].map((one) => one.textContent ?? "");

  it("shows each line with what it became, questions first, and takes an answer with a tap", async () => {
    await open(intake);
    expect(says()).toEqual(["? × bearing (bag 3)", "Bag 3", "4 × M3x12 (bag 3)"]);
    expect(text()).toContain("line 2: 4x M3x12");
    expect(text()).toContain("likely");
    await accessible();
    await tap("4");
    expect(posts("/findings")).toEqual([
      { changed: [{ id: 3, values: { name: "bearing", bag: "3", quantity: 4 } }] },
    ]);
    expect(says()[0]).toBe("4 × bearing (bag 3)");
    expect(text()).toContain("said by you");
    expect(text()).toContain("1 bag, 2 part lines");
    // Taken back, it asks again.
    await tap("Undo the last correction");
    expect(says()[0]).toBe("? × bearing (bag 3)");
    expect(text()).toContain("How many bearings?");
    expect(text()).toContain("1 finding asks something");
  });

  it("has a line changed, left out, and the last correction taken back", async () => {
    await open(intake);
    [...root.querySelectorAll<HTMLElement>(".finding-head")].at(-1)!.click();
    await rest();
    const panel = [...root.querySelectorAll(".finding.is-open")].at(-1)!;
    const input = panel.querySelector<HTMLInputElement>("input")!;
    input.value = "x";
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await rest();
    expect(panel.textContent).toContain("Write a whole number");
    input.value = "6";
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await rest();
    [...panel.querySelectorAll("button")].find((one) => one.textContent === "Keep")!.click();
    await rest();
    expect(says().at(-1)).toBe("6 × M3x12 (bag 3)");
    const out = [...panel.querySelectorAll("button")].find((one) => one.textContent === "Leave out")!;
    out.click();
    await rest();
    expect(server.findings[1]?.left_out).toBe(true);
    expect(text()).toContain("left out");
    await tap("Undo the last correction");
    await tap("Undo the last correction");
    expect(server.findings[1]).toMatchObject({ left_out: false, values: { quantity: 4 } });
    expect(maybe("Undo the last correction")).toBeUndefined();
  });

  it("says so when a correction cannot be sent, and changes nothing", async () => {
    await open(intake);
    server.online = false;
    await tap("2");
    expect(text()).toContain("Not corrected: the server cannot be reached");
    expect(says()[0]).toBe("? × bearing (bag 3)");
  });

  it("is taken in under a name that stands there, and says what was left and where to go on", async () => {
    server.taken = { kit: KIT, build: "b1", made: { bag: 1, part_line: 1 }, changed: {}, clashes: 1, left: 1 };
    const exchange = vi.spyOn(bench.courier, "exchange");
    await open(intake);
    await tap("Take it in");
    expect(field("Name of the kit").value).toBe("My kit");
    expect(text()).toContain("1 finding still asks and is left out");
    await accessible();
    [...root.querySelectorAll<HTMLElement>("dialog .big-button")].at(-1)!.click();
    await rest();
    expect(posts("/take")).toEqual([{ name: "My kit" }]);
    expect(exchange).toHaveBeenCalled();
    expect(text()).toContain("New: 1 bag, 1 part line.");
    expect(text()).toContain("1 finding was left out");
    expect(text()).toContain("Both are kept");
    expect(button("Print the labels").getAttribute("href")).toBe(`/kits/${KIT}/labels`);
    await accessible();
  });
});

describe("an intake that was taken in", () => {
  const href = (name: string): string | null => button(name).getAttribute("href");

  it("says so when it is opened again, with the ways on to what came of it", async () => {
    Object.assign(server.intake, { state: "taken", kit: KIT });
    await open(intake);
    expect(text()).toContain("Tarn 6 is on your bench");
    expect(href("Print the labels")).toBe(`/kits/${KIT}/labels`);
    expect(href("To the path")).toBe(`/builds/${BUILD}`);
    expect(href("To the kit")).toBe(`/kits/${KIT}`);
    await accessible();
  });

  it("leads to the newest build of its kit", async () => {
    const later = "00000000-0000-4000-8000-0000000000b2";
    const about = { kit: KIT, name: "Second build", started_at: "2026-05-04T18:00:00.000Z" };
    await bench.store.write([{ type: "build", id: later, set: about }]);
    Object.assign(server.intake, { state: "taken", kit: KIT });
    await open(intake);
    expect(href("To the path")).toBe(`/builds/${later}`);
  });

  it("leads on to Builds if its kit is not there any more", async () => {
    Object.assign(server.intake, { state: "taken", kit: "00000000-0000-4000-8000-0000000000ff" });
    await open(intake);
    expect(text()).toContain("Its kit is not on this device");
    expect(href("To Builds")).toBe("/");
    expect(maybe("To the kit")).toBeUndefined();
    await accessible();
  });
});

describe("a table", () => {
  beforeEach(() => {
    Object.assign(server.intake, {
      kind: "table", name: "parts.csv",
      layout: {
        sheets: ["A", "B"], sheet: "A", heading_row: 1, delimiter: ";", encoding: "utf-8", decimal: ".", rows: 3,
        remembered: true,
        columns: [
          { at: 0, heading: "Bag", samples: ["1", "2"], field: "bag.number", sure: 1 },
          { at: 1, heading: "", samples: [], field: null, sure: 0.2 },
        ],
      },
    });
    server.findings = [finding(1, "bag", { number: "1" }, { row: 2 })];
    server.unfit = Array.from({ length: 60 }, (_, at) => ({
      file: "parts.csv", sheet: "A", row: at + 2, column: "Qty", text: "four", reason: "This is no whole number.",
    }));
  });

  it("shows its columns, what they are taken for, and what would come in", async () => {
    await open(intake);
    expect(field("“Bag” is taken for").value).toBe("bag.number");
    expect(field("Column B, without a heading, is taken for").value).toBe("");
    expect(text()).toContain("Read as you set it for an earlier file of this shape");
    expect(text()).toContain("for example 1 · 2");
    expect(text()).toContain("please look");
    await accessible();
  });

  it("is read anew with other columns only when somebody says so", async () => {
    await open(intake);
    await type("Column B, without a heading, is taken for", "part.name", "change");
    expect(posts("/layout")).toEqual([]);
    expect(maybe("Take it in")).toBeUndefined();
    await type("Row with the headings", "x");
    expect(button("Read it anew").getAttribute("aria-disabled")).toBe("true");
    await type("Row with the headings", "2");
    await tap("Read it anew");
    expect(posts("/layout")).toEqual([{ columns: ["bag.number", "part.name"], heading_row: 2 }]);
    expect(button("Take it in1 bag")).toBeTruthy();
  });

  it("lists what does not fit, page after page, and copies all of it", async () => {
    const copied: string[] = [];
    Object.defineProperty(navigator, "clipboard", {
      configurable: true, value: { writeText: (what: string) => (copied.push(what), Promise.resolve()) },
    });
    await open(intake);
    expect(text()).toContain("60 things do not fit");
    expect(root.querySelectorAll(".unfit li")).toHaveLength(50);
    expect(text()).toContain("A, row 2, column Qty“four”This is no whole number.");
    await tap("Copy as text");
    expect(copied[0]?.split("\n")).toHaveLength(60);
    expect(copied[0]?.split("\n")[0]).toBe("parts.csv\tA, row 2, column Qty\tfour\tThis is no whole number.");
    await tap("Show 10 more");
    expect(root.querySelectorAll(".unfit li")).toHaveLength(60);
  });
});

describe("a manual", () => {
  const page = (number: number, more = {}) => ({
    number, blob: "ab", width_px: 1000, height_px: 1000, has_text: true, steps: 1, asking: 0, problem: null, ...more,
  });
  beforeEach(() => {
    Object.assign(server.intake, { kind: "manual", name: "Tarn 6 manual.pdf" });
    server.pages = [
      page(1),
      page(2, { asking: 1 }),
      page(3, { has_text: false, steps: 0 }),
      page(4, { blob: null, steps: 0, problem: { type: "x", title: "This page is broken", detail: "Its picture cannot be drawn." } }),
    ];
    server.findings = [
      finding(1, "step", { number: "1.1", title: "Hub" }, { page: 1, frame: [0, 0, 1, 0.5] }),
      finding(2, "step", { number: "1.2", title: "Arm", section: "Axle" }, { page: 2, frame: [0, 0, 1, 0.5], sure: 0.7 }),
      finding(3, "part_line", { step: "1.2", name: "screw" }, {
        page: 2, frame: [0.1, 0.1, 0.2, 0.05], text: "2/4 x screw", sure: 0.3,
        asks: [{ field: "quantity", says: "How many?", options: [2, 4] }],
      }),
    ];
  });

  it("shows the pages that are read while it is being read, and where one could not be", async () => {
    Object.assign(server.intake, { state: "reading", done: 4, total: 120 });
    await open(intake);
    const row = root.querySelector('[aria-label="Pages read so far"]')!;
    await vi.waitFor(() => expect(row.querySelectorAll("li")).toHaveLength(4));
    expect(row.querySelector('[aria-label="4: could not be read"]')).toBeTruthy();
    await accessible();
  });

  it("has the place of its pages from the beginning", async () => {
    Object.assign(server.intake, { state: "reading", done: 0, total: 0 });
    await open(intake);
    expect(root.querySelector(".so-far")).toBeTruthy();
    expect(server.seen.filter((one) => one.path.endsWith("/pages"))).toEqual([]);
    await accessible();
  });

  it("has all that asks nothing on a page called right at once, and that taken back as one", async () => {
    server.findings.push(
      finding(4, "part_line", { step: "1.2", name: "pin", quantity: 2 }, { page: 2, frame: [0.1, 0.2, 0.2, 0.05], sure: 0.4 }),
      finding(5, "operation", { step: "1.2", text: "Press it in." }, { page: 2, frame: [0.1, 0.3, 0.2, 0.05] }),
      finding(6, "bag", { number: "3" }, { page: 2, sure: 0.4, left_out: true }),
    );
    const before = structuredClone(server.findings);
    await open(intake);
    await tap("All right on this page (2)");
    expect(posts("/findings")).toEqual([
      { changed: [2, 4].map((id) => ({ id, values: before[id - 1]!.values })) },
    ]);
    await vi.waitFor(() => expect(text()).toContain("2 findings called right"));
    expect(server.findings.filter((one) => one.corrected).map((one) => one.id)).toEqual([2, 4]);
    // What asks still asks, and there is nothing more to call right.
    await vi.waitFor(() => expect(text()).not.toContain("All right on this page"));
    expect(text()).toContain("1 finding asks something");
    await accessible();
    await tap("Undo the last correction");
    await vi.waitFor(() => expect(button("All right on this page (2)")).toBeTruthy());
    expect(server.findings).toEqual(before);
    expect(maybe("Undo the last correction")).toBeUndefined();
  });

  it("begins with the first page that asks, and shows how sure the reader is", async () => {
    await open(intake);
    expect(field("Page 2 of 4").value).toBe("2");
    expect(text()).toContain("Step 1.2 · Arm");
    expect(root.querySelectorAll(".frame")).toHaveLength(2);
    expect(text()).toContain("please look");
    await accessible();
    await tap("Next that asks (1)");
    expect(root.querySelector(".finding.is-open .finding-says")?.textContent).toBe("? × screw (step 1.2)");
    await accessible();
    await tap("4");
    expect(server.findings[2]?.values).toEqual({ step: "1.2", name: "screw", quantity: 4 });
  });

  it("turns its pages, says why one could not be read, and comes back to where it was", async () => {
    await open(intake);
    await tap("Next page");
    expect(text()).toContain("This page is a picture without text");
    await tap("Next page");
    expect(text()).toContain("This page is broken");
    expect(text()).toContain("There is no picture of this page");
    await accessible();
    render(null, root);
    await open(intake);
    expect(field("Page 4 of 4").value).toBe("4");
  });

  it("has a step added by a frame, with the next number, and that taken back", async () => {
    await open(intake);
    await tap("Next page");
    await tap("Add a step");
    root.querySelector(".frame-canvas")!.dispatchEvent(new MouseEvent("click", { detail: 0, bubbles: true }));
    await rest();
    expect(posts("/findings")).toEqual([
      { added: [{ what: "step", page: 3, frame: [0.25, 0.375, 0.5, 0.25], values: { number: "1.3", section: "Axle" } }] },
    ]);
    expect(root.querySelector(".finding.is-open .finding-says")?.textContent).toBe("Step 1.3");
    await accessible();
    await tap("Undo the last correction");
    expect(server.findings[3]?.left_out).toBe(true);
  });

  it("has a frame moved by keys, and sends it once", async () => {
    await open(intake);
    [...root.querySelectorAll<HTMLElement>(".finding-head")][0]!.click();
    await rest();
    const frame = button("Step 1.2 · Arm: bottom right corner of its frame");
    for (let presses = 0; presses < 3; presses += 1) {
      frame.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowDown", bubbles: true }));
      await rest();
    }
    expect(posts("/findings")).toEqual([]);
    await rest(700);
    expect(posts("/findings")).toEqual([{ changed: [{ id: 2, frame: [0, 0, 1, 0.515] }] }]);
  });

  it("keeps its pages as pictures unless told not to, and is named after its file", async () => {
    await open(intake);
    await tap("Take it in");
    expect(field("Name of the kit").value).toBe("Tarn 6");
    root.querySelector<HTMLInputElement>('dialog input[type="checkbox"]')!.click();
    await rest();
    [...root.querySelectorAll<HTMLElement>("dialog .big-button")].at(-1)!.click();
    await rest();
    expect(posts("/take")).toEqual([{ name: "Tarn 6", pages: false }]);
  });
});
