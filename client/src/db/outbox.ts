/**
 * The outbox: the changes of this device that the server may not have, the bytes of its photos, and
 * its clock. A database of its own, so that nothing done to the mirror can touch it.
 */
import type { DBSchema, IDBPObjectStore } from "idb";
import { sameJson } from "../core/merge";
import { parseChangeId, type RecordChange } from "../core/packing";
import { correct, make, mint, newClock, parse, type ClockState, type Stamp } from "../core/stamps";
import { Door, type Plan, type Watcher } from "./door";

/** Why the server refused something (RFC 9457). */
export interface RowProblem {
  readonly type: string;
  readonly title: string;
  readonly detail?: string;
}

/** A change as it is kept. `n`: order of writing on this device. */
export interface OutboxRow extends RecordChange {
  readonly n: number;
  readonly state: "unsent" | "sent" | "parked";
  /** Where it stands in the server's sequence; 0: in the mirror for certain. Only when sent. */
  readonly seq?: number;
  /** The server's epoch in which that is. Only when sent. */
  readonly epoch?: string;
  /** Ms since 1970 of this device. Only when sent. */
  readonly sent_at?: number;
  /** Only when parked. */
  readonly problem?: RowProblem;
}

/** A write that has no id or stamp yet. `floor`: stamps that it has to sort above. */
export interface Unminted {
  readonly type: string;
  readonly record: string;
  readonly set: Readonly<Record<string, unknown>>;
  readonly supersedes: readonly string[];
  readonly floor: readonly Stamp[];
}

/** A picture whose bytes the server has not confirmed. */
export interface PhotoRow {
  readonly blob: string;
  readonly type: string;
  /** An ArrayBuffer, because Safari fails to keep Blobs. */
  readonly bytes: ArrayBuffer;
  readonly state: "pending" | "parked";
  readonly added_at: number;
  readonly problem?: RowProblem;
}

/** The server's word on a change that was sent. */
export interface Verdict {
  readonly id: string;
  readonly state: "sent" | "parked";
  readonly seq?: number;
  readonly epoch?: string;
  readonly stamp?: Stamp;
  readonly problem?: RowProblem;
}

/** When a reply was heard, and the server's time in it; null if it was too slow to say. In ms. */
export interface Heard {
  readonly serverNow: number | null;
  readonly nowMs: number;
}

export interface Quarantined {
  readonly n: number;
  readonly row: unknown;
  readonly why: string;
}

type StoredRow = Omit<OutboxRow, "n"> & { n?: number };

interface OutboxSchema extends DBSchema {
  changes: {
    key: number;
    value: StoredRow;
    indexes: { id: string; state: string; seq: number; epoch: string };
  };
  photos: { key: string; value: PhotoRow; indexes: { state: string } };
  meta: { key: string; value: unknown };
  quarantine: { key: number; value: Quarantined };
}

type Stores = "changes" | "photos" | "meta" | "quarantine";
type Changes = IDBPObjectStore<OutboxSchema, Stores[], "changes", "readwrite">;
type Aside = IDBPObjectStore<OutboxSchema, Stores[], "quarantine", "readwrite">;

/** Rows that are handed to the database before it is waited for. */
const ASKED_AT_ONCE = 250;

/** How long a sent change can be offered to a server that was restored, in ms. */
export const HISTORY_MS = 60 * 24 * 3_600_000;

const plan = (workshop: string): Plan<OutboxSchema> => ({
  name: `bagtrail-${workshop}-outbox`,
  durability: "strict",
  upgrades: [
    (db) => {
      const changes = db.createObjectStore("changes", { keyPath: "n", autoIncrement: true });
      changes.createIndex("id", "id", { unique: true });
      changes.createIndex("state", "state");
      changes.createIndex("seq", "seq");
      changes.createIndex("epoch", "epoch");
      const photos = db.createObjectStore("photos", { keyPath: "blob" });
      photos.createIndex("state", "state");
      db.createObjectStore("meta");
      db.createObjectStore("quarantine", { keyPath: "n" });
    },
  ],
});

