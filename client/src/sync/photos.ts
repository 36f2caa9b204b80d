/**
 * Photos: made small and bare on the device, kept with their record, shown from the nearest place.
 */
import { randomId } from "../core/ids";
import { StorageFailure } from "../db/failure";
import type { Picture, Pictures, PictureSize } from "../db/pictures";
import type { Outbox } from "../db/outbox";
import type { Held } from "../db/held";
import { blobPath } from "../net/api";
import type { Http } from "../net/http";
import type { RecordStore } from "./store";
import type { Draft, Photos, StraightPage } from "./types";

/** Long side of a kept photo at most, in px; trade-off of detail against upload (DESIGN.md). */
export const LONG_SIDE_PX = 2560;
/** Long side of the small one made along with it, in px; as the server's. */
export const THUMB_PX = 320;
/** A file larger than this is not tried, in bytes. */
export const FILE_MAX_BYTES = 60 * 1024 * 1024;
const PICTURE_TIMEOUT_MS = 30_000;

/** `unreadable`: no picture that this device can read. `large`: more than it can take in. */
export type PictureFault = "unreadable" | "large";

const WORDS: Record<PictureFault, string> = {
  unreadable: "This device cannot read the file as a picture. Take a JPEG, PNG or WebP.",
  large: "This picture is too large for the device. Take a smaller one.",
};

export class PictureRefused extends Error {
  override readonly name = "PictureRefused";
  constructor(
    readonly fault: PictureFault,
    cause?: unknown,
  ) {
    super(WORDS[fault], { cause });
  }
}

/** A picture made by the device's own means. */
export interface Drawn {
  readonly type: string;
  readonly bytes: ArrayBuffer;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Draws a file upright at most `longSidePx` long, for each of the sizes; bare of camera data. */
export type Draw = (file: Blob, longSidesPx: readonly number[]) => Promise<Drawn[]>;

export interface PhotosContext {
  readonly http: Http;
  readonly store: RecordStore;
  readonly draw: Draw;
  readonly sha256: (bytes: ArrayBuffer) => Promise<string>;
  readonly nowMs: () => number;
  readonly randomBytes: (count: number) => Uint8Array;
  readonly urls: Pick<typeof URL, "createObjectURL" | "revokeObjectURL">;
}

export interface PhotoPlaces {
  readonly outbox: Outbox;
  readonly pictures: Pictures;
  readonly held: Held;
  readonly device: string;
}

export class SyncPhotos implements Photos {
  #places: PhotoPlaces | null = null;
  #drawing: Promise<unknown> = Promise.resolve();
  readonly #fetching = new Map<string, Promise<Picture | null>>();

  constructor(readonly context: PhotosContext) {}

  travel(places: PhotoPlaces | null): void {
    this.#places = places;
    this.#fetching.clear();
  }

