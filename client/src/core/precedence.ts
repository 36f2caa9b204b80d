/**
 * What has to come before what: an order that respects it, and what is still open before a thing.
 *
 * The order is that of Kahn's algorithm, taking among all that may come next the one with the
 * smallest (order key, id): the manual's order, changed only where it must be.
 * Checked against networkx's lexicographical_topological_sort in tests/reference.
 */
import { byOrder } from "./order";

export interface Ordered {
  readonly id: string;
  readonly order?: string | null | undefined;
}

/** `first` has to be done before `then`. */
export interface ComesBefore {
  readonly first: string;
  readonly then: string;
  readonly reason?: string | null | undefined;
}

/** Something that comes before and is still open. */
export interface Open {
  readonly id: string;
  readonly reason: string | null;
}

export interface Precedence {
  /** All ids. Those in or behind a cycle stand last, in order of key. */
  readonly order: readonly string[];
  /** Ids that wait for each other in a ring, each before the next and the last before the first. */
  readonly cycle: readonly string[] | null;
  /** Direct predecessors of `id` that are not done, in `order`. */
  openBefore(id: string, done: (id: string) => boolean): Open[];
}

/** Pairs that name something that is not among `things` (deleted, not here yet) hold nothing up. */
export function precedence(
  things: readonly Ordered[],
  pairs: Iterable<ComesBefore>,
): Precedence {
  const sorted = [...things].sort(byOrder);
  const before = new Map<string, Map<string, string | null>>();
  const after = new Map<string, string[]>();
  for (const { id } of sorted) {
    before.set(id, new Map());
    after.set(id, []);
  }
  for (const { first, then, reason } of pairs) {
    const known = before.get(then);
    const follows = after.get(first);
    if (!known || !follows) continue;
    if (!known.has(first)) follows.push(then);
    known.set(first, known.get(first) ?? reason ?? null);
  }

  const rank = new Map(sorted.map(({ id }, i) => [id, i]));
  const open = new Map([...before].map(([id, known]) => [id, known.size]));
  const ready = new Heap();
  sorted.forEach(({ id }, i) => {
    if (open.get(id) === 0) ready.push(i);
  });
  const order: string[] = [];
  for (let at = ready.pop(); at !== undefined; at = ready.pop()) {
    const { id } = sorted[at]!;
    order.push(id);
    for (const next of after.get(id)!) {
      const left = open.get(next)! - 1;
      open.set(next, left);
      if (left === 0) ready.push(rank.get(next)!);
    }
  }
  const placed = new Set(order);
  const stuck = sorted.filter(({ id }) => !placed.has(id)).map(({ id }) => id);
  order.push(...stuck);
  const place = new Map(order.map((id, i) => [id, i]));

  return {
    order,
    cycle: stuck.length ? ring(stuck, before, placed) : null,
    openBefore: (id, done) =>
      [...(before.get(id) ?? [])]
        .filter(([first]) => !done(first))
        .sort(([a], [b]) => place.get(a)! - place.get(b)!)
        .map(([first, reason]) => ({ id: first, reason })),
  };
}

/** Walks backwards from a stuck thing until it meets itself: each has a stuck predecessor. */
function ring(
  stuck: readonly string[],
  before: ReadonlyMap<string, ReadonlyMap<string, string | null>>,
  placed: ReadonlySet<string>,
): string[] {
  const walked: string[] = [];
  const seen = new Map<string, number>();
  let at = stuck[0]!;
  while (!seen.has(at)) {
    seen.set(at, walked.length);
    walked.push(at);
    at = [...before.get(at)!.keys()].filter((id) => !placed.has(id)).sort()[0]!;
  }
  return walked.slice(seen.get(at)).reverse();
}

/** A binary heap of whole numbers: the smallest comes out first. */
class Heap {
  private readonly items: number[] = [];

  push(item: number): void {
    let at = this.items.push(item) - 1;
    while (at > 0) {
      const up = (at - 1) >> 1;
      if (this.items[up]! <= item) break;
      this.items[at] = this.items[up]!;
      at = up;
    }
    this.items[at] = item;
  }

  pop(): number | undefined {
    const top = this.items[0];
    const last = this.items.pop();
    if (top === undefined || last === undefined || this.items.length === 0) return top;
    let at = 0;
    for (;;) {
      let down = 2 * at + 1;
      if (down >= this.items.length) break;
      if (down + 1 < this.items.length && this.items[down + 1]! < this.items[down]!) down += 1;
      if (this.items[down]! >= last) break;
      this.items[at] = this.items[down]!;
      at = down;
    }
    this.items[at] = last;
    return top;
  }
}
