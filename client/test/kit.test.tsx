// @vitest-environment happy-dom
/** Kit, Kit step and Kit table over a bench in memory: what each tap, key and paste saves. */
import axe from "axe-core";
import { type ComponentChildren, render } from "preact";
import { LocationProvider } from "preact-iso";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { StorageFailure } from "../src/db/failure";
import Kit from "../src/screens/kit";
import KitStep from "../src/screens/kit-step";
import KitTable from "../src/screens/kit-table";
import Path from "../src/screens/path";
import { BenchContext } from "../src/ui/bench-context";
import { SayRegion } from "../src/ui/say";
import { BAG, BUILD, DIMENSION, KIT, LINE, OP1, OP2, STEP1, STEP2, STEP3, id, kitRows } from "./bench-kit";
import { type FakeBench, type Row, fakeBench } from "./fake-bench";

let root: HTMLElement;
const rest = (ms = 40): Promise<void> => new Promise((done) => setTimeout(done, ms));

beforeEach(() => {
  root = document.createElement("main");
  document.body.append(root);
  document.documentElement.lang = "en";
  HTMLDialogElement.prototype.showModal ??= function (this: HTMLDialogElement) {
    this.open = true;
  };
});
afterEach(() => {
  render(null, root);
  root.remove();
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
const kit = <Kit kit={KIT} />;
const step = <KitStep kit={KIT} step={STEP1} />;
const table = (what: string) => <KitTable kit={KIT} what={what} />;

const text = (): string => root.textContent ?? "";
const nameOf = (one: Element) =>
  (one.getAttribute("aria-label") ?? one.textContent ?? "").replace(/\s+/g, " ").trim();
const button = (name: string | RegExp): HTMLElement => {
  const all = [...root.querySelectorAll<HTMLElement>("button, a")];
  const found = all.find((one) =>
    typeof name === "string" ? nameOf(one) === name : name.test(nameOf(one)),
  );
  if (!found) throw new Error(`No "${String(name)}" among: ${all.map(nameOf).join(" | ")}`);
  return found;
};
const tap = async (name: string | RegExp): Promise<void> => {
  button(name).click();
  await rest();
};
const unfold = async (title: string): Promise<void> => {
  const found = [...root.querySelectorAll("details")].find((one) =>
    one.querySelector("summary")?.textContent?.startsWith(title),
  );
  if (!found) throw new Error(`No fold ${title} in ${text()}`);
  if (!found.open) {
    found.open = true;
    found.dispatchEvent(new Event("toggle"));
    await rest();
  }
};
const field = (name: string): HTMLInputElement => {
  const label = [...root.querySelectorAll("label")].find((one) => one.textContent?.startsWith(name));
  const input = label && document.getElementById(label.getAttribute("for") ?? "");
  if (!input) throw new Error(`No field ${name} in ${text()}`);
  return input as HTMLInputElement;
};
const typeIn = async (name: string, value: string, leave = true): Promise<void> => {
  const input = field(name);
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  await rest();
  if (leave) field(name).dispatchEvent(new FocusEvent("blur"));
  await rest();
};
const pickIn = async (name: string, value: string): Promise<void> => {
  const input = field(name);
  input.value = value;
  input.dispatchEvent(new Event("change", { bubbles: true }));
  await rest();
};
const key = async (name: string, more: KeyboardEventInit = {}): Promise<void> => {
  const at = document.activeElement ?? document.body;
  at.dispatchEvent(
    new KeyboardEvent("keydown", { key: name, bubbles: true, cancelable: true, ...more }),
  );
  await rest(20);
};
const inCell = async (value: string): Promise<void> => {
  const input = document.activeElement as HTMLTextAreaElement;
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  await rest(20);
};
const last = (bench: FakeBench) => bench.store.written.at(-1) ?? [];
const orderOf = (bench: FakeBench, type: "step" | "operation"): string[] =>
  [...bench.store.all(type)]
    .sort((a, b) => (String(a.values.order) < String(b.values.order) ? -1 : 1))
    .map((one) => one.id);

/** Rules of WCAG 2.2 A and AA that hold without a drawn page; the browser tests check the rest. */
async function clean(): Promise<void> {
  const found = await axe.run(root, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    rules: { "color-contrast": { enabled: false }, "target-size": { enabled: false } },
  });
  expect(found.violations.map(({ id: rule, nodes }) => `${rule}: ${nodes[0]?.html ?? ""}`)).toEqual([]);
}

describe("Kit", () => {
  it("is clean by axe, folded and unfolded", async () => {
    await open(fakeBench(kitRows()), kit);
    await clean();
    for (const title of ["About the kit", "Sections", "Bags", "Steps", "Parts", "What comes before", "Cautions", "Pages"]) {
      await unfold(title);
    }
    await tap(/^1\.1/);
    await clean();
  });

  it("keeps a name when the field is left, and takes it back and does it again", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("About the kit");
    await typeIn("Name", "Tarn 6 S");
    expect(bench.store.get("kit", KIT)?.values.name).toBe("Tarn 6 S");
    await tap(/^Undo:/);
    expect(bench.store.get("kit", KIT)?.values.name).toBe("Tarn 6");
    expect(text()).toContain("Taken back");
    await tap(/^Redo:/);
    expect(bench.store.get("kit", KIT)?.values.name).toBe("Tarn 6 S");
    // What is shown already is not written again.
    const writes = bench.store.written.length;
    field("Name").dispatchEvent(new FocusEvent("blur"));
    await rest();
    expect(bench.store.written.length).toBe(writes);
  });

  it("leaves what does not fit in its field, with why, over a new start", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("About the kit");
    await typeIn("Name", "  ");
    expect(bench.store.get("kit", KIT)?.values.name).toBe("Tarn 6");
    expect(text()).toContain("This cannot be empty");
    render(null, root);
    await open(bench, kit);
    expect(field("Name").value).toBe("  ");
    expect(text()).toContain("This cannot be empty");
  });

  it("adds several bags at once, each with a code of its own, behind the others", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("Bags");
    await typeIn("Add bags", "4 Gearbox\n5\tWheels", false);
    await tap("Add: Add bags");
    const bags = bench.store.all("bag").map(({ values }) => values);
    expect(bags.map(({ number, title }) => [number, title ?? ""])).toEqual([
      ["3", "Axle"],
      ["4", "Gearbox"],
      ["5", "Wheels"],
    ]);
    expect(new Set(bags.map(({ code }) => code)).size).toBe(3);
    expect(bags.every(({ code }) => /^[0-9A-Z]{8}$/.test(code ?? ""))).toBe(true);
    await tap("Undo: 2 bags added");
    expect(bench.store.all("bag")).toHaveLength(1);
  });

  it("moves a step up and down and anywhere, with one undo each", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("Steps");
    await tap(/^1\.3/);
    await tap("Up: Step 1.3");
    expect(orderOf(bench, "step")).toEqual([STEP1, STEP3, STEP2]);
    await tap("Up: Step 1.3");
    expect(orderOf(bench, "step")).toEqual([STEP3, STEP1, STEP2]);
    await tap("Undo: Step 1.3 moved");
    await tap("Undo: Step 1.3 moved");
    expect(orderOf(bench, "step")).toEqual([STEP1, STEP2, STEP3]);
  });

  it("says what hangs on a step before it goes, takes it along at one go, and brings all back", async () => {
    const note: Row = { type: "note", id: id(91), values: { build: BUILD, step: STEP1, text: "x" } };
    const bench = fakeBench([...kitRows(), note]);
    await open(bench, kit);
    await unfold("Steps");
    await tap(/^1\.1/);
    await tap("Delete: Step 1.1");
    expect(text()).toContain("With it go");
    expect(text()).toContain("2 operations");
    expect(text()).toContain("1 note");
    await tap("Delete it");
    expect(bench.store.get("step", STEP1)).toBe(undefined);
    expect(bench.store.all("operation").map((one) => one.id)).not.toContain(OP1);
    expect(bench.store.all("comes_before")).toEqual([]);
    // The parts lie in their bag still.
    expect(bench.store.get("part_line", LINE)?.values).toMatchObject({ step: null, bag: BAG });
    await tap("Undo: Step 1.1 deleted");
    expect(bench.store.get("step", STEP1)?.values.number).toBe("1.1");
    expect(bench.store.get("operation", OP1)).toBeDefined();
    expect(bench.store.all("comes_before")).toHaveLength(2);
    expect(bench.store.get("part_line", LINE)?.values.step).toBe(STEP1);
  });

  it("says of an undo what somebody else has changed since, and leaves it", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("About the kit");
    await typeIn("Maker", "Corrie Model Works");
    await bench.store.write([{ type: "kit", id: KIT, set: { maker: "Someone" } }]);
    await tap(/^Undo:/);
    expect(bench.store.get("kit", KIT)?.values.maker).toBe("Someone");
    expect(text()).toContain("Somebody else has changed");
    expect(text()).toContain("“Maker”");
  });

  it("only warns of a number that is there twice", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("Steps");
    await tap(/^1\.2/);
    await typeIn("Number", "1.1");
    expect(bench.store.get("step", STEP2)?.values.number).toBe("1.1");
    expect(text()).toContain("Another step has this number, too.");
  });

  it("shows what two devices said differently, and one tap settles it", async () => {
    const bench = fakeBench(kitRows());
    bench.store.clash("operation", OP1, {
      field: "text",
      shown: { value: "Press in the bearing", change: "a.1", stamp: "0".repeat(32) },
      others: [{ value: "Push in the bearing", change: "b.1", stamp: "0".repeat(32) }],
    });
    await open(bench, kit);
    expect(text()).toContain("Two devices said different things (1)");
    await tap(/^Push in the bearing/);
    expect(last(bench)).toEqual([{ type: "operation", id: OP1, set: { text: "Push in the bearing" } }]);
  });

  it("keeps what was typed when the storage refuses", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("About the kit");
    bench.store.failNext = new StorageFailure("full");
    await typeIn("Scale", "1:6");
    expect(text()).toContain("Not saved");
    expect(field("Scale").value).toBe("1:6");
    expect(button("Undo: nothing to take back").getAttribute("aria-disabled")).toBe("true");
  });
});

