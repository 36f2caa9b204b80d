/** The camera's states against stand-ins for `navigator.mediaDevices` (phone pitfalls 10 to 13). */
import { describe, expect, it } from "vitest";
import { makeCamera, MUTE_GRACE_MS, REST_MS, type CameraWorld } from "../src/scan/camera";

class FakeTrack extends EventTarget {
  readonly kind = "video";
  readyState: "live" | "ended" = "live";
  muted = false;
  enabled = true;
  wishes: MediaTrackConstraints[] = [];
  constructor(
    readonly lens: string,
    readonly can: Record<string, unknown>,
  ) {
    super();
  }
  stop(): void {
    this.readyState = "ended";
  }
  getCapabilities(): Record<string, unknown> {
    return this.can;
  }
  getSettings(): { deviceId: string } {
    return { deviceId: this.lens };
  }
  async applyConstraints(wanted: MediaTrackConstraints): Promise<void> {
    this.wishes.push(wanted);
  }
}

interface Setup {
  can?: Record<string, unknown>;
  lenses?: string[];
  remembered?: string;
  fail?: string;
  insecure?: boolean;
}

/** A phone: its camera, its page's visibility, its clock and what it remembers. */
function phone(setup: Setup = {}) {
  const lenses = setup.lenses ?? ["rear"];
  const asked: MediaStreamConstraints[] = [];
  const tracks: FakeTrack[] = [];
  let overlapping = 0;
  let mostAtOnce = 0;
  let fail = setup.fail;
  let gate: Promise<void> = Promise.resolve();
  let hidden = false;
  let now = 0;
  let shown: () => void = () => undefined;
  let hid: () => void = () => undefined;
  let timers: { at: number; run: () => void }[] = [];
  let remembered: string | null = setup.remembered ?? null;

  async function getUserMedia(wanted?: MediaStreamConstraints): Promise<MediaStream> {
    asked.push(wanted ?? {});
    overlapping += 1;
    mostAtOnce = Math.max(mostAtOnce, overlapping);
    await gate;
    overlapping -= 1;
    if (fail) throw new DOMException("no", fail);
    const video = wanted?.video;
    const exact =
      typeof video === "object" && typeof video.deviceId === "object" && "exact" in video.deviceId
        ? String(video.deviceId.exact)
        : null;
    if (exact !== null && !lenses.includes(exact)) throw new DOMException("", "OverconstrainedError");
    const track = new FakeTrack(exact ?? lenses[0] ?? "", setup.can ?? {});
    tracks.push(track);
    return { getTracks: () => [track], getVideoTracks: () => [track] } as unknown as MediaStream;
  }

  const world: CameraWorld = {
    devices: setup.insecure
      ? undefined
      : {
          getUserMedia,
          enumerateDevices: async () =>
            lenses.map(
              (deviceId) => ({ kind: "videoinput", deviceId, label: deviceId }) as MediaDeviceInfo,
            ),
        },
    hidden: () => hidden,
    now: () => now,
    onSight(s, h) {
      [shown, hid] = [s, h];
      return () => ([shown, hid] = [() => undefined, () => undefined]);
    },
    after(ms, run) {
      const timer = { at: now + ms, run };
      timers.push(timer);
      return () => (timers = timers.filter((each) => each !== timer));
    },
    lens: { read: () => remembered, write: (id) => (remembered = id) },
  };
  const settle = async (): Promise<void> => {
    for (let i = 0; i < 20; i += 1) await Promise.resolve();
  };
  return {
    camera: makeCamera(world),
    asked,
    tracks,
    settle,
    live: () => tracks.filter((each) => each.readyState === "live").length,
    mostAtOnce: () => mostAtOnce,
    remembered: () => remembered,
    failWith: (name: string | undefined) => (fail = name),
    hold: () => {
      let open: () => void = () => undefined;
      gate = new Promise((done) => (open = done));
      return () => open();
    },
    async hide() {
      hidden = true;
      hid();
      await settle();
    },
    async show() {
      hidden = false;
      shown();
      await settle();
    },
    async pass(ms: number) {
      now += ms;
      const due = timers.filter((each) => each.at <= now);
      timers = timers.filter((each) => each.at > now);
      due.forEach((each) => each.run());
      await settle();
    },
  };
}

const last = <T>(all: readonly T[]): T => {
  const it = all.at(-1);
  if (it === undefined) throw new Error("nothing there");
  return it;
};

