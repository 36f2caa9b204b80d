/**
 * Keeps the screen on at the bench, where the browser can (pitfall 37: some cannot, some refuse).
 * Never needed for anything else to work.
 */
import { useEffect } from "preact/hooks";

interface Page {
  visibilityState: string;
  addEventListener(type: "visibilitychange", listener: () => void): void;
  removeEventListener(type: "visibilitychange", listener: () => void): void;
}

interface Lock {
  request(type: "screen"): Promise<{ release(): Promise<void> }>;
}

/** Asks for the lock now and again whenever the page is visible again; returns how to let go. */
export function stayAwake(page: Page, lock: Lock | undefined): () => void {
  if (!lock) return () => undefined;
  let held: { release(): Promise<void> } | null = null;
  let over = false;
  const ask = () => {
    if (over || page.visibilityState !== "visible") return;
    lock.request("screen").then(
      (sentinel) => {
        if (over) void sentinel.release().catch(() => undefined);
        else held = sentinel;
      },
      // Refused: low battery, or a setting. The bench works without it.
      () => undefined,
    );
  };
  ask();
  // The browser lets go by itself when the page is hidden.
  page.addEventListener("visibilitychange", ask);
  return () => {
    over = true;
    page.removeEventListener("visibilitychange", ask);
    void held?.release().catch(() => undefined);
  };
}

export function useAwake(): void {
  useEffect(
    () =>
      stayAwake(document, "wakeLock" in navigator ? (navigator.wakeLock as Lock) : undefined),
    [],
  );
}
