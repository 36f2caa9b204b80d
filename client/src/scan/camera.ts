/**
 * The camera for scanning: one stream for a scan session, put away when nobody looks.
 *
 * On some phones a home-screen app asks for permission at every `getUserMedia`, a second call stops
 * the first stream, and a page that comes back from the background shows black without any event on
 * the stream. So there is one call for a session, started by a tap, kept across scans; the tracks
 * are stopped while the page is hidden, and restarts run one after another, never side by side.
 */
import { signal, type ReadonlySignal } from "@preact/signals";

/** Why there is no picture; each is answered in its own words on the screen. */
export type CameraFailure = "insecure" | "refused" | "none" | "busy" | "other";

/** A switch the device may have: a torch, a closer zoom. */
export type Switch = "absent" | "off" | "on";

export interface Lens {
  id: string;
  /** The device's own name of it, or empty. */
  label: string;
}

export type CameraState =
  | { kind: "off" }
  | { kind: "starting" }
  | {
      kind: "live";
      stream: MediaStream;
      torch: Switch;
      /** Twice the size: near the label many main lenses are out of focus. */
      closer: Switch;
      lenses: readonly Lens[];
      lens: string | null;
    }
  /** Stopped while the page is out of sight; comes back by itself. */
  | { kind: "asleep" }
  | { kind: "failed"; failure: CameraFailure };

/** The parts of `navigator.mediaDevices` that are used. */
export type CameraDevices = Pick<MediaDevices, "getUserMedia" | "enumerateDevices">;

/** What the camera needs of the world. */
export interface CameraWorld {
  /** Undefined where the page is not secure. */
  devices: CameraDevices | undefined;
  hidden(): boolean;
  now(): number;
  /** Calls `shown` and `hid` as the page comes into sight and goes; returns how to stop that. */
  onSight(shown: () => void, hid: () => void): () => void;
  after(ms: number, run: () => void): () => void;
  /** The lens chosen last on this device; storage may be refused, then it is forgotten. */
  lens: { read(): string | null; write(id: string): void };
}

export interface Camera {
  readonly state: ReadonlySignal<CameraState>;
  /** Starts a scan session; to be called from a tap. While one runs it only wakes it. */
  start(): Promise<void>;
  /** Ends the session and lets the camera go. */
  stop(): void;
  /** Keeps the stream, dark, for a while: whoever scans one bag soon scans the next. */
  rest(): void;
  setTorch(on: boolean): Promise<void>;
  setCloser(on: boolean): Promise<void>;
  /** Goes to the next lens of this device and remembers it. */
  nextLens(): Promise<void>;
}

/** How long a resting session keeps its stream, in ms. */
export const REST_MS = 45_000;
/** How long a muted track may take to come back by itself, in ms. */
export const MUTE_GRACE_MS = 700;
/** A stream that lasted this long was a good one, in ms. */
const GOOD_MS = 10_000;
/** So many streams in a row may be lost at once before we stop asking. */
const MOST_LOST = 3;

/** Not in TypeScript's list: W3C Media Capture, image extensions. */
type Abilities = MediaTrackCapabilities & {
  torch?: boolean;
  zoom?: { min: number; max: number };
  focusMode?: string[];
};
type Wish = MediaTrackConstraintSet & { torch?: boolean; zoom?: number; focusMode?: string };

const SIZE: MediaTrackConstraints = { width: { ideal: 1280 }, height: { ideal: 720 } };

function failureOf(error: unknown): CameraFailure {
  const name = error instanceof Error || error instanceof DOMException ? error.name : "";
  if (name === "NotAllowedError" || name === "SecurityError") return "refused";
  if (name === "NotFoundError" || name === "OverconstrainedError") return "none";
  if (name === "NotReadableError" || name === "AbortError") return "busy";
  return "other";
}

const release = (stream: MediaStream): void => stream.getTracks().forEach((each) => each.stop());

const abilities = (track: MediaStreamTrack): Abilities =>
  typeof track.getCapabilities === "function" ? track.getCapabilities() : {};

const wish = (track: MediaStreamTrack, set: Wish): Promise<void> =>
  track.applyConstraints({ advanced: [set] });

