/**
 * Sends a file of any size, straight from where it lies, and says how far it is. `fetch` cannot tell
 * how much of a body has been sent; so this is the other half of the door to the network.
 */
import { PROTOCOL, replyOf, type Reply } from "./http";

export interface Upload<T> {
  readonly path: string;
  readonly file: Blob;
  readonly headers?: Readonly<Record<string, string>>;
  readonly read: (body: unknown) => T;
  /** How much of the file is sent, 0 to 1. At 1 the server has all of it and has begun to look. */
  readonly onSent: (share: number) => void;
}

/** Never rejects. `signal` gives it up. */
export function upload<T>(call: Upload<T>, signal?: AbortSignal): Promise<Reply<T>> {
  return new Promise((done) => {
    const request = new XMLHttpRequest();
    const failed = () => done({ kind: "offline", timedOut: false });
    request.open("POST", call.path);
    request.setRequestHeader("Accept", "application/json, application/problem+json");
    request.setRequestHeader("Content-Type", "application/zip");
    request.setRequestHeader("Bagtrail-Protocol", PROTOCOL);
    for (const [name, value] of Object.entries(call.headers ?? {})) {
      request.setRequestHeader(name, value);
    }
    request.upload.onprogress = ({ loaded, total }) => call.onSent(total > 0 ? loaded / total : 0);
    request.upload.onload = () => call.onSent(1);
    request.onload = () => {
      const headers: Record<string, string> = {};
      for (const name of ["Content-Type", "Retry-After", "Date"]) {
        const value = request.getResponseHeader(name);
        if (value !== null) headers[name] = value;
      }
      const { status } = request;
      const body = status === 204 ? null : request.responseText;
      replyOf(call, new Response(body, { status, headers })).then(done, failed);
    };
    request.onerror = request.onabort = request.ontimeout = failed;
    signal?.addEventListener("abort", () => request.abort());
    request.send(call.file);
  });
}