describe("Kit: cautions, pages, barcodes", () => {
  it("takes cautions for the whole kit, changes, moves and deletes them", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("Cautions for the whole kit");
    await typeIn("Add cautions", "Glue fumes: open a window.\nDo not force a thread.", false);
    await tap("Add: can hurt you: Add cautions");
    expect(last(bench).map(({ set }) => set)).toMatchObject([
      { kit: KIT, step: null, kind: "hurts", text: "Glue fumes: open a window." },
      { kit: KIT, step: null, kind: "hurts", text: "Do not force a thread." },
    ]);
    const own = () =>
      bench.store
        .all("caution")
        .filter(({ values }) => !values.step)
        .sort((a, b) => (String(a.values.order) < String(b.values.order) ? -1 : 1))
        .map(({ values }) => [values.text, values.kind]);
    await tap(/^Do not force/);
    await pickIn("Kind", "spoils");
    await tap(/^Up:/);
    expect(own()).toEqual([
      ["Do not force a thread.", "spoils"],
      ["Glue fumes: open a window.", "hurts"],
    ]);
    await clean();
    await tap(/^Delete: “Do not/);
    expect(own()).toEqual([["Glue fumes: open a window.", "hurts"]]);
    // Those of steps are not among them, and stay.
    expect(bench.store.all("caution")).toHaveLength(3);
  });

  const page = (n: number, number: string | null, order: string): Row => ({
    type: "page",
    id: id(n),
    values: { kit: KIT, number, order, blob: String(n).padStart(64, "0") },
  });

  it("lists the manual's pages with their steps; one is renamed, moved, deleted and brought back", async () => {
    const bench = fakeBench([...kitRows(), page(95, "7", "a"), page(96, null, "b")]);
    await bench.store.write([
      { type: "step", id: STEP1, set: { page: id(95), frame: [0, 0, 1, 0.5] } },
      { type: "step", id: STEP3, set: { page: id(95) } },
    ]);
    await open(bench, kit);
    await unfold("Pages of the manual");
    expect(nameOf(button(/Page 7/))).toContain("Steps 1.1 and 1.3");
    expect(nameOf(button(/Page 2/))).toContain("No step points at it");
    expect(button("Photograph a page").getAttribute("href")).toBe(`/kits/${KIT}/pages/new`);
    await tap(/Page 2/);
    await typeIn("Number", "8");
    await typeIn("Title", "Rear axle");
    expect(bench.store.get("page", id(96))?.values).toMatchObject({ number: "8", title: "Rear axle" });
    await tap(/^Up: Page 8/);
    expect(String(bench.store.get("page", id(96))?.values.order) < "a").toBe(true);
    await clean();
    await tap(/Page 7/);
    await tap("Delete: Page 7");
    expect(text()).toContain("2 steps stay and name it no more.");
    await tap("Delete it");
    expect(bench.store.get("page", id(95))).toBe(undefined);
    expect(bench.store.get("step", STEP1)?.values).toMatchObject({ page: null, frame: null });
    await tap("Undo: Page 7 deleted");
    expect(bench.store.get("step", STEP1)?.values).toMatchObject({ page: id(95), frame: [0, 0, 1, 0.5] });
    expect(bench.store.get("step", STEP3)?.values.page).toBe(id(95));
  });

  it("lists the barcodes that a bag is known by, and one is deleted and brought back", async () => {
    const taught: Row = {
      type: "barcode",
      id: id(97),
      // The example number of the GS1 General Specifications' check digit section.
      values: { kit: KIT, bag: BAG, text: "06291041500213", symbology: "ean_13" },
    };
    const bench = fakeBench([...kitRows(), taught]);
    await open(bench, kit);
    await unfold("Bags");
    await tap(/^3/);
    await tap(/6291041500213/);
    expect(text()).toContain("EAN-13");
    await clean();
    await tap(/^Delete: Barcode/);
    expect(bench.store.all("barcode")).toEqual([]);
    await tap(/^Undo: Barcode/);
    expect(bench.store.all("barcode")).toHaveLength(1);
  });
});

