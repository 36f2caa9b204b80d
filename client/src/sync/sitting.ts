/**
 * Sittings: stretches of work at the bench, from sit down to stand up.
 *
 * Pure: the moment is passed in. A sitting begins by itself with the first thing done in a build on
 * a device, and `last_at` moves with each further one. When nothing has been done for a while, the
 * builder is asked once whether the time counts; until he answers it does not, so that a phone left
 * on the bench overnight never adds eight hours.
 */
import type { Draft, View } from "./types";

/** After this long without anything done the app asks; ms. */
export const IDLE_MS = 20 * 60_000;
/** `last_at` is not written again sooner than this, so that ten quick ticks are not ten writes; ms. */
export const STEP_MS = 10_000;
/** A pause longer than this is never offered as time at the bench; ms. */
export const PAUSE_MAX_MS = 6 * 3_600_000;
/** How long after sitting down again the question about the pause stays; ms. */
export const PAUSE_ASKED_MS = 15 * 60_000;

export type Seat =
  /** Nobody sits at this build with this device. */
  | { kind: "up" }
  | { kind: "sitting"; sitting: View<"sitting">; beganMs: number; lastMs: number }
  /** Nothing done for longer than `IDLE_MS`: 'Still at the bench?' */
  | { kind: "asks"; sitting: View<"sitting">; lastMs: number }
  /** Sat down again without having answered: did the pause count? */
  | { kind: "paused"; sitting: View<"sitting">; before: View<"sitting">; fromMs: number; toMs: number };

const instant = (ms: number): string => new Date(ms).toISOString();

/** Milliseconds of an instant of the wire; NaN if there is none. */
const ms = (at: string | null | undefined): number => (at ? Date.parse(at) : NaN);

const beganMs = (sitting: View<"sitting">): number => ms(sitting.values.began_at);

/** The last thing known to have been done in a sitting; ms. */
const lastMs = (sitting: View<"sitting">): number => {
  const last = ms(sitting.values.last_at);
  const began = beganMs(sitting);
  return Number.isNaN(last) ? began : Math.max(last, began);
};

const mine = (sittings: readonly View<"sitting">[], device: string): View<"sitting">[] =>
  sittings
    .filter((s) => s.values.device === device && !Number.isNaN(beganMs(s)))
    .sort((a, b) => beganMs(a) - beganMs(b) || (a.id < b.id ? -1 : 1));

/**
 * Where this device stands with a build. `sittings`: those of the build, of all devices.
 * A clock that was set back counts as no time gone by.
 */
export function seat(
  sittings: readonly View<"sitting">[],
  device: string,
  nowMs: number,
): Seat {
  const own = mine(sittings, device);
  const sitting = own.at(-1);
  if (!sitting || sitting.values.ended_at) return { kind: "up" };
  const last = lastMs(sitting);
  if (nowMs - last > IDLE_MS) return { kind: "asks", sitting, lastMs: last };

  const before = own.at(-2);
  if (before?.values.ended_at) {
    const fromMs = ms(before.values.ended_at);
    const toMs = beganMs(sitting);
    const pause = toMs - fromMs;
    // Only a sitting that the app itself ended at its last action leaves a question open.
    if (
      fromMs === lastMs(before) &&
      pause > IDLE_MS &&
      pause <= PAUSE_MAX_MS &&
      nowMs - toMs <= PAUSE_ASKED_MS
    )
      return { kind: "paused", sitting, before, fromMs, toMs };
  }
  return { kind: "sitting", sitting, beganMs: beganMs(sitting), lastMs: last };
}

/** Drafts to write along with something done at `nowMs`. `newId`: id for a sitting that begins. */
export function onAction(
  at: Seat,
  about: { build: string; device: string; nowMs: number; newId: () => string },
): Draft[] {
  const { build, device, nowMs, newId } = about;
  const begin: Draft<"sitting"> = {
    type: "sitting",
    id: "",
    set: { build, device, began_at: instant(nowMs), last_at: instant(nowMs) },
  };
  switch (at.kind) {
    case "up":
      return [{ ...begin, id: newId() }];
    case "asks":
      return [end(at.sitting, at.lastMs), { ...begin, id: newId() }];
    case "sitting":
    case "paused":
      return nowMs - lastMs(at.sitting) < STEP_MS ? [] : [went(at.sitting, nowMs)];
  }
}

const went = (sitting: View<"sitting">, nowMs: number): Draft => ({
  type: "sitting",
  id: sitting.id,
  set: { last_at: instant(nowMs) },
});

const end = (sitting: View<"sitting">, atMs: number): Draft => ({
  type: "sitting",
  id: sitting.id,
  set: { ended_at: instant(atMs) },
});

/** Answer 'I went on': the time since the last thing done counts. */
export function wentOn(at: Seat, nowMs: number): Draft[] {
  if (at.kind === "asks") return [went(at.sitting, nowMs)];
  if (at.kind === "paused")
    return [
      { type: "sitting", id: at.sitting.id, set: { began_at: instant(at.fromMs) } },
    ];
  return [];
}

/** Answer 'I stood up after the last thing I did': the time since then does not count. */
export function stoodUpThen(at: Seat): Draft[] {
  return at.kind === "asks" ? [end(at.sitting, at.lastMs)] : [];
}

/** 'I stand up now.' */
export function standUp(at: Seat, nowMs: number): Draft[] {
  return at.kind === "sitting" || at.kind === "paused"
    ? [
        {
          type: "sitting",
          id: at.sitting.id,
          set: { last_at: instant(nowMs), ended_at: instant(nowMs) },
        },
      ]
    : [];
}

/**
 * Time at the bench in milliseconds: the union of all sittings, because a builder with phone and
 * tablet on the bench sits there once. A sitting that was not ended counts to its last action, and
 * up to now while that is no longer ago than `IDLE_MS`.
 */
export function benchMs(sittings: readonly View<"sitting">[], nowMs: number): number {
  const spans = sittings
    .map((s): [number, number] => {
      const ended = ms(s.values.ended_at);
      if (!Number.isNaN(ended)) return [beganMs(s), ended];
      const last = lastMs(s);
      return [beganMs(s), nowMs - last <= IDLE_MS ? Math.max(last, nowMs) : last];
    })
    .filter(([from, to]) => to > from)
    .sort((a, b) => a[0] - b[0]);
  let total = 0;
  let reached = -Infinity;
  for (const [from, to] of spans) {
    total += Math.max(0, to - Math.max(from, reached));
    reached = Math.max(reached, to);
  }
  return total;
}
