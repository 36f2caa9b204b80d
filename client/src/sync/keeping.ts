/** What this device promises about keeping things, and a copy of what exists only here. */
import { signal, type ReadonlySignal, type Signal } from "@preact/signals";
import { StorageFailure } from "../db/failure";
import { isChange, type Outbox, type PhotoRow, type Quarantined } from "../db/outbox";
import type { RecordChange } from "../core/packing";
import type { RecordStore } from "./store";
import type { Keeping } from "./types";

const WHAT = "bagtrail-unsent";
const VERSION = 1;

/** The file is no copy of unsent work, or of another workshop; the message says which. */
export class CopyRefused extends Error {
  override readonly name = "CopyRefused";
}

interface Copy {
  what: typeof WHAT;
  version: typeof VERSION;
  workshop: string;
  saved_at: string;
  changes: RecordChange[];
  photos: { blob: string; type: string; base64: string }[];
  /** What this version of the app cannot read, as it was found. */
  aside: Quarantined[];
}

export interface KeepingContext {
  readonly storage: Pick<StorageManager, "persist" | "persisted"> | undefined;
  readonly store: RecordStore;
  readonly nowMs: () => number;
  readonly sha256: (bytes: ArrayBuffer) => Promise<string>;
  /** Something was taken in: there is something to send. */
  readonly wrote: () => void;
}

export class SyncKeeping implements Keeping {
  readonly #persisted: Signal<boolean | null> = signal<boolean | null>(null);
  #place: { workshop: string; outbox: Outbox } | null = null;

  constructor(readonly context: KeepingContext) {}

  get persisted(): ReadonlySignal<boolean | null> {
    return this.#persisted;
  }

  travel(place: { workshop: string; outbox: Outbox } | null): void {
    this.#place = place;
  }

  /** Looks whether the browser has promised to keep what is stored. Never throws. */
  async look(): Promise<void> {
    try {
      this.#persisted.value = (await this.context.storage?.persisted()) ?? null;
    } catch {
      this.#persisted.value = null;
    }
  }

  async askToPersist(): Promise<boolean> {
    try {
      const kept = (await this.context.storage?.persist()) ?? null;
      this.#persisted.value = kept;
      return kept === true;
    } catch {
      return false;
    }
  }

  async copyUnsent(): Promise<Blob> {
    if (!this.#place) throw new StorageFailure("lost");
    const { workshop, outbox } = this.#place;
    const { changes, photos, aside } = await outbox.unconfirmed();
    const copy: Copy = {
      what: WHAT,
      version: VERSION,
      workshop,
      saved_at: new Date(this.context.nowMs()).toISOString(),
      changes: changes.map(({ id, type, record, set, stamp, supersedes, group }) => ({
        id, type, record, set, stamp, supersedes, ...(group ? { group } : {}),
      })),
      photos: photos.map(({ blob, type, bytes }) => ({ blob, type, base64: toBase64(bytes) })),
      aside,
    };
    return new Blob([JSON.stringify(copy)], { type: "application/json" });
  }

  async loadCopy(file: Blob): Promise<number> {
    if (!this.#place) throw new StorageFailure("lost");
    const copy = copyOf(await file.text());
    if (copy.workshop !== this.#place.workshop) {
      throw new CopyRefused("This copy belongs to another workshop. Pair this device to it first.");
    }
    const photos: Omit<PhotoRow, "state">[] = [];
    for (const { blob, type, base64 } of copy.photos) {
      const bytes = fromBase64(base64);
      if ((await this.context.sha256(bytes)) !== blob) {
        throw new CopyRefused("A photo in this copy is damaged. Use another copy if there is one.");
      }
      photos.push({ blob, type, bytes, added_at: this.context.nowMs() });
    }
    const taken = await this.context.store.rework(({ outbox }) =>
      outbox.takeIn(copy.changes, photos),
    );
    this.context.wrote();
    return taken;
  }
}

function copyOf(text: string): Copy {
  let copy: Partial<Copy> | null = null;
  try {
    copy = JSON.parse(text) as Partial<Copy> | null;
  } catch {
    // Told below.
  }
  const lists = Array.isArray(copy?.changes) && Array.isArray(copy.photos);
  if (copy?.what !== WHAT || !lists) {
    throw new CopyRefused("This file is no copy of unsent work made by this app.");
  }
  if (copy.version !== VERSION) {
    throw new CopyRefused("This copy was made by a newer app. Update this one first.");
  }
  const sound =
    (copy.changes ?? []).every(isChange) &&
    (copy.photos ?? []).every((photo: Partial<Copy["photos"][number]> | null) =>
      [photo?.blob, photo?.type, photo?.base64].every((part) => typeof part === "string"),
    );
  if (!sound) throw new CopyRefused("This copy is damaged: some of it cannot be read.");
  return copy as Copy;
}

/** In pieces: all bytes at once are too many arguments. */
function toBase64(bytes: ArrayBuffer): string {
  const view = new Uint8Array(bytes);
  let text = "";
  for (let i = 0; i < view.length; i += 0x8000) {
    text += String.fromCharCode(...view.subarray(i, i + 0x8000));
  }
  return btoa(text);
}

function fromBase64(text: string): ArrayBuffer {
  try {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
    return bytes.buffer;
  } catch {
    throw new CopyRefused("A photo in this copy is damaged. Use another copy if there is one.");
  }
}
