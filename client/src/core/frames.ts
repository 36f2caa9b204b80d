/** Rectangles on a page as fractions of it: moved, resized and found by a point. Pure. */

/** Left, top, width, height; each 0 to 1 of the page, and within it. */
export type Frame = readonly [left: number, top: number, width: number, height: number];

/** A place on a page, each 0 to 1. */
export interface Spot {
  readonly x: number;
  readonly y: number;
}

export type Corner = "start" | "end";

export const WHOLE: Frame = [0, 0, 1, 1];
/** Smallest side of a frame, as a fraction of the page: 6 mm on A4. */
export const SIDE_MIN = 0.02;

/** The frame that a record carries; null if it has none or an impossible one. */
export function asFrame(value: readonly number[] | null | undefined): Frame | null {
  const [left, top, width, height] = value ?? [];
  if (left === undefined || top === undefined || !width || !height) return null;
  return tidy([left, top, width, height]);
}

/** Within the page, no smaller than can be seen, to 4 decimals: 0.03 mm on A4. */
function tidy([left, top, width, height]: Frame): Frame {
  const wide = within(width, SIDE_MIN, 1);
  const high = within(height, SIDE_MIN, 1);
  const fine = (value: number): number => Math.round(value * 10_000) / 10_000;
  return [fine(within(left, 0, 1 - wide)), fine(within(top, 0, 1 - high)), fine(wide), fine(high)];
}

/** Moved, as far as the page goes. */
export function moved([left, top, width, height]: Frame, by: Spot): Frame {
  return tidy([left + by.x, top + by.y, width, height]);
}

/** With its first or last corner moved; that corner never passes the other one. */
export function resized([left, top, width, height]: Frame, corner: Corner, by: Spot): Frame {
  const right = left + width;
  const bottom = top + height;
  if (corner === "start") {
    const x = within(left + by.x, 0, right - SIDE_MIN);
    const y = within(top + by.y, 0, bottom - SIDE_MIN);
    return tidy([x, y, right - x, bottom - y]);
  }
  const x = within(right + by.x, left + SIDE_MIN, 1);
  const y = within(bottom + by.y, top + SIDE_MIN, 1);
  return tidy([left, top, x - left, y - top]);
}

/** The frame between two corners, in any order. */
export function between(one: Spot, other: Spot): Frame {
  const x = within(Math.min(one.x, other.x), 0, 1);
  const y = within(Math.min(one.y, other.y), 0, 1);
  const right = within(Math.max(one.x, other.x), 0, 1);
  const bottom = within(Math.max(one.y, other.y), 0, 1);
  return tidy([x, y, right - x, bottom - y]);
}

/** A frame of a usual size about a place: half the page wide, a quarter of it high. */
export function about({ x, y }: Spot): Frame {
  return tidy([x - 0.25, y - 0.125, 0.5, 0.25]);
}

/**
 * The smallest frame that holds a place, or else the nearest within `reach` (fractions of the
 * page), since a line of text is lower than a thumb. `not`: passed over.
 */
export function frameAt<T extends { readonly frame: Frame }>(
  frames: readonly T[],
  at: Spot,
  reach: Spot,
  not?: T,
): T | undefined {
  let best: { one: T; far: number; area: number } | null = null;
  for (const one of frames) {
    if (one === not) continue;
    const [left, top, width, height] = one.frame;
    const far = Math.max(
      Math.max(left - at.x, at.x - left - width, 0) / (reach.x || 1e-9),
      Math.max(top - at.y, at.y - top - height, 0) / (reach.y || 1e-9),
    );
    if (far > 1) continue;
    const area = width * height;
    if (!best || far < best.far || (far === best.far && area < best.area)) best = { one, far, area };
  }
  return best?.one;
}

function within(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), Math.max(low, high));
}
