/** Typed lengths and readings. 1 inch = 25.4 mm exactly; the other cases are common practice. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import {
  formatLength, judge, type Length, LENGTH_MAX_MM, parseLength, roundMm,
} from "../src/core/numbers";

const mm = (value: number): Length => ({ mm: value, unit: "mm" });
const inch = (value: number): Length => ({ mm: value, unit: "inch" });

describe("a typed length", () => {
  test.each<[string, Length]>([
    ["12", mm(12)],
    ["12.5", mm(12.5)],
    ["12,5", mm(12.5)],
    [" 12,50 mm ", mm(12.5)],
    ["12.5MM", mm(12.5)],
    [",5", mm(0.5)],
    ["7.", mm(7)],
    ["0", mm(0)],
    ["-0", mm(0)],
    ["-3,2", mm(-3.2)],
    ["\u22123.2", mm(-3.2)],
    ["+3.2", mm(3.2)],
    ["12\u00a0mm", mm(12)],
    ["0.5\"", inch(12.7)],
    ["0,5 in", inch(12.7)],
    ["3/8 in.", inch(9.525)],
    ["1 3/8\u2033", inch(34.925)],
    ["1-1/4 inch", inch(31.75)],
    ["1,234", mm(1.234)],
  ])("%s is read in mm", (text, expected) => {
    expect(parseLength(text, "mm")).toEqual(expected);
  });
  test.each<[string, Length]>([
    ["0.1", inch(2.54)],
    ["1", inch(25.4)],
    ["2,5 mm", mm(2.5)],
    ["5/64", inch(1.9844)],
  ])("%s is read in inch", (text, expected) => {
    expect(parseLength(text, "inch")).toEqual(expected);
  });
  test.each([
    ["", "empty"],
    ["  ", "empty"],
    ["mm", "empty"],
    ["-", "empty"],
    ["about 3", "characters"],
    ["3 cm", "characters"],
    ["12m", "characters"],
    ["1e3", "characters"],
    ["0x10", "characters"],
    ["\u0663", "characters"],
    ["NaN", "characters"],
    ["--3", "characters"],
    ["1.234,5", "marks"],
    ["1,234,567", "marks"],
    ["1 234", "marks"],
    ["1..2", "marks"],
    ["3/0", "zero"],
    ["100001", "range"],
    ["9".repeat(400), "range"],
    [`${"9".repeat(400)}/${"9".repeat(400)}`, "range"],
    ["4000 in", "range"],
  ])("%s is refused: %s", (text, slip) => {
    expect(parseLength(text, "mm")).toEqual({ slip });
  });
  it("gives a number that a record can hold, or a slip, for any text", () => {
    const typed = fc.oneof(
      fc.string(),
      fc.string({ unit: fc.constantFrom(..."0123456789.,/-+ '\"min") }),
    );
    fc.assert(
      fc.property(typed, fc.constantFrom("mm", "inch"), (text, unit) => {
        const read = parseLength(text, unit);
        if ("slip" in read) return;
        expect(Math.abs(read.mm)).toBeLessThanOrEqual(LENGTH_MAX_MM);
        expect(Object.is(read.mm, -0)).toBe(false);
      }),
      { numRuns: 3000 },
    );
  });
  it("comes back from its own text", () => {
    fc.assert(
      fc.property(fc.integer({ min: -99_999_999, max: 99_999_999 }), (thousandths) => {
        const length = thousandths === 0 ? 0 : thousandths / 1000;
        for (const mark of [".", ","] as const) {
          expect(parseLength(formatLength(length, "mm", mark), "mm")).toEqual(mm(length));
        }
      }),
    );
  });
});

describe("a reading", () => {
  test.each([
    [10.2, { target: 10, plus: 0.2, minus: 0.2 }, "within", 0, 0.2],
    [9.8, { target: 10, plus: 0.2, minus: 0.2 }, "within", 0, -0.2],
    [10.21, { target: 10, plus: 0.2, minus: 0.2 }, "over", 0.01, 0.21],
    [9.7, { target: 10, plus: 0.2, minus: 0.2 }, "under", 0.1, -0.3],
    [0.3, { target: 0.1, plus: 0.2, minus: 0 }, "within", 0, 0.2],
    [100, { target: 100, plus: 0.5, minus: null }, "within", 0, 0],
    [99.9, { target: 100, plus: 0.5, minus: null }, "under", 0.1, -0.1],
    [100.1, { target: 100, plus: null, minus: 0.5 }, "over", 0.1, 0.1],
    [-5.3, { target: -5, plus: 0.1, minus: 0.1 }, "under", 0.2, -0.3],
    [10.3, { target: 10 }, null, 0, 0.3],
    [5, { target: 5, plus: 0, minus: 0 }, "within", 0, 0],
  ])("%d against %o is %s", (reading, target, verdict, byMm, offMm) => {
    expect(judge(reading, target)).toEqual({ verdict, byMm, offMm });
  });
  it("typed on the limit is within it, whatever binary fractions make of the sum", () => {
    const hundredths = fc.integer({ min: -100_000, max: 100_000 });
    fc.assert(
      fc.property(hundredths, fc.nat({ max: 500 }), fc.nat({ max: 500 }), (target, plus, minus) => {
        const asked = { target: target / 100, plus: plus / 100, minus: minus / 100 };
        expect(judge((target + plus) / 100, asked).verdict).toBe("within");
        expect(judge((target - minus) / 100, asked).verdict).toBe("within");
        const over = judge((target + plus + 1) / 100, asked);
        expect(over).toMatchObject({ verdict: "over", byMm: 0.01 });
        const under = judge((target - minus - 1) / 100, asked);
        expect(under).toMatchObject({ verdict: "under", byMm: 0.01 });
      }),
    );
  });
});

describe("a length as text", () => {
  test.each([
    [12.5, "mm", "12.5"],
    [12, "mm", "12"],
    [0.0004, "mm", "0"],
    [-0.0004, "mm", "0"],
    [1.0005, "mm", "1.001"],
    [-1.2344, "mm", "-1.234"],
    [25.4, "inch", "1"],
    [1.984375, "inch", "0.0781"],
  ] as const)("%d in %s is %s", (value, unit, text) => {
    expect(formatLength(value, unit)).toBe(text);
  });
  it("rounds halves away from zero", () => {
    expect(roundMm(2.00005)).toBe(2.0001);
    expect(roundMm(-2.00005)).toBe(-2.0001);
    expect(Object.is(roundMm(-0.00001), 0)).toBe(true);
  });
});
