/** Intakes: the sums about them, the calls, and how they are watched. */
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import {
  fileSlip,
  kindOfFile,
  nameFromFile,
  numberAfter,
  pagesDue,
  stepDrawn,
  sureness,
  type Finding,
} from "../src/core/intakes";
import { openHttp } from "../src/net/http";
import * as api from "../src/net/intakes";
import { LOOK_MS, SyncIntakes, WAIT_MS } from "../src/sync/intakes";
import { FakeIntakes, finding } from "./fake-intakes";

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const PDF = bytes("%PDF-1.7\n");
const ZIP = new Uint8Array([0x50, 0x4b, 3, 4]);
const CSV = bytes("Bag;Part;Qty\n1;KG-1;4\n");

describe("pages of a manual that is being read", () => {
  it("are asked for at once, then seldomer the more there are", () => {
    expect(pagesDue(0, 0)).toBe(false);
    expect(pagesDue(1, 0)).toBe(true);
    expect(pagesDue(1, 1)).toBe(false);
    let [shown, asked] = [0, 0];
    for (let done = 1; done <= 300; done += 1) {
      if (pagesDue(done, shown)) [shown, asked] = [done, asked + 1];
      expect(done - shown).toBeLessThan(Math.max(1, done / 8));
    }
    expect(asked).toBeLessThan(50);
  });
});

describe("a file", () => {
  it("that is plainly of another kind is told, and as what it can be read", () => {
    expect(fileSlip("manual", "manual.pdf", 9, PDF)).toBeNull();
    expect(fileSlip("table", "manual.pdf", 9, PDF)).toEqual({ why: "pdf", kind: "manual" });
    // A name proves nothing.
    expect(fileSlip("table", "parts.csv", 9, PDF)).toEqual({ why: "pdf", kind: "manual" });
    expect(fileSlip("manual", "parts.csv", 9, CSV)).toEqual({ why: "table", kind: "table" });
    expect(fileSlip("manual", "parts.xlsx", 9, ZIP)).toEqual({ why: "table", kind: "table" });
    expect(fileSlip("table", "parts.xlsx", 9, ZIP)).toBeNull();
    expect(fileSlip("table", "parts.csv", 9, CSV)).toBeNull();
    expect(fileSlip("table", "pictures.zip", 9, ZIP)).toEqual({ why: "other", kind: null });
    expect(fileSlip("manual", "a.png", 9, new Uint8Array([0x89, 0x50, 0x4e, 0x47]))).toEqual({ why: "picture", kind: null });
    expect(fileSlip("table", "a.xls", 9, new Uint8Array([0xd0, 0xcf, 0x11, 0xe0]))).toEqual({ why: "oldTable", kind: null });
    expect(fileSlip("table", "a.csv", 0, new Uint8Array())).toEqual({ why: "empty", kind: null });
    expect(fileSlip("table", "a.dat", 9, new Uint8Array([1, 0, 2]))).toEqual({ why: "other", kind: null });
    // UTF-16 with its mark is text.
    expect(fileSlip("table", "a.csv", 9, new Uint8Array([0xff, 0xfe, 65, 0]))).toBeNull();
  });

  it("may be as large as the server takes (wire/intake.py, KINDS)", () => {
    expect(fileSlip("manual", "m.pdf", 100_000_000, PDF)).toBeNull();
    expect(fileSlip("manual", "m.pdf", 100_000_001, PDF)).toEqual({ why: "large", kind: null });
    expect(fileSlip("table", "t.csv", 25_000_001, CSV)).toEqual({ why: "large", kind: null });
  });

  it("that is dropped is known by what it is", () => {
    expect(kindOfFile("x", PDF)).toBe("manual");
    expect(kindOfFile("x.xlsx", ZIP)).toBe("table");
    expect(kindOfFile("x.csv", CSV)).toBe("table");
    expect(kindOfFile("x.zip", ZIP)).toBeNull();
  });

  it("gives the kit its name", () => {
    expect(nameFromFile("Tarn_6_manual.pdf")).toBe("Tarn 6");
    expect(nameFromFile("Tarn 6 - building instructions.pdf")).toBe("Tarn 6");
    expect(nameFromFile("C:\\kits\\Tarn 8 parts list.xlsx")).toBe("Tarn 8");
    expect(nameFromFile("tarn-6-manual.pdf")).toBe("Tarn 6");
    expect(nameFromFile("manual.pdf")).toBe("Manual");
    expect(nameFromFile("x".repeat(200) + ".csv")).toHaveLength(120);
  });
});

