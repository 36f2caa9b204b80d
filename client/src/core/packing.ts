/**
 * Many changes as columns: how they travel. Format: server/PROTOCOL.md, "Packed changes";
 * twin: server/bagtrail/wire/packing.py; both run tests/contract/packing.json.
 */
import type { Change, Fields } from "./merge";
import { make, parse } from "./stamps";

/** A change with the record it writes to. */
export interface RecordChange extends Change {
  readonly type: string;
  readonly record: string;
  /** Change `first` (a counter of this author) and the `size - 1` that follow stand together. */
  readonly group?: { readonly first: number; readonly size: number };
}

export interface Packed {
  clocks: string[];
  records: [type: string, id: string][];
  author: number[];
  counter: number[];
  record: number[];
  set: Fields[];
  ms: number[];
  tick: number[];
  supersedes?: number[][];
  group?: ([first: number, size: number] | null)[];
}

/** Says in which column, at which entry, packed changes are not as agreed. */
export class PackingError extends Error {
  override readonly name = "PackingError";
  constructor(
    readonly column: string,
    readonly index: number | null,
    what: string,
  ) {
    super(`${column}${index === null ? "" : `[${index}]`}: ${what}`);
  }
}

const COUNTER_MAX = 999_999_999_999_999;

/** `push` carries what each change supersedes and its group; `pull` carries state alone. */
export function pack(changes: readonly RecordChange[], form: "push" | "pull"): Packed {
  const packed: Packed = {
    clocks: [], records: [], author: [], counter: [], record: [], set: [], ms: [], tick: [],
  };
  const supersedes: number[][] = [];
  const group: ([number, number] | null)[] = [];
  const clocks = new Map<string, number>();
  const records = new Map<string, number>();
  const counters = new Map<string, number>();
  const clockIndex = (clock: string): number =>
    indexOf(clocks, clock, () => packed.clocks.push(clock));
  let lastMs = 0;
  changes.forEach((change, i) => {
    const { clock, counter } = parseChangeId(change.id);
    const stamp = parse(change.stamp);
    if (stamp.clock !== clock) {
      throw new PackingError("ms", i, "the stamp is not of the change's author");
    }
    packed.author.push(clockIndex(clock));
    packed.counter.push(counter - (counters.get(clock) ?? 0));
    counters.set(clock, counter);
    packed.record.push(
      indexOf(records, `${change.type}:${change.record}`, () =>
        packed.records.push([change.type, change.record]),
      ),
    );
    packed.set.push(change.set);
    packed.ms.push(stamp.ms - lastMs);
    lastMs = stamp.ms;
    packed.tick.push(stamp.tick);
    supersedes.push(
      change.supersedes.flatMap((id) => {
        const seen = parseChangeId(id);
        return [clockIndex(seen.clock), seen.counter];
      }),
    );
    group.push(change.group ? [change.group.first, change.group.size] : null);
  });
  return form === "push" ? { ...packed, supersedes, group } : packed;
}

