/**
 * Words being typed, in local storage: the one store that keeps a key stroke at once, before a
 * phone can kill the page. Small and never the only copy of anything that was saved.
 */
import type { Jotter } from "../sync/types";

const PREFIX = "bagtrail.jot.";

/** A jotter over `storage`; falls back to memory when the browser refuses or has none. */
export function openJotter(storage: Storage | null): Jotter {
  const memory = new Map<string, string>();
  return {
    read(key) {
      if (memory.has(key)) return memory.get(key);
      try {
        return storage?.getItem(PREFIX + key) ?? undefined;
      } catch {
        return undefined;
      }
    },
    write(key, text) {
      try {
        if (!storage) throw new Error("no storage");
        storage.setItem(PREFIX + key, text);
        memory.delete(key);
      } catch {
        memory.set(key, text);
      }
    },
    drop(key) {
      memory.delete(key);
      try {
        storage?.removeItem(PREFIX + key);
      } catch {
        // Nothing was kept there either.
      }
    },
  };
}

/** The browser's local storage, or null where it is switched off (reading it can throw). */
export function browserStorage(): Storage | null {
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}
