/** A kit from its outline: what builders type, and whatever else may be typed. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import {
  BAGS_MAX, guessServes, type OutlineText, parseOutline, STEPS_MAX, TEXT_MAX,
} from "../src/core/outline";

const numbers = (steps: string): string => {
  const outline = parseOutline({ steps });
  expect(outline.errors).toEqual([]);
  return outline.steps.map(({ number }) => number).join(" ");
};
const serving = (bags: number): string =>
  [...Array(bags).keys()].map((bag) => `B${bag}: 1, 1`).join("\n");
const bags = (text: string): string => {
  const outline = parseOutline({ steps: "", bags: text });
  expect(outline.errors).toEqual([]);
  return outline.bags.join(" ");
};
/** What each error points at, and says. */
const told = (text: OutlineText): [string, string][] =>
  parseOutline(text).errors.map(({ field, start, end, says }) => [
    (text[field] ?? "").slice(start, end),
    says,
  ]);

describe("ranges", () => {
  test.each([
    ["1.1-1.4", "1.1 1.2 1.3 1.4"],
    ["1.1-1.2, 2.1-2.3, K1-K2", "1.1 1.2 2.1 2.2 2.3 K1 K2"],
    ["1-3 7 9-10", "1 2 3 7 9 10"],
    ["1.8-1.11", "1.8 1.9 1.10 1.11"],
    ["1.1 - 1.3", "1.1 1.2 1.3"],
    ["1.1- 1.3", "1.1 1.2 1.3"],
    ["1.1 -1.3", "1.1 1.2 1.3"],
    ["1.1\u20131.3", "1.1 1.2 1.3"],
    ["1.1 \u2014 1.3", "1.1 1.2 1.3"],
    ["1.1 to 1.3", "1.1 1.2 1.3"],
    ["steps 1 to 3", "1 2 3"],
    ["1.1-3", "1.1 1.2 1.3"],
    ["K1-3", "K1 K2 K3"],
    ["01-03", "01 02 03"],
    ["A-D", "A B C D"],
    ["2a-2c", "2a 2b 2c"],
    ["2a-c", "2a 2b 2c"],
    ["A-1", "A-1"],
    ["A-1-A-3", "A-1 A-2 A-3"],
    ["A-1 to A-3", "A-1 A-2 A-3"],
    ["5-5", "5"],
    ["1.1-1.2\n1.3;1.4", "1.1 1.2 1.3 1.4"],
    ["\u00c41-\u00c42", "\u00c41 \u00c42"],
    ["", ""],
    [" ,;\n ", ""],
  ])("%s are %s", (text, expected) => {
    expect(numbers(text)).toBe(expected);
  });
  test.each([
    ["1-4", "1 2 3 4"],
    ["bags 1-2, A, B", "1 2 A B"],
    ["Bag: 1-2", "1 2"],
    ["A1-A2", "A1 A2"],
  ])("bags %s are %s", (text, expected) => {
    expect(bags(text)).toBe(expected);
  });
});

describe("sections", () => {
  it("are what the numbers begin with", () => {
    const { sections, steps } = parseOutline({ steps: "1.1-1.2, K1, 2.1, 1.3, 7" });
    expect(sections).toEqual([
      { mark: "1", title: null },
      { mark: "K", title: null },
      { mark: "2", title: null },
    ]);
    expect(steps.map(({ section }) => section)).toEqual([0, 0, 1, 2, 0, null]);
  });
  it("may have titles, a line each", () => {
    const { sections, steps, errors } = parseOutline({
      steps: "Front  axle: 1.1-1.2\nGearbox: 2.1, 3.1; Wiring: 7-8",
    });
    expect(errors).toEqual([]);
    expect(sections).toEqual([
      { mark: "1", title: "Front axle" },
      { mark: null, title: "Gearbox" },
      { mark: null, title: "Wiring" },
    ]);
    expect(steps.map(({ section }) => section)).toEqual([0, 0, 1, 1, 2, 2]);
  });
});

