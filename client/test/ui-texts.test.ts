/** The pure parts of the screens: what the strip says, what is typed and what becomes of it. */
import { describe, expect, test } from "vitest";
import { checkCharacter, sameWorkshop } from "../src/core/codes";
import { parseOutline } from "../src/core/outline";
import { asRanges, kitFromOutline, withBagLine } from "../src/screens/kit/from-outline";
import { offsetOf, startOf } from "../src/screens/labels";
import { codeInAddress } from "../src/screens/pair";
import { stampMs } from "../src/ui/clash";
import { stripText } from "../src/ui/status-strip";
import { countdown, many, words } from "../src/ui/words";
import type { ExchangeState, Standing } from "../src/sync/types";
import { SESSION } from "./fake-bench";

const PAIRED: Standing = { kind: "paired", session: SESSION };
const CALM: ExchangeState = {
  server: "reached",
  unsentChanges: 0,
  unsentPhotos: 0,
  parked: [],
  quarantined: 0,
  lastExchangeAt: 1,
  refusal: null,
  storage: null,
};
const strip = (state: Partial<ExchangeState>, standing: Standing = PAIRED, waits = false) =>
  stripText({ ...CALM, ...state }, standing, waits).text;

describe("the strip", () => {
  test("says that all is sent only when the server was reached and nothing is left", () => {
    expect(strip({})).toBe(words.strip.allSent);
    expect(strip({ server: "starting" })).toBe(words.strip.starting);
    expect(strip({ unsentChanges: 1 })).toBe("1 change not yet on the server");
    expect(strip({ unsentPhotos: 2 })).toBe("2 photos only on this device");
  });

  test("failure 24, pitfall 27: what is only here is counted whatever else is wrong", () => {
    for (const server of ["unreachable", "unpaired", "tooOld"] as const) {
      const text = strip({ server, unsentChanges: 14, unsentPhotos: 1 });
      expect(text).toContain("14 changes not yet on the server");
      expect(text).toContain("1 photo only on this device");
      expect(text).not.toContain(words.strip.allSent);
    }
  });

  test("the worst comes first: storage, then pairing, then what was refused", () => {
    const parked = [
      { change: "a.1", type: "note", record: "r", set: {}, problem: { type: "", title: "" }, along: 0 },
    ];
    expect(strip({ storage: "full", server: "unpaired", parked })).toContain(words.strip.full);
    expect(strip({ server: "unpaired", parked })).toContain(words.strip.unpaired);
    expect(strip({ server: "unreachable", parked })).toContain(words.strip.parked(1));
    const group = parked.map((one) => ({ ...one, along: 4 }));
    expect(strip({ parked: group })).toContain(words.strip.parked(5));
  });

  test("a server that answers but does nothing is not taken for one that has everything", () => {
    const refusal = { type: "about:blank", title: "Something went wrong" };
    expect(strip({ refusal })).toBe(words.strip.refusal("Something went wrong"));
    expect(strip({ quarantined: 2 })).toBe(words.strip.quarantined(2));
  });

  test("a device that never was paired is told so, not that all is on the server", () => {
    expect(strip({}, { kind: "unpaired", last: null })).toBe(words.strip.notYet);
    expect(strip({}, { kind: "claimable" })).toBe(words.strip.claimable);
  });

  test("pitfall 22: a newer app is offered when nothing is wrong", () => {
    expect(strip({}, PAIRED, true)).toBe(words.strip.update);
    expect(strip({ server: "unreachable" }, PAIRED, true)).toBe(words.strip.unreachable);
  });
});

describe("numbers as typed", () => {
  test("pitfall 41: an offset takes comma and point, and nothing beyond what a printer can be off", () => {
    expect(offsetOf("1,5")).toBe(1.5);
    expect(offsetOf("-0.8")).toBe(-0.8);
    expect(offsetOf("−2")).toBe(-2);
    expect(offsetOf(" ")).toBe(0);
    for (const wrong of ["x", "1.2.3", "16", "-15.1", "1e1", "Infinity"]) {
      expect(offsetOf(wrong)).toBeNull();
    }
  });

  test("the first label is a whole number on the sheet", () => {
    expect(startOf("21", 21)).toBe(21);
    for (const wrong of ["0", "22", "1.5", "", "-1", "99999999999"]) {
      expect(startOf(wrong, 21)).toBeNull();
    }
  });

  test("plurals and time left", () => {
    expect(many(1, "bag", "bags")).toBe("1 bag");
    expect(many(0, "bag", "bags")).toBe("0 bags");
    expect(countdown(599.9)).toBe("9:59");
    expect(countdown(-3)).toBe("0:00");
  });
});

