/**
 * The records of the open workshop, in memory for the screens: the mirror with this device's
 * pending changes on top (server/PROTOCOL.md, "What a client keeps"). The one writer of memory, and
 * the one who brings memory and databases forward together.
 */
import { batch } from "@preact/signals";
import { deletion, floorOf, supersededBy, type Head, type State } from "../core/merge";
import type { RecordFields, RecordType } from "../core/records";
import { StorageFailure } from "../db/failure";
import type { Cursor, Mirror, MirrorRecord } from "../db/mirror";
import type { Heard, Outbox, OutboxRow, PhotoRow, Unminted, Verdict } from "../db/outbox";
import { codeOf, Entry, scopeOf, type Pending } from "./entry";
import { Table } from "./table";
import type { News, RecordKey, Tabs } from "./tabs";
import type { Draft, Store, View } from "./types";

export interface Databases {
  readonly workshop: string;
  readonly mirror: Mirror;
  readonly outbox: Outbox;
}

/** A record as it was pulled. */
export interface Pulled {
  readonly type: string;
  readonly id: string;
  readonly heads: readonly Head[];
}

export interface StoreContext {
  readonly nowMs: () => number;
  readonly tabs: Tabs;
  /** Something was written here: there is something to send. */
  readonly wrote: () => void;
  /** The storage failed, here or in another part that this one called. */
  readonly failed: (failure: StorageFailure) => void;
}

interface Intent extends RecordKey {
  /** What to set, from what was seen. */
  readonly set: (seen: State) => Readonly<Record<string, unknown>>;
  /** Ids of the heads on the screen when the write was asked for; null: it was not in memory. */
  readonly seen: ReadonlySet<string> | null;
}

const SHOP = "";
/** More moved records than this are not told one by one to other tabs. */
const NEWS_MAX = 500;

export class RecordStore implements Store {
  readonly #tables = new Map<string, Table>();
  #dbs: Databases | null = null;
  #cursor: Cursor | null = null;
  /** Scopes that are in memory, or on their way. */
  #scopes = new Map<string, Promise<void>>();
  #turns: Promise<unknown> = Promise.resolve();