/** Counts that are shown everywhere. */
export interface Counts {
  readonly unsentChanges: number;
  readonly unsentPhotos: number;
  readonly parked: readonly OutboxRow[];
  readonly parkedPhotos: readonly { readonly blob: string; readonly problem: RowProblem }[];
  readonly quarantined: number;
}

export class Outbox {
  readonly #door: Door<OutboxSchema>;

  constructor(workshop: string, tell?: Watcher) {
    this.#door = new Door(plan(workshop), tell);
  }

  /**
   * Takes the clock of a pairing, once. If the device had another pairing here, what is unsent gets
   * new ids, because the server knows the new clock as ours. A clock taken since (`remint`) stays:
   * going back to the pairing's would count from 1 again and mint ids that exist.
   */
  adopt({ id, clock }: { readonly id: string; readonly clock: string }): Promise<void> {
    return this.#door.write(["changes", "meta", "quarantine"], async (tx) => {
      const meta = tx.objectStore("meta");
      await reclaim(tx);
      if ((await meta.get("device")) === id) return;
      await meta.put(id, "device");
      const state = await clockIn(tx);
      if (state?.clock === clock) return;
      const fresh = newClock(clock);
      await meta.put(fresh, "clock");
      if (state) await remint(tx, { ...fresh, offsetMs: state.offsetMs }, await unsentIn(tx));
    });
  }

  clock(): Promise<ClockState | null> {
    return this.#door.read(["meta"], async (tx) => clockIn(tx));
  }

  /**
   * Mints the changes and keeps them, with a photo's bytes if given: all in one transaction, clock
   * included, so that no two tabs mint the same id. Resolves when it is complete.
   */
  save(
    writes: readonly Unminted[],
    options: { nowMs: number; together?: boolean; photo?: Omit<PhotoRow, "state"> },
  ): Promise<OutboxRow[]> {
    return this.#door.write(["changes", "photos", "meta"], async (tx) => {
      let clock = await clockIn(tx);
      if (!clock) throw new DOMException("The outbox has no clock.", "InvalidStateError");
      const group =
        options.together === true && writes.length > 1
          ? { first: clock.counter + 1, size: writes.length }
          : null;
      const rows: StoredRow[] = [];
      const adding: Promise<number>[] = [];
      const store = tx.objectStore("changes");
      const renamed = await renamedIn(tx);
      if (options.photo) {
        await tx.objectStore("photos").put({ ...options.photo, state: "pending" });
      }
      for (const write of writes) {
        const minted = mint(clock, options.nowMs, write.floor);
        clock = minted.state;
        const row: StoredRow = {
          id: minted.id,
          type: write.type,
          record: write.record,
          set: withNames(write.set, renamed),
          stamp: minted.stamp,
          supersedes: write.supersedes.map(renamed),
          ...(group ? { group } : {}),
          state: "unsent",
        };
        rows.push(row);
        const asked = store.add(row);
        adding.push(asked);
        // Heard of below; not if a later one throws, and then all are taken back.
        asked.catch(() => undefined);
        // A kit is deleted in thousands of changes: not one by one, and with room to draw between.
        if (adding.length % ASKED_AT_ONCE === 0) await asked;
      }
      const keys = await Promise.all(adding);
      await tx.objectStore("meta").put(clock, "clock");
      return rows.map((row, at) => ({ ...row, n: keys[at]! }));
    });
  }

  /** Changes that the server has not answered for, in order of writing. */
  async unsent(): Promise<OutboxRow[]> {
    return this.#rows("state", "unsent");
  }

  async parked(): Promise<OutboxRow[]> {
    return this.#rows("state", "parked");
  }

  /**
   * What stands above the mirror: unsent changes and those sent at a place above `seq`, in order.
   */
  async above(seq: number): Promise<OutboxRow[]> {
    const [unsent, sent] = await Promise.all([
      this.#rows("state", "unsent"),
      this.#rows("seq", IDBKeyRange.lowerBound(seq, true)),
    ]);
    // Read one after the other, so that one which was sent in between may be in both.
    const rows = new Map([...unsent, ...sent].map((row) => [row.n, row]));
    return [...rows.values()].sort((a, b) => a.n - b.n);
  }

  /**
   * Ids of changes that the server took in another epoch than `epoch`, as far back as they are
   * kept: a restored server may have lost them.
   */
  async ofOtherEpochs(epoch: string): Promise<string[]> {
    const found = await this.#door.read(["changes"], async (tx) => {
      const index = tx.objectStore("changes").index("epoch");
      const some = [
        ...(await index.getAll(IDBKeyRange.upperBound(epoch, true))),
        ...(await index.getAll(IDBKeyRange.lowerBound(epoch, true))),
      ];
      return some.filter(isRow).sort((a, b) => a.n - b.n);
    });
    return found.map((row) => row.id);
  }

  counts(): Promise<Counts> {
    return this.#door.read(["changes", "photos", "quarantine"], async (tx) => {
      const changes = tx.objectStore("changes").index("state");
      const photos = tx.objectStore("photos").index("state");
      const [unsentChanges, unsentPhotos, parked, parkedPhotos, quarantined] = await Promise.all([
        changes.count("unsent"),
        photos.count("pending"),
        changes.getAll("parked"),
        photos.getAll("parked"),
        tx.objectStore("quarantine").count(),
      ]);
      return {
        unsentChanges,
        unsentPhotos,
        parked: parked.filter(isRow),
        parkedPhotos: parkedPhotos.map(({ blob, problem = NO_REASON }) => ({ blob, problem })),
        quarantined,
      };
    });
  }

  /**
   * Writes the server's verdicts, by change id, and takes its time if that is known. Changes
   * written meanwhile, and ids that are not here, are left as they are.
   */
  settle(verdicts: readonly Verdict[], time: Heard): Promise<void> {
    return this.#door.write(["changes", "meta"], async (tx) => {
      const store = tx.objectStore("changes");
      for (const verdict of verdicts) {
        const row = await store.index("id").get(verdict.id);
        if (!row || row.state === "sent") continue;
        const { problem: _old, ...rest } = row;
        await store.put({
          ...rest,
          state: verdict.state,
          ...(verdict.stamp === undefined ? {} : { stamp: verdict.stamp }),
          ...(verdict.seq === undefined ? {} : { seq: verdict.seq }),
          ...(verdict.epoch === undefined ? {} : { epoch: verdict.epoch }),
          ...(verdict.state === "sent" ? { sent_at: time.nowMs } : {}),
          ...(verdict.problem === undefined ? {} : { problem: verdict.problem }),
        });
      }
      await setTime(tx, time);
    });
  }

  /** Takes the server's time from a reply. */
  correct(time: Heard): Promise<void> {
    return this.#door.write(["meta"], (tx) => setTime(tx, time));
  }

  /** Gives every unsent change a new id of a new clock; answers the new id of each old one. */
  remint(clock: string): Promise<Map<string, string>> {
    return this.#door.write(["changes", "meta"], async (tx) => {
      const state = await clockIn(tx);
      const fresh = { ...newClock(clock), offsetMs: state?.offsetMs ?? 0 };
      return remint(tx, fresh, await unsentIn(tx));
    });
  }

  /**
   * After the server was restored to `epoch`: of the changes `offered` to it, those `missing` there
   * are unsent again, and the others are in what a pull in that epoch brings. Answers the former.
   */
  restored(
    offered: readonly string[],
    missing: ReadonlySet<string>,
    epoch: string,
  ): Promise<OutboxRow[]> {
    return this.#door.write(["changes"], async (tx) => {
      const again: OutboxRow[] = [];
      const store = tx.objectStore("changes");
      for (const id of offered) {
        const row = await store.index("id").get(id);
        if (!isRow(row) || row.state !== "sent") continue;
        if (missing.has(id)) {
          const { seq: _seq, epoch: _epoch, sent_at: _at, ...rest } = row;
          const unsent: OutboxRow = { ...rest, state: "unsent" };
          await store.put(unsent);
          again.push(unsent);
        } else await store.put({ ...row, seq: 0, epoch });
      }
      return again;
    });
  }

  /** Makes a parked change unsent again, with those that stand or fall with it. */
  retry(id: string): Promise<void> {
    return this.#door.write(["changes", "meta"], async (tx) => {
      const store = tx.objectStore("changes");
      const rows: OutboxRow[] = [];
      for (const row of await companions(store, id)) {
        const { problem: _old, ...rest } = row;
        rows.push({ ...rest, state: "unsent" });
      }
      for (const row of rows) await store.put(row);
      const clock = await clockIn(tx);
      // Parked under a clock that this device no longer has: the server takes it under the new one.
      if (clock && !id.startsWith(clock.clock)) await remint(tx, clock, rows);
    });
  }

  /**
   * Forgets a parked change for good, with those that stand or fall with it. The bytes of a photo
   * go too, unless another photo is of the same picture.
   */
  drop(id: string): Promise<void> {
    return this.#door.write(["changes", "photos"], async (tx) => {
      const store = tx.objectStore("changes");
      const blobs = new Set<string>();
      for (const row of await companions(store, id)) {
        await store.delete(row.n);
        const blob = pictureOf(row);
        if (blob !== null) blobs.add(blob);
      }
      if (!blobs.size) return;
      for (const row of await store.getAll()) blobs.delete(pictureOf(row) ?? "");
      for (const blob of blobs) await tx.objectStore("photos").delete(blob);
    });
  }

  /** The photos and pages that this device made of a picture, as far back as they are kept. */
  async recordsOf(blob: string): Promise<{ type: string; id: string }[]> {
    const rows = await this.#door.read(["changes"], (tx) => tx.objectStore("changes").getAll());
    const found = rows.filter((row) => pictureOf(row) === blob);
    const byId = new Map(found.map(({ type, record }) => [record, { type, id: record }]));
    return [...byId.values()];
  }

  /** Forgets sent changes that are too old to be offered again. */
  prune(nowMs: number, cursorSeq: number): Promise<void> {
    return this.#door.write(["changes"], async (tx) => {
      const store = tx.objectStore("changes");
      for (const row of await store.index("state").getAll("sent")) {
        const old = (row.sent_at ?? 0) < nowMs - HISTORY_MS;
        if (old && (row.seq ?? 0) <= cursorSeq && row.n !== undefined) await store.delete(row.n);
      }
    });
  }

  photo(blob: string): Promise<PhotoRow | undefined> {
    return this.#door.read(["photos"], (tx) => tx.objectStore("photos").get(blob));
  }

  /** Names of the pictures whose bytes are to be sent. */
  pendingPhotos(): Promise<string[]> {
    return this.#door.read(["photos"], (tx) =>
      tx.objectStore("photos").index("state").getAllKeys("pending"),
    );
  }

  /** Keeps bytes to be sent once more: a restored server may have lost them. */
  async addPhoto(photo: Omit<PhotoRow, "state">): Promise<void> {
    await this.#door.write(["photos"], (tx) =>
      tx.objectStore("photos").put({ ...photo, state: "pending" }),
    );
  }

  /**
   * The server has the bytes that were added at that time: they need not be kept here. Added again
   * meanwhile, they are sent again, so that the server hears of the second photo, too.
   */
  confirmPhoto({ blob, added_at }: Pick<PhotoRow, "blob" | "added_at">): Promise<void> {
    return this.#door.write(["photos"], async (tx) => {
      const row = await tx.objectStore("photos").get(blob);
      if (row?.added_at === added_at) await tx.objectStore("photos").delete(blob);
    });
  }

  /** Forgets the bytes of a picture for good. */
  dropPhoto(blob: string): Promise<void> {
    return this.#door.write(["photos"], (tx) => tx.objectStore("photos").delete(blob));
  }

  /** `null`: to be sent again. */
  parkPhoto(blob: string, problem: RowProblem | null): Promise<void> {
    return this.#door.write(["photos"], async (tx) => {
      const row = await tx.objectStore("photos").get(blob);
      if (!row) return;
      const { problem: _old, ...rest } = row;
      await tx
        .objectStore("photos")
        .put(problem ? { ...rest, state: "parked", problem } : { ...rest, state: "pending" });
    });
  }

  /**
   * A turn at the exchange, for browsers without the Web Locks API: true if `holder` has it until
   * `untilMs`, false while another has it.
   */
  lease(holder: string, nowMs: number, untilMs: number): Promise<boolean> {
    return this.#door.write(["meta"], async (tx) => {
      const held = (await tx.objectStore("meta").get("lease")) as
        | { holder: string; until: number }
        | undefined;
      if (held && held.holder !== holder && held.until > nowMs) return false;
      await tx.objectStore("meta").put({ holder, until: untilMs }, "lease");
      return true;
    });
  }

  /** Everything that the server has not confirmed, and what was put aside, for a copy elsewhere. */
  unconfirmed(): Promise<{ changes: OutboxRow[]; photos: PhotoRow[]; aside: Quarantined[] }> {
    return this.#door.read(["changes", "photos", "quarantine"], async (tx) => {
      const index = tx.objectStore("changes").index("state");
      const [unsent, parked, photos, aside] = await Promise.all([
        index.getAll("unsent"),
        index.getAll("parked"),
        tx.objectStore("photos").getAll(),
        tx.objectStore("quarantine").getAll(),
      ]);
      const changes = [...unsent, ...parked].filter(isRow).sort((a, b) => a.n - b.n);
      return { changes, photos, aside };
    });
  }

  /**
   * Takes in a copy made by `unconfirmed`: as new changes of this device, for another device's ids
   * are not ours to use. What is here already, or was taken in before, is left out. Answers the
   * number of changes taken in.
   */
  takeIn(
    changes: readonly RecordChange[],
    photos: readonly Omit<PhotoRow, "state">[],
  ): Promise<number> {
    return this.#door.write(["changes", "photos", "meta"], async (tx) => {
      const store = tx.objectStore("changes");
      const before = await tx.objectStore("meta").get("taken");
      const taken = new Map(Array.isArray(before) ? (before as [string, string][]) : []);
      const fresh: RecordChange[] = [];
      for (const change of changes) {
        if (taken.has(change.id)) continue;
        if (!(await store.index("id").getKey(change.id))) fresh.push(change);
      }
      let clock = await clockIn(tx);
      if (!clock) throw new DOMException("The outbox has no clock.", "InvalidStateError");
      const renamed = renumber(fresh, clock, taken);
      for (const row of renamed.changes) await store.add({ ...row, state: "unsent" });
      clock = renamed.clock;
      await tx.objectStore("meta").put(clock, "clock");
      await tx.objectStore("meta").put([...taken, ...renamed.ids], "taken");
      for (const photo of photos) {
        const known = await tx.objectStore("photos").getKey(photo.blob);
        if (!known) await tx.objectStore("photos").put({ ...photo, state: "pending" });
      }
      return fresh.length;
    });
  }

  close(): Promise<void> {
    return this.#door.close();
  }

  /** Rows of an index; those that cannot be read are put aside, so that they stop no others. */
  async #rows(index: "state" | "seq", query: string | IDBKeyRange): Promise<OutboxRow[]> {
    const all = await this.#door
      .read(["changes"], (tx) => tx.objectStore("changes").index(index).getAll(query))
      .catch(() => null);
    if (all?.every(isRow)) return all.sort((a, b) => a.n - b.n);
    return this.#rowsOneByOne(index, query);
  }

  async #rowsOneByOne(index: "state" | "seq", query: string | IDBKeyRange): Promise<OutboxRow[]> {
    const keys = await this.#door.read(["changes"], (tx) =>
      tx.objectStore("changes").index(index).getAllKeys(query),
    );
    const rows: OutboxRow[] = [];
    const bad: Quarantined[] = [];
    const failures: unknown[] = [];
    for (const n of keys) {
      try {
        const row = await this.#door.read(["changes"], (tx) => tx.objectStore("changes").get(n));
        if (isRow(row)) rows.push(row);
        else if (row) bad.push({ n, row, why: "It is not a change that this app can read." });
      } catch (error) {
        // What the browser does not hand out now it may hand out later: it stays where it is.
        failures.push(error);
      }
    }
    // Not one came: it is the storage, not a row.
    if (failures.length && failures.length === keys.length) throw failures[0];
    if (bad.length) {
      await this.#door.write(["changes", "quarantine"], async (tx) => {
        for (const one of bad) {
          await tx.objectStore("quarantine").put(one);
          await tx.objectStore("changes").delete(one.n);
        }
      });
    }
    return rows.sort((a, b) => a.n - b.n);
  }
}

