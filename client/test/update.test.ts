/** The page's side of the service worker, with a stand-in for the browser. */
import { describe, expect, test, vi } from "vitest";
import { watchForUpdates, type Surroundings } from "../src/update";

class Worker extends EventTarget {
  said: unknown[] = [];
  postMessage(message: unknown): void {
    this.said.push(message);
  }
}

class Registration extends EventTarget {
  waiting: Worker | null = null;
  installing: Worker | null = null;
  active = new Worker();
  update = vi.fn(() => Promise.resolve());

  /** A new version comes in and waits. */
  bring(): Worker {
    const worker = new Worker();
    this.installing = worker;
    this.dispatchEvent(new Event("updatefound"));
    this.installing = null;
    this.waiting = worker;
    worker.dispatchEvent(new Event("statechange"));
    return worker;
  }
}

class Container extends EventTarget {
  controller: Worker | null = null;
  registration = new Registration();
  ready = Promise.resolve(this.registration);
  register = vi.fn(() => Promise.resolve(this.registration));
}

class Page extends EventTarget {
  visibilityState: DocumentVisibilityState = "visible";
}

function stage(more: Partial<Surroundings> = {}, controlled = true) {
  const container = new Container();
  if (controlled) container.controller = new Worker();
  const page = new Page();
  const window = new EventTarget();
  const reload = vi.fn();
  let busy = false;
  const updates = watchForUpdates(() => busy, {
    secure: true,
    workers: container as unknown as ServiceWorkerContainer,
    page: page as unknown as Surroundings["page"],
    window: window as unknown as Surroundings["window"],
    reload,
    ...more,
  });
  return { container, page, window, reload, updates, beBusy: (on: boolean) => (busy = on) };
}

const settled = () => new Promise((done) => setTimeout(done, 0));

describe("whether the app opens without a network", () => {
  test("a page that came up while its worker became active is claimed after all", async () => {
    const late = stage({}, false);
    const early = stage();
    await settled();
    expect(late.container.registration.active.said).toEqual([{ type: "CLAIM" }]);
    expect(early.container.registration.active.said).toEqual([]);
  });

  test("ready once the worker is active", async () => {
    const { updates } = stage();
    expect(updates.offline.value).toEqual({ kind: "preparing" });
    await settled();
    expect(updates.offline.value).toEqual({ kind: "ready" });
  });

  test("pitfall 1: plain HTTP under a name is told as insecure, without an exception", async () => {
    const { updates } = stage({ secure: false, workers: undefined });
    await settled();
    expect(updates.offline.value).toEqual({ kind: "never", why: "insecure" });
    expect(updates.apply()).toBe(true);
  });

  test("a browser without workers is told as such", () => {
    const { updates } = stage({ workers: undefined });
    expect(updates.offline.value).toEqual({ kind: "never", why: "unsupported" });
  });

  test("pitfall 2: a refused registration is told with the browser's reason", async () => {
    const container = new Container();
    container.register = vi.fn(() => Promise.reject(new Error("An SSL certificate error")));
    const { updates } = stage({ workers: container as unknown as ServiceWorkerContainer });
    await settled();
    expect(updates.offline.value).toEqual({
      kind: "never",
      why: "refused",
      detail: "An SSL certificate error",
    });
  });
});

describe("pitfall 22: a new version", () => {
  test("waits, and is taken up with one message and one reload when asked", async () => {
    const { container, reload, updates } = stage();
    await settled();
    const worker = container.registration.bring();
    expect(updates.waiting.value).toBe(true);
    expect(worker.said).toEqual([]);
    expect(updates.apply()).toBe(true);
    expect(worker.said).toEqual([{ type: "SKIP_WAITING" }]);
    expect(reload).not.toHaveBeenCalled();
    container.dispatchEvent(new Event("controllerchange"));
    container.dispatchEvent(new Event("controllerchange"));
    expect(reload).toHaveBeenCalledTimes(1);
  });

  test("is not taken up while a photo is being taken or a write is under way", async () => {
    const { container, reload, updates, beBusy } = stage();
    await settled();
    const worker = container.registration.bring();
    beBusy(true);
    expect(updates.apply()).toBe(false);
    expect(worker.said).toEqual([]);
    expect(reload).not.toHaveBeenCalled();
    beBusy(false);
    expect(updates.apply()).toBe(true);
  });

  test("that was there before the page is offered too", async () => {
    const container = new Container();
    container.controller = new Worker();
    container.registration.waiting = new Worker();
    const { updates } = stage({ workers: container as unknown as ServiceWorkerContainer });
    await settled();
    expect(updates.waiting.value).toBe(true);
  });

  test("is none on the very first visit, and taking control then reloads nothing", async () => {
    const { container, reload, updates } = stage({}, false);
    await settled();
    container.registration.bring();
    expect(updates.waiting.value).toBe(false);
    container.dispatchEvent(new Event("controllerchange"));
    expect(reload).not.toHaveBeenCalled();
  });

  test("that another tab took up does not reload this one", async () => {
    const { container, reload } = stage();
    await settled();
    container.registration.bring();
    container.dispatchEvent(new Event("controllerchange"));
    expect(reload).not.toHaveBeenCalled();
  });

  test("is looked for when the app comes to the front, and a lack of network is no error", async () => {
    const { container, page } = stage();
    await settled();
    container.registration.update.mockImplementation(() => Promise.reject(new TypeError("offline")));
    page.dispatchEvent(new Event("visibilitychange"));
    expect(container.registration.update).toHaveBeenCalledTimes(1);
    page.visibilityState = "hidden";
    page.dispatchEvent(new Event("visibilitychange"));
    expect(container.registration.update).toHaveBeenCalledTimes(1);
    await settled();
  });

  test("is offered, not forced, when a part of this one is gone from the server", async () => {
    const { window, reload, updates } = stage();
    await settled();
    window.dispatchEvent(new Event("vite:preloadError"));
    expect(updates.waiting.value).toBe(true);
    expect(reload).not.toHaveBeenCalled();
    expect(updates.apply()).toBe(true);
    expect(reload).toHaveBeenCalledTimes(1);
  });
});
