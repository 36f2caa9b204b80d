/**
 * The one door to the network. It never throws: a call comes back as what it came to.
 *
 * A reply is believed only if it is of the kind that was asked for. A captive portal answers
 * anything with 200 and a page of its own; that is `notOurs`, and no better than no network.
 */

/** RFC 9457 problem details, as the server writes them. */
export interface Problem {
  readonly type: string;
  readonly title: string;
  readonly status: number;
  readonly detail?: string;
  readonly claimable?: boolean;
}

export interface PictureBytes {
  readonly type: string;
  readonly bytes: ArrayBuffer;
}

export type Reply<T> =
  | { readonly kind: "ok"; readonly value: T }
  /** `slug`: last part of the problem's type. `retryAfterMs`: what the server asked us to wait. */
  | {
      readonly kind: "problem";
      readonly slug: string;
      readonly problem: Problem;
      readonly retryAfterMs: number | null;
    }
  | { readonly kind: "offline"; readonly timedOut: boolean }
  | { readonly kind: "notOurs"; readonly status: number };

/** A call, as plain data. `read` takes the body apart and throws if it is not what was agreed. */
export interface Call<T> {
  readonly method: "GET" | "POST" | "PUT" | "DELETE";
  /** Path on this origin, with query. */
  readonly path: string;
  readonly json?: unknown;
  /** Compress the body where the browser can; for calls whose bodies are large. */
  readonly gzip?: boolean;
  readonly bytes?: PictureBytes;
  /** A file to send as it is; the browser reads it from its place as it goes. */
  readonly file?: Blob;
  readonly timeoutMs: number;
  /** Gives the call up: it then comes back as `offline`. */
  readonly signal?: AbortSignal;
  readonly headers?: Readonly<Record<string, string>>;
  readonly read: (body: unknown) => T;
}

export const PROTOCOL = "1";
/** Smaller bodies than this are not worth compressing, in bytes. */
const GZIP_FROM_BYTES = 1024;

export interface Http {
  send<T>(call: Call<T>): Promise<Reply<T>>;
  /** Bytes of a picture; a reply that is no picture is `notOurs`. */
  picture(path: string, timeoutMs: number): Promise<Reply<PictureBytes>>;
}

/** `origin`: where the server is; "" for the page's own. */
export function openHttp(fetch: typeof globalThis.fetch, origin = ""): Http {
  async function ask(
    path: string,
    init: RequestInit,
    timeoutMs: number,
    given?: AbortSignal,
  ): Promise<Response> {
    // Covers the reading of the body too.
    const late = AbortSignal.timeout(timeoutMs);
    return fetch(origin + path, {
      cache: "no-store",
      credentials: "same-origin",
      ...init,
      signal: given ? either(given, late) : late,
    });
  }
  return {
    async send<T>(call: Call<T>): Promise<Reply<T>> {
      try {
        const headers: Record<string, string> = {
          Accept: "application/json, application/problem+json",
          "Bagtrail-Protocol": PROTOCOL,
          ...call.headers,
        };
        const body = await bodyOf(call, headers);
        const init = { method: call.method, headers, ...(body === null ? {} : { body }) };
        return await replyOf(call, await ask(call.path, init, call.timeoutMs, call.signal));
      } catch (error) {
        return offline(error);
      }
    },
    async picture(path, timeoutMs) {
      try {
        const response = await ask(path, { method: "GET", cache: "default" }, timeoutMs);
        const media = mediaType(response);
        if (!response.ok) return await problemOf(response, media);
        if (!media.startsWith("image/")) return { kind: "notOurs", status: response.status };
        return { kind: "ok", value: { type: media, bytes: await response.arrayBuffer() } };
      } catch (error) {
        return offline(error);
      }
    },
  };
}

/** What a response comes to. Rejects if its body does not arrive. */
export async function replyOf<T>(
  call: Pick<Call<T>, "read">,
  response: Response,
): Promise<Reply<T>> {
  const media = mediaType(response);
  if (!response.ok) return problemOf(response, media);
  if (response.status === 204) return read(call, null, 204);
  if (media !== "application/json") return { kind: "notOurs", status: response.status };
  return read(call, parsed(await response.text()), response.status);
}

/** Aborts when one of them does. In place of `AbortSignal.any`, which phones of 2023 do not have. */
function either(...signals: readonly AbortSignal[]): AbortSignal {
  const both = new AbortController();
  for (const one of signals) {
    if (one.aborted) both.abort(one.reason);
    one.addEventListener("abort", () => both.abort(one.reason), { once: true });
  }
  return both.signal;
}

function offline(error: unknown): { kind: "offline"; timedOut: boolean } {
  const timedOut = error instanceof Error && error.name === "TimeoutError";
  return { kind: "offline", timedOut };
}

function read<T>(call: Pick<Call<T>, "read">, body: unknown, status: number): Reply<T> {
  try {
    return { kind: "ok", value: call.read(body) };
  } catch {
    return { kind: "notOurs", status };
  }
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return undefined;
  }
}

async function problemOf(
  response: Response,
  media: string,
): Promise<Exclude<Reply<never>, { kind: "ok" }>> {
  const body = media === "application/problem+json" ? parsed(await response.text()) : undefined;
  if (typeof body !== "object" || body === null) {
    return { kind: "notOurs", status: response.status };
  }
  const { type, title, detail, claimable } = body as Record<string, unknown>;
  if (typeof type !== "string" || typeof title !== "string") {
    return { kind: "notOurs", status: response.status };
  }
  const problem: Problem = {
    type,
    title,
    status: response.status,
    ...(typeof detail === "string" ? { detail } : {}),
    ...(typeof claimable === "boolean" ? { claimable } : {}),
  };
  const slug = type.slice(type.lastIndexOf("/") + 1);
  return { kind: "problem", slug, problem, retryAfterMs: retryAfter(response) };
}

/**
 * `Retry-After` in ms: seconds or a date (RFC 9110, section 10.2.3); null if absent or unreadable.
 */
function retryAfter(response: Response): number | null {
  const value = response.headers.get("Retry-After");
  if (value === null) return null;
  if (/^\d+$/.test(value)) return Number(value) * 1000;
  const date = Date.parse(value);
  const sent = Date.parse(response.headers.get("Date") ?? "");
  return Number.isNaN(date) || Number.isNaN(sent) ? null : Math.max(0, date - sent);
}

function mediaType(response: Response): string {
  return (response.headers.get("Content-Type") ?? "").split(";")[0]!.trim().toLowerCase();
}

async function bodyOf<T>(
  call: Call<T>,
  headers: Record<string, string>,
): Promise<ArrayBuffer | Blob | string | null> {
  if (call.file) {
    headers["Content-Type"] = call.file.type || "application/octet-stream";
    return call.file;
  }
  if (call.bytes) {
    headers["Content-Type"] = call.bytes.type;
    return call.bytes.bytes;
  }
  if (call.json === undefined) return null;
  headers["Content-Type"] = "application/json";
  const text = JSON.stringify(call.json);
  // Length in UTF-16 units is never more than the bytes; near enough for a threshold.
  const worth = call.gzip === true && text.length > GZIP_FROM_BYTES;
  if (!worth || typeof CompressionStream === "undefined") return text;
  headers["Content-Encoding"] = "gzip";
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}