/** Takes back what was put aside and can be read by this version of the app. */
async function reclaim(tx: {
  objectStore(name: "changes"): Changes;
  objectStore(name: "quarantine"): Aside;
}): Promise<void> {
  const aside = tx.objectStore("quarantine");
  const changes = tx.objectStore("changes");
  for (const { n, row } of await aside.getAll()) {
    if (!isRow(row) || (await changes.index("id").getKey(row.id)) !== undefined) continue;
    await changes.put({ ...row, n });
    await aside.delete(n);
  }
}

const NO_REASON: RowProblem = { type: "about:blank", title: "The server refused it" };

async function clockIn(tx: {
  objectStore(name: "meta"): { get(key: string): Promise<unknown> };
}): Promise<ClockState | null> {
  const state = await tx.objectStore("meta").get("clock");
  return (state as ClockState | undefined) ?? null;
}

async function setTime(
  tx: {
    objectStore(name: "meta"): {
      get(key: string): Promise<unknown>;
      put(value: unknown, key: string): Promise<unknown>;
    };
  },
  time: Heard,
): Promise<void> {
  const state = await clockIn(tx);
  if (!state || time.serverNow === null) return;
  const corrected = correct(state, time.serverNow, time.nowMs);
  if (!sameJson(state, corrected)) await tx.objectStore("meta").put(corrected, "clock");
}