  constructor(readonly context: StoreContext) {
    context.tabs.listen((news) => void this.#hear(news).catch(() => undefined));
  }

  // ---- what screens ask ----

  load(scope: string): Promise<void> {
    const known = this.#scopes.get(scope);
    if (known) return known;
    const loading = this.#turn(async () => {
      const dbs = this.#dbs;
      if (!dbs) return;
      const { cursor, records } = await dbs.mirror.scope(scope);
      if (!sameCursor(cursor, this.#cursor)) return this.#refresh(dbs);
      this.#show(records);
    });
    this.#scopes.set(scope, loading);
    loading.catch(() => this.#scopes.delete(scope));
    return loading;
  }

  get<T extends RecordType>(type: T, id: string): View<T> | undefined {
    return this.#table(type).get(id) as View<T> | undefined;
  }

  all<T extends RecordType>(type: T): readonly View<T>[] {
    return this.#table(type).all() as readonly View<T>[];
  }

  where<T extends RecordType>(
    type: T,
    field: keyof RecordFields[T] & string,
    value: string,
  ): readonly View<T>[] {
    return this.#table(type).where(field, value) as readonly View<T>[];
  }

  async bagsByCode(code: string): Promise<readonly View<"bag">[]> {
    const found = this.#over("bag", (await this.#dbs?.mirror.byCode("bag", code)) ?? []);
    return found.filter(({ values }) => values.code === code);
  }

  async bagsByBarcode(text: string): Promise<readonly View<"bag">[]> {
    const { mirror } = this.#dbs ?? {};
    const found = this.#over("barcode", (await mirror?.byCode("barcode", text)) ?? []);
    const ids = new Set(
      found.flatMap(({ values }) => (values.text === text ? (values.bag ?? []) : [])),
    );
    const keys = [...ids].map((id) => ({ type: "bag", id }));
    const bags = this.#over("bag", (await mirror?.get(keys))?.records ?? []);
    return bags.filter(({ id }) => ids.has(id));
  }

  /** Records of the mirror, and all of their type in memory: that is newer, with what is unsent. */
  #over<T extends RecordType>(type: T, records: readonly MirrorRecord[]): View<T>[] {
    const found = new Map<string, View | null>();
    for (const record of records) {
      const entry = new Entry(record.type, record.id);
      entry.server = record.heads;
      found.set(record.id, entry.view);
    }
    for (const [id, entry] of this.#table(type).entries) found.set(id, entry.view);
    return [...found.values()].filter((view): view is View<T> => view?.type === type);
  }

  write(
    drafts: readonly Draft[],
    { remove = [], ...options }: { together?: boolean; remove?: readonly RecordKey[] } = {},
  ): Promise<void> {
    const intents = this.#intents(drafts);
    intents.push(...remove.map(({ type, id }) => this.#intend(type, id, deletion)));
    return this.#save(intents, options);
  }

  /** Records of a picture and its bytes: all or none, here and on the server. */
  writePicture(drafts: readonly Draft[], photo: Omit<PhotoRow, "state">): Promise<void> {
    return this.#save(this.#intents(drafts), { photo, together: true });
  }

  #intents(drafts: readonly Draft[]): Intent[] {
    const bySame = new Map<string, { type: string; id: string; set: Record<string, unknown> }>();
    for (const { type, id, set } of drafts) {
      const key = `${type}:${id}`;
      const known = bySame.get(key) ?? { type, id, set: {} };
      for (const [field, value] of Object.entries(set)) {
        if (value !== undefined) known.set[field] = value;
      }
      bySame.set(key, known);
    }
    return [...bySame.values()]
      .filter(({ set }) => Object.keys(set).length > 0)
      .map(({ type, id, set }) => this.#intend(type, id, () => set));
  }

  remove(views: readonly RecordKey[]): Promise<void> {
    return this.#save(views.map(({ type, id }) => this.#intend(type, id, deletion)), {});
  }

  settleDelete(view: View, keep: boolean): Promise<void> {
    const set = keep ? () => ({ deleted: null }) : deletion;
    return this.#save([this.#intend(view.type, view.id, set)], {});
  }

  // ---- what the courier brings ----

  get cursor(): Cursor | null {
    return this.#cursor;
  }

  /** Opens a workshop: its own records and all that is pending are in memory when it resolves. */
  attach(dbs: Databases): Promise<void> {
    return this.#turn(async () => {
      this.#dbs = dbs;
      this.#scopes.set(SHOP, Promise.resolve());
      await this.#refresh(dbs);
    });
  }

  /** Forgets the workshop; nothing on the device is touched. */
  detach(): Promise<void> {
    return this.#turn(async () => {
      this.#dbs = null;
      this.#cursor = null;
      this.#scopes = new Map();
      batch(() => {
        for (const table of this.#tables.values()) {
          table.clear();
          table.renewed();
        }
      });
    });
  }

