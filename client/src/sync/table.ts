/** The records of one type in memory, with indexes that are made on first use. */
import { signal, type Signal } from "@preact/signals";
import { Entry } from "./entry";
import type { View } from "./types";

type Index = Map<string, readonly View[]>;

/** Above this many changed records at once, indexes are made anew instead of mended. */
const MEND_MAX = 100;
const NONE: readonly View[] = [];

export class Table {
  readonly entries = new Map<string, Entry>();
  readonly #version: Signal<number> = signal(0);
  #all: readonly View[] | null = null;
  readonly #indexes = new Map<string, Index>();

  constructor(readonly type: string) {}

  get(id: string): View | undefined {
    void this.#version.value;
    return this.entries.get(id)?.view ?? undefined;
  }

  all(): readonly View[] {
    void this.#version.value;
    return (this.#all ??= [...this.entries.values()].flatMap(({ view }) => view ?? []));
  }

  where(field: string, value: string): readonly View[] {
    void this.#version.value;
    let index = this.#indexes.get(field);
    if (!index) {
      index = new Map();
      const buckets = new Map<string, View[]>();
      for (const { view } of this.entries.values()) {
        for (const key of keysOf(view, field)) {
          const bucket = buckets.get(key);
          if (bucket) bucket.push(view!);
          else buckets.set(key, [view!]);
        }
      }
      for (const [key, bucket] of buckets) index.set(key, bucket);
      this.#indexes.set(field, index);
    }
    return index.get(value) ?? NONE;
  }

  /** The record, made empty if it is not in memory. */
  entry(id: string): Entry {
    let entry = this.entries.get(id);
    if (!entry) {
      entry = new Entry(this.type, id);
      this.entries.set(id, entry);
    }
    return entry;
  }

  /** Changes records, then tells whoever looks. `change` gives what to do to each id. */
  update(ids: readonly string[], change: (entry: Entry) => void): void {
    if (!ids.length) return;
    const mend = ids.length <= MEND_MAX && this.#indexes.size > 0;
    if (!mend) this.#indexes.clear();
    for (const id of ids) {
      const entry = this.entry(id);
      const before = mend ? entry.view : null;
      change(entry);
      if (mend) this.#mend(before, entry.view);
    }
    this.#all = null;
    this.#version.value += 1;
  }

  clear(): void {
    this.entries.clear();
    this.#indexes.clear();
    this.#all = null;
  }

  /** Tells whoever looks, after `clear` and filling by hand. */
  renewed(): void {
    this.#indexes.clear();
    this.#all = null;
    this.#version.value += 1;
  }

  #mend(before: View | null, after: View | null): void {
    for (const [field, index] of this.#indexes) {
      const was = keysOf(before, field);
      const is = keysOf(after, field);
      for (const key of was) {
        const bucket = index.get(key) ?? NONE;
        // In its place where it stays in the bucket, so that lists do not jump.
        index.set(
          key,
          after && is.includes(key)
            ? bucket.map((view) => (view === before ? after : view))
            : bucket.filter((view) => view !== before),
        );
      }
      for (const key of is) {
        if (after && !was.includes(key)) index.set(key, [...(index.get(key) ?? NONE), after]);
      }
    }
  }
}

/** Values of a field by which a record is found: one, or each of a list. */
function keysOf(view: View | null, field: string): readonly string[] {
  if (!view) return [];
  const value: unknown = (view.values as Readonly<Record<string, unknown>>)[field];
  if (typeof value === "string") return [value];
  if (!Array.isArray(value)) return [];
  return [...new Set(value.filter((one): one is string => typeof one === "string"))];
}
