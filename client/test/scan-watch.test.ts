/** Which frames are looked at, how, and what is made of them (phone pitfalls 8, 12, 17, 44). */
import { describe, expect, it } from "vitest";
import { DecoderFailure, makeDecoder, type Asked, type Told } from "../src/scan/decoder";
import type { Symbology } from "../src/core/gtin";
import { Agreement, Gate } from "../src/scan/gate";
import { HINT_DISTANCE_MS, HINT_TILT_MS, seenPart, watch, type Hint } from "../src/scan/watch";

/**
 * A video of `perSecond` frames; `shows(frame)` says what the decoder reads, after `takesMs`.
 * `copiesOnly`: it cannot read frames as the camera gives them.
 */
function film(
  perSecond: number,
  shows: (now: number) => string | null,
  takesMs = 8,
  copiesOnly = false,
  kind: Symbology = "qr",
) {
  let now = 0;
  let callback: (() => void) | null = null;
  const pending: { at: number; done: () => void }[] = [];
  const looked: { at: number; thorough: boolean }[] = [];
  const texts: { at: number; text: string }[] = [];
  const hints: Hint[] = [];
  const failures: DecoderFailure[] = [];
  let inFlight = 0;
  let mostInFlight = 0;
  let breakNext = false;
  const it = watch(
    { videoWidth: 1280 } as HTMLVideoElement,
    {
      decode(picture, thorough) {
        looked.push({ at: now, thorough });
        if (breakNext || (copiesOnly && "displayWidth" in picture)) return Promise.reject(new DecoderFailure("gone"));
        inFlight += 1;
        mostInFlight = Math.max(mostInFlight, inFlight);
        const text = shows(now);
        return new Promise((done) =>
          pending.push({
            at: now + takesMs,
            done: () => {
              inFlight -= 1;
              done({ text, symbology: text === null ? null : kind, ms: takesMs });
            },
          }),
        );
      },
      close: () => undefined,
    },
    {
      onText: ({ text }) => texts.push({ at: now, text }),
      onHint: (hint) => hints.push(hint),
      onFailure: (failure) => failures.push(failure),
    },
    {
      now: () => now,
      nextFrame(_video, next) {
        callback = next;
        return () => (callback = null);
      },
      picture: async (_video, copied) =>
        (copied ? {} : { displayWidth: 1280 }) as ImageBitmap | VideoFrame,
    },
  );
  const settle = async (): Promise<void> => {
    for (let i = 0; i < 12; i += 1) await Promise.resolve();
  };
  return {
    it,
    looked,
    texts,
    hints,
    failures,
    mostInFlight: () => mostInFlight,
    breakDecoder: () => (breakNext = true),
    async play(ms: number) {
      const end = now + ms;
      while (now < end) {
        now += 1000 / perSecond;
        for (const each of pending.filter((one) => one.at <= now)) {
          pending.splice(pending.indexOf(each), 1);
          each.done();
        }
        await settle();
        const next = callback;
        callback = null;
        next?.();
        await settle();
      }
    },
  };
}

describe("frames (pitfall 8)", () => {
  it.each([30, 60, 24])("looks at no more than ten of %i frames a second", async (perSecond) => {
    const it = film(perSecond, () => null);
    await it.play(3000);
    expect(it.looked.length).toBeLessThanOrEqual(31);
    expect(it.looked.length).toBeGreaterThanOrEqual(perSecond === 24 ? 23 : 29);
  });

  it("has one frame in flight on a slow phone", async () => {
    const it = film(30, () => null, 450);
    await it.play(3000);
    expect(it.mostInFlight()).toBe(1);
    expect(it.looked.length).toBeGreaterThanOrEqual(5);
  });

  it("looks thoroughly at every fifth", async () => {
    const it = film(30, () => null);
    await it.play(3000);
    expect(it.looked.slice(0, 10).map((each) => each.thorough)).toEqual([
      false, false, false, false, true, false, false, false, false, true,
    ]); // prettier-ignore
  });

  it("goes on after a frame that could not be had, and ends when the decoder is gone", async () => {
    const it = film(30, () => null);
    await it.play(500);
    it.breakDecoder();
    await it.play(500);
    expect(it.failures).toHaveLength(1);
    const looked = it.looked.length;
    await it.play(500);
    expect(it.looked).toHaveLength(looked);
  });

  it("goes on with copies where the worker cannot draw the camera's own frames", async () => {
    const it = film(30, () => "A", 8, true);
    await it.play(500);
    expect(it.failures).toEqual([]);
    expect(it.texts.map(({ text }) => text)).toEqual(["A"]);
  });
});

