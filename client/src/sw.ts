/**
 * The service worker: keeps the app's files, serves them, and nothing clever.
 *
 * It never touches /api: records are kept by the page in IndexedDB, never by this worker.
 */
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

declare const self: ServiceWorkerGlobalScope & {
  __WB_MANIFEST: { url: string; revision: string | null }[];
};

/** First parts of paths that are not screens of the app; the server has the same list. */
const NOT_SCREENS = ["api", "labels", "ca", "assets"];
const denylist = [new RegExp(`^/(?:${NOT_SCREENS.join("|")})(?:/|$)`), /\/[^/?]*\.[^/?]*$/];

precacheAndRoute(self.__WB_MANIFEST, { cleanURLs: false });
cleanupOutdatedCaches();
registerRoute(new NavigationRoute(createHandlerBoundToURL("/index.html"), { denylist }));

// A new version waits until the builder asks for it: it would pull chunks from under open pages.
self.addEventListener("message", (event) => {
  const said: unknown = event.data;
  if (typeof said !== "object" || said === null || !("type" in said)) return;
  if (said.type === "SKIP_WAITING") void self.skipWaiting();
  if (said.type === "CLAIM") event.waitUntil(self.clients.claim());
});

// So that the very first visit works offline too, without a reload.
self.addEventListener("activate", (event) => {
  event.waitUntil(self.clients.claim());
});
