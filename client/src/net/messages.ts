/**
 * Replies of the server, taken apart: each reader returns what was agreed or throws. Shapes:
 * server/bagtrail/wire/messages.py and server/PROTOCOL.md.
 */
import { unpack, type RecordChange } from "../core/packing";

export interface WireCursor {
  readonly epoch: string;
  readonly seq: number;
  readonly change: string | null;
}

export interface WireProblem {
  readonly type: string;
  readonly title: string;
  readonly detail?: string;
}

export interface PushReply {
  readonly epoch: string;
  readonly now: number;
  /** One for each change sent, in order. */
  readonly verdicts: readonly {
    readonly verdict: "applied" | "duplicate" | "refused" | "retry";
    readonly seq: number | null;
    readonly restamped?: string;
    readonly problem?: WireProblem;
  }[];
}

export interface PullReply {
  readonly cursor: WireCursor;
  readonly more: boolean;
  readonly now: number;
  readonly workshop: string;
  readonly changes: readonly RecordChange[];
}

export interface SessionReply {
  readonly workshop: { readonly id: string; readonly name: string };
  readonly device: { readonly id: string; readonly name: string; readonly clock: string };
  readonly epoch: string;
  readonly publicUrl: string;
}

export interface PairingReply {
  readonly code: string;
  readonly url: string;
  readonly svg: string;
  readonly expiresAt: number;
}

/** Geometry of a label sheet, in millimetres. */
export interface SheetReply {
  readonly name: string;
  readonly width_mm: number;
  readonly height_mm: number;
  readonly columns: number;
  readonly rows: number;
  readonly label_width_mm: number;
  readonly label_height_mm: number;
}

/** A reply that is not what was agreed. */
export class Unlike extends Error {}

type Bag = Readonly<Record<string, unknown>>;

export function object(value: unknown): Bag {
  if (typeof value === "object" && value !== null && !Array.isArray(value)) return value as Bag;
  throw new Unlike("an object was agreed");
}

export function list(value: unknown): readonly unknown[] {
  if (Array.isArray(value)) return value as unknown[];
  throw new Unlike("a list was agreed");
}

export function text(value: unknown): string {
  if (typeof value === "string") return value;
  throw new Unlike("text was agreed");
}

export function number(value: unknown): number {
  if (typeof value === "number" && Number.isFinite(value)) return value;
  throw new Unlike("a number was agreed");
}

export function maybe<T>(value: unknown, read: (value: unknown) => T): T | null {
  return value === null || value === undefined ? null : read(value);
}

function cursor(value: unknown): WireCursor {
  const { epoch, seq, change } = object(value);
  return {
    epoch: text(epoch),
    seq: number(seq),
    change: maybe(change, text),
  };
}

export function problem(value: unknown): WireProblem {
  const { type, title, detail } = object(value);
  return {
    type: text(type),
    title: text(title),
    ...(typeof detail === "string" && detail ? { detail } : {}),
  };
}

/** For a push of `sent` changes. */
export function pushReply(body: unknown, sent: number): PushReply {
  const { epoch, now, verdicts, seqs, restamped, problems } = object(body);
  const stamps = object(restamped);
  const reasons = object(problems);
  const places = list(seqs);
  const words = list(verdicts);
  if (words.length !== sent || places.length !== sent) throw new Unlike("a verdict for each");
  return {
    epoch: text(epoch),
    now: number(now),
    verdicts: words.map((word, i) => {
      if (word !== "applied" && word !== "duplicate" && word !== "refused" && word !== "retry") {
        throw new Unlike("an unknown verdict");
      }
      const stamp = stamps[i];
      const reason = reasons[i];
      return {
        verdict: word,
        seq: places[i] === null ? null : number(places[i]),
        ...(stamp === undefined ? {} : { restamped: text(stamp) }),
        ...(reason === undefined ? {} : { problem: problem(reason) }),
      };
    }),
  };
}

export function pullReply(body: unknown): PullReply {
  const { cursor: at, more, now, workshop, changes } = object(body);
  if (typeof more !== "boolean") throw new Unlike("more is yes or no");
  return {
    cursor: cursor(at),
    more,
    now: number(now),
    workshop: text(workshop),
    changes: unpack(changes),
  };
}

export function offerReply(body: unknown): { missing: string[] } {
  return { missing: list(object(body)["missing"]).map(text) };
}

export function sessionReply(body: unknown): SessionReply {
  const { workshop, device, epoch, public_url } = object(body);
  const shop = object(workshop);
  const own = object(device);
  return {
    workshop: { id: text(shop["id"]), name: text(shop["name"]) },
    device: { id: text(own["id"]), name: text(own["name"]), clock: text(own["clock"]) },
    epoch: text(epoch),
    publicUrl: text(public_url),
  };
}

export function pairingReply(body: unknown): PairingReply {
  const { code, url, svg, expires_at } = object(body);
  return {
    code: text(code),
    url: text(url),
    svg: text(svg),
    expiresAt: number(Date.parse(text(expires_at))),
  };
}

export function demoReply(body: unknown): { kit: string; build: string } {
  const { kit, build } = object(body);
  return { kit: text(kit), build: text(build) };
}

export function sheetsReply(body: unknown): SheetReply[] {
  const { sheets } = object(body);
  return list(sheets).map((one) => {
    const sheet = object(one);
    return {
      name: text(sheet["name"]),
      width_mm: number(sheet["width_mm"]),
      height_mm: number(sheet["height_mm"]),
      columns: number(sheet["columns"]),
      rows: number(sheet["rows"]),
      label_width_mm: number(sheet["label_width_mm"]),
      label_height_mm: number(sheet["label_height_mm"]),
    };
  });
}

/** Throws unless it is our server that answers. */
export function pingReply(body: unknown): { epoch: string; now: number } {
  const { service, epoch, now } = object(body);
  if (service !== "bagtrail") throw new Unlike("another service");
  return { epoch: text(epoch), now: number(now) };
}

/** For replies whose body says nothing more. */
export function nothing(): null {
  return null;
}