/** Throws PackingError where `packed` is not as agreed; nothing of it is trusted. */
export function unpack(packed: unknown): RecordChange[] {
  if (typeof packed !== "object" || packed === null || Array.isArray(packed)) {
    throw new PackingError("changes", null, "must be an object of columns");
  }
  const columns = new Map<string, unknown>(Object.entries(packed));
  const clocks = column(columns, "clocks").map((clock, i) => {
    if (typeof clock === "string" && /^[0-9a-f]{16}$/.test(clock)) return clock;
    throw new PackingError("clocks", i, "must be 16 lower-case hex digits");
  });
  const records = column(columns, "records").map((entry, i): [string, string] => {
    const [type, id] = Array.isArray(entry) && entry.length === 2 ? (entry as unknown[]) : [];
    if (typeof type === "string" && typeof id === "string") return [type, id];
    throw new PackingError("records", i, "must be [type, id]");
  });
  const author = column(columns, "author");
  const size = author.length;
  const sized = (name: string): unknown[] => column(columns, name, size);
  const counter = sized("counter");
  const record = sized("record");
  const set = sized("set");
  const ms = sized("ms");
  const ticks = sized("tick");
  const supersedes = columns.has("supersedes") ? sized("supersedes") : null;
  const groups = columns.has("group") ? sized("group") : null;

  const counters = new Map<string, number>();
  let lastMs = 0;
  return author.map((_, i) => {
    const clock = clocks[whole(author, "author", i, 0, clocks.length - 1)]!;
    const before = counters.get(clock) ?? 0;
    const count = before + whole(counter, "counter", i, 1 - before, COUNTER_MAX - before);
    counters.set(clock, count);
    const [type, id] = records[whole(record, "record", i, 0, records.length - 1)]!;
    lastMs += whole(ms, "ms", i, -lastMs, 2 ** 48 - 1 - lastMs);
    const fields = set[i];
    if (typeof fields !== "object" || fields === null || Array.isArray(fields)) {
      throw new PackingError("set", i, "must be an object of fields");
    }
    const change = {
      id: `${clock}.${count}`,
      type,
      record: id,
      set: fields as Fields,
      stamp: make(lastMs, whole(ticks, "tick", i, 0, 0xffff), clock),
      supersedes: supersedes ? unpackIds(supersedes[i], clocks, i) : [],
    };
    const group = groups?.[i] ?? null;
    return group === null ? change : { ...change, group: unpackGroup(group, i) };
  });
}

/** Throws RangeError if `id` is not `<clock>.<counter>`. */
export function parseChangeId(id: string): { clock: string; counter: number } {
  if (!/^[0-9a-f]{16}\.[1-9][0-9]{0,14}$/.test(id)) throw new RangeError(`Not a change id: ${id}`);
  return { clock: id.slice(0, 16), counter: Number(id.slice(17)) };
}

function unpackIds(flat: unknown, clocks: readonly string[], i: number): string[] {
  if (!Array.isArray(flat) || flat.length % 2) {
    throw new PackingError("supersedes", i, "must be a list of pairs, laid flat");
  }
  const ids: string[] = [];
  for (let k = 0; k < flat.length; k += 2) {
    const clock = clocks[wholeOf(flat[k], "supersedes", i, 0, clocks.length - 1)]!;
    ids.push(`${clock}.${wholeOf(flat[k + 1], "supersedes", i, 1, COUNTER_MAX)}`);
  }
  return ids;
}

function unpackGroup(group: unknown, i: number): { first: number; size: number } {
  if (!Array.isArray(group) || group.length !== 2) {
    throw new PackingError("group", i, "must be null or [counter of first, size]");
  }
  return {
    first: wholeOf(group[0], "group", i, 1, COUNTER_MAX),
    size: wholeOf(group[1], "group", i, 1, COUNTER_MAX),
  };
}

function column(columns: Map<string, unknown>, name: string, size?: number): unknown[] {
  const found = columns.get(name);
  if (!Array.isArray(found)) throw new PackingError(name, null, "must be a list");
  if (size !== undefined && found.length !== size) {
    throw new PackingError(name, null, `must have ${size} entries, has ${found.length}`);
  }
  return found;
}

function whole(from: unknown[], name: string, i: number, least: number, most: number): number {
  return wholeOf(from[i], name, i, least, most);
}

function wholeOf(value: unknown, name: string, i: number, least: number, most: number): number {
  if (typeof value === "number" && Number.isInteger(value) && value >= least && value <= most) {
    return value;
  }
  throw new PackingError(name, i, "must be a whole number within its bounds");
}

function indexOf(known: Map<string, number>, key: string, add: () => void): number {
  const found = known.get(key);
  if (found !== undefined) return found;
  add();
  const index = known.size;
  known.set(key, index);
  return index;
}