async function unsentIn(tx: { objectStore(name: "changes"): Changes }): Promise<OutboxRow[]> {
  return (await tx.objectStore("changes").index("state").getAll("unsent")).filter(isRow);
}

/** These changes under ids of `clock`, which becomes this device's. */
async function remint(
  tx: {
    objectStore(name: "meta"): { put(value: unknown, key: string): Promise<unknown> };
    objectStore(name: "changes"): Changes;
  },
  clock: ClockState,
  rows: readonly OutboxRow[],
): Promise<Map<string, string>> {
  const store = tx.objectStore("changes");
  const renamed = renumber(rows, clock, new Map());
  for (const [i, change] of renamed.changes.entries()) {
    const row = rows[i];
    if (row) await store.put({ ...change, n: row.n, state: row.state });
  }
  await tx.objectStore("meta").put(renamed.clock, "clock");
  await tx.objectStore("meta").put([...renamed.ids], "renamed");
  return renamed.ids;
}

/** New ids of what was renamed last: a tab that has not heard of it names the old ones. */
async function renamedIn(tx: {
  objectStore(name: "meta"): { get(key: string): Promise<unknown> };
}): Promise<(id: string) => string> {
  const pairs = await tx.objectStore("meta").get("renamed");
  const ids = new Map(Array.isArray(pairs) ? (pairs as [string, string][]) : []);
  return (id) => ids.get(id) ?? id;
}

