/** Frames on a page: whatever is done to one, it stays one on its page. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { about, asFrame, between, frameAt, moved, resized, SIDE_MIN, type Frame } from "../src/core/frames";

const fraction = fc.double({ min: 0, max: 1, noNaN: true });
const far = fc.double({ min: -3, max: 3, noNaN: true });
const spot = fc.record({ x: fraction, y: fraction });
const frame = fc.tuple(spot, spot).map(([one, other]) => between(one, other));
const sound = ([left, top, width, height]: Frame): void => {
  // What the server takes (wire/fields.py, Frame): fractions, and within the page.
  for (const value of [left, top, width, height]) {
    expect(value).toBeGreaterThanOrEqual(0);
    expect(value).toBeLessThanOrEqual(1);
  }
  expect(left + width).toBeLessThanOrEqual(1.0001);
  expect(top + height).toBeLessThanOrEqual(1.0001);
  expect(Math.min(width, height)).toBeGreaterThanOrEqual(SIDE_MIN);
};

describe("a frame", () => {
  it("stays within the page however it is drawn, moved and resized", () => {
    fc.assert(
      fc.property(frame, far, far, fc.constantFrom("start" as const, "end" as const), (one, x, y, corner) => {
        sound(one);
        sound(moved(one, { x, y }));
        sound(resized(one, corner, { x, y }));
        sound(about({ x, y }));
      }),
    );
  });

  it("keeps its size when it is moved, and its other corner when it is resized", () => {
    fc.assert(
      fc.property(frame, far, far, (one, x, y) => {
        expect(moved(one, { x, y }).slice(2)).toEqual(one.slice(2));
        expect(resized(one, "end", { x, y }).slice(0, 2)).toEqual(one.slice(0, 2));
        const [left, top, width, height] = resized(one, "start", { x, y });
        expect(left + width).toBeCloseTo(one[0] + one[2], 3);
        expect(top + height).toBeCloseTo(one[1] + one[3], 3);
      }),
    );
  });

  it("is drawn from any corner to the other", () => {
    expect(between({ x: 0.7, y: 0.2 }, { x: 0.1, y: 0.6 })).toEqual([0.1, 0.2, 0.6, 0.4]);
    expect(between({ x: -1, y: -1 }, { x: 2, y: 2 })).toEqual([0, 0, 1, 1]);
  });

  it("that a record does not carry is none", () => {
    for (const none of [null, undefined, [], [0.1, 0.1, 0, 0.5]]) expect(asFrame(none)).toBeNull();
    expect(asFrame([0.1, 0.1, 0.2, 0.3])).toEqual([0.1, 0.1, 0.2, 0.3]);
  });
});

describe("a tap", () => {
  const step = { name: "step", frame: [0.1, 0.1, 0.8, 0.5] as Frame };
  const line = { name: "line", frame: [0.2, 0.2, 0.3, 0.02] as Frame };
  const reach = { x: 0.05, y: 0.03 };
  const at = (x: number, y: number, not?: typeof step) => frameAt([step, line], { x, y }, reach, not)?.name;

  it("means the smallest frame there", () => {
    expect(at(0.3, 0.21)).toBe("line");
    expect(at(0.7, 0.4)).toBe("step");
  });

  it("means what lies under the one that is passed over", () => {
    expect(at(0.3, 0.21, line)).toBe("step");
    expect(at(0.3, 0.21, step)).toBe("line");
  });

  it("beside a frame means the nearest, and far from all none", () => {
    expect(at(0.5, 0.62)).toBe("step");
    expect(at(0.5, 0.7)).toBeUndefined();
  });
});
