/** The door to the network: what each answer is taken for. */
import { gunzipSync } from "node:zlib";
import { afterEach, describe, expect, it, vi } from "vitest";
import * as api from "../src/net/api";
import { openHttp, type Reply } from "../src/net/http";

const answer = (status: number, type: string, body: string, headers: Record<string, string> = {}) =>
  openHttp(() => Promise.resolve(new Response(body, { status, headers: { "Content-Type": type, ...headers } })));
const problem = (slug: string, status: number, more = "", headers = {}) =>
  answer(status, "application/problem+json", `{"type":"/api/problems/${slug}","title":"t","status":${status}${more}}`, headers);
const PING = JSON.stringify({ service: "bagtrail", protocol: 1, epoch: "e", now: 5 });

afterEach(() => vi.unstubAllGlobals());

describe("a reply", () => {
  it("is ok only with the media type and the shape that were agreed", async () => {
    const ask = (http: ReturnType<typeof answer>): Promise<Reply<unknown>> => http.send(api.ping());
    expect(await ask(answer(200, "application/json; charset=utf-8", PING))).toEqual({
      kind: "ok", value: { epoch: "e", now: 5 },
    });
    // failure 29, pitfall 45: a captive portal says 200 to everything.
    expect(await ask(answer(200, "text/html", "<html>"))).toEqual({ kind: "notOurs", status: 200 });
    expect(await ask(answer(200, "text/html", PING))).toEqual({ kind: "notOurs", status: 200 });
    expect(await ask(answer(200, "application/json", '{"status":"ok"}'))).toMatchObject({ kind: "notOurs" });
    expect(await ask(answer(200, "application/json", "{"))).toMatchObject({ kind: "notOurs" });
    expect(await ask(answer(200, "application/json", "null"))).toMatchObject({ kind: "notOurs" });
    expect(await ask(answer(502, "text/html", "Bad gateway"))).toEqual({ kind: "notOurs", status: 502 });
    expect(await ask(answer(502, "application/problem+json", "{}"))).toMatchObject({ kind: "notOurs" });
  });

  it("that is a problem keeps its slug, words and what it asks to wait", async () => {
    const reply = await problem("not-paired", 401, ',"detail":"d","claimable":true').send(api.session());
    expect(reply).toEqual({
      kind: "problem", slug: "not-paired", retryAfterMs: null,
      problem: { type: "/api/problems/not-paired", title: "t", status: 401, detail: "d", claimable: true },
    });
    const wait = (headers: Record<string, string>) => problem("too-many-tries", 429, "", headers).send(api.ping());
    expect(await wait({ "Retry-After": "7" })).toMatchObject({ retryAfterMs: 7000 });
    expect(await wait({
      "Retry-After": "Wed, 21 Oct 2015 07:28:10 GMT", Date: "Wed, 21 Oct 2015 07:28:00 GMT",
    })).toMatchObject({ retryAfterMs: 10_000 });
    expect(await wait({ "Retry-After": "soon" })).toMatchObject({ retryAfterMs: null });
    for (const [slug, status] of [["too-old", 426], ["other-epoch", 410], ["below-floor", 410]] as const) {
      expect(await problem(slug, status).send(api.ping())).toMatchObject({ slug, problem: { status } });
    }
  });

  it("that never comes is offline, after the time that the call allows (pitfall 24)", async () => {
    const http = openHttp(() => Promise.reject(new TypeError("Failed to fetch")));
    expect(await http.send(api.ping())).toEqual({ kind: "offline", timedOut: false });
    const silent = openHttp(
      (_, init) =>
        new Promise((_done, reject) =>
          init?.signal?.addEventListener("abort", () => reject(init.signal?.reason as Error)),
        ),
    );
    expect(await silent.send({ ...api.ping(), timeoutMs: 15 })).toEqual({ kind: "offline", timedOut: true });
    expect(await silent.picture("/api/blobs/x", 15)).toEqual({ kind: "offline", timedOut: true });
  });

  it("to a push must have a verdict for each change", async () => {
    const change = {
      id: "00000000000000d1.1", type: "kit", record: "r", set: {}, supersedes: [],
      stamp: "01a3185c5000000000000000000000d1",
    };
    const body = (verdicts: unknown[], seqs: unknown[]): string =>
      JSON.stringify({ epoch: "e", now: 1, verdicts, seqs, restamped: {}, problems: {} });
    const push = (text: string) => answer(200, "application/json", text).send(api.push("w", null, [change]));
    expect(await push(body(["applied"], [1]))).toMatchObject({
      kind: "ok", value: { verdicts: [{ verdict: "applied", seq: 1 }] },
    });
    expect(await push(body([], []))).toMatchObject({ kind: "notOurs" });
    expect(await push(body(["fine"], [1]))).toMatchObject({ kind: "notOurs" });
    expect(await push(body(["applied"], ["1"]))).toMatchObject({ kind: "notOurs" });
  });

  it("with a picture must be one", async () => {
    const picture = await answer(200, "image/jpeg", "abc").picture("/api/blobs/x", 100);
    expect(picture).toMatchObject({ kind: "ok", value: { type: "image/jpeg" } });
    expect(await answer(200, "text/html", "abc").picture("/x", 100)).toMatchObject({ kind: "notOurs" });
    expect(await problem("not-found", 404).picture("/x", 100)).toMatchObject({ slug: "not-found" });
  });
});

