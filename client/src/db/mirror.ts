/**
 * The mirror: the server's state of this workshop's records as pulled, and the cursor. Rewritten by
 * pulls only, and never the only copy of anything.
 */
import { unwrap, type DBSchema } from "idb";
import type { Head } from "../core/merge";
import { Door, type Plan, type Watcher } from "./door";

/** Where the mirror stands in the server's sequence. */
export interface Cursor {
  readonly epoch: string;
  readonly seq: number;
  readonly change: string | null;
}

/** A record as the server has it. `scope`: the kit or build it belongs to, "" for the workshop. */
export interface MirrorRecord {
  readonly type: string;
  readonly id: string;
  readonly scope: string;
  /** What it can be found by in any kit: label code of a bag, text of a barcode, as shown. */
  readonly code?: string;
  readonly heads: readonly Head[];
}

interface Row {
  /** `<type>:<id>`. */
  key: string;
  scope: string;
  code?: string;
  /** JSON of the heads: read and written several times faster than as objects. */
  heads: string;
}

interface MirrorSchema extends DBSchema {
  records: { key: string; value: Row; indexes: { scope: string; code: string } };
  meta: { key: "cursor"; value: Cursor };
}

const plan = (workshop: string): Plan<MirrorSchema> => ({
  name: `bagtrail-${workshop}`,
  durability: "relaxed",
  upgrades: [
    (db) => {
      const records = db.createObjectStore("records", { keyPath: "key" });
      records.createIndex("scope", "scope");
      records.createIndex("code", "code");
      db.createObjectStore("meta");
    },
    // Barcodes can be found by their texts, through the same index as bags by their label codes: an
    // index of its own would only be another to keep. Those that an app pulled which did not know
    // of them yet get theirs here; all else stays as it is.
    (_db, tx) => {
      const records = unwrap(tx.objectStore("records"));
      const asked = records.openCursor(IDBKeyRange.bound("barcode:", "barcode;", false, true));
      asked.onsuccess = () => {
        const at = asked.result;
        if (!at) return;
        const old = at.value as Row;
        const texts = record(old).heads.flatMap(({ set }) => set["text"] ?? []);
        const code = texts.at(-1);
        if (typeof code === "string") at.update({ ...old, code });
        at.continue();
      };
    },
  ],
});

export class Mirror {
  readonly #door: Door<MirrorSchema>;

  constructor(workshop: string, tell?: Watcher) {
    this.#door = new Door(plan(workshop), tell);
  }

  cursor(): Promise<Cursor | null> {
    return this.#door.read(["meta"], async (tx) => {
      const cursor = await tx.objectStore("meta").get("cursor");
      return cursor ?? null;
    });
  }

  /** The records of a scope, and the cursor that goes with them. */
  scope(scope: string): Promise<{ cursor: Cursor | null; records: MirrorRecord[] }> {
    return this.#door.read(["records", "meta"], async (tx) => {
      const [rows, cursor] = await Promise.all([
        tx.objectStore("records").index("scope").getAll(scope),
        tx.objectStore("meta").get("cursor"),
      ]);
      return { cursor: cursor ?? null, records: rows.map(record) };
    });
  }

  /** The records asked for that the mirror has. */
  get(
    keys: readonly { type: string; id: string }[],
  ): Promise<{ cursor: Cursor | null; records: MirrorRecord[] }> {
    return this.#door.read(["records", "meta"], async (tx) => {
      const store = tx.objectStore("records");
      const [cursor, ...rows] = await Promise.all([
        tx.objectStore("meta").get("cursor"),
        ...keys.map(({ type, id }) => store.get(`${type}:${id}`)),
      ]);
      const found = rows.filter((row): row is Row => row !== undefined);
      return { cursor: cursor ?? null, records: found.map(record) };
    });
  }

  /** The records of a type, of any kit, that are found by this code. */
  byCode(type: "bag" | "barcode", code: string): Promise<MirrorRecord[]> {
    return this.#door.read(["records"], async (tx) => {
      const rows = await tx.objectStore("records").index("code").getAll(code);
      return rows.map(record).filter((one) => one.type === type);
    });
  }

  /** Replaces these records and the cursor, or neither. */
  async apply(records: Iterable<MirrorRecord>, cursor: Cursor): Promise<void> {
    await this.#put(records, cursor, false);
  }

  /** Replaces everything: what a device that starts from the beginning has pulled in full. */
  async swap(records: Iterable<MirrorRecord>, cursor: Cursor): Promise<void> {
    await this.#put(records, cursor, true);
  }

  close(): Promise<void> {
    return this.#door.close();
  }

  #put(records: Iterable<MirrorRecord>, cursor: Cursor, clear: boolean): Promise<void> {
    const rows = Array.from(records, row);
    return this.#door.write(["records", "meta"], async (tx) => {
      // Without a promise for each of thousands: the transaction fails if one of them does.
      const store = unwrap(tx.objectStore("records"));
      if (clear) store.clear();
      for (const one of rows) store.put(one);
      await tx.objectStore("meta").put(cursor, "cursor");
    });
  }
}

function row({ type, id, scope, code, heads }: MirrorRecord): Row {
  const packed = JSON.stringify(heads.map((head) => [head.id, head.stamp, head.set]));
  return { key: `${type}:${id}`, scope, ...(code === undefined ? {} : { code }), heads: packed };
}

function record({ key, scope, code, heads }: Row): MirrorRecord {
  const at = key.indexOf(":");
  const parsed = JSON.parse(heads) as [string, string, Record<string, unknown>][];
  return {
    type: key.slice(0, at),
    id: key.slice(at + 1),
    scope,
    ...(code === undefined ? {} : { code }),
    heads: parsed.map(([head, stamp, set]) => ({ id: head, stamp, set })),
  };
}