export function makeCamera(world: CameraWorld): Camera {
  const state = signal<CameraState>({ kind: "off" });
  let wanted = false;
  let resting: (() => void) | null = null;
  let stopListening: (() => void) | null = null;
  let lost = 0;
  let liveSince = 0;
  /** Starts and restarts, one after another. */
  let queue: Promise<void> = Promise.resolve();

  const track = (): MediaStreamTrack | null =>
    state.value.kind === "live" ? (state.value.stream.getVideoTracks()[0] ?? null) : null;

  /** A track that gives pictures. A muted one does not, unless it has been put to rest by us. */
  const alive = (): boolean => {
    const mine = track();
    return mine !== null && mine.readyState === "live" && !mine.muted;
  };

  function letGo(next: CameraState): void {
    if (state.value.kind === "live") release(state.value.stream);
    state.value = next;
  }

  async function ask(devices: CameraDevices): Promise<MediaStream> {
    const remembered = world.lens.read();
    if (remembered) {
      try {
        return await devices.getUserMedia({
          audio: false,
          video: { ...SIZE, deviceId: { exact: remembered } },
        });
      } catch (error) {
        // The lens is gone (another phone's copy, ids renewed): any camera to the rear will do.
        if (failureOf(error) !== "none") throw error;
      }
    }
    return devices.getUserMedia({
      audio: false,
      video: { ...SIZE, facingMode: { ideal: "environment" } },
    });
  }

  async function lenses(): Promise<Lens[]> {
    try {
      const all = (await world.devices?.enumerateDevices()) ?? [];
      return all
        .filter((each) => each.kind === "videoinput" && each.deviceId !== "")
        .map((each) => ({ id: each.deviceId, label: each.label }));
    } catch {
      return [];
    }
  }

  function listen(mine: MediaStreamTrack): void {
    const stillMine = (): boolean => track() === mine;
    const gone = (): void => {
      if (!wanted || !stillMine() || world.hidden()) return;
      if (resting !== null) return stop();
      lost = world.now() - liveSince > GOOD_MS ? 1 : lost + 1;
      if (lost > MOST_LOST) letGo({ kind: "failed", failure: "busy" });
      else void wake();
    };
    mine.addEventListener("ended", gone);
    mine.addEventListener("mute", () => {
      world.after(MUTE_GRACE_MS, () => {
        if (mine.muted) gone();
      });
    });
  }

  async function open(): Promise<void> {
    if (!wanted || world.hidden() || alive()) return;
    letGo({ kind: "starting" });
    if (!world.devices) return letGo({ kind: "failed", failure: "insecure" });
    let stream: MediaStream;
    try {
      stream = await ask(world.devices);
    } catch (error) {
      if (wanted) letGo({ kind: "failed", failure: failureOf(error) });
      return;
    }
    const mine = stream.getVideoTracks()[0];
    if (!mine) {
      release(stream);
      return letGo({ kind: "failed", failure: "none" });
    }
    const found = await lenses();
    // Nobody waits for it any more: given up, or the page went out of sight meanwhile.
    if (!wanted || world.hidden()) {
      release(stream);
      state.value = wanted ? { kind: "asleep" } : { kind: "off" };
      return;
    }
    const can = abilities(mine);
    state.value = {
      kind: "live",
      stream,
      torch: can.torch === true ? "off" : "absent",
      closer: (can.zoom?.max ?? 1) >= 2 ? "off" : "absent",
      lenses: found,
      lens: mine.getSettings().deviceId ?? null,
    };
    mine.enabled = resting === null;
    liveSince = world.now();
    listen(mine);
    if (can.focusMode?.includes("continuous")) {
      // A lens that will not be told keeps its own ways.
      await wish(mine, { focusMode: "continuous" }).catch(() => undefined);
    }
  }

  function wake(): Promise<void> {
    queue = queue.then(open);
    return queue;
  }

  function calm(): void {
    resting?.();
    resting = null;
  }

  function stop(): void {
    wanted = false;
    calm();
    stopListening?.();
    stopListening = null;
    letGo({ kind: "off" });
  }

  async function flip(which: "torch" | "closer", on: boolean): Promise<void> {
    const mine = track();
    const before = state.value;
    if (!mine || before.kind !== "live" || before[which] === "absent") return;
    try {
      await wish(mine, which === "torch" ? { torch: on } : { zoom: on ? 2 : 1 });
    } catch {
      return; // The switch stays as it was, and so does what the screen says of it.
    }
    const now = state.value;
    if (now.kind === "live" && track() === mine) {
      state.value = { ...now, [which]: on ? "on" : "off" };
    }
  }

  return {
    state,
    start() {
      calm();
      wanted = true;
      lost = 0;
      stopListening ??= world.onSight(
        () => {
          // Not after a failure: refusing brings the focus back, and would be asked again at once.
          if (resting === null && state.value.kind !== "failed") void wake();
        },
        () => {
          if (resting !== null) stop();
          else if (state.value.kind !== "failed") letGo({ kind: "asleep" });
        },
      );
      const mine = track();
      if (mine) mine.enabled = true;
      return wake();
    },
    stop,
    rest() {
      if (!alive()) return stop();
      const mine = track();
      if (mine) mine.enabled = false;
      void flip("torch", false);
      calm();
      resting = world.after(REST_MS, stop);
    },
    setTorch: (on) => flip("torch", on),
    setCloser: (on) => flip("closer", on),
    async nextLens() {
      const now = state.value;
      if (now.kind !== "live" || now.lenses.length < 2) return;
      const at = now.lenses.findIndex((each) => each.id === now.lens);
      const next = now.lenses[(at + 1) % now.lenses.length];
      if (!next) return;
      world.lens.write(next.id);
      // Stopped first: two streams at once are more than some phones give.
      letGo({ kind: "starting" });
      await wake();
    },
  };
}

/** The world as the browser has it; `lens` comes from the one door to the browser's storage. */
export function browserCameraWorld(lens: CameraWorld["lens"]): CameraWorld {
  return {
    devices: window.isSecureContext ? navigator.mediaDevices : undefined,
    hidden: () => document.visibilityState === "hidden",
    now: () => performance.now(),
    onSight(shown, hid) {
      const change = (): void => (document.visibilityState === "hidden" ? hid() : shown());
      document.addEventListener("visibilitychange", change);
      window.addEventListener("focus", shown);
      window.addEventListener("pageshow", shown);
      window.addEventListener("pagehide", hid);
      return () => {
        document.removeEventListener("visibilitychange", change);
        window.removeEventListener("focus", shown);
        window.removeEventListener("pageshow", shown);
        window.removeEventListener("pagehide", hid);
      };
    },
    after(ms, run) {
      const timer = setTimeout(run, ms);
      return () => clearTimeout(timer);
    },
    lens,
  };
}
