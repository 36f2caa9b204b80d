// @vitest-environment happy-dom
/** Save and bring back: what it offers, and what it says of whatever comes of a file. */
import { type Signal } from "@preact/signals";
import { render } from "preact";
import { LocationProvider } from "preact-iso";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { upload } from "../src/net/upload";
import Archives from "../src/screens/archives";
import { broughtOf } from "../src/sync/archives";
import { BenchContext } from "../src/ui/bench-context";
import type { ExchangeState } from "../src/sync/types";
import { BUILD, KIT, kitRows } from "./bench-kit";
import { type FakeBench, fakeBench, SESSION } from "./fake-bench";

const REPLY = {
  name: "Red one",
  kit: KIT,
  kits: [KIT],
  builds: [BUILD],
  made: { kit: 1, step: 2 },
  added: 9,
  known: 0,
  photos: 2,
  cleared: 0,
  copied: false,
};
const rest = (ms = 30): Promise<void> => new Promise((done) => setTimeout(done, ms));

/** A browser's request that is answered by the test. */
class FakeRequest {
  static made: FakeRequest[] = [];
  readonly headers = new Map<string, string>();
  readonly upload: { onprogress?: (event: object) => void; onload?: () => void } = {};
  method = "";
  path = "";
  status = 0;
  responseText = "";
  type = "";
  body: unknown;
  onload?: () => void;
  onerror?: () => void;
  onabort?: () => void;

  constructor() {
    FakeRequest.made.push(this);
  }
  open(method: string, path: string): void {
    Object.assign(this, { method, path });
  }
  setRequestHeader(name: string, value: string): void {
    this.headers.set(name, value);
  }
  getResponseHeader(name: string): string | null {
    return name === "Content-Type" ? this.type : null;
  }
  send(body: unknown): void {
    this.body = body;
  }
  abort(): void {
    this.onabort?.();
  }
  answer(status: number, body: unknown, type = "application/json"): void {
    this.status = status;
    this.type = type;
    this.responseText = typeof body === "string" ? body : JSON.stringify(body);
    this.onload?.();
  }
}

const last = (): FakeRequest => FakeRequest.made.at(-1)!;
const problem = (slug: string, title: string, detail: string, status = 422) =>
  [status, { type: `/api/problems/${slug}`, title, status, detail }, "application/problem+json"] as const;

beforeEach(() => {
  FakeRequest.made = [];
  vi.stubGlobal("XMLHttpRequest", FakeRequest);
});
afterEach(() => vi.unstubAllGlobals());

describe("sending a file", () => {
  const file = new Blob(["PK"]);
  const send = (shares: number[] = [], signal?: AbortSignal) =>
    upload({ path: "/api/x", file, read: broughtOf, onSent: (share) => shares.push(share) }, signal);

  it("sends it as it is, says how far it is, and reads the reply", async () => {
    const shares: number[] = [];
    const reply = send(shares);
    last().upload.onprogress?.({ loaded: 1, total: 4 });
    last().upload.onload?.();
    last().answer(201, REPLY);
    expect(await reply).toEqual({ kind: "ok", value: expect.objectContaining({ records: 3, changes: 9 }) });
    expect(shares).toEqual([0.25, 1]);
    expect(last().body).toBe(file);
    expect([last().method, last().path]).toEqual(["POST", "/api/x"]);
    expect(last().headers.get("Bagtrail-Protocol")).toBe("1");
  });

  it("tells a problem, another's page, and no network apart", async () => {
    const refused = send();
    last().answer(...problem("archive-newer", "Newer", "Update this server."));
    expect(await refused).toMatchObject({ kind: "problem", slug: "archive-newer" });
    const proxy = send();
    last().answer(413, "<html>", "text/html");
    expect(await proxy).toEqual({ kind: "notOurs", status: 413 });
    const odd = send();
    last().answer(201, { name: 5 });
    expect(await odd).toEqual({ kind: "notOurs", status: 201 });
    const cut = send();
    last().onerror?.();
    expect(await cut).toEqual({ kind: "offline", timedOut: false });
    const given = new AbortController();
    const up = send([], given.signal);
    given.abort();
    expect(await up).toMatchObject({ kind: "offline" });
  });
});