  async add(file: Blob, about: { build: string; step: string | null }): Promise<void> {
    const places = this.#places;
    if (!places) throw new StorageFailure("lost");
    const { store, nowMs } = this.context;
    const [photo, thumb] = await this.#draw(file);
    const blob = await this.context.sha256(photo.bytes);
    const now = nowMs();
    // Paired to another workshop while it was drawn: the picture does not belong there.
    if (this.#places?.outbox !== places.outbox) throw new StorageFailure("lost");
    const draft: Draft<"photo"> = {
      type: "photo",
      id: randomId(this.context.randomBytes(16)),
      set: {
        build: about.build,
        ...(about.step === null ? {} : { step: about.step }),
        blob,
        media_type: mediaOf(photo.type),
        width_px: photo.widthPx,
        height_px: photo.heightPx,
        size_bytes: photo.bytes.byteLength,
        taken_at: new Date(takenMs(file, now)).toISOString(),
        device: places.device,
      },
    };
    await store.writePicture([draft as Draft], {
      blob, type: photo.type, bytes: photo.bytes, added_at: now,
    });
    await places.pictures.put(blob, "thumb", { type: thumb.type, bytes: thumb.bytes }, now);
  }

  async addPage(page: StraightPage, about: Parameters<Photos["addPage"]>[1]): Promise<string> {
    const places = this.#places;
    if (!places) throw new StorageFailure("lost");
    const { store, nowMs } = this.context;
    const blob = await this.context.sha256(page.bytes);
    const now = nowMs();
    if (this.#places?.outbox !== places.outbox) throw new StorageFailure("lost");
    const id = randomId(this.context.randomBytes(16));
    const record: Draft<"page"> = {
      type: "page",
      id,
      set: {
        kit: about.kit,
        ...(about.number === null ? {} : { number: about.number }),
        order: about.order,
        blob,
        width_px: page.widthPx,
        height_px: page.heightPx,
        device: places.device,
      },
    };
    const steps = about.steps.map(
      ({ id: step, frame }): Draft<"step"> => ({
        type: "step",
        id: step,
        set: { page: id, frame: frame && [...frame] },
      }),
    );
    const { type, bytes } = page;
    const drafts = [record as Draft, ...steps.map((step) => step as Draft)];
    await store.writePicture(drafts, { blob, type, bytes, added_at: now });
    // Shown without a network when its bytes have left the outbox, too, as fetched drawings are.
    await places.pictures.put(blob, "full", { type, bytes }, now, true);
    return id;
  }

  async hold(name: string, file: Blob): Promise<void> {
    if (!this.#places) throw new StorageFailure("lost");
    await this.#places.held.put(name, { type: file.type, bytes: await file.arrayBuffer() });
  }

  async held(name: string): Promise<Blob | null> {
    const found = await this.#places?.held.get(name).catch(() => undefined);
    return found ? new Blob([found.bytes], { type: found.type }) : null;
  }

  async letGo(name: string): Promise<void> {
    // What is left over is written over by the next picture of that name.
    await this.#places?.held.drop(name).catch(() => undefined);
  }

  async show(
    blob: string,
    size: PictureSize,
  ): Promise<{ url: string; release: () => void } | null> {
    const picture = await this.#find(blob, size);
    if (!picture) return null;
    const { type, bytes } = picture;
    const url = this.context.urls.createObjectURL(new Blob([bytes], { type }));
    let held = true;
    return {
      url,
      release: () => {
        if (held) this.context.urls.revokeObjectURL(url);
        held = false;
      },
    };
  }

  /**
   * Fetches the drawings of a kit that are not kept yet, one at a time, for use without a network.
   * Stops at the first that cannot be had or kept; the next call goes on from there.
   */
  async prefetch(kit: string): Promise<void> {
    const places = this.#places;
    for (const page of this.context.store.where("page", "kit", kit)) {
      const { blob } = page.values;
      if (!places || this.#places !== places || typeof blob !== "string") return;
      if (await places.pictures.has(blob, "full")) continue;
      const reply = await this.context.http.picture(blobPath(blob, "full"), PICTURE_TIMEOUT_MS);
      if (reply.kind === "ok") {
        const now = this.context.nowMs();
        if (!(await places.pictures.put(blob, "full", reply.value, now, true))) return;
      } else if (reply.kind !== "problem" || reply.problem.status !== 404) return;
    }
  }

  async #find(blob: string, size: PictureSize): Promise<Picture | null> {
    const places = this.#places;
    if (!places) return null;
    const now = this.context.nowMs();
    const { pictures, outbox } = places;
    const kept = await pictures.get(blob, size, now);
    if (kept) return kept;
    const own = await outbox.photo(blob).catch(() => undefined);
    if (own) return { type: own.type, bytes: own.bytes };
    // A larger one at hand is better than a smaller one over the network, and is all there is
    // offline.
    for (const other of LARGER[size]) {
      const larger = await pictures.get(blob, other, now);
      if (larger) return larger;
    }
    const fetched = await this.#fetch(blob, size, pictures);
    if (fetched) return fetched;
    for (const other of SMALLER[size]) {
      const smaller = await pictures.get(blob, other, now);
      if (smaller) return smaller;
    }
    return null;
  }

  /** One request for a picture, however many places ask for it at once. */
  #fetch(blob: string, size: PictureSize, pictures: Pictures): Promise<Picture | null> {
    const path = blobPath(blob, size);
    const known = this.#fetching.get(path);
    if (known) return known;
    const fetching = (async () => {
      const reply = await this.context.http.picture(path, PICTURE_TIMEOUT_MS);
      if (reply.kind !== "ok") return null;
      await pictures.put(blob, size, reply.value, this.context.nowMs());
      return reply.value;
    })().finally(() => this.#fetching.delete(path));
    this.#fetching.set(path, fetching);
    return fetching;
  }

  /** One at a time: a phone has memory for one large picture, not for two. */
  #draw(file: Blob): Promise<[photo: Drawn, thumb: Drawn]> {
    const drawing = this.#drawing.then(async (): Promise<[Drawn, Drawn]> => {
      if (file.size > FILE_MAX_BYTES) throw new PictureRefused("large");
      if (!file.size) throw new PictureRefused("unreadable");
      const [photo, thumb] = await this.context.draw(file, [LONG_SIDE_PX, THUMB_PX]);
      if (!photo || !thumb) throw new PictureRefused("unreadable");
      return [photo, thumb];
    });
    this.#drawing = drawing.catch(() => undefined);
    return drawing;
  }
}

const LARGER: Record<PictureSize, readonly PictureSize[]> = {
  thumb: ["preview", "full"],
  preview: ["full"],
  full: [],
};
const SMALLER: Record<PictureSize, readonly PictureSize[]> = {
  thumb: [],
  preview: ["thumb"],
  full: ["preview", "thumb"],
};

function mediaOf(type: string): "image/jpeg" | "image/png" | "image/webp" {
  if (type === "image/jpeg" || type === "image/png" || type === "image/webp") return type;
  throw new PictureRefused("unreadable");
}

/** When it was taken: now, or when the file was written if that was before. Ms since 1970. */
function takenMs(file: Blob, nowMs: number): number {
  const written = file instanceof File ? file.lastModified : nowMs;
  return written > 0 && written < nowMs ? written : nowMs;
}
