/** What scanned and typed texts come to (phone pitfall 15; codes from tests/contract/codes.json). */
import { describe, expect, it } from "vitest";
import vectors from "../../tests/contract/codes.json";
import type { RecordFields, RecordType } from "../src/core/records";
import { resolve, type Answer, type Lookups } from "../src/scan/resolve";
import { grouped, onTheWay, oneSlipAway, typedSlip } from "../src/scan/typed";
import type { Symbology } from "../src/core/gtin";
import type { View } from "../src/sync/types";

const WORKSHOP = "6b0f5f0a-4a51-4c7e-9d0e-7a1d3c5b9e20";
const issued = vectors.issued
  .filter((each) => each.workshop === WORKSHOP)
  .flatMap((each) => (each.code === null ? [] : [each.code]));
const [CODE = "", OTHER = ""] = issued;
const ELSEWHERE = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5e";

type Rows = { [T in RecordType]?: Record<string, Partial<RecordFields[T]>> };

/** A store of these rows; what belongs to a kit or build can be read only once that is loaded. */
function workshop(rows: Rows): Lookups & { loaded: Set<string> } {
  const loaded = new Set<string>();
  const view = <T extends RecordType>(type: T, id: string): View<T> | undefined => {
    const all: Record<string, Partial<RecordFields[T]>> | undefined = rows[type];
    const values = all?.[id];
    return values && { type, id, values, clashes: [], deleteAsked: false, unsent: false };
  };
  const inReach = (each: View): boolean => {
    const { kit, build } = each.values as { kit?: string; build?: string };
    if (each.type === "kit" || each.type === "build") return true;
    return loaded.has(build ?? kit ?? "");
  };
  const all = <T extends RecordType>(type: T): View<T>[] =>
    Object.keys(rows[type] ?? {}).flatMap((id) => view(type, id) ?? []);
  return {
    loaded,
    load: async (scope) => void loaded.add(scope),
    get(type, id) {
      const found = view(type, id);
      return found && inReach(found) ? found : undefined;
    },
    where: (type, field, value) =>
      all(type).filter((each) => inReach(each) && each.values[field] === value),
    bagsByCode: async (code) => all("bag").filter((each) => each.values.code === code),
    bagsByBarcode: async (text) => {
      const taught = all("barcode").filter((each) => each.values.text === text);
      return all("bag").filter(({ id }) => taught.some(({ values }) => values.bag === id));
    },
  };
}

const kit = { k: { name: "Tarn 6" } };
const bag = { b4: { kit: "k", number: "4", code: CODE, order: "a4" } };
const build = { mine: { kit: "k", name: "Mine" } };
const step = (number: string, order: string, more: Partial<RecordFields["step"]> = {}) => ({
  kit: "k",
  number,
  order,
  bags: ["b4"],
  ...more,
});
type Progress = NonNullable<RecordFields["step_progress"]["state"]>;
const said = (id: string, state: Progress, of = "mine") => ({
  build: of,
  step: id,
  state,
});

const scanned = (text: string, rows: Rows): Promise<Answer> =>
  resolve({ how: "scanned", text }, workshop(rows), WORKSHOP);
const typed = (text: string, rows: Rows): Promise<Answer> =>
  resolve({ how: "typed", text }, workshop(rows), WORKSHOP);
const label = (code: string, host = "KIT.EXAMPLE:8410"): string => `https://${host}/B/${code}`;

