/**
 * A sheet of paper in a photograph: its four corners, guessed as a bright quadrilateral on a darker
 * bench, and made straight.
 *
 * Places are in px from the upper left corner of the picture, so that the middle of its first pixel
 * is at (0.5, 0.5). Corners go clockwise from the upper left one.
 */
import type { Spot } from "./frames";

export type Quad = readonly [Spot, Spot, Spot, Spot];

/** A picture of red, green, blue and opacity, each 0 to 255, row by row. */
export interface Raster {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8ClampedArray;
}

/** The whole of a picture. */
export const wholeOf = (width: number, height: number): Quad => [
  { x: 0, y: 0 },
  { x: width, y: 0 },
  { x: width, y: height },
  { x: 0, y: height },
];

export const scaled = (quad: Quad, x: number, y: number): Quad =>
  quad.map((spot) => ({ x: spot.x * x, y: spot.y * y })) as unknown as Quad;

/** The same corners, beginning with the next one: the page turned a quarter to the left. */
export const turned = ([a, b, c, d]: Quad): Quad => [b, c, d, a];

const cross = (o: Spot, a: Spot, b: Spot): number =>
  (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);

function area(points: readonly Spot[]): number {
  let twice = 0;
  points.forEach((point, at) => {
    const next = points[(at + 1) % points.length]!;
    twice += point.x * next.y - next.x * point.y;
  });
  return Math.abs(twice) / 2;
}

/**
 * Whether four corners can be those of a sheet: clockwise, no corner turned in, no two in one place.
 * Handles can be dragged anywhere.
 */
export function isSheet(quad: Quad): boolean {
  const size = Math.sqrt(area(quad));
  return quad.every((corner, at) => {
    const [before, next] = [quad[(at + 3) % 4]!, quad[(at + 1) % 4]!];
    return cross(before, corner, next) > 1e-3 * size * size;
  });
}

/** Light of each pixel, 0 to 255 (ITU-R BT.601, as JPEG's Y). */
export function lightOf({ width, height, data }: Raster): Uint8Array {
  const light = new Uint8Array(width * height);
  for (let at = 0, p = 0; at < light.length; at += 1, p += 4) {
    light[at] = (data[p]! * 299 + data[p + 1]! * 587 + data[p + 2]! * 114 + 500) / 1000;
  }
  return light;
}

/** Least share of the picture that a sheet covers, and of its own outline that is bright. */
const SHARE_MIN = 0.1;
const SHARE_MAX = 0.97;
const FILL_MIN = 0.7;
/** The sheet is brighter than what is around it by at least so much of 255. */
const CONTRAST_MIN = 24;

/**
 * The corners of the sheet in a picture's light, `width` x `height`, or null where nothing looks
 * like one. Meant for a picture made small: some 320 px are enough, and quick.
 */
export function findSheet(light: Uint8Array, width: number, height: number): Quad | null {
  const soft = blurred(light, width, height);
  const bright = threshold(soft);
  const sheet = largest(soft, bright, width, height);
  if (!sheet || sheet.count < SHARE_MIN * width * height) return null;
  if (sheet.inside - sheet.outside < CONTRAST_MIN) return null;
  const rough = fourOf(hull(sheet.edge));
  if (!rough) return null;
  const fine = refined(rough, sheet.edge);
  const quad = fromUpperLeft(isSheet(fine) ? fine : rough);
  const covered = area(quad);
  const looksRight =
    isSheet(quad) &&
    covered > SHARE_MIN * width * height &&
    covered < SHARE_MAX * width * height &&
    sheet.count > FILL_MIN * covered &&
    quad.every((_, at) => isCorner(quad, at)) &&
    quad.every((_, at) => hasEdge(quad, at, soft, width, height));
  const within = (spot: Spot): Spot => ({
    x: Math.min(width, Math.max(0, spot.x)),
    y: Math.min(height, Math.max(0, spot.y)),
  });
  return looksRight ? (quad.map(within) as unknown as Quad) : null;
}

/** Mean of each pixel and its neighbours: noise is no edge. */
function blurred(light: Uint8Array, width: number, height: number): Uint8Array {
  const out = new Uint8Array(light.length);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      let sum = 0;
      let count = 0;
      for (let j = Math.max(0, y - 1); j <= Math.min(height - 1, y + 1); j += 1) {
        for (let i = Math.max(0, x - 1); i <= Math.min(width - 1, x + 1); i += 1) {
          sum += light[j * width + i]!;
          count += 1;
        }
      }
      out[y * width + x] = sum / count;
    }
  }
  return out;
}

