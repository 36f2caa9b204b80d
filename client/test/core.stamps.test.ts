/** Stamps: the vectors that the server runs too, and what holds for every run of a clock. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import {
  AHEAD_MS, type ClockState, correct, DELAY_MS, make, mint, MS_MAX, newClock, parse, tick, TICK_MAX,
} from "../src/core/stamps";
import { vectors } from "./vectors";

interface Tick {
  why: string;
  state: ClockState;
  now: number;
  floor: string[];
  stamp: string;
  next: ClockState;
}

interface Vectors {
  parts: { stamp: string; ms: number; tick: number; clock: string }[];
  sorted: string[];
  tick: Tick[];
}

const known = vectors<Vectors>("stamps");
const CLOCK = "0123456789abcdef";

describe("vectors of stamps.json", () => {
  test.each(known.parts)("parts of $stamp", ({ stamp, ms, tick: count, clock }) => {
    expect(make(ms, count, clock)).toBe(stamp);
    expect(parse(stamp)).toEqual({ ms, tick: count, clock });
  });
  it("sort as text", () => {
    expect([...known.sorted].reverse().sort()).toEqual(known.sorted);
  });
  test.each(known.tick)("$why", ({ state, now, floor, stamp, next }) => {
    expect(tick(state, now, floor)).toEqual({ stamp, state: next });
  });
});

const someStamp = fc
  .tuple(fc.integer({ min: 0, max: 3000 }), fc.constantFrom(0, 1, TICK_MAX - 1, TICK_MAX))
  .map(([ms, count]) => make(ms, count, "ffffffffffffffff"));

describe("a device's clock", () => {
  it("failure 12: always rises, above all it supersedes, whatever the device's time does", () => {
    const floors = fc.array(someStamp, { maxLength: 3 });
    const write = fc.tuple(fc.integer({ min: -100, max: 3000 }), floors);
    fc.assert(
      fc.property(fc.array(write), (writes) => {
        let state = newClock(CLOCK);
        let last = "";
        for (const [now, floor] of writes) {
          const next = mint(state, now, floor);
          for (const below of [last, ...floor]) expect(next.stamp > below).toBe(true);
          expect(next.id).toBe(`${CLOCK}.${state.counter + 1}`);
          last = next.stamp;
          state = next.state;
        }
      }),
    );
  });
  it("mints 70,000 stamps within one millisecond, all different and rising", () => {
    let state = newClock(CLOCK);
    let last = "";
    for (let i = 0; i < 70_000; i += 1) {
      const next = tick(state, 1000);
      if (next.stamp <= last) throw new Error(`${next.stamp} after ${last}`);
      last = next.stamp;
      state = next.state;
    }
    expect(state.ms).toBe(1001);
  });
  it("failure 12: set a year ahead, comes back once the server has told its time", () => {
    const year = 365 * 86_400_000;
    const serverNow = 1_777_919_400_000;
    const ahead = tick(newClock(CLOCK), serverNow + year).state;
    const state = correct(ahead, serverNow, serverNow + year);
    expect(state.offsetMs).toBe(-year);
    expect(parse(tick(state, serverNow + year + 5000).stamp).ms).toBe(serverNow + 5000);
    // What it supersedes may still carry the wild stamp: order is kept by the floor.
    const wild = make(ahead.ms, ahead.tick, CLOCK);
    expect(tick(state, serverNow + year + 5000, [wild]).stamp > wild).toBe(true);
  });
  it("set back to 1970, takes the server's time forward", () => {
    const state = correct(newClock(CLOCK), 1_777_919_400_000, 12_000);
    expect(parse(tick(state, 12_500).stamp).ms).toBe(1_777_919_400_500);
  });
  it("does not shake with the delay of the network", () => {
    const state = tick(newClock(CLOCK), 100_000).state;
    expect(correct(state, 100_000 + DELAY_MS, 100_000)).toEqual(state);
    expect(correct(state, 100_000 - DELAY_MS, 100_000)).toEqual(state);
    expect(correct(state, 100_001 + DELAY_MS, 100_000).offsetMs).toBe(DELAY_MS + 1);
  });
  it("does not fall back while the server would not restamp it", () => {
    const state = tick(newClock(CLOCK), 100_000 + AHEAD_MS).state;
    expect(correct(state, 100_000, 100_000 + AHEAD_MS)).toMatchObject({ ms: state.ms, tick: 0 });
    expect(correct(state, 99_999, 100_000 + AHEAD_MS).ms).toBe(99_999);
  });
  it("refuses what is no stamp, no clock and no time", () => {
    for (const bad of ["", "0", "g".repeat(32), "A".repeat(32), "0".repeat(33)]) {
      expect(() => parse(bad)).toThrow(RangeError);
    }
    expect(() => make(MS_MAX + 1, 0, CLOCK)).toThrow(RangeError);
    expect(() => make(0, TICK_MAX + 1, CLOCK)).toThrow(RangeError);
    expect(() => make(0.5, 0, CLOCK)).toThrow(RangeError);
    expect(() => newClock("0123")).toThrow(RangeError);
    expect(() => tick(newClock(CLOCK), Number.NaN)).toThrow(RangeError);
    const last = { ...newClock(CLOCK), ms: MS_MAX, tick: TICK_MAX };
    expect(() => tick(last, 0)).toThrow(RangeError);
  });
});