describe("numbers", () => {
  it("go on as the manual counts", () => {
    const pairs = { "2.3": "2.4", "2.9": "2.10", K4: "K5", "7": "8", "09": "10", "2a": "2b", "A-1": "A-2" };
    for (const [one, next] of Object.entries(pairs)) expect(numberAfter(one)).toBe(next);
    expect(numberAfter("")).toBeNull();
    expect(numberAfter("2z")).toBeNull();
  });

  const step = (id: number, number: string, page: number, top: number, more = {}): Finding =>
    ({ ...api.finding(finding(id, "step", { number, section: "Axle" }, { page, frame: [0, top, 1, 0.1] })), ...more });

  it("are suggested for a step that is drawn: after the one above it, and no one twice", () => {
    const steps = [step(1, "2.1", 3, 0.1), step(2, "2.2", 3, 0.6), step(3, "2.3", 5, 0.1)];
    const drawn = (page: number, top: number, all = steps) => stepDrawn(all, page, [0, top, 1, 0.1]).values;
    expect(drawn(3, 0.8, steps.slice(0, 2))).toEqual({ number: "2.3", section: "Axle" });
    expect(drawn(3, 0.3)).toEqual({ number: "2.4", section: "Axle" });
    expect(drawn(4, 0.3)).toEqual({ number: "2.4", section: "Axle" });
    expect(drawn(1, 0.3)).toEqual({ number: "1" });
    expect(drawn(3, 0.8, [...steps.slice(0, 2), step(4, "2.3", 3, 0.7, { leftOut: true })])["number"]).toBe("2.3");
  });

  it("say in three steps how sure the reader is, and a question always wants to be looked at", () => {
    const asks = [{ field: "quantity", says: "How many?", options: [1] }];
    expect(sureness({ sure: 0.95, asks: [] })).toBe("sure");
    expect(sureness({ sure: 0.7, asks: [] })).toBe("likely");
    expect(sureness({ sure: 0.3, asks: [] })).toBe("look");
    expect(sureness({ sure: 1, asks })).toBe("look");
  });
});

/** A browser whose page is looked at or not, and whose time is the test's. */
function world() {
  let on: { seen: () => void; hidden: () => void; online: () => void } | null = null;
  const state = { visible: true };
  return {
    state,
    turn(visible: boolean) {
      state.visible = visible;
      if (visible) on?.seen();
      else on?.hidden();
    },
    visible: () => state.visible,
    watch(what: NonNullable<typeof on>) {
      on = what;
      return () => (on = null);
    },
    later(ms: number, run: () => void) {
      const timer = setTimeout(run, ms);
      return () => clearTimeout(timer);
    },
  };
}

