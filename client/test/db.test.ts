/** The browser's storage under trouble; failures by their number in the list of sync failures. */
import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { openDB } from "idb";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { Door, type Plan } from "../src/db/door";
import { StorageFailure } from "../src/db/failure";
import { Mirror } from "../src/db/mirror";
import { HISTORY_MS, Outbox, type Unminted } from "../src/db/outbox";
import { Pictures } from "../src/db/pictures";
import type { DBSchema } from "idb";

const CLOCK = "00000000000000d1";
const SHOP = "w";
const NOW = 1_800_000_000_000;

interface Notes extends DBSchema {
  notes: { key: string; value: string };
}
const notes = (versions = 1): Plan<Notes> => ({
  name: "notes",
  durability: "strict",
  upgrades: [
    (db) => void db.createObjectStore("notes"),
    ...Array.from({ length: versions - 1 }, () => () => undefined),
  ],
});
const write = (door: Door<Notes>, key: string, value: string): Promise<unknown> =>
  door.write(["notes"], (tx) => tx.objectStore("notes").put(value, key));
const readNote = (door: Door<Notes>, key: string): Promise<string | undefined> =>
  door.read(["notes"], (tx) => tx.objectStore("notes").get(key));

const note = (record: string, text: string): Unminted => ({
  type: "note", record, set: { text }, supersedes: [], floor: [],
});

async function outbox(): Promise<Outbox> {
  const box = new Outbox(SHOP);
  await box.adopt({ id: "d1", clock: CLOCK });
  return box;
}

const put = IDBObjectStore.prototype.put;
const add = IDBObjectStore.prototype.add;
beforeEach(() => {
  globalThis.indexedDB = new IDBFactory();
});
afterEach(() => {
  IDBObjectStore.prototype.put = put;
  IDBObjectStore.prototype.add = add;
});

/** Fails puts and adds of what `bad` says, as a browser does that is out of room. */
function refuse(bad: (store: string, value: unknown) => boolean): void {
  const wrap = (original: typeof put): typeof put =>
    function (this: IDBObjectStore, value: unknown, key?: IDBValidKey) {
      if (bad(this.name, value)) {
        this.transaction.abort();
        throw new DOMException("No room", "QuotaExceededError");
      }
      return key === undefined ? original.call(this, value) : original.call(this, value, key);
    };
  IDBObjectStore.prototype.put = wrap(put);
  IDBObjectStore.prototype.add = wrap(add);
}

async function trouble(work: Promise<unknown>): Promise<string> {
  const error: unknown = await work.then(() => "went through", (e: unknown) => e);
  return error instanceof StorageFailure ? error.trouble : String(error);
}

describe("a door", () => {
  it("tells of an old tab in the way instead of hanging (failure 21)", async () => {
    const old = await openDB("notes", 1, { upgrade: (db) => void db.createObjectStore("notes") });
    const heard: unknown[] = [];
    const door = new Door(notes(2), (what) => heard.push(what));
    expect(await trouble(write(door, "a", "1"))).toBe("blocked");
    expect(heard).toEqual(["blocked"]);
    old.close();
    await expect.poll(() => heard).toEqual(["blocked", null]);
    await write(door, "a", "1");
    expect(await readNote(door, "a")).toBe("1");
  });

  it("makes way for a newer app, and says that it has (failure 21)", async () => {
    const heard: unknown[] = [];
    const old = new Door(notes(1), (what) => heard.push(what));
    await write(old, "a", "1");
    const fresh = new Door(notes(2));
    expect(await readNote(fresh, "a")).toBe("1");
    expect(heard).toEqual(["blocked"]);
    expect(await trouble(write(old, "b", "2"))).toBe("blocked");
  });

  it("opens again when the connection has died, and claims nothing unsaved (failure 26)", async () => {
    const door = new Door(notes());
    await write(door, "a", "1");
    const begin = IDBDatabase.prototype.transaction;
    let deaths = 0;
    IDBDatabase.prototype.transaction = function (this: IDBDatabase, ...args: Parameters<typeof begin>) {
      if (deaths < 2) {
        deaths += 1;
        this.close();
      }
      return begin.apply(this, args);
    };
    try {
      await write(door, "b", "2");
      expect(await readNote(door, "b")).toBe("2");
      IDBDatabase.prototype.transaction = () => {
        throw new DOMException("The connection is closing.", "InvalidStateError");
      };
      expect(await trouble(write(door, "c", "3"))).toBe("lost");
    } finally {
      IDBDatabase.prototype.transaction = begin;
    }
    await write(door, "d", "4");
    expect(await readNote(door, "c")).toBeUndefined();
  });

  it("rejects a write whose transaction aborts after its requests went well (failure 27)", async () => {
    const door = new Door(notes());
    const work = door.write(["notes"], async (tx) => {
      await tx.objectStore("notes").put("1", "a");
      tx.abort();
    });
    expect(await trouble(work)).toBe("lost");
    expect(await readNote(door, "a")).toBeUndefined();
  });

  it("keeps nothing of a write whose second half fails", async () => {
    const door = new Door(notes());
    const work = door.write(["notes"], async (tx) => {
      await tx.objectStore("notes").put("1", "a");
      throw new Error("ours");
    });
    await expect(work).rejects.toThrow("ours");
    expect(await readNote(door, "a")).toBeUndefined();
  });
});