describe("a request", () => {
  const sent: { path: string; init: RequestInit }[] = [];
  const http = openHttp((path, init) => {
    sent.push({ path: String(path), init: init ?? {} });
    return Promise.resolve(new Response(null, { status: 204 }));
  });
  const many = Array.from({ length: 50 }, (_, i) => ({
    id: `00000000000000d1.${i + 1}`, type: "kit", record: "r", set: { name: "x" }, supersedes: [],
    stamp: "01a3185c5000000000000000000000d1",
  }));
  const last = (): { path: string; init: RequestInit; headers: Headers } => {
    const one = sent[sent.length - 1]!;
    return { ...one, headers: new Headers(one.init.headers) };
  };

  it("says which protocol it speaks, and which workshop it means", async () => {
    await http.send(api.pull("w1", { epoch: "e", seq: 3, change: "00000000000000d1.3" }));
    expect(last().headers.get("Bagtrail-Protocol")).toBe("1");
    expect(last().headers.get("Bagtrail-Workshop")).toBe("w1");
    expect(last().path).toBe("/api/sync/pull?epoch=e&seq=3&change=00000000000000d1.3&limit=5000");
    expect(last().init).toMatchObject({ method: "GET", cache: "no-store", credentials: "same-origin" });
  });

  it("compresses a long push, and sends it plain where the browser cannot", async () => {
    await http.send(api.push("w1", null, many));
    expect(last().headers.get("Content-Encoding")).toBe("gzip");
    const unpacked = JSON.parse(gunzipSync(new Uint8Array(last().init.body as ArrayBuffer)).toString());
    expect(unpacked).toMatchObject({ cursor: null, changes: { clocks: ["00000000000000d1"] } });
    await http.send(api.push("w1", null, many.slice(0, 1)));
    expect(last().headers.get("Content-Encoding")).toBeNull();
    vi.stubGlobal("CompressionStream", undefined);
    await http.send(api.push("w1", null, many));
    expect(last().headers.get("Content-Encoding")).toBeNull();
    expect(JSON.parse(last().init.body as string)).toEqual(unpacked);
  });

  it("sends the bytes of a photo as they are", async () => {
    const bytes = new ArrayBuffer(5);
    await http.send(api.putBlob("w1", "ab", { type: "image/jpeg", bytes }));
    expect(last()).toMatchObject({ path: "/api/blobs/ab", init: { method: "PUT", body: bytes } });
    expect(last().headers.get("Content-Type")).toBe("image/jpeg");
  });
});
