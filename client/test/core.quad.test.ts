/** Sheets found in made-up photographs: the corners they were drawn with are the reference. */
import { describe, expect, it } from "vitest";
import type { Spot } from "../src/core/frames";
import { findSheet, isSheet, lightOf, turned, wholeOf, type Quad } from "../src/core/quad";
import { inLook } from "../src/core/readable";
import { homography, project } from "../src/core/straighten";

const [WIDE, HIGH] = [320, 240];
const quad = (...pairs: [number, number][]): Quad =>
  pairs.map(([x, y]) => ({ x, y })) as unknown as Quad;

/** Small repeatable noise: a linear congruential generator (Numerical Recipes' numbers). */
function dice(seed: number): () => number {
  let state = seed;
  return () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

interface Scene {
  bench?: number;
  paper?: number;
  noise?: number;
  /** Light left at the right edge. */
  shade?: number;
  /** Lines of text and a figure on the page. */
  printed?: boolean;
}

/** A sheet with these corners on a bench, printed, lit from one side, noisy. */
function photograph(corners: Quad, scene: Scene = {}, seed = 1): Uint8Array {
  const { bench = 70, paper = 215, noise = 10, shade = 0.75, printed = true } = scene;
  const chance = dice(seed);
  const onto = homography(corners, wholeOf(1, 1))!;
  const light = new Uint8Array(WIDE * HIGH);
  for (let y = 0; y < HIGH; y += 1) {
    for (let x = 0; x < WIDE; x += 1) {
      let sum = 0;
      // Four places a pixel: soft edges, as a lens makes them.
      for (const [dx, dy] of [[0.25, 0.25], [0.75, 0.25], [0.25, 0.75], [0.75, 0.75]] as const) {
        const { x: u, y: v } = project(onto, { x: x + dx, y: y + dy });
        const within = u >= 0 && u <= 1 && v >= 0 && v <= 1;
        const text = v > 0.1 && v < 0.45 && u > 0.1 && u < 0.9 && Math.floor(v * 40) % 2 === 0;
        const figure = Math.hypot(u - 0.5, v - 0.7) < 0.15;
        sum += !within ? bench : printed && (text || figure) ? 60 : paper;
      }
      const lit = (sum / 4) * (1 - (1 - shade) * (x / WIDE)) + (chance() - 0.5) * 2 * noise;
      light[y * WIDE + x] = Math.max(0, Math.min(255, lit));
    }
  }
  return light;
}

const far = (a: Spot, b: Spot): number => Math.hypot(a.x - b.x, a.y - b.y);

describe("the corners of a sheet", () => {
  it.each([
    ["straight", quad([60, 30], [250, 30], [250, 210], [60, 210])],
    ["turned a little", quad([80, 20], [260, 45], [235, 220], [55, 195])],
    ["turned by 40 degrees", quad([160, 12], [265, 110], [175, 215], [65, 115])],
    ["seen from below its foot", quad([110, 40], [220, 44], [285, 215], [40, 208])],
  ])("are found: %s", (_what, corners) => {
    const found = findSheet(photograph(corners), WIDE, HIGH)!;
    expect(found).not.toBeNull();
    // 1 % of the picture's width, which a thumb could not do better.
    for (const [at, corner] of corners.entries()) {
      const nearest = Math.min(...found.map((one) => far(one, corner)));
      expect(nearest, `corner ${at}`).toBeLessThan(3.2);
    }
    expect(isSheet(found)).toBe(true);
  });

  it("begin with the upper left one and go clockwise", () => {
    const corners = quad([80, 20], [260, 45], [235, 220], [55, 195]);
    const found = findSheet(photograph(corners), WIDE, HIGH)!;
    found.forEach((one, at) => expect(far(one, corners[at]!)).toBeLessThan(3.2));
  });

  it.each([2, 3, 4, 5])("are found in noise and bad light, seed %i", (seed) => {
    const corners = quad([70, 25], [255, 35], [245, 215], [50, 205]);
    const light = photograph(corners, { noise: 35, shade: 0.6, paper: 200 }, seed);
    const found = findSheet(light, WIDE, HIGH)!;
    found.forEach((one, at) => expect(far(one, corners[at]!)).toBeLessThan(6));
  });

  it("are not made up: bare bench, a sheet over all, a sheet too small, a round thing", () => {
    const off = quad([-50, -50], [-40, -50], [-40, -40], [-50, -40]);
    expect(findSheet(photograph(off), WIDE, HIGH)).toBeNull();
    const over = quad([-20, -20], [340, -20], [340, 260], [-20, 260]);
    expect(findSheet(photograph(over, { printed: false }), WIDE, HIGH)).toBeNull();
    const small = quad([100, 100], [140, 100], [140, 150], [100, 150]);
    expect(findSheet(photograph(small), WIDE, HIGH)).toBeNull();
    const plate = new Uint8Array(WIDE * HIGH).map((_, at) =>
      far({ x: at % WIDE, y: Math.floor(at / WIDE) }, { x: 160, y: 120 }) < 90 &&
      far({ x: at % WIDE, y: Math.floor(at / WIDE) }, { x: 160, y: 120 }) > 55 ? 220 : 60,
    ); // prettier-ignore
    expect(findSheet(plate, WIDE, HIGH)).toBeNull();
    expect(findSheet(new Uint8Array(4), 2, 2)).toBeNull();
  });

  it("are no sheet's when they are crossed or turned in", () => {
    expect(isSheet(wholeOf(10, 10))).toBe(true);
    expect(isSheet(quad([0, 0], [10, 10], [10, 0], [0, 10]))).toBe(false);
    expect(isSheet(quad([0, 0], [10, 0], [4, 4], [0, 10]))).toBe(false);
    expect(isSheet(quad([0, 0], [0, 0], [10, 10], [0, 10]))).toBe(false);
    expect(isSheet(turned(wholeOf(10, 10)))).toBe(true);
  });
});

describe("another look", () => {
  const [width, height] = [96, 72];
  /** Warm paper under a lamp at the left, with one black and one red line. */
  const data = new Uint8ClampedArray(width * height * 4);
  for (let at = 0; at < width * height; at += 1) {
    const lamp = 1 - 0.5 * ((at % width) / width);
    const line = Math.floor(at / width) % 12;
    const [r, g, b] = line === 3 ? [30, 30, 30] : line === 7 ? [200, 30, 30] : [230, 215, 190];
    data.set([r! * lamp, g! * lamp, b! * lamp, 255], at * 4);
  }
  const page = { width, height, data };
  const at = (of: { data: Uint8ClampedArray }, x: number, y: number): number[] =>
    [...of.data.slice((y * width + x) * 4, (y * width + x) * 4 + 3)];

  it("has the paper as white at the dark side as at the lamp", () => {
    const bright = lightOf(inLook(page, "bright"));
    for (const x of [2, 30, 60, 93]) {
      expect(bright[10 * width + x]).toBeGreaterThan(232);
      expect(bright[15 * width + x]).toBeLessThan(60);
    }
    expect(lightOf(page)[10 * width + 93]).toBeLessThan(130);
  });

  it("keeps colours unless they are not wanted", () => {
    const [r, g] = at(inLook(page, "bright"), 40, 7);
    expect(r! - g!).toBeGreaterThan(100);
    const [x, y, z] = at(inLook(page, "grey"), 40, 7);
    expect([y, z]).toEqual([x, x]);
    expect(inLook(page, "plain")).toBe(page);
  });
});
