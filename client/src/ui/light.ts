/** Day or night: by the device's setting, or by the switch in Devices. */
import { signal } from "@preact/signals";
import { keepPreference, readPreference } from "../db/preferences";

export type Light = "device" | "day" | "night";

function kept(): Light {
  const value = readPreference("light");
  return value === "day" || value === "night" ? value : "device";
}

export const light = signal<Light>("device");

function show(value: Light): void {
  if (value === "device") delete document.documentElement.dataset["light"];
  else document.documentElement.dataset["light"] = value;
  // The browser's own bars follow.
  const bench = getComputedStyle(document.documentElement).getPropertyValue("--bench").trim();
  for (const meta of document.querySelectorAll<HTMLMetaElement>('meta[name="theme-color"]')) {
    meta.content = bench;
  }
}

/** Before the first paint. */
export function applyLight(): void {
  light.value = kept();
  show(light.value);
}

export function setLight(value: Light): void {
  light.value = value;
  keepPreference("light", value === "device" ? null : value);
  show(value);
}
