/** A server that reads intakes, in memory: answers as server/bagtrail/wire/intake.py says. */
import type { Values } from "../src/core/intakes";

export interface WireFinding {
  id: number;
  what: string;
  page: number | null;
  row: number | null;
  frame: number[] | null;
  text: string;
  values: Values;
  sure: number;
  asks: { field: string; says: string; options: unknown[] }[];
  left_out: boolean;
  corrected: boolean;
}

export const finding = (id: number, what: string, values: Values, more: Partial<WireFinding> = {}): WireFinding => ({
  id, what, values, page: null, row: null, frame: null, text: "", sure: 1, asks: [], left_out: false, corrected: false,
  ...more,
});

export class FakeIntakes {
  readonly seen: { method: string; path: string; body: unknown; headers: Headers }[] = [];
  online = true;
  private readonly read = new Map<number, WireFinding>();
  findings: WireFinding[] = [];
  unfit: Record<string, unknown>[] = [];
  pages: Record<string, unknown>[] = [];
  taken: Record<string, unknown> = { kit: "k1", build: "b1", made: {}, changed: {}, clashes: 0, left: 0 };
  intake: Record<string, unknown> = {
    id: "i1", kind: "text", name: "list", kit: null, state: "ready", done: 3, total: 3,
    made_at: "2026-05-04T18:00:00.000Z", problem: null, layout: null, counts: {}, asking: 0, unfit: 0,
  };

  readonly fetch = async (input: string, init: RequestInit): Promise<Response> => {
    const url = new URL(input, "http://localhost");
    const method = init.method ?? "GET";
    const body = typeof init.body === "string" ? (JSON.parse(init.body) as unknown) : init.body;
    this.seen.push({ method, path: url.pathname + url.search, body, headers: new Headers(init.headers) });
    if (!this.online) throw new TypeError("Failed to fetch");
    await Promise.resolve();
    const rest = /^\/api\/intakes(?:\/([^/]+))?(?:\/(\w+))?$/.exec(url.pathname);
    if (!rest) return problem(404, "Not found");
    const [, id, part] = rest;
    if (id === undefined) {
      if (method === "GET") return json({ items: [this.message()] });
      const { kind, name, kit } = Object.fromEntries(url.searchParams);
      Object.assign(this.intake, { kind, name, kit: kit ?? null, state: "reading", done: 0 });
      return json(this.message(), 201);
    }
    if (id !== this.intake["id"]) return problem(404, "Not found");
    switch (`${method} ${part ?? ""}`) {
      case "GET ":
        return json(this.message());
      case "DELETE ":
        this.intake["id"] = "gone";
        return new Response(null, { status: 204 });
      case "POST stop":
        this.intake["state"] = "stopped";
        return json(this.message());
      case "POST resume":
      case "POST layout":
        this.intake["state"] = part === "resume" ? "reading" : "ready";
        return json(this.message());
      case "GET findings":
        return json(this.listed(url.searchParams));
      case "POST findings":
        return json({ items: this.corrected(body as Sent) });
      case "GET unfit": {
        const after = Number(url.searchParams.get("after"));
        const items = this.unfit.slice(after, after + Number(url.searchParams.get("limit")));
        return json({ items, total: this.unfit.length });
      }
      case "GET pages":
        return json({ items: this.pages });
      case "POST take":
        Object.assign(this.intake, { state: "taken", kit: this.taken["kit"] });
        return json(this.taken);
      default:
        return problem(405, "Not allowed");
    }
  };

  private message(): Record<string, unknown> {
    const counts: Record<string, number> = {};
    const asking = this.findings.filter((one) => one.asks.length > 0 && !one.left_out).length;
    for (const one of this.findings) {
      if (!one.left_out && one.asks.length === 0) counts[one.what] = (counts[one.what] ?? 0) + 1;
    }
    return { ...this.intake, counts, asking, unfit: this.unfit.length };
  }

  private listed(query: URLSearchParams): unknown {
    const after = Number(query.get("after") ?? 0);
    const limit = Number(query.get("limit") ?? 500);
    const rows = this.findings
      .filter((one) => one.id > after)
      .filter((one) => !query.has("page") || one.page === Number(query.get("page")))
      .filter((one) => !query.has("what") || one.what === query.get("what"))
      .filter((one) => !query.has("asking") || (one.asks.length > 0 && !one.left_out));
    const items = rows.slice(0, limit);
    return { items, next: rows.length > limit ? items.at(-1)!.id : null };
  }

  private corrected({ changed = [], added = [] }: Sent): WireFinding[] {
    const items: WireFinding[] = [];
    for (const one of changed) {
      const found = this.findings.find(({ id }) => id === one.id)!;
      const { values, frame, left_out } = one;
      if (one.as_read) {
        Object.assign(found, this.read.get(found.id));
        items.push({ ...found });
        continue;
      }
      if (!found.corrected) this.read.set(found.id, { ...found });
      Object.assign(found, { corrected: true });
      if (values) Object.assign(found, { values, asks: [] });
      if (frame) found.frame = frame;
      if (left_out !== undefined) found.left_out = left_out;
      items.push({ ...found });
    }
    for (const one of added) {
      const id = Math.max(0, ...this.findings.map((other) => other.id)) + 1;
      const made = finding(id, one.what, one.values, {
        page: one.page ?? null, frame: one.frame ?? null, corrected: true,
      });
      this.findings.push(made);
      items.push({ ...made });
    }
    return items;
  }
}

interface Sent {
  changed?: { id: number; as_read?: boolean; values?: Values; frame?: number[]; left_out?: boolean }[];
  added?: { what: string; values: Values; page?: number; frame?: number[] }[];
}

function json(body: unknown, status = 200): Response {
  return new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });
}

function problem(status: number, title: string): Response {
  return new Response(JSON.stringify({ type: "/api/problems/x", title, status, detail: "d" }), {
    status,
    headers: { "Content-Type": "application/problem+json" },
  });
}