test("pitfall 35: the pairing code is read from the fragment", () => {
  expect(codeInAddress("#pair=7K3Q-XWMW")).toBe("7K3Q-XWMW");
  expect(codeInAddress("#7K3Q")).toBe("");
  expect(codeInAddress("")).toBe("");
});

test("the moment of a stamp is its first twelve hex digits (server/PROTOCOL.md)", () => {
  expect(stampMs("0199f2a4c80000000123456789abcdef")).toBe(0x0199f2a4c800);
});

describe("a kit from two ranges", () => {
  const outline = parseOutline({
    steps: "1.1-1.7, 2.1-2.9, K1-K4",
    bags: "1-12",
    serves: "bag 3: 2.1-2.3, 2.6\nbag 4: 2.3",
  });
  let next = 0;
  let drawn = 7;
  const made = kitFromOutline(outline, {
    name: "My kit",
    workshop: SESSION.workshop.id,
    nowMs: Date.UTC(2026, 10, 25),
    newId: () => `00000000-0000-4000-8000-${String((next += 1)).padStart(12, "0")}`,
    draw: () => (drawn = (drawn * 1_103_515_245 + 12_345) >>> 0),
    taken: new Set(),
  });
  const of = (type: string) => made.drafts.filter((draft) => draft.type === type);

  test("has a kit, its sections, bags and steps, and a build of it", () => {
    expect(outline.errors).toEqual([]);
    const counts = ["kit", "section", "bag", "step", "build"].map((type) => of(type).length);
    expect(counts).toEqual([1, 3, 12, 20, 1]);
    expect(made.drafts[0]?.type).toBe("kit");
    expect(of("build")[0]?.set).toMatchObject({ kit: made.kit, started_at: "2026-11-25T00:00:00.000Z" });
  });

  test("gives every bag a code of its own, good by ISO/IEC 7064 and of this workshop", () => {
    const codes = of("bag").map((draft) => String((draft.set as { code?: string }).code));
    expect(new Set(codes).size).toBe(12);
    for (const code of codes) {
      expect(checkCharacter(code.slice(0, -1))).toBe(code.slice(-1));
      expect(sameWorkshop(code, SESSION.workshop.id)).toBe(true);
    }
  });

  test("keeps the order of the manual and says which bags serve a step", () => {
    const steps = of("step").map((draft) => draft.set as { number: string; order: string; bags: string[] });
    expect([...steps].sort((a, b) => (a.order < b.order ? -1 : 1))).toEqual(steps);
    const bag = (number: string) => of("bag").find((one) => "number" in one.set && one.set.number === number)?.id;
    expect(steps.find((step) => step.number === "2.3")?.bags).toEqual([bag("3"), bag("4")]);
    expect(steps.find((step) => step.number === "1.1")?.bags).toEqual([]);
  });

  test("steps tapped for a bag are written as ranges that read back as the same steps", () => {
    const chosen = ["2.1", "2.2", "2.3", "2.6", "K1", "K2"];
    expect(asRanges(chosen)).toBe("2.1-2.3, 2.6, K1-K2");
    const serves = withBagLine("bag 3: 2.1\nbag 4: 2.3", "3", chosen);
    const again = parseOutline({ steps: "1.1-1.7, 2.1-2.9, K1-K4", bags: "1-12", serves });
    expect(again.errors).toEqual([]);
    expect(again.serves.find((one) => one.bag === "3")?.steps).toEqual(chosen);
    expect(again.serves.find((one) => one.bag === "4")?.steps).toEqual(["2.3"]);
    expect(withBagLine(serves, "3", [])).toBe("bag 4: 2.3");
  });
});