/** The light that parts dark from bright best (N. Otsu, 1979: greatest variance between the two). */
function threshold(light: Uint8Array): number {
  const counts = new Float64Array(256);
  for (const one of light) counts[one]! += 1;
  let all = 0;
  counts.forEach((count, level) => (all += count * level));
  let [below, belowSum, best, at] = [0, 0, -1, 127];
  for (let level = 0; level < 255; level += 1) {
    below += counts[level]!;
    belowSum += counts[level]! * level;
    const above = light.length - below;
    if (below === 0 || above === 0) continue;
    const apart = belowSum / below - (all - belowSum) / above;
    const variance = below * above * apart * apart;
    if (variance > best) [best, at] = [variance, level];
  }
  return at;
}

interface Patch {
  readonly count: number;
  /** Its outermost points in each row and column. */
  readonly edge: readonly Spot[];
  /** Mean light of it and of the rest. */
  readonly inside: number;
  readonly outside: number;
}

/** The largest connected patch brighter than `level`. */
function largest(light: Uint8Array, level: number, width: number, height: number): Patch | null {
  const mark = new Int32Array(light.length);
  const stack: number[] = [];
  let [patch, best, bestCount] = [0, 0, 0];
  for (let seed = 0; seed < light.length; seed += 1) {
    if (mark[seed] !== 0 || light[seed]! <= level) continue;
    patch += 1;
    let count = 0;
    mark[seed] = patch;
    stack.push(seed);
    while (stack.length > 0) {
      const at = stack.pop()!;
      count += 1;
      const x = at % width;
      const visit = (to: number): void => {
        if (mark[to] === 0 && light[to]! > level) {
          mark[to] = patch;
          stack.push(to);
        }
      };
      if (x > 0) visit(at - 1);
      if (x < width - 1) visit(at + 1);
      if (at >= width) visit(at - width);
      if (at < light.length - width) visit(at + width);
    }
    if (count > bestCount) [best, bestCount] = [patch, count];
  }
  if (bestCount === 0) return null;
  const rows = Array.from({ length: height }, () => [width, -1] as [number, number]);
  const columns = Array.from({ length: width }, () => [height, -1] as [number, number]);
  let [inside, outside] = [0, 0];
  mark.forEach((one, at) => {
    if (one !== best) {
      outside += light[at]!;
      return;
    }
    inside += light[at]!;
    const [x, y] = [at % width, Math.floor(at / width)];
    const [row, column] = [rows[y]!, columns[x]!];
    row[0] = Math.min(row[0], x);
    row[1] = Math.max(row[1], x);
    column[0] = Math.min(column[0], y);
    column[1] = Math.max(column[1], y);
  });
  const edge: Spot[] = [];
  rows.forEach(([first, last], y) => {
    if (last >= 0) edge.push({ x: first, y: y + 0.5 }, { x: last + 1, y: y + 0.5 });
  });
  columns.forEach(([first, last], x) => {
    if (last >= 0) edge.push({ x: x + 0.5, y: first }, { x: x + 0.5, y: last + 1 });
  });
  const rest = light.length - bestCount;
  return { count: bestCount, edge, inside: inside / bestCount, outside: rest ? outside / rest : 255 };
}