function setUp() {
  const server = new FakeIntakes();
  const page = world();
  const done: string[] = [];
  const intakes = new SyncIntakes({
    http: openHttp((input, init) => server.fetch(String(input), init ?? {})),
    world: page,
    workshop: () => "w1",
    exchange: () => (done.push("exchange"), Promise.resolve()),
    load: (kit) => (done.push(`load ${kit}`), Promise.resolve()),
    lost: () => done.push("lost"),
  });
  return { server, page, intakes, done };
}

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe("calls", () => {
  it("name the workshop, send a file as it is, and can be given up", async () => {
    const { server, intakes } = setUp();
    const body = new Blob(["a"], { type: "text/csv" });
    await intakes.start(body, { kind: "table", name: "Bag list & more.csv", kit: "k1" });
    const sent = server.seen[0]!;
    expect(sent.path).toBe("/api/intakes?kind=table&name=Bag+list+%26+more.csv&kit=k1");
    expect(sent.body).toBe(body);
    expect(sent.headers.get("Content-Type")).toBe("text/csv");
    expect(sent.headers.get("Bagtrail-Workshop")).toBe("w1");
    const giveUp = new AbortController();
    const silent = openHttp(
      (_, init) =>
        new Promise((_done, reject) => {
          const signal = init!.signal!;
          const end = () => reject(signal.reason as Error);
          if (signal.aborted) end();
          else signal.addEventListener("abort", end);
        }),
    );
    const call = silent.send(api.start({ kind: "manual", name: "m", kit: null }, body, giveUp.signal));
    giveUp.abort();
    expect(await call).toEqual({ kind: "offline", timedOut: false });
  });

  it("have a time that a large file can be sent in on a slow network", () => {
    const big = { size: 100_000_000 } as Blob;
    expect(api.start({ kind: "manual", name: "m", kit: null }, big).timeoutMs).toBeGreaterThan(30 * 60_000);
  });

  it("read what the server says, and believe nothing else", () => {
    const message = { ...new FakeIntakes().intake };
    expect(api.intake(message)).toMatchObject({ id: "i1", kind: "text", state: "ready", layout: null });
    for (const wrong of [{ ...message, kind: "song" }, { ...message, counts: { bag: "3" } }, { ...message, state: "lost" }]) {
      expect(() => api.intake(wrong)).toThrow();
    }
    const layout = {
      sheets: ["A"], sheet: "A", heading_row: 1, delimiter: null, encoding: null, decimal: ",", rows: 2,
      remembered: true,
      columns: [{ at: 0, heading: "Qty", samples: ["4"], field: "part.quantity", sure: 0.8 }],
    };
    expect(api.intake({ ...message, layout }).layout).toEqual({
      sheets: ["A"], sheet: "A", headingRow: 1, decimal: ",", rows: 2, remembered: true,
      columns: [{ at: 0, heading: "Qty", samples: ["4"], field: "part.quantity", sure: 0.8 }],
    });
  });

  it("fetch all findings, page after page", async () => {
    const { server, intakes } = setUp();
    server.findings = Array.from({ length: 7 }, (_, at) => finding(at + 1, "bag", { number: String(at) }));
    const answer = await intakes.allFindings("i1", { limit: 3 });
    expect(answer).toMatchObject({ kind: "ok" });
    expect(answer.kind === "ok" && answer.value.map((one) => one.id)).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect(server.seen).toHaveLength(3);
  });

  it("pull and load the kit when it is taken in", async () => {
    const { server, intakes, done } = setUp();
    expect(await intakes.take("i1", { name: "Tarn 6" })).toMatchObject({ kind: "ok", value: { kit: "k1" } });
    expect(done).toEqual(["exchange", "load k1"]);
    server.online = false;
    expect(await intakes.take("i1", { name: "Tarn 6" })).toEqual({ kind: "offline" });
  });
});

describe("watching an intake", () => {
  const told = (heard: { kind: string; value?: { done: number } }[]) => heard.map((one) => one.value?.done ?? one.kind);

  it("looks again while it is read, less often while nothing moves, and ends with it", async () => {
    const { server, intakes } = setUp();
    Object.assign(server.intake, { state: "reading", done: 1 });
    const heard: { kind: string; value?: { done: number } }[] = [];
    const stop = intakes.watch("i1", (answer) => heard.push(answer));
    await vi.advanceTimersByTimeAsync(10);
    server.intake["done"] = 2;
    await vi.advanceTimersByTimeAsync(LOOK_MS);
    expect(told(heard)).toEqual([1, 2]);
    await vi.advanceTimersByTimeAsync(60_000);
    const slow = heard.length;
    // At first each 0.8 s, then each 8 s: far fewer than 75 in a minute.
    expect(slow).toBeLessThan(20);
    expect(slow).toBeGreaterThan(6);
    Object.assign(server.intake, { state: "ready", done: 3 });
    await vi.advanceTimersByTimeAsync(10_000);
    expect(told(heard).at(-1)).toBe(3);
    const all = server.seen.length;
    await vi.advanceTimersByTimeAsync(60_000);
    expect(server.seen.length).toBe(all);
    stop();
  });

  it("asks nothing while the app is hidden, and at once when it is looked at", async () => {
    const { server, intakes, page } = setUp();
    Object.assign(server.intake, { state: "reading", done: 1 });
    const heard: { kind: string }[] = [];
    const stop = intakes.watch("i1", (answer) => heard.push(answer));
    await vi.advanceTimersByTimeAsync(10);
    page.turn(false);
    await vi.advanceTimersByTimeAsync(60_000);
    expect(heard).toHaveLength(1);
    page.turn(true);
    await vi.advanceTimersByTimeAsync(10);
    expect(heard).toHaveLength(2);
    stop();
    await vi.advanceTimersByTimeAsync(60_000);
    expect(heard).toHaveLength(2);
  });

  it("says that the server is out of reach, and goes on when it is back", async () => {
    const { server, intakes } = setUp();
    server.online = false;
    const heard: { kind: string }[] = [];
    const stop = intakes.watchList((answer) => heard.push(answer));
    await vi.advanceTimersByTimeAsync(10);
    expect(heard).toEqual([{ kind: "offline" }]);
    server.online = true;
    await vi.advanceTimersByTimeAsync(WAIT_MS);
    expect(heard.at(-1)).toMatchObject({ kind: "ok" });
    stop();
  });
});