describe("a linear code counts when two frames say the same", () => {
  it("is said at the second frame that shows it", async () => {
    const it = film(30, () => "4006381333931", 8, false, "ean_13");
    await it.play(1000);
    expect(it.texts).toHaveLength(1);
    expect(it.looked.filter(({ at }) => at < it.texts[0]!.at)).toHaveLength(2);
  });

  it("is not said when each frame says another, as a code half in view does", async () => {
    let n = 0;
    const it = film(30, () => `0${(n += 1)}`, 8, false, "code_128");
    await it.play(3000);
    expect(it.texts).toEqual([]);
  });

  it("outlasts a few frames without it, not many", () => {
    const seen = { text: "A", symbology: "code_128" } as const;
    const agreement = new Agreement();
    const see = (...frames: (typeof seen | null)[]) => frames.map((one) => agreement.see(one)).at(-1);
    expect(see(seen, null, null, seen)).toEqual(seen);
    expect(see({ ...seen, text: "B" } as never, null, null, null, null, null, null, { ...seen, text: "B" } as never)).toBeNull();
  });

  it("does not hold up a label", () => {
    expect(new Agreement().see({ text: "A", symbology: "qr" })).not.toBeNull();
  });
});

describe("one action per code until it has left the view (pitfall 44)", () => {
  it("says a code once while it stays, also through glare", async () => {
    const it = film(30, (now) => (Math.floor(now / 400) % 2 ? "A" : null));
    await it.play(8000);
    expect(it.texts.map((each) => each.text)).toEqual(["A"]);
  });

  it("says it again after it was away", async () => {
    const it = film(30, (now) => (now < 1000 || now > 3500 ? "A" : null));
    await it.play(5000);
    expect(it.texts).toHaveLength(2);
  });

  it("does not take a pause for an absence", async () => {
    const it = film(30, () => "A");
    await it.play(500);
    it.it.pause();
    await it.play(10_000);
    it.it.resume();
    await it.play(2000);
    expect(it.texts).toHaveLength(1);
  });

  it("does not swallow a code that was in the worker when the pause came", async () => {
    const it = film(30, () => "A", 200);
    await it.play(120);
    expect(it.looked.length).toBe(1);
    it.it.pause();
    await it.play(500);
    expect(it.texts).toHaveLength(0);
    it.it.resume();
    await it.play(1000);
    expect(it.texts).toHaveLength(1);
  });

  it("tells two labels in one view apart, once each", () => {
    const gate = new Gate();
    const acted = ["A", "B", "A", "B", "A", null, "B"].filter((each) => gate.see(each));
    expect(acted).toEqual(["A", "B"]);
  });
});

describe("advice while nothing is read (pitfalls 12, 17)", () => {
  it("says the distance, then to tilt, and stops saying it once a code is read", async () => {
    const it = film(30, (now) => (now > HINT_TILT_MS + 1500 ? "A" : null));
    await it.play(HINT_DISTANCE_MS - 200);
    expect(it.hints).toEqual([]);
    await it.play(400);
    expect(it.hints).toEqual(["distance"]);
    await it.play(HINT_TILT_MS - HINT_DISTANCE_MS);
    expect(it.hints).toEqual(["distance", "tilt"]);
    await it.play(3000);
    expect(it.hints).toEqual(["distance", "tilt", null]);
  });
});

describe("what is looked at", () => {
  it.each([
    ["landscape", [1280, 720], [400, 300], [160, 0, 960, 720]],
    ["portrait", [720, 1280], [400, 300], [0, 370, 720, 540]],
    ["the same shape", [1280, 720], [640, 360], [0, 0, 1280, 720]],
    ["no box yet", [1280, 720], [0, 0], [0, 0, 1280, 720]],
  ] as const)("is what the screen shows of a video: %s", (_shape, video, box, part) => {
    const size = ([width, height]: readonly [number, number]) => ({ width, height });
    expect(seenPart(size(video), size(box))).toEqual(part);
  });
});

describe("the worker", () => {
  function fakeWorker(answer: (asked: Asked) => Told | null) {
    const made = { count: 0, gone: 0, fail: (): void => undefined };
    const decoder = makeDecoder(() => {
      made.count += 1;
      const worker = {
        onmessage: null as ((event: MessageEvent<Told>) => void) | null,
        onerror: null as ((event: ErrorEvent) => void) | null,
        postMessage(asked: Asked) {
          const told = answer(asked);
          if (told) queueMicrotask(() => worker.onmessage?.({ data: told } as MessageEvent<Told>));
        },
        terminate: () => (made.gone += 1),
      };
      made.fail = () => worker.onerror?.({ message: "404" } as ErrorEvent);
      return worker;
    });
    return { decoder, made };
  }
  const picture = {} as ImageBitmap;

  it("is started at the first picture, and once", async () => {
    const { decoder, made } = fakeWorker(({ id }) => ({ id, text: "A", symbology: "qr", ms: 1 }));
    expect(made.count).toBe(0);
    expect(await decoder.decode(picture, false)).toEqual({ text: "A", symbology: "qr", ms: 1 });
    await decoder.decode(picture, true);
    expect(made.count).toBe(1);
  });

  it("fails in words when it cannot be loaded, and is started afresh at the next try", async () => {
    const { decoder, made } = fakeWorker(() => null);
    const lost = decoder.decode(picture, false);
    made.fail();
    await expect(lost).rejects.toThrow(DecoderFailure);
    expect(made.gone).toBe(1);
    void decoder.decode(picture, false).catch(() => undefined);
    expect(made.count).toBe(2);
  });
});
