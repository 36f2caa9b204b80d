/**
 * Undo and redo of edits to records that other devices write, too.
 *
 * An edit is kept as what it did to each record, one deed for each. Undoing one is a new change that writes the
 * earlier values, deletes what was added and brings back what was deleted. What somebody else has
 * written since stays as it is, and is named. Pure: whoever calls writes and keeps the stack.
 */
import { sameJson, type Fields } from "./merge";

export interface RecordName {
  readonly type: string;
  readonly id: string;
}

/** What an edit did to one record. `after` and `values`: as they stood when it was done. */
export type Deed =
  | (RecordName & { readonly kind: "set"; readonly before: Fields; readonly after: Fields })
  | (RecordName & { readonly kind: "add"; readonly values: Fields })
  | (RecordName & { readonly kind: "remove"; readonly values: Fields });

/** What a person did at one go. */
export interface Edit {
  /** What was done, in words. */
  readonly said: string;
  readonly deeds: readonly Deed[];
  /** All of it stands or falls together. */
  readonly together: boolean;
}

/** What to write. */
export interface Writing {
  readonly drafts: readonly (RecordName & { readonly set: Fields })[];
  readonly remove: readonly RecordName[];
}

/** What somebody else wrote meanwhile, so that it was left; `field` null: the record as a whole. */
export interface Left extends RecordName {
  readonly field: string | null;
}

export interface Step extends Writing {
  readonly left: readonly Left[];
}

/** Shown values of a record that stands; undefined: it is gone or was never here. */
export type Look = (type: string, id: string) => Fields | undefined;

/** Equal as values of a field: one that was never set is as good as empty. */
function same(a: unknown, b: unknown): boolean {
  return sameJson(a ?? null, b ?? null);
}

/**
 * What an edit does to the records as `look` shows them now: drafts of records that are not there
 * add them, values that stand already are left out. `remove` names records to delete, none of
 * which is drafted, too.
 */
export function deedsOf(writing: Writing, look: Look): Deed[] {
  const deeds: Deed[] = [];
  // One deed for each record, however often it is drafted.
  const sets = new Map<string, RecordName & { set: Fields }>();
  for (const { type, id, set } of writing.drafts) {
    const key = `${type}:${id}`;
    sets.set(key, { type, id, set: { ...sets.get(key)?.set, ...set } });
  }
  for (const { type, id, set } of sets.values()) {
    const known = look(type, id);
    if (!known) {
      deeds.push({ kind: "add", type, id, values: set });
      continue;
    }
    const changed = Object.keys(set).filter((field) => !same(known[field], set[field]));
    if (changed.length === 0) continue;
    const of = (from: Fields) =>
      Object.fromEntries(changed.map((field) => [field, from[field] ?? null]));
    deeds.push({ kind: "set", type, id, before: of(known), after: of(set) });
  }
  for (const { type, id } of writing.remove) {
    const values = look(type, id);
    if (values) deeds.push({ kind: "remove", type, id, values });
  }
  return deeds;
}

/** What carries an edit out. */
export function forwards(deeds: readonly Deed[]): Writing {
  return {
    drafts: deeds.flatMap((deed) =>
      deed.kind === "remove"
        ? []
        : [{ type: deed.type, id: deed.id, set: deed.kind === "add" ? deed.values : deed.after }],
    ),
    remove: deeds.filter(({ kind }) => kind === "remove").map(({ type, id }) => ({ type, id })),
  };
}

/** What takes an edit back, as the records stand now. */
export function backwards(edit: Edit, look: Look): Step {
  return plan([...edit.deeds].reverse(), look, (deed) => {
    switch (deed.kind) {
      case "set":
        return { kind: "set", from: deed.after, to: deed.before };
      case "add":
        return { kind: "remove", values: deed.values };
      case "remove":
        return { kind: "add" };
    }
  });
}

/** What does an edit once more after it was taken back, as the records stand now. */
export function again(edit: Edit, look: Look): Step {
  return plan(edit.deeds, look, (deed) => {
    switch (deed.kind) {
      case "set":
        return { kind: "set", from: deed.before, to: deed.after };
      case "add":
        return { kind: "add" };
      case "remove":
        return { kind: "remove", values: deed.values };
    }
  });
}

type Turn =
  | { kind: "set"; from: Fields; to: Fields }
  | { kind: "add" }
  | { kind: "remove"; values: Fields };

function plan(deeds: readonly Deed[], look: Look, turn: (deed: Deed) => Turn): Step {
  const drafts: (RecordName & { set: Fields })[] = [];
  const remove: RecordName[] = [];
  const left: Left[] = [];
  for (const deed of deeds) {
    const { type, id } = deed;
    const values = look(type, id);
    const what = turn(deed);
    if (what.kind === "add") {
      // Here again already: somebody else brought it back.
      if (!values) drafts.push({ type, id, set: { deleted: null } });
      continue;
    }
    if (!values) {
      // Gone already is as good as deleted; a field of what is gone cannot be set.
      if (what.kind === "set") left.push({ type, id, field: null });
      continue;
    }
    if (what.kind === "remove") {
      if (untouched(values, what.values)) remove.push({ type, id });
      else left.push({ type, id, field: null });
      continue;
    }
    const set: Record<string, unknown> = {};
    for (const [field, to] of Object.entries(what.to)) {
      if (same(values[field], to)) continue;
      if (same(values[field], what.from[field])) set[field] = to;
      else left.push({ type, id, field });
    }
    if (Object.keys(set).length > 0) drafts.push({ type, id, set });
  }
  return { drafts, remove, left };
}

/** Nobody has written anything else into it since. */
function untouched(now: Fields, then: Fields): boolean {
  const fields = new Set([...Object.keys(now), ...Object.keys(then)]);
  fields.delete("deleted");
  return [...fields].every((field) => same(now[field], then[field]));
}

/** Edits that can be taken back, latest last, and those that were and can be done once more. */
export interface Stack {
  readonly done: readonly Edit[];
  readonly undone: readonly Edit[];
}

export const NO_EDITS: Stack = { done: [], undone: [] };
/** More than anybody takes back step by step. */
export const EDITS_MAX = 300;

/** A new edit: what was taken back before it can no longer be done once more. */
export function pushed(stack: Stack, edit: Edit): Stack {
  return { done: [...stack.done, edit].slice(-EDITS_MAX), undone: [] };
}

/** The latest edit has been taken back. */
export function undone({ done, undone }: Stack): Stack {
  const last = done.at(-1);
  return last ? { done: done.slice(0, -1), undone: [...undone, last] } : { done, undone };
}

/** The edit that was taken back last has been done once more. */
export function redone({ done, undone }: Stack): Stack {
  const last = undone.at(-1);
  return last ? { done: [...done, last], undone: undone.slice(0, -1) } : { done, undone };
}
