/** Sittings: begin by themselves, never count idle time unasked. Expected values are worked by hand. */
import { describe, expect, it } from "vitest";
import {
  IDLE_MS,
  benchMs,
  onAction,
  standUp,
  seat,
  stoodUpThen,
  wentOn,
} from "../src/sync/sitting";
import type { Draft, View } from "../src/sync/types";

const T0 = Date.parse("2026-05-04T18:00:00.000Z");
const MIN = 60_000;
const PHONE = "00000000-0000-4000-8000-00000000000a";
const TABLET = "00000000-0000-4000-8000-00000000000b";
const BUILD = "00000000-0000-4000-8000-0000000000b1";

/** A bench in memory: applies drafts as a store would. */
class Bench {
  sittings: View<"sitting">[] = [];
  private made = 0;
  apply(drafts: readonly Draft[]): void {
    for (const draft of drafts) {
      const old = this.sittings.find((s) => s.id === draft.id);
      const values = { ...old?.values, ...draft.set } as View<"sitting">["values"];
      const view: View<"sitting"> = {
        type: "sitting",
        id: draft.id,
        values,
        clashes: [],
        deleteAsked: false,
        unsent: true,
      };
      this.sittings = [...this.sittings.filter((s) => s.id !== draft.id), view];
    }
  }
  at(min: number, device = PHONE) {
    return seat(this.sittings, device, T0 + min * MIN);
  }
  act(min: number, device = PHONE): Draft[] {
    const drafts = onAction(this.at(min, device), {
      build: BUILD,
      device,
      nowMs: T0 + min * MIN,
      newId: () => `sitting-${(this.made += 1)}`,
    });
    this.apply(drafts);
    return drafts;
  }
}

describe("a sitting", () => {
  it("begins by itself with the first thing done", () => {
    const bench = new Bench();
    expect(bench.at(0).kind).toBe("up");
    bench.act(0);
    expect(bench.at(1)).toMatchObject({ kind: "sitting", beganMs: T0, lastMs: T0 });
    expect(bench.sittings[0]?.values).toMatchObject({
      build: BUILD,
      device: PHONE,
      began_at: "2026-05-04T18:00:00.000Z",
    });
  });

  it("moves last_at with what is done, but not for each of ten quick ticks", () => {
    const bench = new Bench();
    bench.act(0);
    expect(bench.act(0.1)).toEqual([]);
    expect(bench.act(5)).toEqual([
      { type: "sitting", id: "sitting-1", set: { last_at: "2026-05-04T18:05:00.000Z" } },
    ]);
    expect(bench.sittings).toHaveLength(1);
  });

  it("asks only when more than 20 minutes have gone by", () => {
    const bench = new Bench();
    bench.act(0);
    expect(seat(bench.sittings, PHONE, T0 + IDLE_MS).kind).toBe("sitting");
    expect(seat(bench.sittings, PHONE, T0 + IDLE_MS + 1).kind).toBe("asks");
  });

  it("'went on' counts the pause and 'stood up' does not", () => {
    const on = new Bench();
    on.act(0);
    on.apply(wentOn(on.at(30), T0 + 30 * MIN));
    expect(on.at(30).kind).toBe("sitting");
    expect(benchMs(on.sittings, T0 + 30 * MIN)).toBe(30 * MIN);

    const off = new Bench();
    off.act(0);
    off.act(10);
    off.apply(stoodUpThen(off.at(45)));
    expect(off.at(45).kind).toBe("up");
    expect(benchMs(off.sittings, T0 + 45 * MIN)).toBe(10 * MIN);
    off.act(50);
    expect(off.sittings).toHaveLength(2);
  });

  it("goes on in a new sitting when the question was not answered, and still asks about the pause", () => {
    const bench = new Bench();
    bench.act(0);
    bench.act(10);
    bench.act(40);
    expect(bench.sittings).toHaveLength(2);
    expect(bench.sittings.find((s) => s.id === "sitting-1")?.values.ended_at).toBe(
      "2026-05-04T18:10:00.000Z",
    );
    const asked = bench.at(42);
    expect(asked).toMatchObject({ kind: "paused", fromMs: T0 + 10 * MIN, toMs: T0 + 40 * MIN });
    expect(benchMs(bench.sittings, T0 + 42 * MIN)).toBe(12 * MIN);
    bench.apply(wentOn(asked, T0 + 42 * MIN));
    expect(benchMs(bench.sittings, T0 + 42 * MIN)).toBe(42 * MIN);
    expect(bench.at(43).kind).toBe("sitting");
  });

  it("never offers a night as time at the bench", () => {
    const bench = new Bench();
    bench.act(0);
    bench.act(11 * 60);
    expect(bench.at(11 * 60 + 1).kind).toBe("sitting");
    expect(benchMs(bench.sittings, T0 + 11 * 60 * MIN)).toBe(0);
  });

  it("ends when the builder stands up", () => {
    const bench = new Bench();
    bench.act(0);
    bench.apply(standUp(bench.at(12), T0 + 12 * MIN));
    expect(bench.at(12).kind).toBe("up");
    expect(benchMs(bench.sittings, T0 + 90 * MIN)).toBe(12 * MIN);
  });

  it("is each device's own, and two devices on one bench count once", () => {
    const bench = new Bench();
    bench.act(0, PHONE);
    expect(bench.at(1, TABLET).kind).toBe("up");
    bench.act(5, TABLET);
    bench.act(15, PHONE);
    bench.act(19, TABLET);
    // Never ended: 18:00-18:15 and 18:05-18:19 together cover 19 minutes.
    expect(benchMs(bench.sittings, T0 + 300 * MIN)).toBe(19 * MIN);
  });

  it("takes a clock that was set back as no time gone by", () => {
    const bench = new Bench();
    bench.act(10);
    expect(bench.at(0).kind).toBe("sitting");
    expect(bench.act(0)).toEqual([]);
  });
});
