/** The bench, put together: what the screens are given. */
import { computed, effect } from "@preact/signals";
import { StorageFailure } from "../db/failure";
import { Held } from "../db/held";
import { browserStorage, openJotter } from "../db/jotter";
import { Mirror } from "../db/mirror";
import { Outbox } from "../db/outbox";
import { Pictures } from "../db/pictures";
import { Profile, type Pairing } from "../db/profile";
import { browserListen } from "../net/events";
import { openHttp } from "../net/http";
import { SyncCourier, type Route } from "./courier";
import { drawPicture } from "./drawing";
import { SyncKeeping } from "./keeping";
import { browserWorld, Live } from "./live";
import { SyncMembership } from "./membership";
import { SyncPhotos } from "./photos";
import { RecordStore } from "./store";
import { browserTabs } from "./tabs";
import { takeTurns } from "./turns";
import type { Bench, Intakes } from "./types";

/**
 * Starts the app's engine. Resolves when what this device holds is in memory; waits for no network.
 */
export async function start(): Promise<Omit<Bench, "files">> {
  const nowMs = (): number => Date.now();
  const randomBytes = (count: number): Uint8Array => crypto.getRandomValues(new Uint8Array(count));
  const sha256 = async (bytes: ArrayBuffer): Promise<string> => {
    const digest = await crypto.subtle.digest("SHA-256", bytes);
    return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  };
  const sleep = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));
  const self = [...randomBytes(8)].join(".");

  const http = openHttp((input, init) => fetch(input, init));
  const tabs = browserTabs();
  const watch = (trouble: "blocked" | null): void => courier.storage(trouble);
  const profile = new Profile(watch);
  const store = new RecordStore({
    nowMs,
    tabs,
    wrote: () => {
      courier.storage(null);
      live.wrote();
    },
    failed: (failure) => courier.storage(failure.trouble),
  });
  const courier = new SyncCourier({
    http,
    store,
    nowMs,
    randomBytes,
    turns: takeTurns(navigator.locks as LockManager | undefined, self, nowMs, sleep),
    isCurrent: async (workshop) => (await profile.current())?.workshop.id === workshop,
  });
  const live = new Live(courier, store, browserWorld(browserListen()));
  const photos = new SyncPhotos({
    http, store, nowMs, randomBytes, sha256, draw: drawPicture, urls: URL,
  });
  const keeping = new SyncKeeping({
    storage: navigator.storage as StorageManager | undefined,
    store,
    nowMs,
    sha256,
    wrote: () => live.wrote(),
  });

  let route: (Route & { held: Held }) | null = null;
  let opening: Promise<void> = Promise.resolve();
  function open(pairing: Pairing): Promise<void> {
    const opened = opening.then(() => openNow(pairing));
    opening = opened.catch(() => undefined);
    return opened;
  }
  async function openNow(pairing: Pairing): Promise<void> {
    const workshop = pairing.workshop.id;
    if (route?.workshop !== workshop) {
      const old = route;
      await courier.travel(null);
      await store.detach();
      route = {
        workshop,
        mirror: new Mirror(workshop, watch),
        outbox: new Outbox(workshop, watch),
        pictures: new Pictures(workshop),
        held: new Held(workshop),
      };
      for (const one of [old?.mirror, old?.outbox, old?.pictures, old?.held]) await one?.close();
    }
    const { outbox, pictures, held } = route;
    await outbox.adopt(pairing.device);
    await store.attach(route);
    photos.travel({ outbox, pictures, held, device: pairing.device.id });
    keeping.travel({ workshop, outbox });
    await courier.travel(route);
    live.start();
  }

  const membership = new SyncMembership({
    http, profile, tabs, randomBytes, open, exchange: () => courier.exchange(),
    // Asked when there begins to be something to keep.
    arrived: () => void keeping.askToPersist(),
  });
  try {
    await membership.begin();
  } catch (error) {
    if (!(error instanceof StorageFailure)) throw error;
    courier.storage(error.trouble);
  }
  void membership.ask();
  void keeping.look();
  effect(() => {
    if (courier.state.value.server === "unpaired") membership.lost();
  });
  tabs.listen((news) => {
    // Another tab was paired, perhaps to another workshop: this one begins again.
    if (news.kind === "pairing") void membership.begin().catch(() => undefined);
  });
  // Drawings are fetched as soon as their pages are known, for use without a network.
  const reached = computed(() => courier.state.value.server === "reached");
  let fetching: Promise<void> = Promise.resolve();
  effect(() => {
    const pages = store.all("page").length;
    const open = store.all("build").filter(({ values }) => !values.finished_at);
    const kits = open.flatMap(({ values }) => values.kit ?? []);
    if (!reached.value) return;
    fetching = fetching
      .then(() => fetchDrawings([...new Set(kits)], pages))
      .catch(() => undefined);
  });
  async function fetchDrawings(kits: readonly string[], pages: number): Promise<void> {
    for (const kit of kits) await store.load(kit);
    // Loading may have brought further pages: then this runs again for all of them.
    if (store.all("page").length !== pages) return;
    for (const kit of kits) await photos.prefetch(kit);
  }

  let intakes: Promise<Intakes> | null = null;
  const openIntakes = (): Promise<Intakes> =>
    (intakes ??= import("./intakes").then(
      ({ SyncIntakes }) =>
        new SyncIntakes({
          http,
          world: browserWorld(null),
          workshop: () => route?.workshop ?? null,
          exchange: () => courier.exchange(),
          load: (kit) => store.load(kit),
          lost: () => membership.lost(),
        }),
    ));

  const jotter = openJotter(browserStorage());
  return { store, jotter, courier, photos, membership, intakes: openIntakes, keeping };
}
