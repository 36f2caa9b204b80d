/**
 * Small choices of this device (light, last build): kept in localStorage, because they are wanted
 * before the first paint. Losing them loses nothing that the builder entered; so failures
 * (private windows, blocked storage) are passed over.
 */
export type Preference = "light" | "lastBuild" | "camera" | "sheet" | "label";

const PREFIX = "bagtrail.";

export function readPreference(name: Preference): string | null {
  try {
    return localStorage.getItem(PREFIX + name);
  } catch {
    return null;
  }
}

/** `null` forgets it. */
export function keepPreference(name: Preference, value: string | null): void {
  try {
    if (value === null) localStorage.removeItem(PREFIX + name);
    else localStorage.setItem(PREFIX + name, value);
  } catch {
    // Not kept: the next start uses the default.
  }
}
