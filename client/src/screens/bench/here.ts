/**
 * Where the builder is, on this device and on the others. Pure: the moment is passed in.
 */
import type { RecordFields } from "../../core/records";
import type { Draft, View } from "../../sync/types";
import { type Hand, type Look, instant, placeId } from "./actions";

/** Below this age a device counts as being there now, above it as having been there; ms. */
export const PRESENT_MS = 10 * 60_000;
/** Staying at one step and operation is not written again sooner than this; ms. */
export const PLACE_MS = 60_000;

export interface Whereabouts {
  device: string;
  step: string;
  operation: string | null;
  atMs: number;
  /** Seen there within `PRESENT_MS`. */
  present: boolean;
}

/** Where each device is in a build, latest first; places that name no step are left out. */
export function whereabouts(places: readonly View<"place">[], nowMs: number): Whereabouts[] {
  const found: Whereabouts[] = [];
  for (const { values } of places) {
    const atMs = values.at ? Date.parse(values.at) : NaN;
    if (!values.device || !values.step || Number.isNaN(atMs)) continue;
    found.push({
      device: values.device,
      step: values.step,
      operation: values.operation ?? null,
      atMs,
      present: nowMs - atMs <= PRESENT_MS,
    });
  }
  return found.sort((a, b) => b.atMs - a.atMs || (a.device < b.device ? -1 : 1));
}

export interface WhereAll {
  mine: Whereabouts | null;
  /** The device that moved last, if it is another one and somewhere else: go there with one tap. */
  ahead: Whereabouts | null;
  others: Whereabouts[];
}

/** Sorts whereabouts as seen from `device`. */
export function seenFrom(all: readonly Whereabouts[], device: string): WhereAll {
  const mine = all.find((w) => w.device === device) ?? null;
  const others = all.filter((w) => w.device !== device);
  const first = others[0];
  const ahead =
    first &&
    (!mine || first.atMs > mine.atMs) &&
    !(mine && mine.step === first.step && mine.operation === first.operation)
      ? first
      : null;
  return { mine, ahead, others: others.filter((w) => w !== ahead) };
}

/** Draft that says this device is at a step and operation; none if it said so just now. */
export function moveTo(look: Look, hand: Hand, step: string, operation: string | null): Draft[] {
  const { build, device, nowMs } = hand;
  const id = placeId(build, device);
  const before = look("place", id)?.values;
  const set: Partial<RecordFields["place"]> = { at: instant(nowMs) };
  if (before?.step !== step) set.step = step;
  if ((before?.operation ?? null) !== operation) set.operation = operation;
  if (before) {
    const moved = "step" in set || "operation" in set;
    const beforeMs = before.at ? Date.parse(before.at) : 0;
    if (!moved && nowMs - beforeMs < PLACE_MS) return [];
    return [{ type: "place", id, set }];
  }
  return [{ type: "place", id, set: { build, device, step, operation, at: instant(nowMs) } }];
}
