/** A device as the app makes it, over a browser storage that outlives it, for tests in node. */
import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { Mirror } from "../src/db/mirror";
import { Outbox } from "../src/db/outbox";
import { Held } from "../src/db/held";
import { Pictures } from "../src/db/pictures";
import { openHttp } from "../src/net/http";
import { SyncCourier } from "../src/sync/courier";
import { SyncPhotos, type Draw } from "../src/sync/photos";
import { RecordStore } from "../src/sync/store";
import type { News, Tabs } from "../src/sync/tabs";
import type { Turns } from "../src/sync/turns";
import { createHash } from "node:crypto";
import { WORKSHOP, type FakeServer } from "./fake-server";

/** The tabs of one browser: each hears the others. */
export class Bus {
  readonly #ears = new Set<(news: News) => void>();
  tab(): Tabs & { close(): void } {
    const own = new Set<(news: News) => void>();
    return {
      post: (news) => {
        for (const ear of [...this.#ears]) if (!own.has(ear)) ear(structuredClone(news));
      },
      listen: (hear) => {
        this.#ears.add(hear);
        own.add(hear);
        return () => this.#ears.delete(hear);
      },
      close: () => own.forEach((ear) => this.#ears.delete(ear)),
    };
  }
}

/** One browser: storage, locks and tabs, which live on when a tab dies. */
export class Browser {
  readonly idb = new IDBFactory();
  readonly bus = new Bus();
  #queue: Promise<unknown> = Promise.resolve();

  /** As Web Locks: one after the other. */
  readonly turns: Turns = (_name, _outbox, work) => {
    const turn = this.#queue.then(work);
    this.#queue = turn.catch(() => undefined);
    return turn;
  };
  /** The browser lets go of the locks of a tab that has died. */
  freeLocks(): void {
    this.#queue = Promise.resolve();
  }
}

export interface DeviceOptions {
  browser?: Browser;
  clock?: string;
  nowMs?: () => number;
  seed?: number;
  turns?: Turns;
  draw?: Draw;
  fetch?: typeof fetch;
  isCurrent?: () => Promise<boolean>;
  workshop?: string;
  device?: string;
  /** Hears nothing of the other tabs, as a page that the phone has put to sleep. */
  deaf?: boolean;
}

export const sha256 = (bytes: ArrayBuffer): Promise<string> =>
  Promise.resolve(createHash("sha256").update(new Uint8Array(bytes)).digest("hex"));

/** Draws nothing: hands out bytes that tell the file. */
export const plainDraw: Draw = async (file, sides) => {
  const text = await file.text();
  return sides.map((side) => ({
    type: "image/jpeg",
    bytes: new TextEncoder().encode(`${text}@${side}`).buffer as ArrayBuffer,
    widthPx: side,
    heightPx: 1,
  }));
};

export class Device {
  private constructor(
    readonly browser: Browser,
    readonly server: Pick<FakeServer, "nowMs" | "fetch">,
    readonly mirror: Mirror,
    readonly outbox: Outbox,
    readonly pictures: Pictures,
    readonly store: RecordStore,
    readonly courier: SyncCourier,
    readonly photos: SyncPhotos,
    readonly tab: ReturnType<Bus["tab"]>,
  ) {}

  static async start(
    server: Pick<FakeServer, "nowMs" | "fetch">,
    options: DeviceOptions = {},
  ): Promise<Device> {
    const workshop = options.workshop ?? WORKSHOP;
    const browser = options.browser ?? new Browser();
    const random = mulberry(options.seed ?? 1);
    const randomBytes = (count: number): Uint8Array =>
      Uint8Array.from({ length: count }, () => Math.floor(random() * 256));
    const nowMs = options.nowMs ?? (() => server.nowMs);
    globalThis.indexedDB = browser.idb;
    const mirror = new Mirror(workshop);
    const outbox = new Outbox(workshop);
    const pictures = new Pictures(workshop);
    const http = openHttp(options.fetch ?? server.fetch);
    const tab = (options.deaf ? new Bus() : browser.bus).tab();
    const store = new RecordStore({ nowMs, tabs: tab, wrote: () => undefined, failed: () => undefined });
    const turns = options.turns ?? browser.turns;
    const isCurrent = options.isCurrent ?? (() => Promise.resolve(true));
    const courier = new SyncCourier({ http, store, turns, nowMs, randomBytes, isCurrent });
    const photos = new SyncPhotos({
      http, store, nowMs, randomBytes, sha256,
      draw: options.draw ?? plainDraw,
      urls: { createObjectURL: () => "blob:x", revokeObjectURL: () => undefined },
    });
    const clock = options.clock ?? "00000000000000d1";
    await outbox.adopt({ id: `device of ${clock}`, clock });
    await pictures.has("x", "full");
    await store.attach({ workshop, mirror, outbox });
    await courier.travel({ workshop, mirror, outbox, pictures });
    photos.travel({ outbox, pictures, held: new Held(workshop), device: options.device ?? "00000000-0000-4000-8000-0000000000dd" });
    return new Device(browser, server, mirror, outbox, pictures, store, courier, photos, tab);
  }

  /** Forgets all memory, as when the page is killed; the browser's storage stays. */
  kill(): void {
    this.tab.close();
    this.browser.freeLocks();
  }

  /** All that is shown, of all types in memory, by record id. */
  shown(types: readonly ("kit" | "note" | "step_progress" | "build" | "workshop")[]): Record<string, unknown> {
    return Object.fromEntries(
      types.flatMap((type) =>
        this.store
          .all(type)
          .map((view): [string, unknown] => [
            view.id,
            { values: view.values, clashes: view.clashes, asked: view.deleteAsked },
          ])
          .sort(([a], [b]) => (a < b ? -1 : 1)),
      ),
    );
  }
}

/** Small seeded generator (mulberry32, common practice), so that a failing run can be repeated. */
export function mulberry(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** An id that tells what it is for. */
export function idOf(number: number): string {
  return `00000000-0000-4000-8000-${number.toString(16).padStart(12, "0")}`;
}