describe("a bag's label", () => {
  const one: Rows = { kit, bag, build, step: { s1: step("1.1", "a") } };

  it("goes to the one step of its bag", async () => {
    expect(await scanned(label(CODE), one)).toMatchObject({
      kind: "step",
      bag: { id: "b4" },
      kitName: "Tarn 6",
      step: { id: "s1" },
      inBuild: { build: { id: "mine" } },
    });
  });

  it.each([
    ["another host", label(CODE, "192.168.1.20:8443")],
    ["the lower-case path", `https://kit.example/b/${CODE.toLowerCase()}`],
    ["a bare code", CODE],
    ["a bare code as printed", `${CODE.slice(0, 4)}-${CODE.slice(4)}`],
  ])("is read from %s (pitfall 15)", async (_what, text) => {
    expect(await scanned(text, one)).toMatchObject({ kind: "step", step: { id: "s1" } });
  });

  it("goes to the only step that is still open", async () => {
    const rows: Rows = {
      ...one,
      step: { s1: step("1.1", "a"), s2: step("1.2", "b"), s3: step("1.3", "c") },
      step_progress: { p1: said("s1", "done"), p3: said("s3", "left_out") },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({ kind: "step", step: { id: "s2" } });
  });

  it("offers several steps in the manual's order, the first open one ready", async () => {
    const rows: Rows = {
      ...one,
      step: {
        late: step("2.1", "c"),
        first: step("1.1", "a"),
        second: step("1.2", "b"),
        foreign: { ...step("9", "0"), bags: ["b5"] },
      },
      step_progress: { p: said("first", "done") },
    };
    const answer = await scanned(label(CODE), rows);
    if (answer.kind !== "steps") throw new Error(answer.kind);
    expect(answer.inBuild.steps.map((each) => each.step.id)).toEqual(["first", "second", "late"]);
    expect(answer.inBuild.next?.step.id).toBe("second");
    expect(answer.others).toEqual([]);
  });

  it("has the step ready that waits for nothing, or that is under way", async () => {
    const rows: Rows = {
      ...one,
      step: {
        s0: { ...step("0", "0"), bags: [] },
        s1: step("1", "a"),
        s2: step("2", "b"),
        s3: step("3", "c"),
      },
      comes_before: { c: { kit: "k", kind: "step", first: "s0", then: "s1" } },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      inBuild: { next: { step: { id: "s2" } } },
    });
    rows.step_progress = { p: said("s3", "under_way") };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      inBuild: { next: { step: { id: "s3" } } },
    });
  });

  it("knows the steps of a bag by its part lines too", async () => {
    const rows: Rows = {
      ...one,
      step: { s1: { ...step("1", "a"), bags: [] } },
      part_line: { l: { kit: "k", part: "p", quantity: 2, bag: "b4", step: "s1" } },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({ kind: "step", step: { id: "s1" } });
  });

  it("passes over a step that is held while another can be done", async () => {
    const rows: Rows = {
      ...one,
      step: { s1: step("1", "a"), s2: step("2", "b") },
      step_progress: { p: said("s1", "held") },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      inBuild: { next: { step: { id: "s2" } } },
    });
    rows.step_progress = { p: said("s1", "held"), q: said("s2", "held") };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      inBuild: { next: { step: { id: "s1" } } },
    });
  });

  it("says so when every step is done", async () => {
    const rows: Rows = {
      ...one,
      step: { s1: step("1", "a"), s2: step("2", "b") },
      step_progress: { p: said("s1", "done"), q: said("s2", "done") },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({ kind: "steps", inBuild: { next: null } });
  });

  it("answers a bag without steps, a kit without a build, and no code at all", async () => {
    expect(await scanned(label(CODE), { kit, bag, build })).toMatchObject({ kind: "noSteps" });
    expect(await scanned(label(CODE), { kit, bag })).toMatchObject({ kind: "noBuild" });
  });

  it("asks when two bags carry one code", async () => {
    const rows: Rows = {
      ...one,
      kit: { ...kit, k8: { name: "Tarn 8" } },
      bag: { ...bag, b9: { kit: "k8", number: "9", code: CODE, order: "a" } },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      kind: "bags",
      bags: [{ kitName: "Tarn 6" }, { kitName: "Tarn 8" }],
    });
  });
});

