/**
 * What a builder does at the bench, as drafts to write. Pure: who, where and when are passed in.
 *
 * Fields that say which record it is (build, step, operation…) are set only when the record begins,
 * so that a later change is no larger than what it changes.
 */
import { derivedId } from "../../core/ids";
import type { RecordFields, RecordType } from "../../core/records";
import type { Draft, View } from "../../sync/types";

/** Who does it and when. `newId`: a random id for a record that can exist often. */
export interface Hand {
  build: string;
  device: string;
  nowMs: number;
  newId: () => string;
}

/** The record of that id as shown now, if it stands. */
export type Look = <T extends RecordType>(type: T, id: string) => View<T> | undefined;

export type ProgressState = NonNullable<RecordFields["step_progress"]["state"]>;

/** Shape of the wire's Instant. */
export const instant = (ms: number): string => new Date(ms).toISOString();

export const progressId = (build: string, step: string): string =>
  derivedId("step_progress", build, step);
export const operationTickId = (build: string, operation: string): string =>
  derivedId("operation_tick", build, operation);
export const partTickId = (build: string, line: string): string =>
  derivedId("part_tick", build, line);
export const pickId = (build: string, choice: string): string => derivedId("pick", build, choice);
export const placeId = (build: string, device: string): string =>
  derivedId("place", build, device);

function draft<T extends RecordType>(
  look: Look,
  type: T,
  id: string,
  identity: Partial<RecordFields[T]>,
  set: Partial<RecordFields[T]>,
): Draft<T> {
  return { type, id, set: look(type, id) ? set : { ...identity, ...set } };
}

/** Says a state of a step. `why`: what holds it, kept only with `held`. */
export function sayState(
  look: Look,
  hand: Hand,
  step: string,
  state: ProgressState,
  why?: string,
): Draft[] {
  const { build, device, nowMs } = hand;
  const set: Partial<RecordFields["step_progress"]> = { state, at: instant(nowMs), device };
  if (why !== undefined) set.held_for = why.trim() || null;
  return [
    draft(look, "step_progress", progressId(build, step), { build, step }, set),
  ];
}

/** A step that nobody has spoken of is under way once something is done in it. */
function underWay(look: Look, hand: Hand, step: string): Draft[] {
  const state = look("step_progress", progressId(hand.build, step))?.values.state;
  return !state || state === "open" ? sayState(look, hand, step, "under_way") : [];
}

/** Ticks operations of a step, or takes the ticks back. `overruled`: why although something is open. */
export function tickOperations(
  look: Look,
  hand: Hand,
  step: string,
  operations: readonly string[],
  done: boolean,
  overruled?: string,
): Draft[] {
  const { build, device, nowMs } = hand;
  const ticks = operations.map((operation) => {
    const id = operationTickId(build, operation);
    const set: Partial<RecordFields["operation_tick"]> = { done, at: instant(nowMs), device };
    if (overruled !== undefined) set.overruled = overruled.trim() || null;
    else if (look("operation_tick", id)?.values.overruled) set.overruled = null;
    return draft(look, "operation_tick", id, { build, step, operation }, set);
  });
  return done ? [...ticks, ...underWay(look, hand, step)] : ticks;
}

/** Ticks part lines as laid out, or takes the ticks back. `step`: the one they are laid out for. */
export function layOut(
  look: Look,
  hand: Hand,
  step: string | null,
  lines: readonly string[],
  laidOut: boolean,
): Draft[] {
  const { build, nowMs } = hand;
  const ticks = lines.map((part_line) =>
    draft(look, "part_tick", partTickId(build, part_line), { build, part_line }, {
      laid_out: laidOut,
      at: instant(nowMs),
    }),
  );
  return laidOut && step ? [...ticks, ...underWay(look, hand, step)] : ticks;
}

/** Picks an alternative of a choice; `null` takes the pick back. */
export function pick(
  look: Look,
  hand: Hand,
  choice: string,
  alternative: string | null,
  why?: string,
): Draft[] {
  const { build, nowMs } = hand;
  const set: Partial<RecordFields["pick"]> = { alternative, at: instant(nowMs) };
  if (why !== undefined) set.why = why.trim() || null;
  return [draft(look, "pick", pickId(build, choice), { build, choice }, set)];
}

