/** The page's side of straightening: starts the worker when first needed, asks, waits. */
import type { Quad } from "../../core/quad";
import type { Look } from "../../core/readable";
import type { StraightPage } from "../../sync/types";

/** Corners are fractions of the picture's width and height. */
export type AskedOfPage =
  | { kind: "open"; file: Blob }
  | { kind: "make"; corners: Quad; look: Look };

export type ToldOfPage =
  /** `guess`: where the corners seem to be; null: nothing looks like a page. Sizes in px. */
  | { kind: "opened"; width: number; height: number; guess: Quad | null }
  | { kind: "made"; page: StraightPage }
  /** The file is no picture that this device reads. */
  | { kind: "unreadable" }
  /** The corners are those of no sheet. */
  | { kind: "noSheet" }
  | { kind: "lost"; why: string };

export interface Straightener {
  ask(asked: AskedOfPage): Promise<ToldOfPage>;
  close(): void;
}

/** The part of a Worker that is used, so that a test can stand in for it. */
export interface PageWorker {
  postMessage(message: { id: number; asked: AskedOfPage }): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<{ id: number; told: ToldOfPage }>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

const startWorker = (): PageWorker =>
  new Worker(new URL("./straighten.worker.ts", import.meta.url), { type: "module" });

/** Answers never fail: what went wrong is one of them. */
export function makeStraightener(start: () => PageWorker = startWorker): Straightener {
  let worker: PageWorker | null = null;
  let asked = 0;
  const waiting = new Map<number, (told: ToldOfPage) => void>();

  function lost(why: string): void {
    worker?.terminate();
    worker = null;
    for (const answer of waiting.values()) answer({ kind: "lost", why });
    waiting.clear();
  }

  function running(): PageWorker {
    if (worker) return worker;
    worker = start();
    worker.onmessage = ({ data }) => {
      waiting.get(data.id)?.(data.told);
      waiting.delete(data.id);
    };
    worker.onerror = (event) => lost(event.message || "The worker could not be loaded.");
    return worker;
  }

  return {
    ask: (what) =>
      new Promise((answer) => {
        const id = ++asked;
        waiting.set(id, answer);
        try {
          running().postMessage({ id, asked: what });
        } catch (error) {
          waiting.delete(id);
          answer({ kind: "lost", why: error instanceof Error ? error.message : String(error) });
        }
      }),
    close: () => lost("It was closed."),
  };
}
