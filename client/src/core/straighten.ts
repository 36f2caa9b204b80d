/** A sheet photographed aslant, as if seen from straight above. Places as in quad.ts. */
import type { Spot } from "./frames";
import { isSheet, wholeOf, type Quad, type Raster } from "./quad";

/** A projective map of the plane, row by row; the last number is 1. */
export type Homography = readonly [
  number, number, number,
  number, number, number,
  number, number, number,
]; // prettier-ignore

/**
 * The map that takes each of four places to its counterpart; null if three of them lie in a line.
 * Eight equations with eight unknowns, two for each pair:
 * x' (g x + h y + 1) = a x + b y + c and y' (g x + h y + 1) = d x + e y + f.
 */
export function homography(from: Quad, to: Quad): Homography | null {
  const rows = from.flatMap(({ x, y }, at): number[][] => {
    const { x: u, y: v } = to[at]!;
    return [
      [x, y, 1, 0, 0, 0, -u * x, -u * y, u],
      [0, 0, 0, x, y, 1, -v * x, -v * y, v],
    ];
  });
  const found = solved(rows);
  return found && ([...found, 1] as unknown as Homography);
}

/** Gaussian elimination with the greatest pivot; each row ends with its right side. */
function solved(rows: number[][]): number[] | null {
  const n = rows.length;
  // Columns differ by the square of the picture's size: a pivot is small beside its own column.
  const scale = Array.from({ length: n }, (_, at) => Math.max(...rows.map((row) => Math.abs(row[at]!))));
  for (let at = 0; at < n; at += 1) {
    let pivot = at;
    for (let row = at + 1; row < n; row += 1) {
      if (Math.abs(rows[row]![at]!) > Math.abs(rows[pivot]![at]!)) pivot = row;
    }
    if (Math.abs(rows[pivot]![at]!) <= 1e-12 * scale[at]!) return null;
    [rows[at], rows[pivot]] = [rows[pivot]!, rows[at]!];
    for (let row = 0; row < n; row += 1) {
      if (row === at) continue;
      const factor = rows[row]![at]! / rows[at]![at]!;
      if (factor === 0) continue;
      for (let column = at; column <= n; column += 1) {
        rows[row]![column]! -= factor * rows[at]![column]!;
      }
    }
  }
  return rows.map((row, at) => row[n]! / row[at]!);
}

export function project(map: Homography, { x, y }: Spot): Spot {
  const depth = map[6] * x + map[7] * y + map[8];
  return {
    x: (map[0] * x + map[1] * y + map[2]) / depth,
    y: (map[3] * x + map[4] * y + map[5]) / depth,
  };
}

/**
 * Width and height of a sheet whose corners these are: its longer sides, for the farther ones are
 * seen too short. At most `longSide`, and never more than was photographed. Whole px, at least 1.
 */
export function sizeOf(quad: Quad, longSide: number): { width: number; height: number } {
  const side = (at: number): number => {
    const [a, b] = [quad[at % 4]!, quad[(at + 1) % 4]!];
    return Math.hypot(b.x - a.x, b.y - a.y);
  };
  const width = Math.max(side(0), side(2));
  const height = Math.max(side(1), side(3));
  const scale = Math.min(1, longSide / Math.max(width, height));
  const whole = (px: number): number => Math.max(1, Math.round(px * scale));
  return { width: whole(width), height: whole(height) };
}

/**
 * The sheet with these corners, drawn straight into `width` x `height` px. Between four pixels the
 * value is in proportion to its distance from them (bilinear); beyond the picture its edge goes on.
 * Null if the corners are none of a sheet.
 */
export function straightened(
  picture: Raster,
  corners: Quad,
  { width, height }: { width: number; height: number },
): Raster | null {
  const map = isSheet(corners) ? homography(wholeOf(width, height), corners) : null;
  if (!map) return null;
  const { data: from, width: wide, height: high } = picture;
  const data = new Uint8ClampedArray(width * height * 4);
  const [a, b, c, d, e, f, g, h] = map;
  let out = 0;
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const [u, v] = [x + 0.5, y + 0.5];
      const depth = g * u + h * v + 1;
      const sx = Math.min(wide - 1, Math.max(0, (a * u + b * v + c) / depth - 0.5));
      const sy = Math.min(high - 1, Math.max(0, (d * u + e * v + f) / depth - 0.5));
      const x0 = Math.min(sx | 0, Math.max(0, wide - 2));
      const y0 = Math.min(sy | 0, Math.max(0, high - 2));
      const fx = sx - x0;
      const fy = sy - y0;
      const at = (y0 * wide + x0) * 4;
      const right = wide > 1 ? 4 : 0;
      const down = high > 1 ? wide * 4 : 0;
      for (let channel = 0; channel < 3; channel += 1) {
        const p = at + channel;
        const top = from[p]! + (from[p + right]! - from[p]!) * fx;
        const low = from[p + down]! + (from[p + down + right]! - from[p + down]!) * fx;
        data[out + channel] = top + (low - top) * fy;
      }
      data[out + 3] = 255;
      out += 4;
    }
  }
  return { width, height, data };
}