describe("which build", () => {
  const two: Rows = {
    kit,
    bag,
    build: { old: { kit: "k", name: "Old" }, late: { kit: "k", name: "Late" } },
    step: { s1: step("1", "a"), s2: step("2", "b") },
    place: {
      x: { build: "old", device: "d", at: "2026-05-01T10:00:00.000Z" },
      y: { build: "late", device: "d", at: "2026-05-02T10:00:00.000Z" },
    },
  };

  it("is the one worked on last, by place, with the others offered", async () => {
    expect(await scanned(label(CODE), two)).toMatchObject({
      kind: "steps",
      inBuild: { build: { id: "late" } },
      others: [{ build: { id: "old" } }],
    });
  });

  it("is the one worked on last, by sitting", async () => {
    const rows: Rows = {
      ...two,
      sitting: { t: { build: "old", began_at: "2026-05-03T10:00:00.000Z" } },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({ inBuild: { build: { id: "old" } } });
  });

  it("is asked even for a bag with one step: a tick in the wrong build is a nuisance", async () => {
    const rows: Rows = { ...two, step: { s1: step("1", "a") } };
    expect(await scanned(label(CODE), rows)).toMatchObject({ kind: "steps" });
  });

  it("is not a finished one while another goes on", async () => {
    const rows: Rows = {
      ...two,
      build: {
        old: { kit: "k", name: "Old" },
        late: { kit: "k", name: "Late", finished_at: "2026-05-04T10:00:00.000Z" },
      },
    };
    expect(await scanned(label(CODE), rows)).toMatchObject({
      inBuild: { build: { id: "old" } },
      others: [],
    });
  });
});

describe("what is no bag of ours", () => {
  it("tells a code of this workshop without a bag from another workshop's", async () => {
    expect(await scanned(label(OTHER), { kit, bag })).toEqual({ kind: "unknown", code: OTHER });
    expect(await resolve({ how: "scanned", text: label(CODE) }, workshop({}), ELSEWHERE)).toEqual({
      kind: "otherWorkshop",
      code: CODE,
    });
  });

  it.each([
    "https://shop.example/spare/parts?id=7",
    "WIFI:S:Workshop;T:WPA;P:secret;;",
    "javascript:alert(1)",
    `https://kit.example/elsewhere/${CODE}`,
  ])("calls %j foreign, and can be taught it", async (text) => {
    expect(await scanned(text, { kit, bag, build })).toEqual({
      kind: "foreign",
      text,
      barcode: { text, symbology: "qr" },
    });
  });

  it.each(["", "x".repeat(301)])("cannot be taught %j", async (text) => {
    expect(await scanned(text, { kit, bag, build })).toEqual({ kind: "foreign", text, barcode: null });
  });
});

/** Numbers from tests/contract/gtin.json: GS1's example, and UPC-A and UPC-E as zxing-cpp reads them. */
const EAN = "6291041500213";
const taught = (bagId: string, text: string): NonNullable<Rows["barcode"]> => ({
  [`${bagId}/${text}`]: { kit: "k", bag: bagId, text, symbology: "ean_13" },
});

describe("a maker's barcode", () => {
  const rows: Rows = {
    kit,
    bag,
    build,
    step: { s1: step("1.1", "a") },
    barcode: { ...taught("b4", `0${EAN}`), ...taught("b4", "CMW-T6-04") },
  };
  const read = (text: string, symbology: Symbology, of = rows): Promise<Answer> =>
    resolve({ how: "scanned", text, symbology }, workshop(of), WORKSHOP);

  it("goes where the label of its bag goes", async () => {
    const there = { kind: "step", bag: { id: "b4" }, step: { id: "s1" } };
    expect(await read(EAN, "ean_13")).toMatchObject(there);
    expect(await read("CMW-T6-04", "code_128")).toMatchObject(there);
    expect(await typed(EAN, rows)).toMatchObject(there);
    expect(await typed("6 291041 500213", rows)).toMatchObject(there);
  });

  it("is one number however it is spelled: UPC-E, UPC-A, EAN-13", async () => {
    const upc: Rows = { ...rows, barcode: taught("b4", "00016000005440") };
    for (const [text, kind] of [
      ["01654400", "upc_e"],
      ["0016000005440", "upc_e"],
      ["016000005440", "upc_a"],
      ["0016000005440", "upc_a"],
    ] as const) {
      expect(await read(text, kind, upc)).toMatchObject({ kind: "step" });
    }
    expect(await typed("01654400", upc)).toMatchObject({ kind: "step" });
    expect(await typed("016000005440", upc)).toMatchObject({ kind: "step" });
  });

  it("is never taken for a label of ours, nor a label for it", async () => {
    expect(await read(CODE, "code_128")).toEqual({
      kind: "foreign",
      text: CODE,
      barcode: { text: CODE, symbology: "code_128" },
    });
    const both: Rows = { ...rows, barcode: taught("b9", CODE) };
    expect(await scanned(CODE, both)).toMatchObject({ kind: "step", bag: { id: "b4" } });
  });

  it("is found although it looks like another workshop's label", async () => {
    const text = "018F3D5C";
    const like: Rows = { ...rows, barcode: taught("b4", OTHER) };
    expect(await scanned(OTHER, like)).toMatchObject({ kind: "step", bag: { id: "b4" } });
    expect(await read(text, "code_128", { ...rows, barcode: taught("b4", text) })).toMatchObject({
      kind: "step",
    });
  });

  it("that nobody knows can be taught, in its one spelling", async () => {
    expect(await read("4006381333931", "ean_13")).toEqual({
      kind: "foreign",
      text: "4006381333931",
      barcode: { text: "04006381333931", symbology: "ean_13" },
    });
    expect(await typed("400638133393 1", rows)).toEqual({
      kind: "foreign",
      text: "4006381333931",
      barcode: { text: "04006381333931", symbology: null },
    });
  });

  it("with a wrong check digit was misread, and is taught to nobody", async () => {
    expect(await read("4006381333932", "ean_13")).toMatchObject({ kind: "foreign", barcode: null });
    expect(await typed("4006381333932", rows)).toEqual({
      kind: "damaged",
      slip: { reason: "gtin" },
      meant: [],
    });
    expect(await typed("4006381333", rows)).toMatchObject({ slip: { reason: "digits", has: 10 } });
  });

  it("on several bags asks, the bag that is needed next first", async () => {
    const several: Rows = {
      ...rows,
      bag: { ...bag, b5: { kit: "k", number: "5", order: "a5" }, b6: { kit: "k", number: "6", order: "a6" } },
      step: {
        s1: step("1.1", "a"),
        s2: { ...step("1.2", "b"), bags: ["b6"] },
        s3: { ...step("1.3", "c"), bags: ["b5"] },
      },
      step_progress: { p: said("s1", "done") },
      barcode: {
        ...taught("b4", `0${EAN}`), ...taught("b5", `0${EAN}`), ...taught("b6", `0${EAN}`),
      }, // prettier-ignore
    };
    const answer = await read(EAN, "ean_13", several);
    if (answer.kind !== "barcodeBags") throw new Error(answer.kind);
    expect(answer.bags.map(({ bag: { id }, next }) => [id, next?.step.id])).toEqual([
      ["b6", "s2"],
      ["b5", "s3"],
      ["b4", undefined],
    ]);
  });
});

describe("a typed code", () => {
  const rows: Rows = { kit, bag, build, step: { s1: step("1.1", "a") } };

  it("forgives lower case, blanks, dashes and look-alikes", async () => {
    const forgiving = CODE.replaceAll("0", "o").replaceAll("1", "l").toLowerCase();
    expect(await typed(` ${forgiving.slice(0, 4)} - ${forgiving.slice(4)} `, rows)).toMatchObject({
      kind: "step",
    });
  });

  it("takes a whole address too", async () => {
    expect(await typed(label(CODE), rows)).toMatchObject({ kind: "step" });
    expect(await typed("https://shop.example/x", rows)).toMatchObject({ kind: "foreign" });
  });

  it("says which character no code has, and where", () => {
    expect(typedSlip("SR00-U000")).toEqual({ reason: "character", character: "U", at: 5 });
    expect(typedSlip("S?")).toEqual({ reason: "character", character: "?", at: 2 });
  });

  it("says how many are missing or too many", () => {
    expect(typedSlip(CODE.slice(0, 5))).toEqual({ reason: "length", has: 5, needs: 8 });
    expect(typedSlip(`${CODE}0`)).toEqual({ reason: "length", has: 9, needs: 8 });
    expect(typedSlip(CODE)).toBeNull();
  });

  it("is grouped by four while it is typed, and left alone while it is mended", () => {
    let field = "";
    for (const character of "srabkb81") field = grouped(field, field + character);
    expect(field).toBe("SRAB-KB81");
    // A character taken out of the middle: regrouping would throw the caret to the end.
    expect(grouped("SRAB-KB81", "SRA-KB81")).toBe("SRA-KB81");
    expect(grouped("SRAB-", "SRAB")).toBe("SRAB");
    expect(grouped("", "https://kit.example/B/X")).toBe("https://kit.example/B/X");
    expect(grouped("", "srab kb81")).toBe("SRAB-KB81");
    expect(grouped("6291-0415", "6291-04150")).toBe("629104150");
  });

  it("may be a barcode's digits: nothing is said while they can still become right", () => {
    let field = "";
    for (const digit of "6291041500213") {
      field = grouped(field, field + digit);
      const slip = typedSlip(field);
      expect(slip === null || onTheWay(field, slip)).toBe(true);
    }
    expect(typedSlip(field)).toBeNull();
    expect(onTheWay("6291041500214", typedSlip("6291041500214")!)).toBe(false);
  });

  it("catches every single wrong character, and knows the bag that was meant", async () => {
    // MOD 37,36 catches all single substitutions: ISO/IEC 7064.
    for (let at = 0; at < CODE.length; at += 1) {
      for (const character of "0123456789ABCDEFGHJKMNPQRSTVWXYZ") {
        if (character === CODE[at]) continue;
        const wrong = CODE.slice(0, at) + character + CODE.slice(at + 1);
        expect(typedSlip(wrong)).toEqual({ reason: "check" });
        expect(oneSlipAway(wrong)).toContain(CODE);
      }
    }
    const wrong = CODE.slice(0, 3) + (CODE[3] === "7" ? "8" : "7") + CODE.slice(4);
    expect(await typed(wrong, rows)).toMatchObject({
      kind: "damaged",
      slip: { reason: "check" },
      meant: [{ bag: { id: "b4" } }],
    });
  });
});