describe("deleting as a whole", () => {
  const built: Row[] = [
    { type: "operation_tick", id: id(91), values: { build: BUILD, step: STEP1, operation: OP1, done: true } },
    { type: "photo", id: id(92), values: { build: BUILD, blob: "1".repeat(64), taken_at: "2026-11-25T10:00:00Z" } },
    { type: "place", id: id(93), values: { build: BUILD, device: id(3), at: "2026-11-25T10:00:00Z" } },
    { type: "kit", id: id(5), values: { name: "Tarn 8" } },
    { type: "bag", id: id(6), values: { kit: id(5), number: "1", order: "a" } },
  ];
  const standing = (bench: FakeBench): number =>
    (["kit", "build", "bag", "step", "operation", "part", "part_line", "caution", "comes_before"] as const)
      .concat(["operation_tick", "photo", "place"] as never[])
      .reduce((sum, type) => sum + bench.store.all(type).length, 0);

  it("a kit with a build goes after a second tap that says so, and comes back with one Undo", async () => {
    const bench = fakeBench([...kitRows(), ...built]);
    const before = standing(bench);
    await open(bench, kit);
    await tap("Delete this kit");
    expect(text()).toContain("With the kit go 1 bag, 3 parts, 3 part lines, 3 steps, 3 operations");
    expect(text()).toContain("There is a build of this kit: Spring build.");
    expect(text()).toContain("With the build go 1 tick and 1 photo.");
    await clean();
    expect(standing(bench)).toBe(before);
    await tap("Keep it");
    expect(standing(bench)).toBe(before);
    await tap("Delete this kit");
    await tap("Delete the kit and its 1 build with 1 photo");
    expect(location.pathname).toBe("/");
    expect(bench.store.all("kit").map(({ id: one }) => one)).toEqual([id(5)]);
    // The other kit and its bag, and nothing else.
    expect(standing(bench)).toBe(2);
    expect(bench.store.removedTogether).toBe(true);
    await tap("Undo");
    expect(standing(bench)).toBe(before);
    expect(text()).toContain("Tarn 6 is back");
  });

  it("a kit of which there is no build says so", async () => {
    const bench = fakeBench(kitRows().filter(({ type }) => type !== "build"));
    await open(bench, kit);
    await tap("Delete this kit");
    expect(text()).toContain("There is no build of it.");
    await tap("Delete the kit");
    expect(standing(bench)).toBe(0);
  });

  it("a build goes from its path, with its ticks and photos, and its kit stays", async () => {
    const bench = fakeBench([...kitRows(), ...built]);
    const before = standing(bench);
    await open(bench, <Path build={BUILD} />);
    await tap("Delete this build");
    await rest(400);
    expect(text()).toContain("With the build go 1 tick and 1 photo.");
    expect(text()).toContain("The kit stays: Tarn 6");
    await clean();
    await tap("Delete the build with 1 photo");
    expect(bench.store.all("build")).toEqual([]);
    expect(standing(bench)).toBe(before - 4);
    await tap("Undo");
    expect(standing(bench)).toBe(before);
  });

  it("stays as it was when the storage refuses, and the sheet with it", async () => {
    const bench = fakeBench([...kitRows(), ...built]);
    const before = standing(bench);
    await open(bench, kit);
    await tap("Delete this kit");
    bench.store.failNext = new StorageFailure("full");
    await tap(/^Delete the kit and/);
    expect(text()).toContain("Not saved");
    expect(standing(bench)).toBe(before);
    expect(button(/^Delete the kit and/).getAttribute("aria-busy")).toBe(null);
  });
});