/** Fields with the changes that a `deleted` names under the names they have now. */
function withNames(set: RecordChange["set"], renamed: (id: string) => string): RecordChange["set"] {
  const { deleted } = set;
  if (!Array.isArray(deleted)) return set;
  const ids = deleted.map((id: unknown) => (typeof id === "string" ? renamed(id) : id));
  return { ...set, deleted: ids };
}

/** The picture of a photo's or a page's change. */
export function pictureOf(row: Pick<RecordChange, "type" | "set">): string | null {
  const blob = isPictured(row.type) && isChange(row) ? row.set["blob"] : undefined;
  return typeof blob === "string" ? blob : null;
}

const isPictured = (type: string): boolean => type === "photo" || type === "page";

/**
 * The same changes under the next ids of `clock`, with what they say of one another; `known`: new
 * ids of changes renamed before. Time and order stay, the author changes.
 */
function renumber(
  changes: readonly RecordChange[],
  clock: ClockState,
  known: ReadonlyMap<string, string>,
): { changes: RecordChange[]; clock: ClockState; ids: Map<string, string> } {
  const ids = new Map<string, string>();
  let counter = clock.counter;
  for (const { id } of changes) ids.set(id, `${clock.clock}.${(counter += 1)}`);
  const renamed = (id: string): string => ids.get(id) ?? known.get(id) ?? id;
  let { ms, tick } = clock;
  const again = changes.map((change): RecordChange => {
    const at = parse(change.stamp);
    if (at.ms > ms || (at.ms === ms && at.tick > tick)) ({ ms, tick } = at);
    const first = change.group && renamed(`${change.id.slice(0, 16)}.${change.group.first}`);
    return {
      id: renamed(change.id),
      type: change.type,
      record: change.record,
      set: withNames(change.set, renamed),
      stamp: make(at.ms, at.tick, clock.clock),
      supersedes: change.supersedes.map(renamed),
      ...(change.group && first
        ? { group: { first: parseChangeId(first).counter, size: change.group.size } }
        : {}),
    };
  });
  return { changes: again, clock: { ...clock, counter, ms, tick }, ids };
}

