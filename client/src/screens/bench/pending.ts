/**
 * A phone may kill the page behind its camera (pitfall 30). Before the camera opens, the address
 * is jotted down; if the app starts again at its front door soon after, it goes back there.
 */
import type { Jotter } from "../../sync/types";

const KEY = "camera";
const GOOD_MS = 15 * 60_000;

export function beforeCamera(jotter: Jotter, address: string, nowMs: number): void {
  jotter.write(KEY, JSON.stringify({ address, atMs: nowMs }));
}

export function afterCamera(jotter: Jotter): void {
  jotter.drop(KEY);
}

/** Address where the camera was opened and no picture has come back since; null if there is none. */
export function lostBehindCamera(jotter: Jotter, nowMs: number): string | null {
  const kept = jotter.read(KEY);
  if (!kept) return null;
  try {
    const { address, atMs } = JSON.parse(kept) as { address?: unknown; atMs?: unknown };
    return typeof address === "string" &&
      /^\/(builds|kits)\//.test(address) &&
      typeof atMs === "number" &&
      nowMs >= atMs &&
      nowMs - atMs <= GOOD_MS
      ? address
      : null;
  } catch {
    return null;
  }
}