describe("bags and the steps that they serve", () => {
  it("come from their own fields", () => {
    const outline = parseOutline({
      steps: "1.1-1.3, 2.1-2.4",
      bags: "1-3",
      serves: "bag 1: 1.1-1.3\n2: 2.1, 2.2\nbag 3: 2.2-2.4",
    });
    expect(outline.errors).toEqual([]);
    expect(outline.serves).toEqual([
      { bag: "1", steps: ["1.1", "1.2", "1.3"] },
      { bag: "2", steps: ["2.1", "2.2"] },
      { bag: "3", steps: ["2.2", "2.3", "2.4"] },
    ]);
  });
  it("or from one text", () => {
    const outline = parseOutline({
      steps: "bag 3: 2.1-2.2\n1.1-1.3, 2.1-2.4\nbags 1-3\nBag 1: 1.1",
    });
    expect(outline.errors).toEqual([]);
    expect(outline.bags).toEqual(["1", "2", "3"]);
    expect(outline.serves).toEqual([
      { bag: "3", steps: ["2.1", "2.2"] },
      { bag: "1", steps: ["1.1"] },
    ]);
  });
  it("need no list of bags where each bag is named", () => {
    const outline = parseOutline({ steps: "1-4", bags: "A: 1-2\nB: 3-4" });
    expect(outline.errors).toEqual([]);
    expect(outline.bags).toEqual(["A", "B"]);
  });
  it("are guessed by number, else by count, else not at all", () => {
    const guess = (steps: string, of: string): string[] =>
      guessServes(parseOutline({ steps, bags: of })).map((s) => `${s.bag}: ${s.steps.join(" ")}`);
    expect(guess("1.1-1.2, 2.1, K1", "1, 2, 3, K")).toEqual(["1: 1.1 1.2", "2: 2.1", "K: K1"]);
    expect(guess("A1-A2, B1", "1-2")).toEqual(["1: A1 A2", "2: B1"]);
    expect(guess("1-3", "A-C")).toEqual(["A: 1", "B: 2", "C: 3"]);
    expect(guess("1-3", "A-B")).toEqual([]);
    expect(guess("1-3", "")).toEqual([]);
  });
});

describe("errors point at the place and say how to mend it", () => {
  test.each<[OutlineText, string, string]>([
    [{ steps: "1.1-1.7, 2.9-2.1" }, "2.9-2.1", "2.9 to 2.1 runs backwards."],
    [{ steps: "1.1-2.9" }, "1.1-2.9", "“1.1” to “2.9” is no range"],
    [{ steps: "1, 2, 1" }, "1", "Step 1 stands here twice."],
    [{ steps: "1-3, 2-4" }, "2-4", "Step 2 stands here twice."],
    [{ steps: "Front axle 1.1" }, "Front", "A title stands before a colon"],
    [{ steps: "1.1, ?" }, "?", "“?” is not the number of a step."],
    [{ steps: "1 - " }, "-", "“-” is not the number of a step."],
    [{ steps: "1-99999" }, "1-99999", "a kit can have 2000 steps"],
    [{ steps: `1-${"9".repeat(19)}` }, `1-${"9".repeat(19)}`, "is too many"],
    [{ steps: "1".repeat(21) }, "1".repeat(21), "a number can have 20 characters"],
    [{ steps: `${"t".repeat(161)}: 1` }, "t".repeat(161), "A title can have 160 characters"],
    [{ steps: "Axle\u0007: 1" }, "Axle\u0007", "a character in it that cannot be kept"],
    [{ steps: "Axle\ud800: 1" }, "Axle\ud800", "a character in it that cannot be kept"],
    [{ steps: "1", serves: serving(41) }, "1", "Step 1 can be served by 40 bags."],
    [{ steps: "1-1500, A1-A600" }, "A1-A600", "step A501 is one more"],
    [{ steps: "", bags: "1-501" }, "1-501", "a kit can have 500 bags"],
    [{ steps: "", bags: "1-400, A1-A200" }, "A1-A200", "bag A101 is one more"],
    [{ steps: "", bags: "1, 1" }, "1", "Bag 1 stands here twice."],
    [{ steps: "1", bags: "1", serves: "2: 1" }, "2", "Bag 2 is not among the bags."],
    [{ steps: "1", bags: "1", serves: "1: 1-3" }, "1-3", "Step 2 is not among the steps."],
    [{ steps: "1", bags: "1", serves: "1.1-1.4" }, "1.1-1.4", "a colon and its steps"],
    [{ steps: "1", serves: "what ever: 1" }, "what ever", "is not the number of a bag"],
    [{ steps: "1,".repeat(TEXT_MAX) }, "1,".repeat(TEXT_MAX / 2), "Only 20000 characters"],
  ])("%o", (text, at, says) => {
    const [first] = told(text);
    expect(first?.[0]).toBe(at);
    expect(first?.[1]).toContain(says);
  });
  it("are at most twenty, in the order of the text", () => {
    const { errors } = parseOutline({ steps: "? ".repeat(200), bags: "!", serves: "x" });
    expect(errors.length).toBe(20);
    expect(errors.map(({ start }) => start)).toEqual([...errors.keys()].map((i) => 2 * i));
  });
  it("leave what could be read", () => {
    const outline = parseOutline({ steps: "1.1-1.3, ?, 2.1", bags: "1-2" });
    expect(outline.steps.length).toBe(4);
    expect(outline.bags).toEqual(["1", "2"]);
  });
});