/** A parked change and the parked ones of its group. */
async function companions(store: Changes, id: string): Promise<OutboxRow[]> {
  const row = await store.index("id").get(id);
  if (!row || !isRow(row) || row.state !== "parked") return [];
  const { group } = row;
  if (!group) return [row];
  const clock = id.slice(0, 16);
  const parked = (await store.index("state").getAll("parked")).filter(isRow);
  return parked.filter((one) => one.id.startsWith(clock) && one.group?.first === group.first);
}

function isRow(row: unknown): row is OutboxRow {
  if (!isChange(row)) return false;
  const { n, state } = row as unknown as Record<string, unknown>;
  return typeof n === "number" && (state === "unsent" || state === "sent" || state === "parked");
}

/** Whether this app can read something as a change. */
export function isChange(one: unknown): one is RecordChange {
  if (typeof one !== "object" || one === null) return false;
  const { id, type, record, set, stamp, supersedes, group } = one as Record<string, unknown>;
  return (
    typeof id === "string" &&
    /^[0-9a-f]{16}\.[1-9][0-9]{0,14}$/.test(id) &&
    typeof type === "string" &&
    typeof record === "string" &&
    typeof set === "object" &&
    set !== null &&
    !Array.isArray(set) &&
    typeof stamp === "string" &&
    /^[0-9a-f]{32}$/.test(stamp) &&
    Array.isArray(supersedes) &&
    supersedes.every((seen) => typeof seen === "string") &&
    (group === undefined || isGroup(group))
  );
}

function isGroup(group: unknown): boolean {
  if (typeof group !== "object" || group === null) return false;
  const { first, size } = group as Record<string, unknown>;
  return [first, size].every((part) => Number.isSafeInteger(part) && Number(part) >= 1);
}