describe("the outbox", () => {
  it("mints no id twice, however many tabs write at once (failure 20)", async () => {
    const [one, two] = [await outbox(), await outbox()];
    const saves = Array.from({ length: 200 }, (_, i) =>
      (i % 2 ? one : two).save([note(`r${i}`, "x"), note(`s${i}`, "y")], { nowMs: NOW }),
    );
    const rows = (await Promise.all(saves)).flat();
    expect(new Set(rows.map((row) => row.id)).size).toBe(400);
    expect(new Set(rows.map((row) => row.stamp)).size).toBe(400);
    const kept = await one.unsent();
    expect(kept.map((row) => row.id)).toEqual(kept.map((_, i) => `${CLOCK}.${i + 1}`));
    const stamps = kept.map((row) => row.stamp);
    expect(stamps).toEqual([...stamps].sort());
  });

  it("advances the clock only with the write (failure 13)", async () => {
    const box = await outbox();
    await box.save([note("a", "1")], { nowMs: NOW });
    const before = await box.clock();
    refuse((store, value) => store === "changes" && (value as { record: string }).record === "c");
    expect(await trouble(box.save([note("b", "2"), note("c", "3")], { nowMs: NOW }))).toBe("full");
    expect(await box.clock()).toEqual(before);
    expect(await box.unsent()).toHaveLength(1);
  });

  it("refuses a photo when there is no room, and keeps what was typed (failure 23)", async () => {
    const box = await outbox();
    refuse((store) => store === "photos");
    const photo = { blob: "b".repeat(64), type: "image/jpeg", bytes: new ArrayBuffer(9), added_at: NOW };
    expect(await trouble(box.save([note("p", "photo")], { nowMs: NOW, photo }))).toBe("full");
    expect(await box.unsent()).toEqual([]);
    await box.save([note("n", "text")], { nowMs: NOW });
    expect(await box.unsent()).toMatchObject([{ record: "n" }]);
  });

  it("keeps photos as ArrayBuffer, never as Blob (failure 25, pitfall 28)", async () => {
    const blobs: unknown[] = [];
    refuse((_, value) => {
      const inside = typeof value === "object" && value !== null ? Object.values(value) : [];
      blobs.push(...[value, ...inside].filter((part) => part instanceof Blob));
      return blobs.length > 0;
    });
    const box = await outbox();
    const bytes = new TextEncoder().encode("picture").buffer as ArrayBuffer;
    const photo = { blob: "b".repeat(64), type: "image/jpeg", bytes, added_at: NOW };
    await box.save([note("p", "photo")], { nowMs: NOW, photo });
    expect(blobs).toEqual([]);
    const kept = await box.photo(photo.blob);
    expect(new TextDecoder().decode(kept!.bytes)).toBe("picture");
    expect(await new Pictures(SHOP).put("c", "thumb", { type: "image/jpeg", bytes }, NOW)).toBe(true);
  });

  it("is a database of its own: a mirror that is swapped or thrown away leaves it (failure 22)", async () => {
    const box = await outbox();
    await box.save([note("a", "1")], { nowMs: NOW });
    const mirror = new Mirror(SHOP);
    await mirror.swap([], { epoch: "e", seq: 1, change: null });
    await mirror.close();
    indexedDB.deleteDatabase(`bagtrail-${SHOP}`);
    expect(await box.unsent()).toMatchObject([{ record: "a", set: { text: "1" } }]);
  });

  it("puts aside rows that cannot be read, and goes on with the others (failure 22)", async () => {
    const box = await outbox();
    await box.save([note("a", "1"), note("b", "2"), note("c", "3")], { nowMs: NOW });
    const raw = await openDB(`bagtrail-${SHOP}-outbox`);
    const [, second] = (await raw.getAll("changes")) as { n: number }[];
    await raw.put("changes", { ...second, set: "of an unknown release" });
    raw.close();
    expect((await box.unsent()).map((row) => row.record)).toEqual(["a", "c"]);
    expect((await box.counts()).quarantined).toBe(1);
    expect((await box.unsent()).map((row) => row.record)).toEqual(["a", "c"]);
  });

  it("takes back what was put aside once it can read it, as a newer version may (failure 22)", async () => {
    const box = await outbox();
    await box.save([note("a", "1"), note("b", "2")], { nowMs: NOW });
    const raw = await openDB(`bagtrail-${SHOP}-outbox`);
    const [first] = (await raw.getAll("changes")) as { n: number }[];
    await raw.put("changes", { ...first, set: "of an unknown release" });
    await box.unsent();
    const [aside] = (await raw.getAll("quarantine")) as { n: number; row: object }[];
    await raw.put("quarantine", { ...aside, row: first });
    raw.close();
    const later = await outbox();
    expect((await later.unsent()).map((row) => row.record)).toEqual(["a", "b"]);
    expect((await later.counts()).quarantined).toBe(0);
  });

  it("throws nothing away because the storage does not answer for a while (failure 26)", async () => {
    const box = await outbox();
    await box.save([note("a", "1"), note("b", "2")], { nowMs: NOW });
    const { get, getAll } = IDBObjectStore.prototype;
    const byIndex = IDBIndex.prototype.getAll;
    const fail = (): never => {
      throw new DOMException("Internal error", "UnknownError");
    };
    IDBIndex.prototype.getAll = fail;
    IDBObjectStore.prototype.get = fail;
    const answer = await trouble(box.unsent());
    Object.assign(IDBObjectStore.prototype, { get, getAll });
    IDBIndex.prototype.getAll = byIndex;
    expect(answer).toBe("lost");
    expect((await box.unsent()).map((row) => row.record)).toEqual(["a", "b"]);
    expect((await box.counts()).quarantined).toBe(0);
  });

  it("reads what release 1 wrote (failure 22)", async () => {
    // A copy of what the first release keeps, by hand: a later one must read it without loss.
    const db = await openDB(`bagtrail-${SHOP}-outbox`, 1, {
      upgrade(raw) {
        const changes = raw.createObjectStore("changes", { keyPath: "n", autoIncrement: true });
        changes.createIndex("id", "id", { unique: true });
        changes.createIndex("state", "state");
        changes.createIndex("seq", "seq");
        changes.createIndex("epoch", "epoch");
        raw.createObjectStore("photos", { keyPath: "blob" }).createIndex("state", "state");
        raw.createObjectStore("meta");
        raw.createObjectStore("quarantine", { keyPath: "n" });
      },
    });
    await db.add("changes", {
      id: `${CLOCK}.1`, type: "note", record: "r", set: { text: "old" },
      stamp: `01a3185c50000000${CLOCK}`, supersedes: [], state: "unsent",
    });
    await db.put("meta", { clock: CLOCK, counter: 1, ms: 0x01a3185c5000, tick: 0, offsetMs: 0 }, "clock");
    db.close();
    const box = await outbox();
    expect(await box.unsent()).toMatchObject([{ set: { text: "old" } }]);
    const [row] = await box.save([note("s", "new")], { nowMs: 1 });
    expect(row!.id).toBe(`${CLOCK}.2`);
    expect(row!.stamp > `01a3185c50000000${CLOCK}`).toBe(true);
  });

  it("gives unsent changes new ids when the device gets a new clock, group and order kept", async () => {
    const box = await outbox();
    const [first] = await box.save([note("a", "1")], { nowMs: NOW });
    const pair = [{ ...note("a", "2"), supersedes: [first!.id] }, note("b", "3")];
    const old = await box.save(pair, { nowMs: NOW, together: true });
    await box.settle([{ id: first!.id, state: "sent", seq: 1 }], { serverNow: null, nowMs: NOW });
    await box.adopt({ id: "d2", clock: "00000000000000ee" });
    const rows = await box.unsent();
    expect(rows.map((row) => row.id)).toEqual(["00000000000000ee.1", "00000000000000ee.2"]);
    expect(rows[0]!.supersedes).toEqual([first!.id]);
    expect(rows.map((row) => row.group)).toEqual([{ first: 1, size: 2 }, { first: 1, size: 2 }]);
    expect(rows.map((row) => row.stamp.slice(0, 16))).toEqual(old.map((row) => row.stamp.slice(0, 16)));
    const [next] = await box.save([note("c", "4")], { nowMs: 0 });
    expect(next!.stamp > rows[1]!.stamp).toBe(true);
    expect(next!.id).toBe("00000000000000ee.3");
  });

  it("takes the first word of the server on a change, whatever comes later for the same", async () => {
    const box = await outbox();
    const [row] = await box.save([note("a", "1")], { nowMs: NOW });
    const time = { serverNow: null, nowMs: NOW };
    await box.settle([{ id: row!.id, state: "sent", seq: 4, epoch: "e1" }], time);
    await box.settle([{ id: row!.id, state: "parked", problem: { type: "x", title: "x" } }], time);
    await box.settle([{ id: row!.id, state: "sent", seq: 9, epoch: "e2" }], time);
    expect(await box.above(0)).toMatchObject([{ id: row!.id, state: "sent", seq: 4, epoch: "e1" }]);
    expect((await box.counts()).parked).toEqual([]);
  });

  it("takes what was parked as sent when the server has it after all", async () => {
    const box = await outbox();
    const [row] = await box.save([note("a", "1")], { nowMs: NOW });
    const time = { serverNow: null, nowMs: NOW };
    await box.settle([{ id: row!.id, state: "parked", problem: { type: "x", title: "x" } }], time);
    await box.settle([{ id: row!.id, state: "sent", seq: 4, epoch: "e1" }], time);
    const [kept] = await box.above(0);
    expect(kept).toMatchObject({ state: "sent", seq: 4 });
    expect(kept).not.toHaveProperty("problem");
  });

  it("offers what it sent for 60 days, and keeps what the mirror does not hold for longer", async () => {
    const box = await outbox();
    const rows = await box.save([note("a", "1"), note("b", "2"), note("c", "3")], { nowMs: NOW });
    const settle = (i: number, seq: number, at: number): Promise<void> =>
      box.settle([{ id: rows[i]!.id, state: "sent", seq, epoch: "e1" }], {
        serverNow: null, nowMs: at,
      });
    await settle(0, 1, NOW - HISTORY_MS - 1);
    await settle(1, 2, NOW - HISTORY_MS + 1000);
    await settle(2, 9, NOW - HISTORY_MS - 1);
    await box.prune(NOW, 5);
    expect(await box.ofOtherEpochs("e2")).toEqual([rows[1]!.id, rows[2]!.id]);
    expect(await box.ofOtherEpochs("e1")).toEqual([]);
    expect((await box.above(5)).map((row) => row.id)).toEqual([rows[2]!.id]);
  });

  it("gives the turn to one of two tabs, and on when its lease has run out (failure 19)", async () => {
    const box = await outbox();
    expect(await box.lease("one", NOW, NOW + 1000)).toBe(true);
    expect(await box.lease("two", NOW + 999, NOW + 2000)).toBe(false);
    expect(await box.lease("two", NOW + 1001, NOW + 3000)).toBe(true);
    expect(await box.lease("one", NOW + 1002, NOW + 3000)).toBe(false);
  });
});

