/** Every call of server/PROTOCOL.md as plain data: pure builders, sent by `http.ts`. */
import { pack, type RecordChange } from "../core/packing";
import type { Call } from "./http";
import {
  demoReply,
  nothing,
  offerReply,
  pairingReply,
  pingReply,
  pullReply,
  pushReply,
  sessionReply,
  sheetsReply,
  type PairingReply,
  type PullReply,
  type PushReply,
  type SessionReply,
  type SheetReply,
  type WireCursor,
} from "./messages";

const PING_MS = 5_000;
const SHORT_MS = 12_000;
const LONG_MS = 45_000;
const PICTURE_MS = 120_000;
const DEMO_MS = 300_000;
/** Records in one page of a pull. */
export const PULL_LIMIT = 5_000;

/** Names the workshop that is meant, so that a cookie of another one can never mix the two. */
const of = (workshop: string): Record<string, string> => ({ "Bagtrail-Workshop": workshop });

/** Throws PackingError if a change is not well formed. */
export function push(
  workshop: string,
  cursor: WireCursor | null,
  changes: readonly RecordChange[],
): Call<PushReply> {
  return {
    method: "POST",
    path: "/api/sync/push",
    json: { cursor, changes: pack(changes, "push") },
    gzip: true,
    headers: of(workshop),
    timeoutMs: LONG_MS,
    read: (body) => pushReply(body, changes.length),
  };
}

export function pull(
  workshop: string,
  cursor: WireCursor | null,
  limit = PULL_LIMIT,
): Call<PullReply> {
  const query = new URLSearchParams();
  if (cursor) {
    query.set("epoch", cursor.epoch);
    query.set("seq", String(cursor.seq));
    if (cursor.change !== null) query.set("change", cursor.change);
  }
  query.set("limit", String(limit));
  return {
    method: "GET",
    path: `/api/sync/pull?${query}`,
    headers: of(workshop),
    timeoutMs: LONG_MS,
    read: pullReply,
  };
}

export function offer(workshop: string, ids: readonly string[]): Call<{ missing: string[] }> {
  return {
    method: "POST",
    path: "/api/sync/offer",
    json: { ids },
    headers: of(workshop),
    timeoutMs: LONG_MS,
    read: offerReply,
  };
}

/** Is it the server that answers? Asked first when that is in doubt: it is quick to fail. */
export function ping(): Call<{ epoch: string; now: number }> {
  return { method: "GET", path: "/api/ping", timeoutMs: PING_MS, read: pingReply };
}

export function session(): Call<SessionReply> {
  return { method: "GET", path: "/api/session", timeoutMs: SHORT_MS, read: sessionReply };
}

/** A device that asks to be let in; `device` and `clock` are of its own making. */
export interface Arrival {
  readonly name: string;
  readonly kind: "phone" | "tablet" | "desk";
  readonly device: string;
  readonly clock: string;
}

export function claim(workshop: string, arrival: Arrival): Call<SessionReply> {
  return post("/api/devices/claim", { workshop, ...arrival }, sessionReply);
}

export function redeem(code: string, arrival: Arrival): Call<SessionReply> {
  return post("/api/pairing/redeem", { code, ...arrival }, sessionReply);
}

export function invite(): Call<PairingReply> {
  return post("/api/pairing", undefined, pairingReply);
}

export function revoke(device: string): Call<null> {
  return post(`/api/devices/${device}/revoke`, undefined, nothing);
}

export function newClock(workshop: string, clock: string): Call<null> {
  return { ...post("/api/devices/me/clock", { clock }, nothing), headers: of(workshop) };
}

export function demo(): Call<{ kit: string; build: string }> {
  // It reads and draws many pictures, which takes small machines a while.
  return { ...post("/api/demo", {}, demoReply), timeoutMs: DEMO_MS };
}

export function sheets(): Call<SheetReply[]> {
  return { method: "GET", path: "/api/sheets", timeoutMs: SHORT_MS, read: sheetsReply };
}

export function putBlob(
  workshop: string,
  blob: string,
  picture: { readonly type: string; readonly bytes: ArrayBuffer },
): Call<null> {
  return {
    method: "PUT",
    path: `/api/blobs/${blob}`,
    bytes: picture,
    headers: of(workshop),
    timeoutMs: PICTURE_MS,
    read: nothing,
  };
}

/** Path of a picture as the server has it; `full` has no other. */
export function blobPath(blob: string, size: "thumb" | "preview" | "full"): string {
  return size === "full" ? `/api/blobs/${blob}` : `/api/blobs/${blob}?size=${size}`;
}

function post<T>(path: string, json: unknown, read: (body: unknown) => T): Call<T> {
  return { method: "POST", path, json, timeoutMs: SHORT_MS, read };
}
