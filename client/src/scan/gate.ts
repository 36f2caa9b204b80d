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
