/**
 * A bench in memory for tests of screens: the same interfaces, no IndexedDB and no network.
 * Writes are shown at once and kept in `written`, so that a test can say what a tap has saved.
 */
import { signal } from "@preact/signals";
import { openJotter } from "../src/db/jotter";
import type { RecordFields, RecordType } from "../src/core/records";
import type {
  AppFiles,
  Bench,
  Clash,
  Courier,
  Draft,
  ExchangeState,
  Intakes,
  Keeping,
  Membership,
  Photos,
  Session,
  Standing,
  Store,
  StraightPage,
  View,
} from "../src/sync/types";
import type { OfflineState } from "../src/update";

export interface Row {
  type: RecordType;
  id: string;
  values: Record<string, unknown>;
}

export const SESSION: Session = {
  workshop: { id: "00000000-0000-4000-8000-0000000000a0", name: "Shed" },
  device: {
    id: "00000000-0000-4000-8000-0000000000d1",
    name: "Tablet",
    clock: "00000000000000d1",
  },
  publicUrl: "http://localhost:8410",
};

export class FakeStore implements Store {
  readonly written: Draft[][] = [];
  /** Whether the last write that deleted anything stands or falls as one. */
  removedTogether = false;
  /** Set to make the next write fail, as a full device would. */
  failNext: Error | null = null;
  private readonly rows = new Map<RecordType, Map<string, View>>();
  private readonly version = signal(0);

  constructor(rows: readonly Row[] = []) {
    for (const row of rows) this.put(row.type, row.id, row.values);
  }

  private table(type: RecordType): Map<string, View> {
    let table = this.rows.get(type);
    if (!table) this.rows.set(type, (table = new Map<string, View>()));
    return table;
  }

  private put(type: RecordType, id: string, set: Record<string, unknown>): void {
    const before = this.table(type).get(id);
    this.table(type).set(id, {
      type,
      id,
      values: { ...before?.values, ...set },
      clashes: before?.clashes ?? [],
      deleteAsked: false,
      unsent: true,
    } as View);
  }

  /** Shows a clash on a record, as if another device had written beside this one. */
  clash(type: RecordType, id: string, clash: Clash): void {
    const before = this.table(type).get(id);
    if (before) this.table(type).set(id, { ...before, clashes: [...before.clashes, clash] });
    this.version.value += 1;
  }

  load(_scope: string): Promise<void> {
    return Promise.resolve();
  }

  get<T extends RecordType>(type: T, id: string): View<T> | undefined {
    void this.version.value;
    const view = this.table(type).get(id);
    return (view && stands(view) ? view : undefined) as View<T> | undefined;
  }

  all<T extends RecordType>(type: T): readonly View<T>[] {
    void this.version.value;
    return [...this.table(type).values()].filter(stands) as unknown as View<T>[];
  }

  where<T extends RecordType>(
    type: T,
    field: keyof RecordFields[T] & string,
    value: string,
  ): readonly View<T>[] {
    return this.all(type).filter((view) => {
      const held = (view.values as Record<string, unknown>)[field];
      return Array.isArray(held) ? held.includes(value) : held === value;
    });
  }

  bagsByCode(code: string): Promise<readonly View<"bag">[]> {
    return Promise.resolve(this.where("bag", "code", code));
  }

  bagsByBarcode(text: string): Promise<readonly View<"bag">[]> {
    const taught = new Set(this.where("barcode", "text", text).map(({ values }) => values.bag));
    return Promise.resolve(this.all("bag").filter(({ id }) => taught.has(id)));
  }

  write(
    drafts: readonly Draft[],
    {
      remove = [],
      together = false,
    }: { together?: boolean; remove?: readonly View[] } = {},
  ): Promise<void> {
    if (this.failNext) {
      const error = this.failNext;
      this.failNext = null;
      return Promise.reject(error);
    }
    this.written.push([...drafts]);
    if (remove.length > 0) this.removedTogether = together;
    for (const draft of drafts) this.put(draft.type, draft.id, draft.set);
    for (const { type, id } of remove) this.put(type, id, { deleted: [] });
    this.version.value += 1;
    return Promise.resolve();
  }