describe("what comes before what", () => {
  it("is added by two taps and a reason, and taken away", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, kit);
    await unfold("What comes before");
    await tap("Add an order");
    await tap("Step 1.2: Arm");
    await tap("Step 1.3: Link");
    await typeIn("Why", "the link hangs on the arm", false);
    await tap("Keep this order");
    expect(last(bench)[0]?.set).toEqual({
      kit: KIT,
      kind: "step",
      first: STEP2,
      then: STEP3,
      reason: "the link hangs on the arm",
    });
    expect(text()).toContain("Step 1.2 comes before Step 1.3");
    expect(root.querySelectorAll(".kit-chart-box")).toHaveLength(3);
    await tap(/^Step 1\.2 comes before Step 1\.3/);
    await tap("Take away: Step 1.2 before Step 1.3");
    expect(bench.store.all("comes_before")).toHaveLength(2);
    await clean();
  });

  it("is refused where it would go round, with the steps named", async () => {
    const third: Row = {
      type: "comes_before",
      id: id(73),
      values: { kit: KIT, kind: "step", first: STEP2, then: STEP3 },
    };
    const bench = fakeBench([...kitRows(), third]);
    await open(bench, kit);
    await unfold("What comes before");
    await tap("Add an order");
    await tap("Step 1.3: Link");
    await tap("Step 1.1: Hub");
    expect(text()).toContain("Step 1.3 cannot come before Step 1.1");
    expect(text()).toContain("Step 1.1 → Step 1.2 → Step 1.3");
    expect(bench.store.written).toEqual([]);
  });

  it("that goes round already is told, with a way to take a pair away", async () => {
    const back: Row = {
      type: "comes_before",
      id: id(73),
      values: { kit: KIT, kind: "step", first: STEP2, then: STEP1 },
    };
    const bench = fakeBench([...kitRows(), back]);
    await open(bench, kit);
    await unfold("What comes before");
    expect(text()).toContain("These wait for each other");
    await tap("Take away: Step 1.2 before Step 1.1");
    expect(text()).not.toContain("These wait for each other");
  });
});