describe("one call for a session (pitfall 10)", () => {
  it("asks for the camera once for five scans with rests between", async () => {
    const it = phone();
    for (let scan = 0; scan < 5; scan += 1) {
      await it.camera.start();
      expect(it.camera.state.value.kind).toBe("live");
      expect(last(it.tracks).enabled).toBe(true);
      it.camera.rest();
      expect(last(it.tracks).enabled).toBe(false);
      await it.pass(REST_MS - 1);
    }
    expect(it.asked).toHaveLength(1);
  });

  it("lets the camera go when a rest lasts too long, and asks again after", async () => {
    const it = phone();
    await it.camera.start();
    it.camera.rest();
    await it.pass(REST_MS);
    expect(it.live()).toBe(0);
    expect(it.camera.state.value.kind).toBe("off");
    await it.camera.start();
    expect(it.asked).toHaveLength(2);
    expect(it.live()).toBe(1);
  });

  it("does not fight for the camera while it rests: something else may be using it", async () => {
    const it = phone();
    await it.camera.start();
    it.camera.rest();
    const track = last(it.tracks);
    track.stop();
    track.dispatchEvent(new Event("ended"));
    await it.settle();
    expect(it.camera.state.value.kind).toBe("off");
    expect(it.asked).toHaveLength(1);
  });

  it("starts one stream for two taps in a row", async () => {
    const it = phone();
    await Promise.all([it.camera.start(), it.camera.start()]);
    expect(it.asked).toHaveLength(1);
  });

  it("stops a stream that arrives after the screen was left", async () => {
    const it = phone();
    const open = it.hold();
    const started = it.camera.start();
    await it.settle();
    it.camera.stop();
    open();
    await started;
    expect(it.tracks).toHaveLength(1);
    expect(it.live()).toBe(0);
    expect(it.camera.state.value.kind).toBe("off");
  });
});

describe("out of sight and back (pitfall 11)", () => {
  it("stops the tracks when hidden and has a live one when shown again", async () => {
    const it = phone();
    await it.camera.start();
    await it.hide();
    expect(it.live()).toBe(0);
    expect(it.camera.state.value.kind).toBe("asleep");
    await it.show();
    expect(it.live()).toBe(1);
    expect(it.camera.state.value.kind).toBe("live");
  });

  it("restarts on focus or pageshow when the track died without a word", async () => {
    const it = phone();
    await it.camera.start();
    last(it.tracks).readyState = "ended"; // no event, as some phones do
    await it.show();
    expect(it.live()).toBe(1);
    expect(it.asked).toHaveLength(2);
  });

  it("leaves a live stream alone on focus", async () => {
    const it = phone();
    await it.camera.start();
    await it.show();
    expect(it.asked).toHaveLength(1);
  });

  it("restarts when the track says ended", async () => {
    const it = phone();
    await it.camera.start();
    const first = last(it.tracks);
    first.stop();
    first.dispatchEvent(new Event("ended"));
    await it.settle();
    expect(it.live()).toBe(1);
    expect(it.asked).toHaveLength(2);
  });

  it("restarts a track that stays muted, not one that is muted for a moment", async () => {
    const it = phone();
    await it.camera.start();
    const first = last(it.tracks);
    first.muted = true;
    first.dispatchEvent(new Event("mute"));
    first.muted = false;
    await it.pass(MUTE_GRACE_MS);
    expect(it.asked).toHaveLength(1);
    first.muted = true;
    first.dispatchEvent(new Event("mute"));
    await it.pass(MUTE_GRACE_MS);
    expect(it.asked).toHaveLength(2);
    expect(it.live()).toBe(1);
    expect(first.readyState).toBe("ended");
  });

  it("serialises restarts when several events come at once", async () => {
    const it = phone();
    await it.camera.start();
    const first = last(it.tracks);
    const open = it.hold();
    first.stop();
    first.dispatchEvent(new Event("ended"));
    await it.show();
    await it.show();
    open();
    await it.settle();
    expect(it.mostAtOnce()).toBe(1);
    expect(it.live()).toBe(1);
    expect(it.asked).toHaveLength(2);
  });

  it("gives up when stream after stream is taken away at once", async () => {
    const it = phone();
    await it.camera.start();
    for (let i = 0; i < 10 && it.camera.state.value.kind === "live"; i += 1) {
      const track = last(it.tracks);
      track.stop();
      track.dispatchEvent(new Event("ended"));
      await it.settle();
    }
    expect(it.camera.state.value).toEqual({ kind: "failed", failure: "busy" });
    expect(it.asked.length).toBeLessThan(6);
  });

  it("does not ask again by itself after a refusal brought the focus back", async () => {
    const it = phone({ fail: "NotAllowedError" });
    await it.camera.start();
    await it.show();
    await it.hide();
    await it.show();
    expect(it.asked).toHaveLength(1);
    it.failWith(undefined);
    await it.camera.start();
    expect(it.camera.state.value.kind).toBe("live");
  });
});

