/**
 * The merge: what a set of changes to one record comes to, whatever order they arrived in.
 *
 * Heads of a field are the changes that set it and that no other change that sets it supersedes.
 * Rules and words: server/PROTOCOL.md; twin: server/bagtrail/domain/merge.py;
 * both run tests/contract/merge.json.
 */
import type { Stamp } from "./stamps";

export type Fields = Readonly<Record<string, unknown>>;

/** One write to one record. */
export interface Change {
  readonly id: string;
  readonly stamp: Stamp;
  readonly set: Fields;
  readonly supersedes: readonly string[];
}

/** A change cut down to the fields of which it is still head. */
export interface Head {
  readonly id: string;
  readonly stamp: Stamp;
  readonly set: Fields;
}

export interface State {
  /** In order of (stamp, id); none without fields. */
  readonly heads: readonly Head[];
  /** Changes superseded before they arrived, with the fields on which they are. */
  readonly ghosts: Readonly<Record<string, readonly string[]>>;
}

export interface Valued {
  readonly value: unknown;
  readonly change: string;
  readonly stamp: Stamp;
}

/** Two or more writes to a field that did not know of each other and differ. */
export interface Clash {
  readonly field: string;
  readonly shown: Valued;
  readonly others: readonly Valued[];
}

export interface Shown {
  readonly values: Fields;
  /** In order of field name. Never of `deleted`: its question is `deleteAsked`. */
  readonly clashes: readonly Clash[];
  /** Deleted, by someone who had seen everything that stands in it. */
  readonly gone: boolean;
  /** Deleted on one device; kept or changed on another that did not know. */
  readonly deleteAsked: boolean;
}

export const EMPTY: State = { heads: [], ghosts: {} };

/**
 * The state after one more change of this record.
 *
 * A change that is still a head may come again without effect. One that has been superseded may
 * not: whoever keeps the journal knows the ids that it has and drops repeats.
 */
export function apply(state: State, change: Change): State {
  if (state.heads.some((head) => head.id === change.id)) return state;
  const fields = Object.keys(change.set);
  const superseded = new Set(change.supersedes);
  superseded.delete(change.id);

  const ghosts = new Map(Object.entries(state.ghosts));
  const arrived = new Set(state.heads.map((head) => head.id));
  for (const id of superseded) {
    if (!arrived.has(id)) ghosts.set(id, union(ghosts.get(id) ?? [], fields));
  }
  const lost = new Set(ghosts.get(change.id));
  ghosts.delete(change.id);

  const set = new Set(fields);
  const heads = state.heads
    .map((head) => (superseded.has(head.id) ? cut(head, (f) => !set.has(f)) : head))
    .concat(cut(change, (f) => !lost.has(f)))
    .filter((head) => Object.keys(head.set).length > 0)
    .sort(byStamp);
  return { heads, ghosts: Object.fromEntries(ghosts) };
}

/** The state of a set of changes, each given once, in any order. */
export function merge(changes: Iterable<Change>): State {
  let state = EMPTY;
  for (const change of changes) state = apply(state, change);
  return state;
}

/**
 * The server's heads of a record with this device's pending changes on top, in order of counter.
 * Neither argument is changed.
 */
export function overlay(serverHeads: readonly Head[], pending: Iterable<Change>): State {
  let state: State = { heads: serverHeads, ghosts: {} };
  for (const change of pending) state = apply(state, change);
  return state;
}

/** Ids of the heads that a new change of `fields` must name, in order of (stamp, id). */
export function supersededBy(state: State, fields: Iterable<string>): string[] {
  return headsOf(state, fields).map((head) => head.id);
}

/** Stamps that a new change of `fields` must sort above. */
export function floorOf(state: State, fields: Iterable<string>): Stamp[] {
  return headsOf(state, fields).map((head) => head.stamp);
}

/** What to write to delete a record as it is seen now: every head it would take along. */
export function deletion(state: State): { deleted: string[] } {
  const others = (field: string): boolean => field !== "deleted";
  return { deleted: state.heads.filter((h) => Object.keys(h.set).some(others)).map((h) => h.id) };
}

/**
 * What a person sees. `quiet`: fields on which nobody is asked to settle a clash.
 */
export function shown(state: State, quiet: ReadonlySet<string> = new Set()): Shown {
  const byField = new Map<string, Valued[]>();
  for (const { id, stamp, set } of state.heads) {
    for (const [field, value] of Object.entries(set)) {
      const known = byField.get(field);
      const one = { value, change: id, stamp };
      if (known) known.push(one);
      else byField.set(field, [one]);
    }
  }
  const values: [string, unknown][] = [];
  const clashes: Clash[] = [];
  for (const [field, all] of byField) {
    const last = all[all.length - 1]!;
    values.push([field, last.value]);
    if (all.length === 1 || quiet.has(field) || field === "deleted") continue;
    const others = all.filter((one) => !sameJson(one.value, last.value));
    if (others.length) clashes.push({ field, shown: last, others });
  }
  clashes.sort((a, b) => compareText(a.field, b.field));
  return { values: Object.fromEntries(values), clashes, ...deleteState(state, quiet) };
}

function deleteState(
  state: State,
  quiet: ReadonlySet<string>,
): { gone: boolean; deleteAsked: boolean } {
  const seen = new Set<unknown>();
  let deleters = 0;
  let keepers = 0;
  for (const { set } of state.heads) {
    if (!Object.hasOwn(set, "deleted")) continue;
    const list = set["deleted"];
    if (Array.isArray(list)) {
      deleters += 1;
      for (const id of list) seen.add(id);
    } else keepers += 1;
  }
  if (!deleters) return { gone: false, deleteAsked: false };
  // A person who chose to keep it, and did not know of the other's delete, is not overruled.
  // What was written to quiet fields alone speaks for nobody's wish to keep it.
  const silent = (field: string): boolean => field === "deleted" || quiet.has(field);
  const gone =
    keepers === 0 &&
    state.heads.every((head) => seen.has(head.id) || Object.keys(head.set).every(silent));
  return { gone, deleteAsked: !gone };
}

/** Equal as JSON values; the order of an object's keys does not count. */
export function sameJson(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) || Array.isArray(b)) {
    return (
      Array.isArray(a) &&
      Array.isArray(b) &&
      a.length === b.length &&
      a.every((one, i) => sameJson(one, b[i]))
    );
  }
  const left = Object.entries(a);
  const right = new Map<string, unknown>(Object.entries(b));
  return (
    left.length === right.size &&
    left.every(([key, value]) => right.has(key) && sameJson(value, right.get(key)))
  );
}

/** Order of text by code unit, the same on every device (locales differ). */
export function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function byStamp(a: Head, b: Head): number {
  return compareText(a.stamp, b.stamp) || compareText(a.id, b.id);
}

function headsOf(state: State, fields: Iterable<string>): Head[] {
  const wanted = [...new Set(fields)];
  return state.heads.filter((head) => wanted.some((field) => Object.hasOwn(head.set, field)));
}

function cut(head: Head, keep: (field: string) => boolean): Head {
  // fromEntries defines members, so that a field called `__proto__` stays a field.
  const set = Object.fromEntries(Object.entries(head.set).filter(([field]) => keep(field)));
  return { id: head.id, stamp: head.stamp, set };
}

function union(a: readonly string[], b: readonly string[]): string[] {
  return [...new Set([...a, ...b])].sort(compareText);
}
