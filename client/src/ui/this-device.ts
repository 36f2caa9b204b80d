/** What kind of device this is likely to be: a first guess that the builder can change. */
import type { DeviceKind } from "../sync/types";

/** By pointer and size of the screen, not by the browser's name: that one is not to be trusted. */
export function guessKind(): DeviceKind {
  const coarse = matchMedia("(pointer: coarse)").matches;
  if (!coarse) return "desk";
  return Math.min(screen.width, screen.height) < 600 ? "phone" : "tablet";
}