/** What was measured. `value` in millimetres, `typed` as the builder wrote it. */
export function takeReading(
  hand: Hand,
  step: string,
  dimension: string,
  reading: { value: number; typed: string; instrument: string | null },
): Draft[] {
  const { build, device, nowMs } = hand;
  const set: Partial<RecordFields["reading"]> = {
    build,
    step,
    dimension,
    value: reading.value,
    typed: reading.typed.trim().slice(0, 40),
    at: instant(nowMs),
    device,
  };
  if (reading.instrument) set.instrument = reading.instrument.slice(0, 120);
  return [{ type: "reading", id: hand.newId(), set }];
}

export function writeNote(hand: Hand, step: string | null, text: string): Draft[] {
  const { build, device, nowMs } = hand;
  return [
    {
      type: "note",
      id: hand.newId(),
      set: { build, step, text: text.trim(), at: instant(nowMs), device },
    },
  ];
}

/** What the next builder of this step should watch for; empty takes it back. */
export function sayWord(look: Look, hand: Hand, step: string, word: string): Draft[] {
  const { build } = hand;
  return [
    draft(look, "step_progress", progressId(build, step), { build, step }, {
      word: word.trim() || null,
    }),
  ];
}

/** A part found missing, wrong or damaged. `hold`: the step that cannot go on without it. */
export function reportShortage(
  look: Look,
  hand: Hand,
  found: {
    kind: RecordFields["shortage"]["kind"];
    quantity: number;
    text: string;
    part: string | null;
    partLine: string | null;
    bag: string | null;
    step: string | null;
    hold: { step: string; why: string } | null;
  },
): Draft[] {
  const set: Partial<RecordFields["shortage"]> = {
    build: hand.build,
    kind: found.kind,
    quantity: found.quantity,
    found_at: instant(hand.nowMs),
  };
  if (found.text.trim()) set.text = found.text.trim();
  if (found.part) set.part = found.part;
  if (found.partLine) set.part_line = found.partLine;
  if (found.bag) set.bag = found.bag;
  if (found.step) set.step = found.step;
  return [
    { type: "shortage", id: hand.newId(), set },
    ...(found.hold ? sayState(look, hand, found.hold.step, "held", found.hold.why) : []),
  ];
}

export function settleShortage(hand: Hand, shortage: string, settled: boolean): Draft[] {
  return [
    {
      type: "shortage",
      id: shortage,
      set: { settled_at: settled ? instant(hand.nowMs) : null },
    },
  ];
}

/** How to take drafts back: values to write again, and records to remove. */
export interface Undo {
  drafts: Draft[];
  gone: { type: RecordType; id: string }[];
}

/** Records that exist once for their parts: taken back by saying no, never by deleting them. */
const ONCE: ReadonlySet<RecordType> = new Set<RecordType>([
  "step_progress",
  "operation_tick",
  "part_tick",
  "pick",
]);
/** Fields that must hold yes or no. */
const YES_NO: ReadonlySet<string> = new Set(["done", "laid_out"]);
/** Written along with whatever is done; taking that back does not unmake the time or the place. */
const ALONG: ReadonlySet<RecordType> = new Set<RecordType>(["sitting", "place"]);

/** What takes `drafts` back, as `look` shows things before they are written. */
export function undoOf(look: Look, drafts: readonly Draft[]): Undo {
  const undo: Undo = { drafts: [], gone: [] };
  for (const { type, id, set } of drafts) {
    if (ALONG.has(type)) continue;
    const before = look(type, id)?.values;
    if (!before && !ONCE.has(type)) {
      undo.gone.push({ type, id });
      continue;
    }
    const old: Record<string, unknown> = {};
    for (const field of Object.keys(set)) {
      if (!before && ["build", "step", "operation", "part_line", "choice"].includes(field)) continue;
      const value: unknown = before?.[field as keyof typeof before];
      old[field] = value ?? (YES_NO.has(field) ? false : null);
    }
    undo.drafts.push({ type, id, set: old } as Draft);
  }
  return undo;
}
