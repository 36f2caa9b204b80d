/**
 * Looks at a running video: at most ten frames a second, one in flight, every fifth thoroughly.
 */
import { DecoderFailure, seenIn, type Decoder, type Picture, type Seen } from "./decoder";
import { Agreement, Gate } from "./gate";

/** Least time between two frames that are looked at, in ms. */
export const FRAME_GAP_MS = 100;
/** Every so manieth frame is looked at thoroughly. */
export const THOROUGH_EVERY = 5;
/** After so long without a result the builder is told how to hold the phone, in ms. */
export const HINT_DISTANCE_MS = 3_000;
export const HINT_TILT_MS = 7_000;

/** Advice while nothing is read: how far away to hold the phone, then to tilt the label. */
export type Hint = null | "distance" | "tilt";

/** What the watch needs of the world. */
export interface WatchWorld {
  now(): number;
  /** Calls back at the video's next frame; returns how to call it off. */
  nextFrame(video: HTMLVideoElement, callback: () => void): () => void;
  /** `copied`: not as the camera gave it, but as a picture of its own. */
  picture(video: HTMLVideoElement, copied: boolean): Promise<Picture>;
}

export interface WatchEvents {
  /** A code has come into the view. Said once, until it has left. */
  onText(seen: Seen): void;
  onHint(hint: Hint): void;
  /** The decoder is not to be had; the watch has ended. */
  onFailure(failure: DecoderFailure): void;
  /** Time in the worker of each frame, in ms. */
  onFrame?(ms: number): void;
}

export interface Watch {
  /** Holds on without forgetting what is in the view. */
  pause(): void;
  resume(): void;
  end(): void;
}

/**
 * The part of a video that a box shows which it covers: left, top, width, height in px of the
 * video. What is not seen is not read: the next bag's label may lie just outside the view.
 */
export function seenPart(
  video: { width: number; height: number },
  box: { width: number; height: number },
): [left: number, top: number, width: number, height: number] {
  const { width, height } = video;
  if (box.width === 0 || box.height === 0) return [0, 0, width, height];
  const scale = Math.max(box.width / width, box.height / height);
  const [w, h] = [Math.round(box.width / scale), Math.round(box.height / scale)];
  return [Math.round((width - w) / 2), Math.round((height - h) / 2), w, h];
}

export const browserWatchWorld: WatchWorld = {
  now: () => performance.now(),
  nextFrame(video, callback) {
    if (typeof video.requestVideoFrameCallback === "function") {
      const handle = video.requestVideoFrameCallback(callback);
      return () => video.cancelVideoFrameCallback(handle);
    }
    const handle = requestAnimationFrame(callback);
    return () => cancelAnimationFrame(handle);
  },
  async picture(video, copied) {
    const part = seenPart(
      { width: video.videoWidth, height: video.videoHeight },
      { width: video.clientWidth, height: video.clientHeight },
    );
    return (copied ? null : frameOf(video, part)) ?? createImageBitmap(video, ...part);
  },
};

/**
 * Part of the video's frame as the camera gave it: nothing is copied or converted here, where the
 * screen is drawn, but in the worker. Null where the browser cannot, or keeps the frame turned.
 */
function frameOf(
  video: HTMLVideoElement,
  [left, top, width, height]: ReturnType<typeof seenPart>,
): VideoFrame | null {
  if (typeof VideoFrame === "undefined") return null;
  let frame: VideoFrame | null = null;
  try {
    frame = new VideoFrame(video);
    const whole = frame.visibleRect;
    if (whole?.width !== video.videoWidth || whole.height !== video.videoHeight) return null;
    // Colours are kept for two by two pixels: a part begins and ends between such groups.
    const even = (px: number): number => px - (px % 2);
    return new VideoFrame(frame, {
      visibleRect: {
        x: whole.x + even(left),
        y: whole.y + even(top),
        width: even(width),
        height: even(height),
      },
      displayWidth: even(width),
      displayHeight: even(height),
    });
  } catch {
    // The camera is being restarted, or its frames cannot be had in this way.
    return null;
  } finally {
    frame?.close();
  }
}

export function watch(
  video: HTMLVideoElement,
  decoder: Decoder,
  events: WatchEvents,
  world: WatchWorld = browserWatchWorld,
): Watch {
  const gate = new Gate();
  const agreement = new Agreement();
  let state: "running" | "paused" | "ended" = "running";
  let callOff: (() => void) | null = null;
  let busy = false;
  let frames = 0;
  let lookedAt = -Infinity;
  let waitingSince = world.now();
  let hint: Hint = null;
  let copied = false;

  /** Asked of a function, since the state changes while a frame is in the worker. */
  const is = (asked: typeof state): boolean => state === asked;

  function say(next: Hint): void {
    if (next === hint) return;
    hint = next;
    events.onHint(next);
  }

  function schedule(): void {
    if (state !== "running" || busy || callOff) return;
    callOff = world.nextFrame(video, () => {
      callOff = null;
      void look();
    });
  }

  async function look(): Promise<void> {
    if (state !== "running" || busy) return;
    const now = world.now();
    // A tick of tolerance: a 30 Hz camera's third frame may come 99.9 ms after the last one.
    if (now - lookedAt < FRAME_GAP_MS - 2 || video.videoWidth === 0) return schedule();
    busy = true;
    lookedAt = now;
    let asItCame = false;
    try {
      const picture = await world.picture(video, copied);
      asItCame = "displayWidth" in picture;
      const told = await decoder.decode(picture, ++frames % THOROUGH_EVERY === 0);
      events.onFrame?.(told.ms);
      // A pause that came while the frame was in the worker holds: the frame was never seen.
      if (!is("running")) return;
      const seen = agreement.see(seenIn(told));
      if (seen) {
        waitingSince = world.now();
        say(null);
        if (gate.see(seen.text)) events.onText(seen);
      } else {
        gate.see(null);
        const waited = world.now() - waitingSince;
        say(waited >= HINT_TILT_MS ? "tilt" : waited >= HINT_DISTANCE_MS ? "distance" : null);
      }
    } catch (error) {
      if (error instanceof DecoderFailure) {
        if (is("ended")) return;
        if (asItCame) {
          // Not every worker can draw what its camera gives: from now on it gets copies.
          copied = true;
          return;
        }
        state = "ended";
        events.onFailure(error);
        return;
      }
      // The video had no frame to give (it is being restarted): the next one will do.
    } finally {
      busy = false;
      schedule();
    }
  }

  schedule();
  return {
    pause() {
      if (state === "running") state = "paused";
      callOff?.();
      callOff = null;
      say(null);
    },
    resume() {
      if (state !== "paused") return;
      state = "running";
      waitingSince = world.now();
      schedule();
    },
    end() {
      state = "ended";
      callOff?.();
      callOff = null;
    },
  };
}
