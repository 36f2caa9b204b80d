/** When the app exchanges: by events, hints and time, never by a browser's background sync. */
import { describe, expect, it } from "vitest";
import { AFTER_WRITE_MS, Live, LOOK_MS, LOOK_WITH_HINTS_MS, WAIT_MAX_MS, WAIT_MS, type World } from "../src/sync/live";
import type { SyncCourier } from "../src/sync/courier";
import type { ExchangeState } from "../src/sync/types";
import type { Hint } from "../src/net/events";

/** A page whose time is moved by hand. */
class Page {
  nowMs = 0;
  seen = true;
  exchanges: number[] = [];
  server: ExchangeState["server"] = "reached";
  unsentChanges = 0;
  retryAfterMs: number | null = null;
  listeners: { hear: (hint: Hint) => void; failed: () => void }[] = [];
  opened = 0;
  #timers: { at: number; run: () => void }[] = [];
  #on: { seen: () => void; hidden: () => void; online: () => void } | null = null;
  readonly cursor = { epoch: "e", seq: 5, change: null };
  readonly live: Live;

  constructor(hints = true) {
    const courier = {
      exchange: () => {
        this.exchanges.push(this.nowMs);
        return Promise.resolve();
      },
      recount: () => Promise.resolve(),
      state: { get value() { return page.state; } },
      get retryAfterMs() { return page.retryAfterMs; },
    };
    const page = this;
    const world: World = {
      visible: () => this.seen,
      watch: (on) => {
        this.#on = on;
        return () => (this.#on = null);
      },
      later: (ms, run) => {
        const timer = { at: this.nowMs + ms, run };
        this.#timers.push(timer);
        return () => (this.#timers = this.#timers.filter((one) => one !== timer));
      },
      listen: hints
        ? (hear, failed) => {
            this.opened += 1;
            const one = { hear, failed };
            this.listeners.push(one);
            return () => (this.listeners = this.listeners.filter((other) => other !== one));
          }
        : null,
      random: () => 0.5,
    };
    this.live = new Live(courier as unknown as SyncCourier, this, world);
  }
  get state(): Pick<ExchangeState, "server" | "unsentChanges"> {
    return { server: this.server, unsentChanges: this.unsentChanges };
  }
  async pass(ms: number): Promise<void> {
    const end = this.nowMs + ms;
    for (;;) {
      await new Promise((done) => setImmediate(done));
      const next = this.#timers.filter(({ at }) => at <= end).sort((a, b) => a.at - b.at)[0];
      if (!next) break;
      this.#timers = this.#timers.filter((one) => one !== next);
      this.nowMs = Math.max(this.nowMs, next.at);
      next.run();
    }
    this.nowMs = end;
  }
  turn(to: "seen" | "hidden"): void {
    this.seen = to === "seen";
    this.#on?.[to]();
  }
  online(): void {
    this.#on?.online();
  }
  /** Exchanges since the last time this was asked. */
  count(): number {
    return this.exchanges.splice(0).length;
  }
}

describe("a server that asked to be left alone", () => {
  it("is not asked sooner because of a write", async () => {
    const page = new Page();
    page.server = "unreachable";
    page.retryAfterMs = 30_000;
    page.live.start();
    await page.pass(1);
    page.count();
    page.live.wrote();
    await page.pass(29_000);
    expect(page.count()).toBe(0);
    await page.pass(2_000);
    expect(page.count()).toBe(1);
  });
});

describe("the app exchanges", () => {
  it("at the start, after a write, when it is looked at and when the network comes (failure 28)", async () => {
    expect("SyncManager" in globalThis).toBe(false);
    const page = new Page();
    page.live.start();
    await page.pass(1);
    expect(page.count()).toBe(1);
    for (let tap = 0; tap < 5; tap += 1) {
      page.live.wrote();
      await page.pass(20);
    }
    expect(page.count()).toBe(0);
    await page.pass(AFTER_WRITE_MS);
    expect(page.count()).toBe(1);
    page.turn("seen");
    await page.pass(1);
    expect(page.count()).toBe(1);
    page.online();
    await page.pass(1);
    expect(page.count()).toBe(1);
  });

  it("at the server's hint, but not at one of what it knows", async () => {
    const page = new Page();
    page.live.start();
    await page.pass(1);
    page.listeners[0]!.hear({ epoch: "e", seq: 5 });
    await page.pass(100);
    expect(page.count()).toBe(1);
    page.listeners[0]!.hear({ epoch: "e", seq: 6 });
    await page.pass(1);
    expect(page.count()).toBe(1);
    page.listeners[0]!.hear({ epoch: "f", seq: 1 });
    await page.pass(1);
    expect(page.count()).toBe(1);
    await page.pass(LOOK_WITH_HINTS_MS + 1);
    expect(page.count()).toBe(1);
    expect(page.opened).toBe(1);
  });

  it("every two seconds where hints do not come through, or are not known", async () => {
    const without = new Page(false);
    without.live.start();
    await without.pass(LOOK_MS * 5 + 1);
    expect(without.count()).toBe(6);

    const page = new Page();
    page.live.start();
    await page.pass(1);
    page.listeners[0]!.failed();
    page.count();
    await page.pass(LOOK_MS * 2 + 1);
    expect(page.count()).toBe(2);
    // Listening is tried again after a while, with growing patience, and a silent line is given up.
    await page.pass(60_000);
    expect(page.opened).toBeGreaterThan(1);
    expect(page.opened).toBeLessThan(6);
    expect(page.count()).toBeGreaterThan(15);
  });

  it("with growing waits while the server cannot be reached, and at once when a person looks", async () => {
    const page = new Page();
    page.server = "unreachable";
    page.live.start();
    await page.pass(600_000);
    const waits = page.exchanges.slice(1).map((at, i) => at - page.exchanges[i]!);
    expect(waits.slice(0, 5)).toEqual([1, 2, 4, 8, 16].map((n) => n * WAIT_MS));
    expect(Math.max(...waits)).toBe(WAIT_MAX_MS);
    page.count();
    page.turn("seen");
    await page.pass(WAIT_MS + 1);
    expect(page.count()).toBe(2);
    page.retryAfterMs = 90_000;
    page.turn("seen");
    await page.pass(80_000);
    expect(page.count()).toBe(1);
    await page.pass(20_000);
    expect(page.count()).toBe(1);
  });

  it("not while hidden, but for what is unsent as it goes", async () => {
    const page = new Page();
    page.live.start();
    await page.pass(1);
    page.count();
    page.turn("hidden");
    await page.pass(600_000);
    expect(page.count()).toBe(0);
    expect(page.listeners).toEqual([]);
    page.turn("seen");
    await page.pass(1);
    expect(page.count()).toBe(1);
    page.unsentChanges = 2;
    page.turn("hidden");
    await page.pass(600_000);
    expect(page.count()).toBe(1);
  });

  it("not again by itself when the device is unpaired or the app too old", async () => {
    for (const server of ["unpaired", "tooOld"] as const) {
      const page = new Page();
      page.server = server;
      page.live.start();
      await page.pass(600_000);
      expect(page.count()).toBe(1);
      expect(page.listeners).toEqual([]);
    }
  });
});