describe("the screen", () => {
  let root: HTMLElement;
  beforeEach(() => {
    root = document.createElement("div");
    document.body.append(root);
    history.replaceState(null, "", "/archives");
  });
  afterEach(() => {
    render(null, root);
    root.remove();
  });

  async function open(bench: FakeBench): Promise<void> {
    render(
      <BenchContext.Provider value={bench}>
        <LocationProvider>
          <Archives />
        </LocationProvider>
      </BenchContext.Provider>,
      root,
    );
    await rest();
  }
  const stand = (bench: FakeBench, state: Partial<ExchangeState>): void => {
    const signal = bench.courier.state as Signal<ExchangeState>;
    signal.value = { ...signal.value, ...state };
  };
  const text = (): string => root.textContent ?? "";
  const links = (): string[] =>
    [...root.querySelectorAll("a[download]")].map((one) => one.getAttribute("href") ?? "");
  async function choose(name = "red.zip"): Promise<void> {
    const input = root.querySelector<HTMLInputElement>('input[type="file"]')!;
    Object.defineProperty(input, "files", { configurable: true, value: [new File(["PK"], name)] });
    input.dispatchEvent(new Event("change", { bubbles: true }));
    await rest();
  }

  it("offers each build and each kit as archive and as tables", async () => {
    await open(fakeBench(kitRows()));
    expect(links()).toEqual([
      `/api/builds/${BUILD}/archive.zip`,
      `/api/builds/${BUILD}/tables.zip`,
      `/api/kits/${KIT}/archive.zip`,
      `/api/kits/${KIT}/tables.zip`,
    ]);
  });

  it("offers nothing to save while the server is out of reach, and says so", async () => {
    const bench = fakeBench(kitRows());
    stand(bench, { server: "unreachable" });
    await open(bench);
    expect(links()).toEqual([]);
    expect(text()).toContain("This needs the server");
  });

  it("says what an archive would lack", async () => {
    const bench = fakeBench(kitRows());
    stand(bench, { unsentChanges: 3, unsentPhotos: 1 });
    await open(bench);
    expect(text()).toContain("3 changes and 1 photo of this device are not yet on the server");
  });

  it("brings a file into this workshop, exchanges, and leads to what came", async () => {
    const bench = fakeBench(kitRows());
    let exchanged = 0;
    bench.courier.exchange = () => {
      exchanged += 1;
      return Promise.resolve();
    };
    await open(bench);
    await choose();
    last().upload.onprogress?.({ loaded: 41, total: 100 });
    await rest();
    expect(text()).toContain("Sending red.zip");
    expect(text()).toContain("41 % sent");
    last().upload.onload?.();
    await rest();
    expect(text()).toContain("The server looks through it");
    expect(last().headers.get("Bagtrail-Workshop")).toBe(SESSION.workshop.id);
    last().answer(201, { ...REPLY, copied: true, cleared: 1 });
    await rest();
    expect(exchanged).toBe(1);
    expect(text()).toContain("Red one is here");
    expect(text()).toContain("New: 3 records, 9 changes, 2 pictures.");
    expect(text()).toContain("new label codes");
    expect(text()).toContain("1 record of it had been deleted here and cleared away, and stays so.");
    const opener = [...root.querySelectorAll("a")].find((one) => one.textContent === "Open Red one");
    expect(opener?.getAttribute("href")).toBe(`/builds/${BUILD}`);
  });

  it("says where all of it was here already", async () => {
    await open(fakeBench(kitRows()));
    await choose();
    last().answer(201, { ...REPLY, made: {}, added: 0, photos: 0, known: 9 });
    await rest();
    expect(text()).toContain("Red one was here already, all of it");
  });

  it.each([
    ["archive-newer", "This archive is newer than this program", "It is written in version 2. Update this server.", 422],
    ["archive-damaged", "This archive is damaged", "changes.jsonl, line 4: it is no JSON.", 422],
    ["no-archive", "This file is no archive", "It is no ZIP file.", 422],
    ["too-large", "Too large", "This server takes archives of 4000 MB at most.", 413],
    ["no-room", "The server's disk is full", "Free some space there.", 507],
  ])("shows the words of a refusal: %s", async (slug, title, detail, status) => {
    await open(fakeBench(kitRows()));
    await choose("old.zip");
    last().answer(...problem(slug, title, detail, status));
    await rest();
    const alert = root.querySelector('[role="alert"]')?.textContent ?? "";
    expect(alert).toContain("old.zip was not brought in");
    expect(alert).toContain(title);
    expect(alert).toContain(detail);
  });

  it("says that a proxy is in the way, and that a broken connection can be tried again", async () => {
    await open(fakeBench(kitRows()));
    await choose();
    last().answer(413, "<html>", "text/html");
    await rest();
    expect(text()).toContain("A proxy in front of it limits");
    await choose();
    expect(text()).not.toContain("A proxy in front of it");
    last().onerror?.();
    await rest();
    expect(text()).toContain("Bring the same file in again");
  });
});