  remove(views: readonly View[]): Promise<void> {
    for (const view of views) this.put(view.type, view.id, { deleted: [] });
    this.version.value += 1;
    return Promise.resolve();
  }

  settleDelete(view: View, keep: boolean): Promise<void> {
    return keep ? Promise.resolve() : this.remove([view]);
  }
}

const stands = (view: View): boolean => !(view.values as { deleted?: unknown }).deleted;

export interface FakeBench extends Bench {
  store: FakeStore;
  /** Photos handed over, in order. */
  added: { file: Blob; build: string; step: string | null }[];
  /** Pages handed over, and pictures being worked on by their names. */
  paged: StraightPage[];
  held: Map<string, Blob>;
}

/** Intakes of a server that cannot be reached. */
export function silentIntakes(): Intakes {
  const offline = () => Promise.resolve({ kind: "offline" } as const);
  const quiet = () => () => undefined;
  return {
    list: offline, start: offline, look: offline, watch: quiet, watchList: quiet, stop: offline,
    resume: offline, throwAway: offline, layout: offline, findings: offline, allFindings: offline,
    correct: offline, unfit: offline, pages: offline, take: offline,
  };
}

/** A paired bench over `rows`. */
export function fakeBench(rows: readonly Row[] = [], session: Session = SESSION): FakeBench {
  const store = new FakeStore(rows);
  const added: FakeBench["added"] = [];
  const paged: FakeBench["paged"] = [];
  const held: FakeBench["held"] = new Map();
  const photos: Photos = {
    add(file, about) {
      added.push({ file, ...about });
      return store.write([
        {
          type: "photo",
          id: `00000000-0000-4000-8000-${String(added.length).padStart(12, "0")}`,
          set: {
            build: about.build,
            step: about.step,
            blob: String(added.length).padStart(64, "0"),
            taken_at: new Date().toISOString(),
            device: session.device.id,
          },
        },
      ]);
    },
    async addPage(page, about) {
      const id = `00000000-0000-4000-8000-${String(900 + paged.length).padStart(12, "0")}`;
      await store.write([
        {
          type: "page",
          id,
          set: { kit: about.kit, number: about.number, order: about.order, blob: "d".repeat(64) },
        },
        ...about.steps.map(({ id: step, frame }) => ({
          type: "step" as const,
          id: step,
          set: { page: id, frame: frame && [...frame] },
        })),
      ]);
      paged.push(page);
      return id;
    },
    hold(name, file) {
      held.set(name, file);
      return Promise.resolve();
    },
    held: (name) => Promise.resolve(held.get(name) ?? null),
    letGo(name) {
      held.delete(name);
      return Promise.resolve();
    },
    show: () => Promise.resolve(null),
  };
  const exchange = signal<ExchangeState>({
    server: "reached",
    unsentChanges: 0,
    unsentPhotos: 0,
    parked: [],
    quarantined: 0,
    refusal: null,
    lastExchangeAt: Date.now(),
    storage: null,
  });
  const courier: Courier = {
    state: exchange,
    exchange: () => Promise.resolve(),
    retryParked: () => Promise.resolve(),
    dropParked: () => Promise.resolve(),
  };
  const offline = { kind: "offline" } as const;
  const membership: Membership = {
    standing: signal<Standing>({ kind: "paired", session }),
    claim: () => Promise.resolve(offline),
    redeem: () => Promise.resolve(offline),
    invite: () => Promise.resolve(offline),
    revoke: () => Promise.resolve(offline),
    addDemo: () => Promise.resolve(offline),
    sheets: () => Promise.resolve(offline),
  };
  const keeping: Keeping = {
    persisted: signal<boolean | null>(true),
    askToPersist: () => Promise.resolve(true),
    copyUnsent: () => Promise.resolve(new Blob(["{}"])),
    loadCopy: () => Promise.resolve(0),
  };
  const files: AppFiles = {
    offline: signal<OfflineState>({ kind: "ready" }),
    waiting: signal(false),
    version: "0.1.0",
    apply: () => true,
  };
  const intakes = () => Promise.resolve(silentIntakes());
  return {
    store, jotter: openJotter(null), intakes, photos, courier, membership, keeping, files, added,
    paged, held,
  };
}
