/** A frame on a page of the manual: [left, top, width, height], each a fraction 0 to 1 of it. */

export type Frame = readonly [left: number, top: number, width: number, height: number];
export interface Point {
  readonly x: number;
  readonly y: number;
}
export type Corner = "nw" | "ne" | "sw" | "se";

export const WHOLE: Frame = [0, 0, 1, 1];
/** The smallest frame: what can still be seen and grasped. */
export const LEAST = 0.02;
/** Steps in which frames are kept: finer than a pixel of a page. */
const STEPS = 10_000;

const within = (value: number, least: number, most: number): number =>
  Math.min(Math.max(value, least), most);
const round = (value: number): number => Math.round(value * STEPS) / STEPS;

/** Kept within the page, no smaller than `LEAST`, rounded. */
function tidy(left: number, top: number, right: number, bottom: number): Frame {
  const [x, y] = [round(within(left, 0, 1 - LEAST)), round(within(top, 0, 1 - LEAST))];
  return [
    x,
    y,
    round(within(right - x, LEAST, 1 - x)),
    round(within(bottom - y, LEAST, 1 - y)),
  ];
}

/** A field of a record as a frame; the whole page where it holds none. */
export function frameFrom(value: readonly number[] | null | undefined): Frame {
  const [left, top, width, height] = value ?? [];
  if (left === undefined || top === undefined || !width || !height) return WHOLE;
  return [left, top, width, height];
}

/** Between two opposite corners, drawn in any direction. */
export function drawn(from: Point, to: Point): Frame {
  return tidy(
    Math.min(from.x, to.x),
    Math.min(from.y, to.y),
    Math.max(from.x, to.x),
    Math.max(from.y, to.y),
  );
}

/** The frame, as large as it is, moved as far as the page goes. */
export function movedBy([left, top, width, height]: Frame, by: Point): Frame {
  const x = within(left + by.x, 0, 1 - width);
  const y = within(top + by.y, 0, 1 - height);
  return [round(x), round(y), width, height];
}

/** The frame with one corner moved; the opposite one stays. */
export function resized([left, top, width, height]: Frame, corner: Corner, by: Point): Frame {
  const [right, bottom] = [left + width, top + height];
  const west = corner === "nw" || corner === "sw";
  const north = corner === "nw" || corner === "ne";
  return tidy(
    west ? within(left + by.x, 0, right - LEAST) : left,
    north ? within(top + by.y, 0, bottom - LEAST) : top,
    west ? right : within(right + by.x, left + LEAST, 1),
    north ? bottom : within(bottom + by.y, top + LEAST, 1),
  );
}