  /**
   * Takes what was pulled, with its cursor: into the mirror, then into memory. `anew`: it is all.
   */
  pulled(records: readonly Pulled[], cursor: Cursor, anew: boolean): Promise<void> {
    return this.#turn(async () => {
      const dbs = this.#open();
      const rows = records.map(rowOf);
      await (anew ? dbs.mirror.swap(rows, cursor) : dbs.mirror.apply(rows, cursor));
      this.#tell(dbs, anew ? null : rows);
      if (anew) return this.#refresh(dbs);
      this.#cursor = cursor;
      this.#show(rows.filter((row) => this.#scopes.has(row.scope) || this.#has(row)));
    });
  }

  /** Writes the server's verdicts into the outbox, then into memory. */
  settled(verdicts: readonly Verdict[], time: Heard): Promise<void> {
    return this.#turn(async () => {
      const dbs = this.#open();
      await dbs.outbox.settle(verdicts, time);
      this.#tell(dbs, this.#settle(verdicts));
    });
  }

  /** Does something to the outbox that changes what is pending, then reads everything again. */
  rework<R>(work: (dbs: Databases) => Promise<R>): Promise<R> {
    return this.#turn(async () => {
      const dbs = this.#open();
      const result = await work(dbs);
      this.#tell(dbs, null);
      await this.#refresh(dbs);
      return result;
    });
  }

  /** Reads everything again if another tab has moved the mirror while this one slept. */
  catchUp(): Promise<void> {
    return this.#turn(async () => {
      const dbs = this.#dbs;
      if (dbs && !sameCursor(await dbs.mirror.cursor(), this.#cursor)) await this.#refresh(dbs);
    });
  }

  // ---- inside ----

  #open(): Databases {
    if (!this.#dbs) throw new StorageFailure("lost");
    return this.#dbs;
  }

  /** One after the other: what a turn reads, no other turn changes before it has written. */
  #turn<R>(work: () => Promise<R>): Promise<R> {
    const turn = this.#turns.then(work);
    this.#turns = turn.catch((error: unknown) => {
      if (error instanceof StorageFailure) this.context.failed(error);
    });
    return turn;
  }

  #table(type: string): Table {
    let table = this.#tables.get(type);
    if (!table) {
      table = new Table(type);
      this.#tables.set(type, table);
    }
    return table;
  }

  #has({ type, id }: RecordKey): boolean {
    return this.#tables.get(type)?.entries.has(id) ?? false;
  }

  #intend(type: string, id: string, set: Intent["set"]): Intent {
    const entry = this.#tables.get(type)?.entries.get(id);
    const seen = entry ? new Set(entry.state.heads.map((head) => head.id)) : null;
    return { type, id, set, seen };
  }

  async #save(
    intents: readonly Intent[],
    options: { together?: boolean; photo?: Omit<PhotoRow, "state"> },
  ): Promise<void> {
    if (!intents.length) return;
    await this.#turn(async () => {
      const dbs = this.#open();
      await this.#fetch(dbs, intents);
      const writes = intents.map(({ type, id, set, seen }): Unminted => {
        const state = this.#table(type).entry(id).seen(seen);
        const fields = set(state);
        const names = Object.keys(fields);
        return {
          type,
          record: id,
          set: fields,
          supersedes: supersededBy(state, names),
          floor: floorOf(state, names),
        };
      });
      const rows = await dbs.outbox.save(writes, { nowMs: this.context.nowMs(), ...options });
      this.#add(rows);
      this.#tell(dbs, intents);
    });
    this.context.wrote();
  }

  /**
   * Brings records that are not in memory there, so that a write supersedes what the mirror has.
   */
  async #fetch(dbs: Databases, keys: readonly RecordKey[]): Promise<void> {
    const absent = keys.filter((key) => !this.#has(key));
    if (!absent.length) return;
    const { records } = await dbs.mirror.get(absent);
    this.#show(records);
  }

  #show(records: readonly MirrorRecord[]): void {
    const seq = this.#cursor?.seq ?? 0;
    const byType = grouped(records, ({ type }) => type);
    batch(() => {
      for (const [type, some] of byType) {
        const heads = new Map(some.map((record) => [record.id, record.heads]));
        this.#table(type).update([...heads.keys()], (entry) => {
          entry.server = heads.get(entry.id) ?? [];
          if (entry.pending.length) entry.pending = above(entry.pending, seq);
        });
      }
    });
  }

  #add(rows: readonly OutboxRow[]): void {
    const byType = grouped(rows, ({ type }) => type);
    batch(() => {
      for (const [type, some] of byType) {
        const mine = grouped(some, ({ record }) => record);
        this.#table(type).update([...mine.keys()], (entry) => {
          const known = new Set(entry.pending.map(({ row }) => row.n));
          const fresh = (mine.get(entry.id) ?? []).filter(({ n }) => !known.has(n));
          entry.pending = [...entry.pending, ...fresh.map(pendingOf)];
        });
      }
    });
  }

  /** Answers the records that it touched. */
  #settle(verdicts: readonly Verdict[]): RecordKey[] {
    const touched: RecordKey[] = [];
    const byChange = new Map(verdicts.map((verdict) => [verdict.id, verdict]));
    const seq = this.#cursor?.seq ?? 0;
    batch(() => {
      for (const table of this.#tables.values()) {
        const ids: string[] = [];
        for (const entry of table.entries.values()) {
          if (entry.pending.some(({ row }) => byChange.has(row.id))) ids.push(entry.id);
        }
        touched.push(...ids.map((id) => ({ type: table.type, id })));
        table.update(ids, (entry) => {
          const pending = entry.pending.flatMap((one): Pending[] => {
            const verdict = byChange.get(one.row.id);
            if (!verdict) return [one];
            if (verdict.state === "parked") return [];
            const row = { ...one.row, stamp: verdict.stamp ?? one.row.stamp };
            return [{ row, seq: verdict.seq ?? one.seq }];
          });
          entry.pending = above(pending, seq);
        });
      }
    });
    return touched;
  }

  /** Reads all loaded scopes and all that is pending again. */
  async #refresh(dbs: Databases): Promise<void> {
    const { cursor, records, rows } = await this.#readAll(dbs);
    this.#cursor = cursor;
    batch(() => {
      for (const table of this.#tables.values()) table.clear();
      for (const { type, id, heads } of records) this.#table(type).entry(id).server = heads;
      for (const row of rows) {
        const entry = this.#table(row.type).entry(row.record);
        entry.pending = [...entry.pending, pendingOf(row)];
      }
      for (const table of this.#tables.values()) table.renewed();
    });
  }

  async #readAll(
    dbs: Databases,
  ): Promise<{ cursor: Cursor | null; records: MirrorRecord[]; rows: OutboxRow[] }> {
    for (;;) {
      const cursor = await dbs.mirror.cursor();
      const parts = await Promise.all([...this.#scopes.keys()].map((s) => dbs.mirror.scope(s)));
      // The outbox after the mirror: what has been sent meanwhile still counts as above it.
      const rows = await dbs.outbox.above(cursor?.seq ?? 0);
      const scattered = await dbs.mirror.get(
        rows.map(({ type, record }) => ({ type, id: record })),
      );
      parts.push(scattered);
      // Another tab may move the mirror between two reads; then they do not belong together.
      if (parts.every((part) => sameCursor(part.cursor, cursor))) {
        return { cursor, records: parts.flatMap((part) => part.records), rows };
      }
    }
  }

  #tell({ workshop }: Databases, records: readonly RecordKey[] | null): void {
    if (records?.length === 0) return;
    const few = records && records.length <= NEWS_MAX;
    const keys = few ? records.map(({ type, id }) => ({ type, id })) : null;
    this.context.tabs.post({ kind: "changed", workshop, records: keys, from: this.#cursor });
  }

  async #hear(news: News): Promise<void> {
    if (news.kind !== "changed") return;
    await this.#turn(async () => {
      const dbs = this.#dbs;
      if (dbs?.workshop !== news.workshop) return;
      if (!news.records || !sameCursor(news.from, this.#cursor)) return this.#refresh(dbs);
      const { cursor, records } = await dbs.mirror.get(news.records);
      const rows = await dbs.outbox.above(cursor?.seq ?? 0);
      this.#cursor = cursor;
      const asked = new Set(news.records.map(keyOf));
      const mine = rows.filter(({ type, record }) => asked.has(`${type}:${record}`));
      // What is pending comes into memory whatever its scope, so what lies under it does, too.
      const under = new Set(mine.map(({ type, record }) => `${type}:${record}`));
      const wanted = (one: MirrorRecord): boolean =>
        this.#scopes.has(one.scope) || this.#has(one) || under.has(keyOf(one));
      this.#show(records.filter(wanted));
      batch(() => {
        for (const [type, keys] of grouped(news.records ?? [], ({ type }) => type)) {
          const here = keys.map(({ id }) => id).filter((id) => this.#has({ type, id }));
          this.#table(type).update(here, (entry) => {
            entry.pending = [];
          });
        }
      });
      this.#add(mine);
    });
  }
}

function keyOf({ type, id }: RecordKey): string {
  return `${type}:${id}`;
}

function grouped<T>(items: readonly T[], key: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const group = groups.get(key(item));
    if (group) group.push(item);
    else groups.set(key(item), [item]);
  }
  return groups;
}

function pendingOf(row: OutboxRow): Pending {
  return { row, seq: row.state === "sent" ? (row.seq ?? null) : null };
}

/** What the mirror at `seq` does not hold. */
function above(pending: readonly Pending[], seq: number): readonly Pending[] {
  return pending.filter((one) => one.seq === null || one.seq > seq);
}

function rowOf({ type, id, heads }: Pulled): MirrorRecord {
  const code = codeOf(type, heads);
  return { type, id, scope: scopeOf(type, heads), heads, ...(code === undefined ? {} : { code }) };
}

function sameCursor(a: Cursor | null, b: Cursor | null): boolean {
  return a?.epoch === b?.epoch && a?.seq === b?.seq && a?.change === b?.change;
}