describe("kept pictures", () => {
  it("make room for new ones, oldest use first, but for drawings", async () => {
    const pictures = new Pictures(SHOP, undefined, 250);
    const bytes = new ArrayBuffer(100);
    const picture = { type: "image/jpeg", bytes };
    await pictures.put("drawing", "full", picture, 1, true);
    await pictures.put("a", "full", picture, 2);
    await pictures.put("b", "full", picture, 3);
    await pictures.get("a", "full", 4);
    await expect.poll(async () => {
      await pictures.put("c", "full", picture, 5);
      return pictures.has("b", "full");
    }).toBe(false);
    expect(await pictures.has("a", "full")).toBe(true);
    expect(await pictures.has("drawing", "full")).toBe(true);
  });
});

describe("a mirror", () => {
  it("takes 10,000 records and hands a scope back whole", { timeout: 20_000 }, async () => {
    const mirror = new Mirror(SHOP);
    const records = Array.from({ length: 10_000 }, (_, i) => ({
      type: "part_line", id: `r${i}`, scope: `kit${i % 4}`,
      heads: [{ id: `${CLOCK}.${i + 1}`, stamp: `01a3185c50000000${CLOCK}`, set: { quantity: i } }],
    }));
    await mirror.swap(records, { epoch: "e", seq: 10_000, change: null });
    const { records: some, cursor } = await mirror.scope("kit1");
    expect(some).toHaveLength(2_500);
    expect(cursor?.seq).toBe(10_000);
    expect(some.find((one) => one.id === "r1")).toEqual(records[1]);
  });

  it("finds a bag by its label in any kit", async () => {
    const mirror = new Mirror(SHOP);
    const bag = { type: "bag", id: "b", scope: "kit2", code: "7K3QX2AB", heads: [] };
    await mirror.apply([bag, { ...bag, id: "c", code: "ABCD1234" }], { epoch: "e", seq: 1, change: null });
    expect(await mirror.byCode("bag", "7K3QX2AB")).toEqual([bag]);
    expect(await mirror.byCode("barcode", "7K3QX2AB")).toEqual([]);
  });

  it("of the first version keeps everything, and finds barcodes that came before they were known", async () => {
    // The database as version 1 made it, with what an app pulled that did not know of barcodes.
    const old = await openDB(`bagtrail-${SHOP}`, 1, {
      upgrade(db) {
        const records = db.createObjectStore("records", { keyPath: "key" });
        records.createIndex("scope", "scope");
        records.createIndex("code", "code");
        db.createObjectStore("meta");
      },
    });
    const heads = (...sets: object[]): string =>
      JSON.stringify(sets.map((set, at) => [`${CLOCK}.${at + 1}`, `01a3185c5000000${at}${CLOCK}`, set]));
    const cursor = { epoch: "e", seq: 7, change: `${CLOCK}.7` };
    await old.put("meta", cursor, "cursor");
    for (const [key, set, more] of [
      ["bag:b", { kit: "k", number: "4", code: "7K3QX2AB" }, { code: "7K3QX2AB" }],
      ["barcode:x", { kit: "k", bag: "b", text: "06291041500213" }, {}],
      ["barcode:y", { kit: "k", bag: "c", text: "06291041500213" }, {}],
      ["barcode:z", { kit: "k", bag: "c", text: "CMW-T6-04" }, {}],
      ["step:s", { kit: "k", number: "1.1" }, {}],
    ] as const) {
      await old.put("records", { key, scope: "k", heads: heads(set), ...more });
    }
    old.close();

    const mirror = new Mirror(SHOP);
    const found = await mirror.byCode("barcode", "06291041500213");
    expect(found.map(({ id }) => id)).toEqual(["x", "y"]);
    expect(found[0]).toMatchObject({ type: "barcode", scope: "k", heads: [{ set: { bag: "b" } }] });
    expect(await mirror.byCode("bag", "7K3QX2AB")).toHaveLength(1);
    const all = await mirror.scope("k");
    expect(all.cursor).toEqual(cursor);
    expect(all.records.map(({ type, id }) => `${type}:${id}`)).toEqual([
      "bag:b", "barcode:x", "barcode:y", "barcode:z", "step:s",
    ]); // prettier-ignore
    await mirror.close();
  });
});