describe("any text at all", () => {
  const typed = fc.oneof(
    fc.string({ unit: "grapheme", maxLength: 300 }),
    fc.string({ unit: "binary", maxLength: 300 }),
    fc.string({
      unit: fc.constantFrom(..."019.aAKk -\u2013,;:\n", "bag ", "bags ", " to ", "step "),
      maxLength: 80,
    }),
  );
  it("is read or told, within the limits, and never throws", () => {
    fc.assert(
      fc.property(typed, typed, typed, (steps, of, serves) => {
        const text = { steps, bags: of, serves };
        const outline = parseOutline(text);
        expect(outline.steps.length).toBeLessThanOrEqual(STEPS_MAX);
        expect(outline.bags.length).toBeLessThanOrEqual(BAGS_MAX);
        const known = new Set(outline.steps.map(({ number }) => number));
        expect(known.size).toBe(outline.steps.length);
        for (const number of [...known, ...outline.bags]) {
          expect(number).toMatch(/^\S{1,20}$/u);
        }
        for (const { title } of outline.sections) {
          // As the wire's text has it: no control characters, and valid Unicode.
          expect(title ?? "").not.toMatch(/[\p{Cc}\p{Cs}]/u);
          expect((title ?? "").length).toBeLessThanOrEqual(160);
        }
        for (const { section } of outline.steps) {
          if (section !== null) expect(outline.sections[section]).toBeDefined();
        }
        for (const one of [...outline.serves, ...guessServes(outline)]) {
          expect(outline.bags).toContain(one.bag);
          expect(one.steps.every((step) => known.has(step))).toBe(true);
        }
        for (const { field, start, end, says } of outline.errors) {
          expect(start).toBeGreaterThanOrEqual(0);
          expect(end).toBeGreaterThan(start);
          expect(end).toBeLessThanOrEqual(text[field].length);
          expect(says).toMatch(/[.”]$/);
        }
      }),
      { numRuns: 600 },
    );
  });
  test.each(["-", "a-", " -", "1 ", "a - ", ":", "bag ", "\u2013", "1-", "to "])(
    "%s, 20,000 characters of it, is read in less than a second",
    (piece) => {
      const steps = piece.repeat(Math.floor(TEXT_MAX / piece.length));
      const began = performance.now();
      parseOutline({ steps, bags: steps, serves: steps });
      expect(performance.now() - began).toBeLessThan(1000);
    },
  );
});
