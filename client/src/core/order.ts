/**
 * Fractional order keys: text over 0-9A-Za-z that sorts a record among its siblings, so that one
 * can be put between two others without touching them. A key is read as the digits of a fraction
 * to base 62, so it never ends in 0. Twin: server/bagtrail/trade/order.py;
 * both run tests/contract/order.json.
 */
import { compareText } from "./merge";

/** In the order of their code points, so that keys sort as text everywhere. */
export const DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
export const KEY_MAX = 64;
/** Digits in which whole lists are spread and ends are stepped over: room for 62^4 siblings. */
const WIDTH = 4;
const SPAN = 62 ** WIDTH;
const SPREAD_MAX = 100_000;

/**
 * A key that sorts after `a` and before `b`; null is the end of the list on that side.
 * Throws RangeError if `a` is not below `b`, a key has other characters, or there is no room left
 * (after some 300 insertions at one and the same place): then spread the siblings anew.
 */
export function between(a: string | null, b: string | null): string {
  for (const key of [a, b]) {
    if (key !== null && !/^[0-9A-Za-z]{1,64}$/.test(key)) {
      throw new RangeError(`Not an order key: ${key}`);
    }
  }
  const key = a === null ? (b === null ? "V" : before(b)) : b === null ? after(a) : middle(a, b);
  if ((a !== null && key <= a) || (b !== null && key >= b) || key.length > KEY_MAX) {
    throw new RangeError(`No room between ${a ?? "the start"} and ${b ?? "the end"}`);
  }
  return key;
}

/** `n` keys in rising order, evenly spread. Throws RangeError unless 0 <= n <= 100,000. */
export function spread(n: number): string[] {
  if (!Number.isInteger(n) || n < 0 || n > SPREAD_MAX) {
    throw new RangeError(`Can spread 0 to ${SPREAD_MAX} keys, not ${n}`);
  }
  return Array.from({ length: n }, (_, i) => trim(digits(Math.floor(((i + 1) * SPAN) / (n + 1)))));
}

/** Sorts siblings: by key, and by id where two devices have made the same key. */
export function byOrder(
  a: { readonly id: string; readonly order?: string | null | undefined },
  b: { readonly id: string; readonly order?: string | null | undefined },
): number {
  // Those without a key come last.
  return compareText(a.order ?? "~", b.order ?? "~") || compareText(a.id, b.id);
}

/** The next four-digit step above `a`: appending makes keys longer only after 62^4 times. */
function after(a: string): string {
  const step = chunk(a) + 1;
  return step < SPAN ? trim(digits(step)) : a.slice(0, WIDTH) + after(a.slice(WIDTH));
}

/** The next four-digit step below `b`. */
function before(b: string): string {
  const step = chunk(b) - 1;
  if (step > 0) return trim(digits(step));
  const rest = b.slice(WIDTH);
  return "0".repeat(WIDTH) + (step < 0 && rest ? before(rest) : "V");
}

/** The middle of two fractions, with no more digits than it takes. */
function middle(a: string, b: string): string {
  let same = 0;
  while (same < b.length && (a.charAt(same) || "0") === b.charAt(same)) same += 1;
  if (same > 0) return b.slice(0, same) + middle(a.slice(same), b.slice(same));
  const low = a ? DIGITS.indexOf(a.charAt(0)) : 0;
  const high = b ? DIGITS.indexOf(b.charAt(0)) : DIGITS.length;
  if (high - low > 1) return DIGITS.charAt(Math.floor((low + high) / 2));
  if (b.length > 1) return b.charAt(0);
  return DIGITS.charAt(low) + middle(a.slice(1), "");
}

function chunk(key: string): number {
  let value = 0;
  for (let i = 0; i < WIDTH; i += 1) {
    value = value * 62 + (i < key.length ? DIGITS.indexOf(key.charAt(i)) : 0);
  }
  return value;
}

function digits(value: number): string {
  let text = "";
  for (let i = 0, rest = value; i < WIDTH; i += 1, rest = Math.floor(rest / 62)) {
    text = DIGITS.charAt(rest % 62) + text;
  }
  return text;
}

function trim(key: string): string {
  return key.replace(/0+$/, "");
}
