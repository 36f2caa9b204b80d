/** Against OpenCV and numpy: tests/reference/straighten.json, made by test_straighten_reference.py. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import type { Spot } from "../src/core/frames";
import { wholeOf, type Quad, type Raster } from "../src/core/quad";
import { homography, project, sizeOf, straightened } from "../src/core/straighten";

type Pair = [x: number, y: number];
interface Reference {
  maps: { from: Pair[]; to: Pair[]; matrix: number[]; asked: Pair[]; told: Pair[] }[];
  drawn: {
    width: number;
    height: number;
    picture: number[];
    corners: Pair[];
    straight: { width: number; height: number; light: number[] };
  };
}
const path = new URL("../../tests/reference/straighten.json", import.meta.url);
const { maps, drawn } = JSON.parse(readFileSync(path, "utf8")) as Reference;
const spots = (pairs: Pair[]): Spot[] => pairs.map(([x, y]) => ({ x, y }));
const quad = (pairs: Pair[]): Quad => spots(pairs) as unknown as Quad;

function grey(width: number, height: number, light: readonly number[]): Raster {
  const data = new Uint8ClampedArray(width * height * 4).fill(255);
  light.forEach((one, at) => data.fill(one, at * 4, at * 4 + 3));
  return { width, height, data };
}

describe("a map from four places", () => {
  it("is OpenCV's", () => {
    for (const { from, to, matrix, asked, told } of maps) {
      const map = homography(quad(from), quad(to))!;
      map.forEach((one, at) => {
        expect(Math.abs(one - matrix[at]!)).toBeLessThan(1e-6 * Math.max(1, Math.abs(matrix[at]!)));
      });
      spots(asked).forEach((spot, at) => {
        const [x, y] = told[at]!;
        const mine = project(map, spot);
        expect(Math.hypot(mine.x - x, mine.y - y)).toBeLessThan(1e-4);
      });
    }
  });

  it("is not to be had of three places in a line", () => {
    const line = quad([[0, 0], [10, 0], [20, 0], [0, 10]]); // prettier-ignore
    expect(homography(line, wholeOf(10, 10))).toBeNull();
  });
});

describe("a sheet drawn straight", () => {
  const { width, height, picture, corners, straight } = drawn;

  it("is what OpenCV draws, to 2 of 255", () => {
    const mine = straightened(grey(width, height, picture), quad(corners), straight)!;
    expect([mine.width, mine.height]).toEqual([straight.width, straight.height]);
    straight.light.forEach((one, at) => {
      // OpenCV rounds places to 1/32 px.
      expect(Math.abs(mine.data[at * 4]! - one)).toBeLessThanOrEqual(2);
      expect(mine.data[at * 4 + 3]).toBe(255);
    });
  });

  it("is the picture itself when its corners are the picture's", () => {
    const same = grey(width, height, picture);
    expect(straightened(same, wholeOf(width, height), same)!.data).toEqual(same.data);
  });

  it("is refused when the corners are crossed", () => {
    const [a, b, c, d] = quad(corners);
    expect(straightened(grey(width, height, picture), [a, c, b, d], straight)).toBeNull();
  });

  it("takes its size from its longer sides, and no more than is asked for", () => {
    expect(sizeOf(quad([[0, 0], [300, 0], [280, 400], [20, 400]]), 2560)).toMatchObject({ width: 300 }); // prettier-ignore
    expect(sizeOf(wholeOf(3000, 4000), 2560)).toEqual({ width: 1920, height: 2560 });
    expect(sizeOf(wholeOf(10, 8000), 2560)).toEqual({ width: 3, height: 2560 });
  });
});
