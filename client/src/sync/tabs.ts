/** News between the tabs of this browser. A hint only: what counts is in the databases. */
import type { Cursor } from "../db/mirror";

export interface RecordKey {
  readonly type: string;
  readonly id: string;
}

export type News =
  /**
   * Records have changed on this device, in the mirror or in the outbox; `null`: any of them.
   * `from`: where the mirror stood before. Whoever stood elsewhere has missed something.
   */
  | {
      readonly kind: "changed";
      readonly workshop: string;
      readonly records: readonly RecordKey[] | null;
      readonly from: Cursor | null;
    }
  /** The pairing has changed. */
  | { readonly kind: "pairing" };

export interface Tabs {
  post(news: News): void;
  /** Returns a function that stops it. */
  listen(hear: (news: News) => void): () => void;
}

/** Tabs of this origin; each channel hears the others, never itself. */
export function browserTabs(): Tabs {
  if (typeof BroadcastChannel === "undefined") {
    return { post: () => undefined, listen: () => () => undefined };
  }
  const channel = new BroadcastChannel("bagtrail");
  return {
    post: (news) => channel.postMessage(news),
    listen(hear) {
      const listener = (event: MessageEvent<News>): void => hear(event.data);
      channel.addEventListener("message", listener);
      return () => channel.removeEventListener("message", listener);
    },
  };
}