describe("Kit step", () => {
  it("is clean by axe with everything unfolded", async () => {
    await open(fakeBench(kitRows()), step);
    for (const title of ["Parts", "Joints", "Dimensions", "Choices", "Cautions", "What comes", "Figure"]) {
      await unfold(title);
    }
    await clean();
  });

  it("takes operations a line each, pasted at one go", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    await typeIn("Add operations", "Turn it over\r\n\r\nFit the seal\n", false);
    await tap("Add: Add operations");
    expect(last(bench).map(({ set }) => (set as { text: string }).text)).toEqual([
      "Turn it over",
      "Fit the seal",
    ]);
    expect(orderOf(bench, "operation").indexOf(OP2)).toBeLessThan(3);
    expect(text()).toContain("Fit the seal");
    await tap("Undo: 2 operations added");
    expect(text()).not.toContain("Fit the seal");
  });

  it("takes dimensions with a comma, and says why one does not fit", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    await unfold("Dimensions");
    await tap(/^Length of the link/);
    await typeIn("Target", "112,35");
    expect(bench.store.get("dimension", DIMENSION)?.values.target).toBe(112.35);
    await typeIn("Plus", "a bit");
    expect(text()).toContain("Write a number");
    expect(field("Plus").value).toBe("a bit");
    expect(bench.store.get("dimension", DIMENSION)?.values.plus).toBe(0.3);
  });

  it("shows and takes lengths in inches where the workshop has them: 1 inch = 25.4 mm", async () => {
    const shop: Row = { type: "workshop", id: id(99), values: { name: "Shed", units: "inch" } };
    const bench = fakeBench([...kitRows(), shop]);
    await open(bench, step);
    await unfold("Dimensions");
    await tap(/^Length of the link/);
    expect(field("Target").value).toBe("4.4094");
    await typeIn("Target", "4.5");
    expect(bench.store.get("dimension", DIMENSION)?.values.target).toBe(114.3);
  });

  it("keeps joints, bags and cautions at a tap", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, step);
    await unfold("Joints");
    await tap(/^4 × M3x12/);
    await pickIn("Thread-locking", "use");
    await pickIn("Into", "");
    await tap("Snug: stop when it touches");
    await typeIn("Torque", "1,2");
    expect(bench.store.get("joint", id(62))?.values).toMatchObject({
      thread_lock: "use",
      into: null,
      snug: true,
      torque_nm: 1.2,
    });
    await unfold("Cautions");
    await typeIn("Add cautions", "Mind the edge.", false);
    await tap("Add: can hurt you: Add cautions");
    expect(last(bench)[0]?.set).toMatchObject({ kind: "hurts", text: "Mind the edge.", step: STEP1 });
    await tap("Bag 3: Axle");
    expect(bench.store.get("step", STEP1)?.values.bags).toEqual([]);
  });

  it("moves the frame with the arrow keys and keeps it as fractions", async () => {
    const page: Row = { type: "page", id: id(95), values: { kit: KIT, number: "7", blob: "0".repeat(64) } };
    const bench = fakeBench([...kitRows(), page]);
    await open(bench, step);
    await unfold("Figure");
    await pickIn("Page of the manual", id(95));
    expect(bench.store.get("step", STEP1)?.values.page).toBe(id(95));
    expect(text()).toContain("The whole page is shown");
    // By the keyboard alone: half the page wide about its middle, then moved from there.
    await tap("Draw the frame");
    expect(document.activeElement?.className).toBe("frame-canvas");
    await tap(/^Draw a frame: press and drag/);
    expect(bench.store.get("step", STEP1)?.values.frame).toEqual([0.25, 0.375, 0.5, 0.25]);
    button("Frame of step 1.1: move it with the arrow keys").focus();
    await key("ArrowLeft", { shiftKey: true });
    await key("ArrowLeft");
    button(/^Frame of step 1\.1: lower right corner/).focus();
    await key("ArrowDown", { shiftKey: true });
    expect(text()).toContain("22 % from the left");
    const writes = bench.store.written.length;
    await rest(800);
    // Kept once, when it has rested.
    expect(bench.store.written.length).toBe(writes + 1);
    expect(bench.store.get("step", STEP1)?.values.frame).toEqual([0.22, 0.375, 0.5, 0.275]);
    await clean();
    await tap("Take the whole page");
    expect(bench.store.get("step", STEP1)?.values.frame).toBe(null);
    await tap(/^Undo: Frame/);
    expect(bench.store.get("step", STEP1)?.values.frame).toEqual([0.22, 0.375, 0.5, 0.275]);
  });

  it("keeps a frame that was moved just before the screen was left", async () => {
    const page: Row = { type: "page", id: id(95), values: { kit: KIT, number: "7", blob: "0".repeat(64) } };
    const bench = fakeBench([...kitRows(), page]);
    await bench.store.write([
      { type: "step", id: STEP1, set: { page: id(95), frame: [0.1, 0.1, 0.5, 0.5] } },
    ]);
    await open(bench, step);
    await unfold("Figure");
    button("Frame of step 1.1: move it with the arrow keys").focus();
    await key("ArrowRight", { shiftKey: true });
    render(null, root);
    await rest();
    expect(bench.store.get("step", STEP1)?.values.frame).toEqual([0.125, 0.1, 0.5, 0.5]);
  });
});

