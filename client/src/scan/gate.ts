import type { Seen } from "./decoder";

/**
 * One action per code until it has left the view.
 *
 * A label stays before the camera for seconds and is read ten times each second; glare hides it
 * for a frame or two between. It counts as gone after `MISSES` frames in a row that were looked at
 * and did not show it. Frames are counted, not time, so that a pause of the scanner is no absence.
 */
const MISSES = 10;

export class Gate {
  private readonly missed = new Map<string, number>();

  /** Takes what a frame showed (null: nothing); true when this is to be acted on. */
  see(text: string | null): boolean {
    for (const [held, misses] of this.missed) {
      if (held === text) continue;
      if (misses + 1 >= MISSES) this.missed.delete(held);
      else this.missed.set(held, misses + 1);
    }
    if (text === null) return false;
    const fresh = !this.missed.has(text);
    this.missed.set(text, 0);
    return fresh;
  }
}

/** A first look is forgotten after so many frames that did not show it again. */
const SECOND_LOOK = 5;

/**
 * Linear codes count only when two frames say the same: a code that is half in view, or lies under
 * a fold, can read as another one whose check happens to be right. QR codes correct themselves.
 */
export class Agreement {
  private first: string | null = null;
  private since = 0;

  /** Takes what a frame showed (null: nothing); what of it counts. */
  see(seen: Seen | null): Seen | null {
    if (seen?.symbology === "qr") return seen;
    if (seen && seen.text === this.first) {
      this.since = 0;
      return seen;
    }
    if (seen) {
      this.first = seen.text;
      this.since = 0;
    } else if (this.first !== null && ++this.since > SECOND_LOOK) this.first = null;
    return null;
  }
}
