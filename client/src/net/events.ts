/** The server's hints that there is something to pull, as server-sent events. */

export interface Hint {
  readonly epoch: string;
  readonly seq: number;
}

/** Listens until the returned function is called, or until `failed` is, which happens once. */
export type Listen = (hear: (hint: Hint) => void, failed: () => void) => () => void;

/** Null where the browser knows no server-sent events. */
export function browserListen(): Listen | null {
  if (typeof EventSource === "undefined") return null;
  return (hear, failed) => {
    const source = new EventSource("/api/sync/events");
    source.addEventListener("message", (event: MessageEvent<string>) => {
      const hint = hintOf(event.data);
      if (hint) hear(hint);
    });
    source.addEventListener("error", () => {
      // The caller decides when to try again: the browser's own way knows no patience.
      source.close();
      failed();
    });
    return () => source.close();
  };
}

function hintOf(data: string): Hint | null {
  try {
    const { epoch, seq } = JSON.parse(data) as Record<string, unknown>;
    return typeof epoch === "string" && typeof seq === "number" ? { epoch, seq } : null;
  } catch {
    return null;
  }
}