/** Convex hull, clockwise as seen (A. M. Andrew, 1979: monotone chain). */
function hull(points: readonly Spot[]): Spot[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (some: readonly Spot[]): Spot[] => {
    const chain: Spot[] = [];
    for (const point of some) {
      while (chain.length > 1 && cross(chain.at(-2)!, chain.at(-1)!, point) <= 0) chain.pop();
      chain.push(point);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

/** The four corners that are left when those which matter least are taken away one by one. */
function fourOf(points: readonly Spot[]): Quad | null {
  const left = [...points];
  while (left.length > 4) {
    let least = 0;
    let size = Infinity;
    left.forEach((point, at) => {
      const [before, next] = [left.at(at - 1)!, left[(at + 1) % left.length]!];
      const loss = Math.abs(cross(before, point, next));
      if (loss < size) [least, size] = [at, loss];
    });
    left.splice(least, 1);
  }
  return left.length === 4 ? (left as unknown as Quad) : null;
}

interface Line {
  readonly through: Spot;
  readonly along: Spot;
}

/** Corners where lines through the middle parts of the edges meet: paper has soft corners. */
function refined(quad: Quad, edge: readonly Spot[]): Quad {
  const lines = quad.map((from, at): Line => {
    const to = quad[(at + 1) % 4]!;
    const length = Math.hypot(to.x - from.x, to.y - from.y) || 1;
    const along = { x: (to.x - from.x) / length, y: (to.y - from.y) / length };
    const near = edge.filter((spot) => {
      const by = { x: spot.x - from.x, y: spot.y - from.y };
      const part = (by.x * along.x + by.y * along.y) / length;
      const aside = Math.abs(by.x * along.y - by.y * along.x);
      return part > 0.1 && part < 0.9 && aside < Math.max(2, 0.02 * length);
    });
    return near.length < 8 ? { through: from, along } : fitted(near);
  });
  const corners = quad.map((corner, at) => meeting(lines[(at + 3) % 4]!, lines[at]!) ?? corner);
  return corners as unknown as Quad;
}

/** The line with the least squares of distances. */
function fitted(points: readonly Spot[]): Line {
  const n = points.length;
  const x = points.reduce((sum, spot) => sum + spot.x, 0) / n;
  const y = points.reduce((sum, spot) => sum + spot.y, 0) / n;
  let [xx, xy, yy] = [0, 0, 0];
  for (const spot of points) {
    xx += (spot.x - x) ** 2;
    xy += (spot.x - x) * (spot.y - y);
    yy += (spot.y - y) ** 2;
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  return { through: { x, y }, along: { x: Math.cos(angle), y: Math.sin(angle) } };
}

function meeting(one: Line, other: Line): Spot | null {
  const turn = one.along.x * other.along.y - one.along.y * other.along.x;
  if (Math.abs(turn) < 0.1) return null;
  const dx = other.through.x - one.through.x;
  const dy = other.through.y - one.through.y;
  const t = (dx * other.along.y - dy * other.along.x) / turn;
  return { x: one.through.x + t * one.along.x, y: one.through.y + t * one.along.y };
}

/** 40 to 140 degrees: no sheet seen from above the bench has other corners. */
function isCorner(quad: Quad, at: number): boolean {
  const [before, corner, next] = [quad[(at + 3) % 4]!, quad[at]!, quad[(at + 1) % 4]!];
  const a = { x: before.x - corner.x, y: before.y - corner.y };
  const b = { x: next.x - corner.x, y: next.y - corner.y };
  const cosine = (a.x * b.x + a.y * b.y) / (Math.hypot(a.x, a.y) * Math.hypot(b.x, b.y));
  return Math.abs(cosine) < Math.cos((40 * Math.PI) / 180);
}

/** How far on either side of an edge its light is looked at, px. */
const ASIDE_PX = 4;

/** Whether it is darker just beyond a side, or the picture ends there: a lamp's shade has no edge. */
function hasEdge(quad: Quad, at: number, light: Uint8Array, width: number, height: number): boolean {
  const [a, b] = [quad[at]!, quad[(at + 1) % 4]!];
  const length = Math.hypot(b.x - a.x, b.y - a.y) || 1;
  // Clockwise: what is beyond lies to the left of the way from a to b.
  const out = { x: ((b.y - a.y) / length) * ASIDE_PX, y: (-(b.x - a.x) / length) * ASIDE_PX };
  let step = 0;
  let count = 0;
  for (let part = 0.1; part < 0.91; part += 0.05) {
    const spot = { x: a.x + (b.x - a.x) * part, y: a.y + (b.y - a.y) * part };
    const beyond = lightAt(light, width, height, { x: spot.x + out.x, y: spot.y + out.y });
    const within = lightAt(light, width, height, { x: spot.x - out.x, y: spot.y - out.y });
    if (beyond === null || within === null) continue;
    step += within - beyond;
    count += 1;
  }
  return count === 0 || step / count >= CONTRAST_MIN;
}

function lightAt(light: Uint8Array, width: number, height: number, { x, y }: Spot): number | null {
  const [i, j] = [Math.floor(x), Math.floor(y)];
  return i < 0 || j < 0 || i >= width || j >= height ? null : light[j * width + i]!;
}

function fromUpperLeft(quad: Quad): Quad {
  let first = 0;
  quad.forEach(({ x, y }, at) => {
    if (x + y < quad[first]!.x + quad[first]!.y) first = at;
  });
  return quad.map((_, at) => quad[(first + at) % 4]!) as unknown as Quad;
}
