/**
 * The page's side of the service worker: whether the app works offline, and when a new version is
 * ready. A new version is taken up only when the builder asks, and never over work that is under way.
 */
import { signal, type ReadonlySignal } from "@preact/signals";

/**
 * Whether the app itself (not the records) will open without a network.
 * `never`: `insecure` = plain HTTP under a name other than localhost; `unsupported` = the browser
 * has no service workers (or not in private windows); `refused` = it would not take ours, mostly
 * because the certificate is not trusted.
 */
export type OfflineState =
  | { kind: "preparing" }
  | { kind: "ready" }
  | { kind: "never"; why: "insecure" | "unsupported" | "refused"; detail?: string };

export interface Updates {
  readonly offline: ReadonlySignal<OfflineState>;
  /** A newer version of the app waits, or this page misses a part of its own version. */
  readonly waiting: ReadonlySignal<boolean>;
  /** Takes up the new version and loads the page again. False, and nothing done, while busy. */
  apply(): boolean;
}

/** What is needed of the browser, so that a test can stand in for it. */
export interface Surroundings {
  secure: boolean;
  workers: ServiceWorkerContainer | undefined;
  page: Pick<Document, "addEventListener" | "visibilityState">;
  window: Pick<Window, "addEventListener">;
  reload(): void;
}

const browser = (): Surroundings => ({
  secure: window.isSecureContext,
  workers: navigator.serviceWorker as ServiceWorkerContainer | undefined,
  page: document,
  window,
  reload: () => window.location.reload(),
});

/** Registers the worker and watches it. `busy`: a photo is being taken or a write is under way. */
export function watchForUpdates(
  busy: () => boolean,
  { secure, workers, page, window, reload }: Surroundings = browser(),
): Updates {
  const offline = signal<OfflineState>({ kind: "preparing" });
  const waiting = signal(false);
  let registration: ServiceWorkerRegistration | null = null;
  let asked = false;
  let reloaded = false;

  const reloadOnce = (): void => {
    if (reloaded) return;
    reloaded = true;
    reload();
  };

  /** A page that has no controller is new: its first worker is no update. */
  const look = (container: ServiceWorkerContainer): void => {
    if (registration?.waiting && container.controller) waiting.value = true;
  };

  const start = async (container: ServiceWorkerContainer): Promise<void> => {
    container.addEventListener("controllerchange", () => {
      // Another tab may have asked: this page then goes on with its own files until it is asked.
      if (asked) reloadOnce();
    });
    try {
      registration = await container.register("/sw.js", { scope: "/", updateViaCache: "none" });
    } catch (error) {
      const detail = error instanceof Error ? error.message : String(error);
      offline.value = { kind: "never", why: "refused", detail };
      return;
    }
    look(container);
    registration.addEventListener("updatefound", () => {
      registration?.installing?.addEventListener("statechange", () => look(container));
    });
    page.addEventListener("visibilitychange", () => {
      // Offline this fails, and that is nothing new to anybody.
      if (page.visibilityState === "visible") registration?.update().catch(() => undefined);
    });
    const { active } = await container.ready;
    // Loaded while the worker became active: it claimed its pages just before this one was there.
    if (!container.controller) active?.postMessage({ type: "CLAIM" });
    offline.value = { kind: "ready" };
  };

  if (!secure) offline.value = { kind: "never", why: "insecure" };
  else if (!workers) offline.value = { kind: "never", why: "unsupported" };
  else void start(workers);

  // A part of this version is gone from the server: a reload mends it, when the builder is ready.
  window.addEventListener("vite:preloadError", () => {
    waiting.value = true;
  });

  return {
    offline,
    waiting,
    apply() {
      if (busy()) return false;
      asked = true;
      const next = registration?.waiting;
      if (next) next.postMessage({ type: "SKIP_WAITING" });
      else reloadOnce();
      return true;
    },
  };
}