describe("lenses (pitfall 12)", () => {
  it("asks for the camera to the rear", async () => {
    const it = phone();
    await it.camera.start();
    expect(it.asked[0]).toMatchObject({
      audio: false,
      video: { facingMode: { ideal: "environment" } },
    });
  });

  it("switches to the next lens, stops the first and remembers the choice", async () => {
    const it = phone({ lenses: ["rear", "wide", "front"] });
    await it.camera.start();
    await it.camera.nextLens();
    expect(it.remembered()).toBe("wide");
    expect(it.live()).toBe(1);
    expect(last(it.tracks).lens).toBe("wide");
    await it.camera.nextLens();
    await it.camera.nextLens();
    expect(last(it.tracks).lens).toBe("rear");
  });

  it("uses the remembered lens, and the rear one when that is gone", async () => {
    const known = phone({ lenses: ["rear", "wide"], remembered: "wide" });
    await known.camera.start();
    expect(last(known.tracks).lens).toBe("wide");
    const gone = phone({ lenses: ["rear"], remembered: "wide" });
    await gone.camera.start();
    expect(gone.camera.state.value.kind).toBe("live");
    expect(last(gone.tracks).lens).toBe("rear");
  });

  it("asks for continuous focus only where the lens has it", async () => {
    const able = phone({ can: { focusMode: ["manual", "continuous"] } });
    await able.camera.start();
    expect(last(able.tracks).wishes).toEqual([{ advanced: [{ focusMode: "continuous" }] }]);
    const unable = phone();
    await unable.camera.start();
    expect(last(unable.tracks).wishes).toEqual([]);
  });

  it("offers twice the size only where the lens can zoom", async () => {
    const it = phone({ can: { zoom: { min: 1, max: 5 } } });
    await it.camera.start();
    expect(it.camera.state.value).toMatchObject({ closer: "off" });
    await it.camera.setCloser(true);
    expect(last(it.tracks).wishes).toEqual([{ advanced: [{ zoom: 2 }] }]);
    expect(it.camera.state.value).toMatchObject({ closer: "on" });
  });
});

describe("torch and refusals (pitfall 13)", () => {
  it("has a torch only if the camera says so, off at first", async () => {
    const without = phone();
    await without.camera.start();
    expect(without.camera.state.value).toMatchObject({ torch: "absent" });
    await without.camera.setTorch(true);
    expect(last(without.tracks).wishes).toEqual([]);

    const it = phone({ can: { torch: true } });
    await it.camera.start();
    expect(it.camera.state.value).toMatchObject({ torch: "off" });
    expect(last(it.tracks).wishes).toEqual([]);
    await it.camera.setTorch(true);
    expect(it.camera.state.value).toMatchObject({ torch: "on" });
    expect(last(it.tracks).wishes).toEqual([{ advanced: [{ torch: true }] }]);
  });

  it("says the torch is off when the phone refused to light it", async () => {
    const it = phone({ can: { torch: true } });
    await it.camera.start();
    last(it.tracks).applyConstraints = () => Promise.reject(new DOMException("", "NotReadableError"));
    await it.camera.setTorch(true);
    expect(it.camera.state.value).toMatchObject({ torch: "off" });
  });

  it.each([
    ["NotAllowedError", "refused"],
    ["NotFoundError", "none"],
    ["NotReadableError", "busy"],
    ["TypeError", "other"],
  ])("tells %s apart as %s", async (name, failure) => {
    const it = phone({ fail: name });
    await it.camera.start();
    expect(it.camera.state.value).toEqual({ kind: "failed", failure });
  });

  it("tells a page that is not secure apart, and throws nothing (pitfall 1)", async () => {
    const it = phone({ insecure: true });
    await it.camera.start();
    expect(it.camera.state.value).toEqual({ kind: "failed", failure: "insecure" });
  });
});
