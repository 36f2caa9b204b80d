/**
 * Hybrid logical clock: stamps that follow the wall clock, and never sort below what they follow.
 *
 * A stamp is 32 lower-case hex digits that sort as text: 12 digits milliseconds since 1970 UTC,
 * 4 digits tick (a counter within the millisecond), 16 digits clock of the author.
 * Layout and rules: server/PROTOCOL.md. Time is passed in, never read here.
 */

export type Stamp = string;

/** What a device keeps of its clock, advanced in the same transaction as the write it stamps. */
export interface ClockState {
  /** Identity of this clock: 16 lower-case hex digits. */
  readonly clock: string;
  /** Counter of the last change; the next change id is `<clock>.<counter + 1>`. */
  readonly counter: number;
  /** Milliseconds and tick of the last stamp. */
  readonly ms: number;
  readonly tick: number;
  /** What to add to this device's time to get the server's, in ms. */
  readonly offsetMs: number;
}

export const MS_MAX = 2 ** 48 - 1;
export const TICK_MAX = 0xffff;
/** A stamp further ahead of the server than this is restamped by it, in ms. */
export const AHEAD_MS = 60_000;
/** Differences from the server smaller than this are the network's delay, in ms. */
export const DELAY_MS = 1_000;

const STAMP = /^[0-9a-f]{32}$/;
const CLOCK = /^[0-9a-f]{16}$/;

/** Throws RangeError if a part does not fit its digits. */
export function make(ms: number, tick: number, clock: string): Stamp {
  if (!Number.isInteger(ms) || ms < 0 || ms > MS_MAX) {
    throw new RangeError(`Milliseconds out of range: ${ms}`);
  }
  if (!Number.isInteger(tick) || tick < 0 || tick > TICK_MAX) {
    throw new RangeError(`Tick out of range: ${tick}`);
  }
  if (!CLOCK.test(clock)) throw new RangeError(`Not a clock: ${clock}`);
  return ms.toString(16).padStart(12, "0") + tick.toString(16).padStart(4, "0") + clock;
}

/** Throws RangeError if `stamp` is not 32 lower-case hex digits. */
export function parse(stamp: Stamp): { ms: number; tick: number; clock: string } {
  if (!STAMP.test(stamp)) throw new RangeError(`Not a stamp: ${stamp}`);
  return {
    ms: parseInt(stamp.slice(0, 12), 16),
    tick: parseInt(stamp.slice(12, 16), 16),
    clock: stamp.slice(16),
  };
}

/** A clock that has stamped nothing yet. */
export function newClock(clock: string): ClockState {
  if (!CLOCK.test(clock)) throw new RangeError(`Not a clock: ${clock}`);
  return { clock, counter: 0, ms: 0, tick: 0, offsetMs: 0 };
}

/**
 * The next stamp: this device's corrected time, or just above its own last stamp and every stamp
 * in `floor` (those of the changes it supersedes) where that is later.
 * Throws RangeError if time has run out of digits (year 10889) or is no number.
 */
export function tick(
  state: ClockState,
  nowMs: number,
  floor: readonly Stamp[] = [],
): { stamp: Stamp; state: ClockState } {
  if (!Number.isFinite(nowMs)) throw new RangeError(`Not a time: ${nowMs}`);
  let ms = state.ms;
  let count = state.tick;
  for (const stamp of floor) {
    const below = parse(stamp);
    if (below.ms > ms || (below.ms === ms && below.tick > count)) {
      ms = below.ms;
      count = below.tick;
    }
  }
  const wall = Math.max(0, Math.floor(nowMs + state.offsetMs));
  if (wall > ms) {
    ms = wall;
    count = 0;
  } else if (count < TICK_MAX) {
    count += 1;
  } else {
    ms += 1;
    count = 0;
  }
  return { stamp: make(ms, count, state.clock), state: { ...state, ms, tick: count } };
}

/** The id and stamp of the next change of this device; see `tick`. */
export function mint(
  state: ClockState,
  nowMs: number,
  floor: readonly Stamp[] = [],
): { id: string; stamp: Stamp; state: ClockState } {
  const next = tick(state, nowMs, floor);
  const counter = state.counter + 1;
  return {
    id: `${state.clock}.${counter}`,
    stamp: next.stamp,
    state: { ...next.state, counter },
  };
}

/**
 * Takes the server's time from a reply that arrived at `localNow` of this device (both in ms).
 *
 * A last stamp that lies too far ahead falls back: the server has restamped, or will restamp, what
 * carries it, and order against what a change supersedes is kept by the floor of `tick`.
 */
export function correct(state: ClockState, serverNow: number, localNow: number): ClockState {
  const apart = Math.round(serverNow - localNow);
  const offsetMs = Math.abs(apart - state.offsetMs) <= DELAY_MS ? state.offsetMs : apart;
  if (state.ms <= serverNow + AHEAD_MS) return { ...state, offsetMs };
  return { ...state, offsetMs, ms: Math.max(0, Math.floor(serverNow)), tick: 0 };
}
