/** The page's side of the decoder: starts the worker when first needed, asks, waits. */
import type { Symbology } from "../core/gtin";

/** What can be read: a camera's frame as it came, or a picture made of anything else. */
export type Picture = ImageBitmap | VideoFrame;

/** A picture to read. */
export interface Asked {
  id: number;
  picture: Picture;
  thorough: boolean;
}

/** What came of it; `ms` is the time in the worker, pixels included. */
export type Told = ({ id: number; failure?: undefined } & Decoded) | { id: number; failure: string };

/** What a symbol says and of which kind it is; both null where none was read. */
export interface Decoded {
  text: string | null;
  symbology: Symbology | null;
  ms: number;
}

/** A symbol that was read. */
export interface Seen {
  text: string;
  symbology: Symbology;
}

export const seenIn = ({ text, symbology }: Decoded): Seen | null =>
  text === null || symbology === null ? null : { text, symbology };

/** The decoder could not be loaded or broke: the camera is of no use, typing still is. */
export class DecoderFailure extends Error {
  override name = "DecoderFailure";
}

export interface Decoder {
  /**
   * Reads one picture, which is used up by it.
   * Rejects with {@link DecoderFailure} if the decoder is not to be had.
   */
  decode(picture: Picture, thorough: boolean): Promise<Decoded>;
  close(): void;
}

/** The part of a Worker that is used, so that a test can stand in for it. */
export interface WorkerLike {
  postMessage(message: Asked, transfer: Transferable[]): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<Told>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

const startWorker = (): WorkerLike =>
  new Worker(new URL("./decoder.worker.ts", import.meta.url), { type: "module" });

/** A decoder; its worker and the WebAssembly behind it are loaded at the first picture. */
export function makeDecoder(start: () => WorkerLike = startWorker): Decoder {
  let worker: WorkerLike | null = null;
  let asked = 0;
  const waiting = new Map<number, { done(told: Decoded): void; failed(why: Error): void }>();

  function broken(why: string): void {
    worker?.terminate();
    worker = null;
    for (const each of waiting.values()) each.failed(new DecoderFailure(why));
    waiting.clear();
  }

  function running(): WorkerLike {
    if (worker) return worker;
    const fresh = start();
    fresh.onmessage = ({ data }) => {
      const who = waiting.get(data.id);
      waiting.delete(data.id);
      if (data.failure !== undefined) return who?.failed(new DecoderFailure(data.failure));
      const { text, symbology, ms } = data;
      who?.done({ text, symbology, ms });
    };
    fresh.onerror = (event) => broken(event.message || "The decoder could not be loaded.");
    worker = fresh;
    return fresh;
  }

  return {
    decode: (picture, thorough) =>
      new Promise((done, failed) => {
        const id = ++asked;
        waiting.set(id, { done, failed });
        try {
          running().postMessage({ id, picture, thorough }, [picture]);
        } catch (error) {
          waiting.delete(id);
          picture.close();
          failed(new DecoderFailure(error instanceof Error ? error.message : String(error)));
        }
      }),
    close: () => broken("The decoder was closed."),
  };
}
