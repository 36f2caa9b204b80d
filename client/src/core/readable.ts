/** A photographed page made easier to read: its paper white whatever the lamp did. */
import { lightOf, type Raster } from "./quad";

/** `plain`: as photographed. `bright`: the paper white, colours kept. `grey`: that without colours. */
export type Look = "plain" | "bright" | "grey";

/** The paper's light is looked for in so many places across the long side. */
const PLACES = 24;
/** In each of them, so much of it is darker than the paper. */
const PAPER_QUANTILE = 0.85;
/** What the paper comes to, of 255. */
const WHITE = 250;
/** Paper is never taken for darker than this: then it is a figure's black, and stays black. */
const PAPER_MIN = 60;

/** A picture in another look; `plain` is the same one. */
export function inLook(picture: Raster, look: Look): Raster {
  if (look === "plain") return picture;
  const { width, height, data: from } = picture;
  const light = lightOf(picture);
  const paper = paperOf(light, width, height);
  const data = new Uint8ClampedArray(from.length);
  for (let y = 0, at = 0; y < height; y += 1) {
    const line = paper.row(y);
    for (let x = 0; x < width; x += 1, at += 1) {
      const gain = WHITE / line(x);
      const p = at * 4;
      if (look === "grey") data.fill(light[at]! * gain, p, p + 3);
      else for (let c = p; c < p + 3; c += 1) data[c] = from[c]! * gain;
      data[p + 3] = 255;
    }
  }
  return { width, height, data };
}

/** The light of the paper at each pixel: found in places, and in between by proportion. */
function paperOf(light: Uint8Array, width: number, height: number) {
  const cell = Math.max(1, Math.ceil(Math.max(width, height) / PLACES));
  const across = Math.ceil(width / cell);
  const down = Math.ceil(height / cell);
  const found = new Float32Array(across * down);
  for (let j = 0; j < down; j += 1) {
    for (let i = 0; i < across; i += 1) found[j * across + i] = quantile(light, width, height, i, j, cell);
  }
  // A place that is all figure says less of the paper than its neighbours: the brightest counts.
  const paper = new Float32Array(found.length);
  for (let j = 0; j < down; j += 1) {
    for (let i = 0; i < across; i += 1) {
      let most = PAPER_MIN;
      for (let b = Math.max(0, j - 1); b <= Math.min(down - 1, j + 1); b += 1) {
        for (let a = Math.max(0, i - 1); a <= Math.min(across - 1, i + 1); a += 1) {
          most = Math.max(most, found[b * across + a]!);
        }
      }
      paper[j * across + i] = most;
    }
  }
  const part = (px: number, count: number): [number, number, number] => {
    const at = Math.min(count - 1, Math.max(0, (px + 0.5) / cell - 0.5));
    const low = Math.floor(at);
    return [low, Math.min(count - 1, low + 1), at - low];
  };
  return {
    row(y: number): (x: number) => number {
      const [j0, j1, fy] = part(y, down);
      const line = Float32Array.from({ length: across }, (_, i) => {
        const top = paper[j0 * across + i]!;
        return top + (paper[j1 * across + i]! - top) * fy;
      });
      return (x) => {
        const [i0, i1, fx] = part(x, across);
        return line[i0]! + (line[i1]! - line[i0]!) * fx;
      };
    },
  };
}

function quantile(
  light: Uint8Array,
  width: number,
  height: number,
  i: number,
  j: number,
  cell: number,
): number {
  const counts = new Uint32Array(256);
  let all = 0;
  for (let y = j * cell; y < Math.min(height, (j + 1) * cell); y += 1) {
    for (let x = i * cell; x < Math.min(width, (i + 1) * cell); x += 1) {
      counts[light[y * width + x]!]! += 1;
      all += 1;
    }
  }
  let below = 0;
  for (let level = 0; level < 256; level += 1) {
    below += counts[level]!;
    if (below >= PAPER_QUANTILE * all) return level;
  }
  return 255;
}
