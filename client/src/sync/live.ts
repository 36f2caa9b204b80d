/**
 * When to exchange with the server: at the start, when the app is looked at or the network comes,
 * soon after a write, at the server's hint, and from time to time. No browser's background sync is
 * counted on. Nothing periodic runs while the app is hidden.
 */
import type { Listen } from "../net/events";
import type { SyncCourier } from "./courier";
import type { RecordStore } from "./store";

/** What the browser tells of itself. */
export interface World {
  readonly visible: () => boolean;
  /** Calls back when the app comes into view, and when it goes. Returns how to stop. */
  readonly watch: (on: { seen: () => void; hidden: () => void; online: () => void }) => () => void;
  /** Runs something later; returns how to cancel it. */
  readonly later: (ms: number, run: () => void) => () => void;
  readonly listen: Listen | null;
  /** 0 to 1. */
  readonly random: () => number;
}

/** After a write, so that several taps travel together; ms. */
export const AFTER_WRITE_MS = 150;
/** Without hints, how often to look; ms. */
export const LOOK_MS = 2_000;
/** With hints, how often to look all the same; ms. */
export const LOOK_WITH_HINTS_MS = 60_000;
/** After failures: the first wait, and the longest; ms. */
export const WAIT_MS = 2_000;
export const WAIT_MAX_MS = 60_000;
/** A connection for hints that brings none for this long does not let them through; ms. */
const FIRST_HINT_MS = 8_000;
const LISTEN_AGAIN_MS = 5_000;
const LISTEN_AGAIN_MAX_MS = 300_000;

export class Live {
  #stopWatching: (() => void) | null = null;
  #cancel: (() => void) | null = null;
  #dueIn = Infinity;
  #failures = 0;
  #stopListening: (() => void) | null = null;
  #deaf = 0;
  #deafUntil: (() => void) | null = null;

  constructor(
    readonly courier: SyncCourier,
    readonly store: Pick<RecordStore, "cursor">,
    readonly world: World,
  ) {}

  /** Begins; when it has begun already, exchanges at once. */
  start(): void {
    this.#stopWatching ??= this.world.watch({
      seen: () => {
        this.#failures = 0;
        this.#soon(0);
      },
      online: () => {
        this.#failures = 0;
        this.#soon(0);
      },
      hidden: () => {
        this.#stopHints();
        this.#rest();
        // The last moment in which a phone lets us send.
        if (this.courier.state.value.unsentChanges > 0) void this.#go();
      },
    });
    this.#soon(0);
  }

  stop(): void {
    this.#stopWatching?.();
    this.#stopWatching = null;
    this.#stopHints();
    this.#rest();
    this.#deafUntil?.();
    this.#deafUntil = null;
  }

  /** Something was written on this device. */
  wrote(): void {
    void this.courier.recount();
    // A server that has asked to be left alone for a while is left alone.
    if (this.courier.retryAfterMs !== null && this.#cancel) return;
    this.#soon(this.courier.state.value.server === "reached" ? AFTER_WRITE_MS : WAIT_MS);
  }

  /** Exchanges in `ms`, or sooner if that is planned. */
  #soon(ms: number): void {
    if (!this.#stopWatching || ms >= this.#dueIn) return;
    this.#rest();
    this.#dueIn = ms;
    this.#cancel = this.world.later(ms, () => void this.#go());
  }

  #rest(): void {
    this.#cancel?.();
    this.#cancel = null;
    this.#dueIn = Infinity;
  }

  async #go(): Promise<void> {
    this.#rest();
    await this.courier.exchange();
    if (!this.#stopWatching || !this.world.visible()) return;
    const { server } = this.courier.state.value;
    if (server === "unpaired" || server === "tooOld") {
      this.#stopHints();
      return;
    }
    if (server !== "reached" || this.courier.retryAfterMs !== null) {
      this.#stopHints();
      const wait = Math.min(WAIT_MAX_MS, WAIT_MS * 2 ** this.#failures);
      this.#failures += 1;
      const spread = 0.8 + 0.4 * this.world.random();
      this.#soon(Math.max(wait * spread, this.courier.retryAfterMs ?? 0));
      return;
    }
    this.#failures = 0;
    this.#hints();
    this.#soon(this.#stopListening ? LOOK_WITH_HINTS_MS : LOOK_MS);
  }

  #hints(): void {
    const { listen, later } = this.world;
    if (!listen || this.#stopListening || this.#deafUntil) return;
    let heard = false;
    const patience = later(FIRST_HINT_MS, () => {
      if (!heard) fail();
    });
    const stop = listen(
      ({ epoch, seq }) => {
        heard = true;
        this.#deaf = 0;
        const at = this.store.cursor;
        if (!at || epoch !== at.epoch || seq > at.seq) this.#soon(0);
      },
      () => fail(),
    );
    const end = (): void => {
      patience();
      stop();
      this.#stopListening = null;
    };
    const fail = (): void => {
      if (this.#stopListening !== end) return;
      end();
      const wait = Math.min(LISTEN_AGAIN_MAX_MS, LISTEN_AGAIN_MS * 2 ** this.#deaf);
      this.#deaf += 1;
      this.#deafUntil = later(wait, () => (this.#deafUntil = null));
      this.#soon(LOOK_MS);
    };
    this.#stopListening = end;
  }

  #stopHints(): void {
    this.#stopListening?.();
  }
}

/** The world of a page. */
export function browserWorld(listen: Listen | null): World {
  return {
    visible: () => document.visibilityState === "visible",
    watch({ seen, hidden, online }) {
      const turned = (): void => (document.visibilityState === "visible" ? seen() : hidden());
      document.addEventListener("visibilitychange", turned);
      // Some phones bring a page back without saying that its visibility changed.
      globalThis.addEventListener("pageshow", seen);
      globalThis.addEventListener("focus", seen);
      globalThis.addEventListener("online", online);
      return () => {
        document.removeEventListener("visibilitychange", turned);
        globalThis.removeEventListener("pageshow", seen);
        globalThis.removeEventListener("focus", seen);
        globalThis.removeEventListener("online", online);
      };
    },
    later(ms, run) {
      const timer = setTimeout(run, ms);
      return () => clearTimeout(timer);
    },
    listen,
    random: Math.random,
  };
}
