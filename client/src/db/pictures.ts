/**
 * Pictures that can be fetched again: kept so that they show at once and offline, thrown away
 * oldest first. Never the only copy of anything, so that a failure here is no failure.
 */
import type { DBSchema } from "idb";
import { Door, type Plan, type Watcher } from "./door";

export type PictureSize = "thumb" | "preview" | "full";

export interface Picture {
  readonly type: string;
  readonly bytes: ArrayBuffer;
}

interface Use {
  key: string;
  used_at: number;
  size_bytes: number;
  /** Kept whatever its age: drawings that the bench needs offline. */
  pinned: boolean;
}

interface PicturesSchema extends DBSchema {
  bytes: { key: string; value: Picture };
  uses: { key: string; value: Use; indexes: { used_at: number } };
}

/** Bytes of pictures that are kept at most, drawings apart. */
export const PICTURES_MAX_BYTES = 150 * 1024 * 1024;

const plan = (workshop: string): Plan<PicturesSchema> => ({
  name: `bagtrail-${workshop}-pictures`,
  durability: "relaxed",
  upgrades: [
    (db) => {
      db.createObjectStore("bytes");
      db.createObjectStore("uses", { keyPath: "key" }).createIndex("used_at", "used_at");
    },
  ],
});

export class Pictures {
  readonly #door: Door<PicturesSchema>;

  constructor(
    workshop: string,
    tell?: Watcher,
    readonly maxBytes = PICTURES_MAX_BYTES,
  ) {
    this.#door = new Door(plan(workshop), tell);
  }

  /** A kept picture, which counts as used; undefined if there is none. */
  async get(blob: string, size: PictureSize, nowMs: number): Promise<Picture | undefined> {
    const key = `${blob}:${size}`;
    try {
      const found = await this.#door.read(["bytes"], (tx) => tx.objectStore("bytes").get(key));
      if (found) void this.#touch(key, nowMs);
      return found;
    } catch {
      return undefined;
    }
  }

  async has(blob: string, size: PictureSize): Promise<boolean> {
    try {
      const key = await this.#door.read(["uses"], (tx) =>
        tx.objectStore("uses").getKey(`${blob}:${size}`),
      );
      return key !== undefined;
    } catch {
      return false;
    }
  }

  /** Keeps a picture if there is room; says whether it did. */
  async put(
    blob: string,
    size: PictureSize,
    picture: Picture,
    nowMs: number,
    pinned = false,
  ): Promise<boolean> {
    const key = `${blob}:${size}`;
    const size_bytes = picture.bytes.byteLength;
    try {
      await this.#door.write(["bytes", "uses"], async (tx) => {
        await tx.objectStore("bytes").put(picture, key);
        // A drawing that was photographed here stays one when the server has it, too.
        const known = await tx.objectStore("uses").get(key);
        const stays = pinned || known?.pinned === true;
        await tx.objectStore("uses").put({ key, used_at: nowMs, size_bytes, pinned: stays });
      });
      await this.#trim(this.maxBytes);
      return true;
    } catch {
      // No room: what is older makes some, for the next one.
      await this.#trim(this.maxBytes / 2).catch(() => undefined);
      return false;
    }
  }

  close(): Promise<void> {
    return this.#door.close();
  }

  async #touch(key: string, nowMs: number): Promise<void> {
    try {
      await this.#door.write(["uses"], async (tx) => {
        const use = await tx.objectStore("uses").get(key);
        if (use) await tx.objectStore("uses").put({ ...use, used_at: nowMs });
      });
    } catch {
      // It only ages a little faster.
    }
  }

  #trim(limit: number): Promise<void> {
    return this.#door.write(["bytes", "uses"], async (tx) => {
      const all = await tx.objectStore("uses").index("used_at").getAll();
      const uses = all.filter(({ pinned }) => !pinned);
      let total = uses.reduce((sum, use) => sum + use.size_bytes, 0);
      for (const { key, size_bytes } of uses) {
        if (total <= limit) break;
        await tx.objectStore("bytes").delete(key);
        await tx.objectStore("uses").delete(key);
        total -= size_bytes;
      }
    });
  }
}
