/**
 * Where the builder is, on this device and on the others. Pure: the moment is passed in.
 */
import { type Whereabouts, whereabouts } from "../../core/progress";
import type { RecordFields } from "../../core/records";
import type { Draft, View } from "../../sync/types";
import { type Hand, type Look, instant, placeId } from "./actions";

/** Below this age a device counts as being there now, above it as having been there; ms. */
export const PRESENT_MS = 10 * 60_000;
/** Staying at one step and operation is not written again sooner than this; ms. */
export const PLACE_MS = 60_000;

export interface Seen {
  device: string;
  step: string;
  operation: string | null;
  atMs: number;
  /** Seen there within `PRESENT_MS`. */
  present: boolean;
}

export interface SeenFrom {
  mine: Seen | null;
  /** The device that moved last, if it is another one and somewhere else: go there with one tap. */
  ahead: Seen | null;
  others: Seen[];
}

/** Where each device is in a build, as seen from `device`; latest first. */
export function seenFrom(
  places: readonly View<"place">[],
  device: string,
  nowMs: number,
): SeenFrom {
  const { mine: own, others: rest } = whereabouts(places, device);
  const see = (one: Whereabouts | null): Seen[] => {
    const atMs = one ? Date.parse(one.at) : NaN;
    return one?.step && !Number.isNaN(atMs)
      ? [{ ...one, step: one.step, atMs, present: nowMs - atMs <= PRESENT_MS }]
      : [];
  };
  const mine = see(own)[0] ?? null;
  const others = rest.flatMap(see);
  const first = others[0];
  const ahead =
    first &&
    (!mine || first.atMs > mine.atMs) &&
    !(mine && mine.step === first.step && mine.operation === first.operation)
      ? first
      : null;
  return { mine, ahead, others: others.filter((one) => one !== ahead) };
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
