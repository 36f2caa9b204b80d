/**
 * What goes when a record of a kit is deleted: what only lives in it is deleted with it, what also
 * stands elsewhere only loses the reference. Records of builds stay as they are, and are counted.
 */
import { metaOf, RECORD_META } from "./meta";
import type { RecordType } from "./records";
import type { RecordName } from "./undo";

type Fields = Readonly<Record<string, unknown>>;

export interface Found extends RecordName {
  readonly values: Fields;
}

/** Records that stand whose field holds `id`, alone or in a list. */
export type Where = (type: string, field: string, id: string) => readonly Found[];

export interface Takings {
  /** The record itself first. */
  readonly gone: readonly RecordName[];
  readonly cleared: readonly (RecordName & { readonly set: Fields })[];
  /** How many of each type go along, lose the reference, or stay in builds. */
  readonly along: ReadonlyMap<string, number>;
  readonly loses: ReadonlyMap<string, number>;
  readonly stays: ReadonlyMap<string, number>;
}

/** What lives in a record of a type: field of another type that names it. */
const LIVES_IN: Readonly<Record<string, readonly (readonly [type: string, field: string])[]>> = {
  step: [
    ["operation", "step"],
    ["joint", "step"],
    ["dimension", "step"],
    ["choice", "step"],
    ["caution", "step"],
    ["part_line", "step"],
    ["comes_before", "first"],
    ["comes_before", "then"],
  ],
  operation: [
    ["comes_before", "first"],
    ["comes_before", "then"],
  ],
  bag: [
    ["barcode", "bag"],
    ["part_line", "bag"],
  ],
  part: [["part_line", "part"]],
  choice: [["alternative", "choice"]],
  alternative: [["part_line", "alternative"]],
};

/** Where a record is only pointed at. */
const NAMED_BY: Readonly<Record<string, readonly (readonly [type: string, field: string])[]>> = {
  section: [["step", "section"]],
  bag: [["step", "bags"]],
  page: [["step", "page"]],
  operation: [
    ["joint", "operation"],
    ["dimension", "operation"],
  ],
  part: [["joint", "part"]],
};

/** What builders have said and made of it. */
const IN_BUILDS: Readonly<Record<string, readonly (readonly [type: string, field: string])[]>> = {
  step: [
    ["step_progress", "step"],
    ["note", "step"],
    ["photo", "step"],
    ["shortage", "step"],
  ],
  operation: [["operation_tick", "operation"]],
  dimension: [["reading", "dimension"]],
  choice: [["pick", "choice"]],
  bag: [["shortage", "bag"]],
  part: [
    ["movement", "part"],
    ["shortage", "part"],
  ],
};

export function takings(records: readonly RecordName[], where: Where): Takings {
  const gone = new Map<string, RecordName>();
  const cleared = new Map<string, RecordName & { set: Record<string, unknown> }>();
  const stays = new Map<string, number>();
  const own = new Set(records.map(keyOf));
  const queue: RecordName[] = [...records];
  const clear = (one: Found, field: string, id: string) => {
    const key = keyOf(one);
    const known = cleared.get(key) ?? { type: one.type, id: one.id, set: {} };
    const value = known.set[field] ?? one.values[field];
    known.set[field] = Array.isArray(value) ? value.filter((other) => other !== id) : null;
    // A frame means nothing without its page.
    if (field === "page" && one.values["frame"]) known.set["frame"] = null;
    cleared.set(key, known);
  };
  for (let record = queue.shift(); record; record = queue.shift()) {
    const { type, id } = record;
    if (gone.has(keyOf(record))) continue;
    gone.set(keyOf(record), { type, id });
    for (const [kind, field] of LIVES_IN[type] ?? []) {
      for (const one of where(kind, field, id)) {
        // A part line of a step that comes from a bag is in the bag still, and the other way round.
        const other = field === "step" ? "bag" : field === "bag" ? "step" : null;
        const elsewhere = kind === "part_line" && other !== null && Boolean(one.values[other]);
        if (elsewhere) clear(one, field, id);
        else queue.push({ type: one.type, id: one.id });
      }
    }
    for (const [kind, field] of NAMED_BY[type] ?? []) {
      for (const one of where(kind, field, id)) clear(one, field, id);
    }
    for (const [kind, field] of IN_BUILDS[type] ?? []) {
      const count = where(kind, field, id).length;
      if (count) stays.set(kind, (stays.get(kind) ?? 0) + count);
    }
  }
  // A line whose bag and step both go has nowhere to stand.
  for (const [key, one] of cleared) {
    if (one.type === "part_line" && "bag" in one.set && "step" in one.set && !gone.has(key)) {
      gone.set(key, { type: one.type, id: one.id });
    }
  }
  for (const key of gone.keys()) cleared.delete(key);
  return {
    gone: [...gone.values()],
    cleared: [...cleared.values()],
    along: counted([...gone].filter(([key]) => !own.has(key)).map(([, one]) => one)),
    loses: counted([...cleared.values()]),
    stays,
  };
}

/** A kit with the builds of it, or a build alone, and everything that is in them. */
export interface Whole {
  /** The kit and the builds themselves. */
  readonly heads: readonly RecordName[];
  readonly contents: readonly RecordName[];
  /** How many of each type are in the kit; in the builds. */
  readonly inKit: ReadonlyMap<string, number>;
  readonly inBuilds: ReadonlyMap<string, number>;
}

/** Types of what is in a kit or a build. */
export const typesIn = (scope: "kit" | "build"): RecordType[] =>
  (Object.keys(RECORD_META) as RecordType[]).filter((type) => metaOf(type)?.scope === scope);

/** Everything that is a kit's or a build's, by the field that names it: no reference is followed. */
export function wholeOf(of: RecordName & { readonly type: "kit" | "build" }, where: Where): Whole {
  const all = (scope: "kit" | "build", id: string) =>
    typesIn(scope).flatMap((type) => where(type, scope, id).map(({ id }) => ({ type, id })));
  const { type, id } = of;
  const kits = type === "kit" ? all("kit", id) : [];
  const builds =
    type === "kit" ? where("build", "kit", id).map(({ id }) => ({ type: "build", id })) : [{ type, id }];
  const built = builds.flatMap((build) => all("build", build.id));
  return {
    heads: type === "kit" ? [{ type, id }, ...builds] : builds,
    contents: [...kits, ...built],
    inKit: counted(kits),
    inBuilds: counted(built),
  };
}

/** Changes that may stand or fall together, at most (server/PROTOCOL.md, "Groups"). */
export const GROUP_MAX = 20_000;

/** Cut so that each part can be one group; a kit of usual size is one. */
export function inGroups<T>(all: readonly T[], most = GROUP_MAX): T[][] {
  const groups: T[][] = [];
  for (let at = 0; at < all.length; at += most) groups.push(all.slice(at, at + most));
  return groups;
}

const keyOf = ({ type, id }: RecordName): string => `${type}:${id}`;

function counted(records: readonly RecordName[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { type } of records) counts.set(type, (counts.get(type) ?? 0) + 1);
  return counts;
}
