/**
 * A server in memory that speaks server/PROTOCOL.md, for tests of the client: strict where the real
 * one is, and able to fail on request. Merging is core/merge's, held to the server's by the shared
 * vectors.
 */
import { gunzipSync } from "node:zlib";
import { createHash } from "node:crypto";
import { apply, EMPTY, type State } from "../src/core/merge";
import { pack, unpack, type RecordChange } from "../src/core/packing";
import { make, parse } from "../src/core/stamps";

interface Kept extends RecordChange {
  readonly seq: number;
  readonly claimed: string;
}

interface Slot {
  type: string;
  state: State;
  seq: number;
  change: string;
}

/** What happens to a request: `lose` = done, but its reply never comes; `drop` = never arrives. */
export type Fault = "lose" | "drop" | "html" | undefined;

export const WORKSHOP = "00000000-0000-4000-8000-000000000001";

export class FakeServer {
  epoch = "e1";
  seq = 0;
  floor = 0;
  nowMs = 1_800_000_000_000;
  pageLimit = 5_000;
  pushMax = 20_000;
  unpaired = false;
  tooOld = false;
  workshop = WORKSHOP;
  /** Whether it looks at which workshop a request means. */
  looks = true;
  clocks: Set<string> | null = null;
  journal = new Map<string, Kept>();
  slots = new Map<string, Slot>();
  blobs = new Map<string, Uint8Array>();
  readonly log: string[] = [];
  /** Asked for each request; by default nothing goes wrong. */
  fault: (call: string) => Fault = () => undefined;
  /** Refuses changes by what it answers: a slug, or null. */
  refuse: (change: RecordChange) => string | null = () => null;
  /** Waits before answering, after the work is done. */
  hold: (call: string) => Promise<void> = () => Promise.resolve();

  readonly fetch = async (input: RequestInfo | URL, init: RequestInit = {}): Promise<Response> => {
    const url = new URL(String(input), "http://bench.example");
    const call = `${init.method ?? "GET"} ${url.pathname}`;
    const signal = init.signal ?? null;
    this.log.push(call);
    const fault = this.fault(call);
    if (fault === "drop") throw new TypeError("Failed to fetch");
    if (fault === "html") {
      return new Response("<html>Please log in</html>", { headers: { "Content-Type": "text/html" } });
    }
    const response = await this.#answer(call, url, init);
    await Promise.race([
      this.hold(call),
      new Promise((_, reject) =>
        signal?.addEventListener("abort", () => reject(signal.reason as Error)),
      ),
    ]);
    if (fault === "lose") throw new TypeError("Failed to fetch");
    return response;
  };

  /** Everything as it was at this moment; the opposite is `restore`. */
  backup(): { seq: number; journal: Map<string, Kept>; slots: Map<string, Slot>; blobs: Map<string, Uint8Array> } {
    const slots = new Map([...this.slots].map(([key, slot]) => [key, { ...slot }]));
    return { seq: this.seq, journal: new Map(this.journal), slots, blobs: new Map(this.blobs) };
  }

  restore(copy: ReturnType<FakeServer["backup"]>): void {
    this.seq = copy.seq;
    this.journal = new Map(copy.journal);
    this.slots = new Map([...copy.slots].map(([key, slot]) => [key, { ...slot }]));
    this.blobs = new Map(copy.blobs);
    this.epoch = `e${Number(this.epoch.slice(1)) + 1}`;
  }