describe("Kit table", () => {
  const cell = (row: number, column: number): HTMLElement =>
    root.querySelector<HTMLElement>(
      `[aria-rowindex="${row + 1}"] > [aria-colindex="${column + 1}"]`,
    )!;
  const grid = (): HTMLElement => root.querySelector<HTMLElement>('[role="grid"]')!;
  const paste = async (pasted: string): Promise<void> => {
    const event = new Event("paste", { bubbles: true, cancelable: true });
    Object.defineProperty(event, "clipboardData", { value: { getData: () => pasted } });
    grid().dispatchEvent(event);
    await rest();
  };
  const at = async (row: number, column: number): Promise<void> => {
    cell(row, column).click();
    await rest();
  };

  it("is a grid by the ARIA practices: counts, indexes, one cell that can be tabbed to", async () => {
    await open(fakeBench(kitRows()), table("steps"));
    expect(grid().getAttribute("aria-rowcount")).toBe("5");
    expect(grid().getAttribute("aria-colcount")).toBe("7");
    expect(grid().querySelectorAll('[tabindex="0"]')).toHaveLength(1);
    expect(grid().querySelector('[tabindex="0"]')?.textContent).toBe("1.1");
    await clean();
  });

  it("goes by the arrow keys, edits by Enter and typing, and goes on by Tab and Enter", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("steps"));
    await at(1, 1);
    await key("ArrowRight");
    expect(document.activeElement).toBe(cell(1, 2));
    await key("Enter");
    await inCell("Hub and bearing");
    await key("Tab");
    expect(bench.store.get("step", STEP1)?.values.title).toBe("Hub and bearing");
    expect(document.activeElement).toBe(cell(1, 3));
    await key("End");
    await key("ArrowLeft");
    await key("3");
    await inCell("32,5");
    await key("Enter");
    expect(bench.store.get("step", STEP1)?.values.minutes).toBe(32.5);
    expect(document.activeElement).toBe(cell(2, 5));
    await key("x");
    await key("Escape");
    expect(bench.store.get("step", STEP2)?.values.minutes).toBe(undefined);
    await key("z", { ctrlKey: true });
    await key("z", { ctrlKey: true });
    expect(bench.store.get("step", STEP1)?.values.title).toBe("Hub");
    await key("y", { ctrlKey: true });
    expect(bench.store.get("step", STEP1)?.values.title).toBe("Hub and bearing");
  });

  it("leaves in its cell what does not fit, and says where and why", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("steps"));
    await at(2, 5);
    await key("Enter");
    await inCell("half an hour");
    await key("Enter");
    expect(text()).toContain("Row 2, Minutes: Write a number");
    (document.activeElement as HTMLElement).blur();
    await rest();
    expect(cell(2, 5).textContent).toBe("half an hour");
    expect(cell(2, 5).getAttribute("aria-invalid")).toBe("true");
    expect(bench.store.written).toEqual([]);
    await tap("Take the old value");
    expect(cell(2, 5).textContent).toBe("");
    expect(cell(2, 5).getAttribute("aria-invalid")).toBe(null);
  });

  it("takes a paste, changes rows and appends as many as are needed, as one edit", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("steps"));
    await at(3, 1);
    await paste("1.3\tLink rods\t\t3\t12,5\r\n1.4\tWheel\t\t\t\r\n1.5\tBody\t\t3\t40\r\n");
    const steps = bench.store.all("step").map(({ values }) => values);
    expect(steps.map(({ number, title, minutes }) => [number, title, minutes ?? null])).toEqual([
      ["1.1", "Hub", null],
      ["1.2", "Arm", null],
      ["1.3", "Link rods", 12.5],
      ["1.4", "Wheel", null],
      ["1.5", "Body", 40],
    ]);
    expect(steps[4]?.bags).toEqual([BAG]);
    expect(grid().getAttribute("aria-rowcount")).toBe("7");
    await key("z", { ctrlKey: true });
    expect(bench.store.all("step").map(({ values }) => values.title)).toEqual(["Hub", "Arm", "Link"]);
  });

  it("writes nothing of a paste that does not fit, until it is mended or left out", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("part_lines"));
    await at(4, 1);
    const rows = "Bearing\t4\t3\nBearng\t2\t3\nPinion, 17 teeth\t1,5\t3";
    await paste(rows);
    expect(text()).toContain("2 cells do not fit; nothing is written yet");
    expect(text()).toContain("Row 5, Part");
    expect(text()).toContain("No part has this number or name.");
    expect(text()).toContain("Row 6, Quantity");
    expect(bench.store.written).toEqual([]);
    await clean();
    await typeIn("Row 5, Part", "bearing", false);
    await tap("Try again");
    expect(text()).toContain("1 cell does not fit");
    await tap("Leave 1 row out, fill in the rest");
    expect(last(bench).map(({ set }) => set)).toMatchObject([
      { part: id(81), quantity: 4, bag: BAG },
      { part: id(81), quantity: 2, bag: BAG },
    ]);
  });

  it("keeps a new row until nothing is missing", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("parts"));
    await at(4, 1);
    await key("P");
    await inCell("P-7");
    await key("Tab");
    expect(text()).toContain("Kept in the last row until Name is there, too.");
    expect(bench.store.written).toEqual([]);
    await key("W");
    await inCell("Washer");
    await key("Enter");
    expect(last(bench)[0]?.set).toEqual({ kit: KIT, number: "P-7", name: "Washer", designation: null, material: null });
    expect(grid().getAttribute("aria-rowcount")).toBe("6");
  });

  it("fills down, empties and deletes several rows at once, and copies what is chosen", async () => {
    const bench = fakeBench(kitRows());
    await open(bench, table("bags"));
    await at(2, 1);
    await paste("4\tGearbox\n5\tWheels");
    await at(1, 2);
    await key("ArrowDown", { shiftKey: true });
    await key("ArrowDown", { shiftKey: true });
    let copied = "";
    const event = new Event("copy", { bubbles: true, cancelable: true });
    Object.defineProperty(event, "clipboardData", {
      value: { setData: (_: string, data: string) => (copied = data) },
    });
    grid().dispatchEvent(event);
    await rest();
    expect(copied).toBe("Axle\nGearbox\nWheels");
    await key("d", { ctrlKey: true });
    expect(bench.store.all("bag").map(({ values }) => values.title)).toEqual(["Axle", "Axle", "Axle"]);
    await key("Delete");
    expect(bench.store.all("bag").map(({ values }) => values.title)).toEqual([null, null, null]);
    await tap("Delete 3 rows");
    expect(text()).toContain("stay and name it no more");
    await tap("Delete it");
    expect(bench.store.all("bag")).toEqual([]);
    expect(bench.store.get("part_line", LINE)?.values).toMatchObject({ bag: null, step: STEP1 });
    for (let i = 0; i < 4; i += 1) await tap(/^Undo:/);
    expect(bench.store.all("bag").map(({ values }) => values.number)).toEqual(["3"]);
    expect(bench.store.get("step", STEP1)?.values.bags).toEqual([BAG]);
  });

  it("draws only what can be seen of 2,000 rows", async () => {
    const many = Array.from({ length: 2000 }, (_, at): Row => ({
      type: "part",
      id: `00000000-0000-4000-8000-${String(500_000 + at).padStart(12, "0")}`,
      values: { kit: KIT, number: `P${at}`, name: `Part ${at}` },
    }));
    await open(fakeBench([...kitRows(), ...many]), table("parts"));
    expect(grid().getAttribute("aria-rowcount")).toBe("2005");
    expect(grid().querySelectorAll('[role="row"]').length).toBeLessThan(80);
    await at(1, 1);
    await key("End", { ctrlKey: true });
    expect(document.activeElement?.closest('[role="row"]')?.getAttribute("aria-rowindex")).toBe("2005");
    expect(grid().querySelectorAll('[role="row"]').length).toBeLessThan(80);
  });
});
