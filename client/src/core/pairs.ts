/**
 * 'Comes before' pairs of a kit: the way that a new pair would close into a ring, the rings that
 * are there already, and the columns of their drawing.
 *
 * Checked against networkx (shortest_path, topological_generations) in tests/reference.
 */
import { precedence, type ComesBefore, type Ordered } from "./precedence";

/**
 * Why `first` cannot come before `then`: the shortest way by which `then` comes before `first`
 * already, both named. Null: there is none, the pair closes nothing. A thing before itself: [it].
 */
export function wayBack(
  pairs: Iterable<ComesBefore>,
  first: string,
  then: string,
): readonly string[] | null {
  const after = new Map<string, string[]>();
  for (const pair of pairs) {
    const known = after.get(pair.first);
    if (known) known.push(pair.then);
    else after.set(pair.first, [pair.then]);
  }
  const from = new Map<string, string | null>([[then, null]]);
  const queue = [then];
  for (let at = 0; at < queue.length; at += 1) {
    const here = queue[at]!;
    if (here === first) {
      const way: string[] = [];
      for (let one: string | null = here; one !== null; one = from.get(one) ?? null) way.push(one);
      return way.reverse();
    }
    for (const next of after.get(here) ?? []) {
      if (from.has(next)) continue;
      from.set(next, here);
      queue.push(next);
    }
  }
  return null;
}

/** A pair as a record holds it. */
export interface Pair extends ComesBefore {
  readonly kind: "operation" | "step";
}

/** A step or operation on a ring. */
export interface Stop {
  readonly kind: "operation" | "step";
  readonly id: string;
}

/**
 * Steps and operations as one graph, for pairs between steps and pairs between operations of
 * different steps can block each other: each step begins, its operations are done, it ends.
 */
export class KitOrder {
  readonly #nodes: readonly string[];
  readonly #edges: readonly ComesBefore[];
  readonly #stepOf: ReadonlyMap<string, string>;

  /** Pairs that name what is not among `steps` and `operations` hold nothing up. */
  constructor(
    steps: readonly string[],
    operations: readonly { readonly id: string; readonly step: string }[],
    pairs: Iterable<Pair>,
  ) {
    this.#stepOf = new Map(operations.map(({ id, step }) => [id, step]));
    this.#nodes = [...steps.flatMap((id) => [begin(id), end(id)]), ...this.#stepOf.keys()];
    const known = new Set(this.#nodes);
    this.#edges = [
      ...steps.map((id) => ({ first: begin(id), then: end(id) })),
      ...[...this.#stepOf].flatMap(([id, step]) => [
        { first: begin(step), then: id },
        { first: id, then: end(step) },
      ]),
      ...[...pairs].map(edge),
    ].filter(({ first, then }) => known.has(first) && known.has(then));
  }

  /** What a new pair would close into a ring, from its `then` to its `first`; null: nothing. */
  closes(pair: Pair): readonly Stop[] | null {
    if (pair.first === pair.then) return [{ kind: pair.kind, id: pair.first }];
    const { first, then } = edge(pair);
    const way = wayBack(this.#edges, first, then);
    return way && this.#stops(way);
  }

  /** A ring that is there already; null where there is none. */
  ring(): readonly Stop[] | null {
    const { cycle } = precedence(this.#nodes.map((id) => ({ id })), this.#edges);
    return cycle && this.#stops(cycle);
  }

  /** In words a step is one stop, begun and ended; an operation that only joins them is none. */
  #stops(way: readonly string[]): Stop[] {
    const linked = new Set<string>();
    for (let i = 0; i < way.length; i += 1) {
      const [here, next] = [way[i]!, way[(i + 1) % way.length]!];
      // Only a pair between operations makes an operation a stop.
      if (this.#stepOf.has(here) && this.#stepOf.has(next)) {
        linked.add(here);
        linked.add(next);
      }
    }
    const stops: Stop[] = [];
    for (const node of way) {
      const marked = node.startsWith("<") || node.startsWith(">");
      if (!marked && way.length > 1 && !linked.has(node)) continue;
      const stop: Stop = marked
        ? { kind: "step", id: bareOf(node) }
        : { kind: "operation", id: node };
      const last = stops.at(-1);
      if (last?.id !== stop.id) stops.push(stop);
    }
    if (stops.length > 1 && stops[0]!.id === stops.at(-1)!.id) stops.pop();
    return stops;
  }
}

const begin = (step: string): string => `<${step}`;
const end = (step: string): string => `>${step}`;
const bareOf = (node: string): string => node.slice(1);

function edge({ kind, first, then }: Pair): ComesBefore {
  return kind === "step" ? { first: end(first), then: begin(then) } : { first, then };
}

/**
 * Things that take part in pairs, in columns: each stands right of all that come before it, as far
 * left as it can. What is in or behind a ring stands in the last column. Within a column: near to
 * what it comes from, then in the order of keys.
 */
export function columnsOf(
  things: readonly Ordered[],
  pairs: readonly ComesBefore[],
): string[][] {
  const known = new Set(things.map(({ id }) => id));
  const drawn = pairs.filter(({ first, then }) => known.has(first) && known.has(then));
  const named = new Set(drawn.flatMap(({ first, then }) => [first, then]));
  const { order, cycle } = precedence(
    things.filter(({ id }) => named.has(id)),
    drawn,
  );
  const before = new Map<string, string[]>(order.map((id) => [id, []]));
  for (const { first, then } of drawn) before.get(then)!.push(first);
  const column = new Map<string, number>();
  const row = new Map<string, number>();
  const columns: string[][] = [];
  const stuck: string[] = [];
  for (const id of order) {
    const from = before.get(id)!;
    if (from.some((one) => !column.has(one))) {
      stuck.push(id);
      continue;
    }
    const at = Math.max(-1, ...from.map((one) => column.get(one)!)) + 1;
    column.set(id, at);
    (columns[at] ??= []).push(id);
  }
  if (cycle && stuck.length) columns.push(stuck);
  for (const one of columns) {
    const pull = (id: string): number => {
      const rows = before.get(id)!.flatMap((from) => row.get(from) ?? []);
      return rows.length ? rows.reduce((sum, value) => sum + value, 0) / rows.length : 0;
    };
    const pulls = new Map(one.map((id) => [id, pull(id)]));
    one.sort((a, b) => pulls.get(a)! - pulls.get(b)!);
    one.forEach((id, i) => row.set(id, i));
  }
  return columns;
}