  async #answer(call: string, url: URL, init: RequestInit): Promise<Response> {
    const headers = new Headers(init.headers);
    const isPicture = url.pathname.startsWith("/api/blobs/") && (init.method ?? "GET") === "GET";
    if (!isPicture && headers.get("Bagtrail-Protocol") !== "1") return problem("malformed", 400);
    if (this.tooOld) return problem("too-old", 426);
    if (call === "GET /api/ping") {
      return json({ service: "bagtrail", protocol: 1, epoch: this.epoch, now: this.nowMs });
    }
    if (this.unpaired) return problem("not-paired", 401);
    const meant = headers.get("Bagtrail-Workshop");
    if (this.looks && meant !== null && meant !== this.workshop) return problem("other-workshop", 403);
    switch (call) {
      case "POST /api/sync/push":
        return this.#push(await bodyOf(init, headers));
      case "GET /api/sync/pull":
        return this.#pull(url.searchParams);
      case "POST /api/sync/offer": {
        const { ids } = (await bodyOf(init, headers)) as { ids: string[] };
        return json({ missing: ids.filter((id) => !this.journal.has(id)) });
      }
      case "POST /api/devices/me/clock": {
        const { clock } = (await bodyOf(init, headers)) as { clock: string };
        this.clocks?.add(clock);
        return new Response(null, { status: 204 });
      }
      default:
        if (url.pathname.startsWith("/api/blobs/")) return this.#blob(url, init);
        return problem("not-found", 404);
    }
  }

  #cursorProblem(cursor: { epoch: string; seq: number; change: string | null } | null): Response | null {
    if (!cursor) return null;
    if (cursor.epoch !== this.epoch || cursor.seq > this.seq) return problem("other-epoch", 410);
    if (cursor.seq > 0 && cursor.seq < this.floor) return problem("below-floor", 410);
    return null;
  }

  #push(body: unknown): Response {
    const { cursor, changes: packed } = body as {
      cursor: { epoch: string; seq: number; change: string | null } | null;
      changes: unknown;
    };
    const wrong = this.#cursorProblem(cursor);
    if (wrong) return wrong;
    const changes = unpack(packed);
    if (changes.length > this.pushMax) return problem("too-large", 413);
    const said = changes.map((change) => this.#judge(change));
    // A group is accepted whole or not at all.
    for (const [i, change] of changes.entries()) {
      if (!change.group) continue;
      const mates = changes.flatMap((other, k) =>
        other.group?.first === change.group?.first && other.id.slice(0, 16) === change.id.slice(0, 16)
          ? k
          : [],
      );
      const of = said[i]!;
      if (mates.length < change.group.size && of.verdict === "applied") of.verdict = "retry";
      if (of.verdict === "applied" && mates.some((k) => said[k]!.verdict === "refused")) {
        Object.assign(of, { verdict: "refused", problem: problemBody("group-refused", 409) });
      }
    }
    for (const [i, change] of changes.entries()) {
      const of = said[i]!;
      if (of.verdict === "applied") this.#accept(change, of);
    }
    const each = <T>(pick: (of: Said) => T | undefined): Record<string, T> =>
      Object.fromEntries(
        said.flatMap((of, i) => {
          const value = pick(of);
          return value === undefined ? [] : [[String(i), value] as [string, T]];
        }),
      );
    return json({
      epoch: this.epoch,
      now: this.nowMs,
      verdicts: said.map((of) => of.verdict),
      seqs: said.map((of) => of.seq),
      restamped: each((of) => of.restamped),
      problems: each((of) => of.problem),
    });
  }

  #judge(change: RecordChange): Said {
    const known = this.journal.get(change.id);
    if (known) {
      const same =
        JSON.stringify([known.type, known.record, known.set]) ===
        JSON.stringify([change.type, change.record, change.set]);
      if (!same) return { verdict: "refused", seq: null, problem: problemBody("id-reuse", 409) };
      const restamped = known.stamp === change.stamp ? {} : { restamped: known.stamp };
      return { verdict: "duplicate", seq: known.seq, ...restamped };
    }
    if (this.clocks && !this.clocks.has(change.id.slice(0, 16))) {
      return { verdict: "refused", seq: null, problem: problemBody("not-allowed", 403) };
    }
    const slug = this.refuse(change);
    if (slug) return { verdict: "refused", seq: null, problem: problemBody(slug, 422) };
    return { verdict: "applied", seq: null };
  }

  #accept(change: RecordChange, said: Said): void {
    const key = `${change.type}:${change.record}`;
    const slot = this.slots.get(key);
    const state = slot?.state ?? EMPTY;
    const at = parse(change.stamp);
    let stamp = change.stamp;
    if (at.ms > this.nowMs + 60_000) stamp = make(this.nowMs, 0, at.clock);
    for (const head of state.heads) {
      if (!change.supersedes.includes(head.id) || head.stamp < stamp) continue;
      const floor = parse(head.stamp);
      stamp = make(floor.ms, floor.tick + 1, at.clock);
    }
    if (stamp !== change.stamp) said.restamped = stamp;
    this.seq += 1;
    said.seq = this.seq;
    const kept = { ...change, stamp, seq: this.seq, claimed: change.stamp };
    this.journal.set(change.id, kept);
    this.slots.set(key, {
      type: change.type,
      state: apply(state, kept),
      seq: this.seq,
      change: change.id,
    });
  }

  #pull(query: URLSearchParams): Response {
    const epoch = query.get("epoch");
    const cursor =
      epoch === null
        ? null
        : { epoch, seq: Number(query.get("seq")), change: query.get("change") };
    const wrong = this.#cursorProblem(cursor);
    if (wrong) return wrong;
    const since = cursor?.seq ?? 0;
    const limit = Math.min(this.pageLimit, Number(query.get("limit") ?? this.pageLimit));
    const found = [...this.slots].filter(([, slot]) => slot.seq > since);
    found.sort(([, a], [, b]) => a.seq - b.seq);
    const page = found.slice(0, limit);
    const last = page[page.length - 1]?.[1];
    const changes = page.flatMap(([key, { type, state }]) =>
      state.heads.map((head): RecordChange => ({
        ...head,
        type,
        record: key.slice(key.indexOf(":") + 1),
        supersedes: [],
      })),
    );
    return json({
      cursor: last
        ? { epoch: this.epoch, seq: last.seq, change: last.change }
        : { epoch: this.epoch, seq: since, change: cursor?.change ?? null },
      more: found.length > limit,
      now: this.nowMs,
      workshop: this.workshop,
      changes: pack(changes, "pull"),
    });
  }

  #blob(url: URL, init: RequestInit): Response {
    const name = url.pathname.slice("/api/blobs/".length);
    if (init.method === "PUT") {
      const bytes = new Uint8Array(init.body as ArrayBuffer);
      if (createHash("sha256").update(bytes).digest("hex") !== name) return problem("invalid", 422);
      const fresh = !this.blobs.has(name);
      this.blobs.set(name, bytes);
      return json({ blob: name, width_px: 1, height_px: 1, size_bytes: bytes.length }, fresh ? 201 : 200);
    }
    const bytes = this.blobs.get(name);
    if (!bytes) return problem("not-found", 404);
    return new Response(new Uint8Array(bytes), { headers: { "Content-Type": "image/jpeg" } });
  }
}

interface Said {
  verdict: "applied" | "duplicate" | "refused" | "retry";
  seq: number | null;
  restamped?: string;
  problem?: object;
}

async function bodyOf(init: RequestInit, headers: Headers): Promise<unknown> {
  if (headers.get("Content-Encoding") !== "gzip") return JSON.parse(String(init.body));
  return Promise.resolve(
    JSON.parse(gunzipSync(new Uint8Array(init.body as ArrayBuffer)).toString()),
  );
}

function json(body: unknown, status = 200): Response {
  return new Response(JSON.stringify(body), {
    status,
    headers: { "Content-Type": "application/json" },
  });
}

function problemBody(slug: string, status: number): object {
  return { type: `/api/problems/${slug}`, title: slug, status, detail: slug };
}

function problem(slug: string, status: number): Response {
  return new Response(JSON.stringify(problemBody(slug, status)), {
    status,
    headers: { "Content-Type": "application/problem+json; charset=utf-8" },
  });
}
