/** Putting records at a place among their siblings: as few new order keys as it takes. */
import { between, byOrder, spread } from "./order";
import type { Ordered } from "./precedence";

export interface Placed {
  readonly id: string;
  readonly order: string;
}

/**
 * New keys that bring `id` to place `to` (from 0, counted without it) among `siblings`, which may
 * be in any order. Mostly one key; all of them where keys are missing, equal or have no room left.
 */
export function moved(siblings: readonly Ordered[], id: string, to: number): Placed[] {
  const rest = [...siblings].sort(byOrder).filter((one) => one.id !== id);
  const at = Math.min(Math.max(0, to), rest.length);
  const order = keyAt(rest, at);
  if (order !== null) return [{ id, order }];
  const all = [...rest.slice(0, at).map((one) => one.id), id, ...rest.slice(at).map((one) => one.id)];
  const keys = spread(all.length);
  const before = new Map(siblings.map((one) => [one.id, one.order]));
  return all
    .map((one, i) => ({ id: one, order: keys[i]! }))
    .filter((one) => before.get(one.id) !== one.order);
}

/** `n` keys that sort, in order, behind all `siblings`. */
export function behind(siblings: readonly Ordered[], n: number): string[] {
  const keys: string[] = [];
  let last = siblings.reduce<string | null>(
    (most, { order }) => (order && (most === null || order > most) ? order : most),
    null,
  );
  for (let i = 0; i < n; i += 1) {
    last = between(last, null);
    keys.push(last);
  }
  return keys;
}

function keyAt(rest: readonly Ordered[], at: number): string | null {
  const before = at > 0 ? rest[at - 1]! : null;
  const after = at < rest.length ? rest[at]! : null;
  // Those without a key stand last: nothing can be put behind one.
  if (before && !before.order) return null;
  try {
    return between(before?.order ?? null, after?.order ?? null);
  } catch {
    return null;
  }
}
