/**
 * The one way to a database of this browser: opened when first needed, opened again when the
 * browser has closed it, with numbered upgrades, and writes that settle only when their transaction
 * has.
 */
import {
  openDB,
  type DBSchema,
  type IDBPDatabase,
  type IDBPTransaction,
  type StoreNames,
} from "idb";
import { failureOf, isDead, StorageFailure } from "./failure";

/**
 * Brings a database from version `n` (its place in the list) to `n + 1`. Never edited once
 * released.
 */
export type Upgrade<S extends DBSchema> = (
  db: IDBPDatabase<S>,
  transaction: IDBPTransaction<S, StoreNames<S>[], "versionchange">,
) => void;

export interface Plan<S extends DBSchema> {
  readonly name: string;
  readonly upgrades: readonly Upgrade<S>[];
  /** `strict` waits until the system says that it is on the disk; for what exists nowhere else. */
  readonly durability: "strict" | "relaxed";
}

/** Told when another tab is in the way (`blocked`), and when it no longer is (`null`). */
export type Watcher = (trouble: "blocked" | null) => void;

interface Opening<S extends DBSchema> {
  readonly db: Promise<IDBPDatabase<S>>;
  /** Rejects while another tab holds an older form open; never resolves. */
  readonly blocked: Promise<never>;
}

export class Door<S extends DBSchema> {
  #opening: Opening<S> | null = null;
  #outdated = false;
  #closed = false;

  constructor(
    readonly plan: Plan<S>,
    readonly tell: Watcher = () => undefined,
  ) {}

  /** Runs `body` in a transaction for reading. `body` awaits nothing but its own requests. */
  read<N extends StoreNames<S>, R>(
    stores: readonly N[],
    body: (tx: IDBPTransaction<S, N[], "readonly">) => Promise<R>,
  ): Promise<R> {
    return this.#run((db) => db.transaction([...stores], "readonly"), body);
  }

  /**
   * Runs `body` in a transaction for writing. Resolves when it is complete; rejects when it failed
   * or was aborted, and then nothing of it is kept. `body` may run a second time if the connection
   * died, so it changes nothing but the database.
   */
  write<N extends StoreNames<S>, R>(
    stores: readonly N[],
    body: (tx: IDBPTransaction<S, N[], "readwrite">) => Promise<R>,
  ): Promise<R> {
    const { durability } = this.plan;
    return this.#run((db) => db.transaction([...stores], "readwrite", { durability }), body);
  }

  /** Lets go of the connection for good. */
  async close(): Promise<void> {
    this.#closed = true;
    const opening = this.#opening;
    this.#opening = null;
    if (opening) (await opening.db.catch(() => null))?.close();
  }

  async #run<T extends Transaction, R>(
    begin: (db: IDBPDatabase<S>) => T,
    body: (tx: T) => Promise<R>,
  ): Promise<R> {
    for (let attempt = 0; ; attempt += 1) {
      if (this.#closed) throw new StorageFailure("lost");
      if (this.#outdated) throw new StorageFailure("blocked");
      const opening = (this.#opening ??= this.#open());
      try {
        const db = await Promise.race([opening.db, opening.blocked]);
        return await settle(begin(db), body);
      } catch (error) {
        // A transaction that did not complete has kept nothing, so that once more is safe.
        if (attempt === 0 && isDead(error) && (await this.#isDown(opening))) {
          this.#forget(opening);
          continue;
        }
        throw failureOf(error);
      }
    }
  }

  /** Whether the connection can start no more transactions. */
  async #isDown(opening: Opening<S>): Promise<boolean> {
    if (this.#opening !== opening) return true;
    try {
      const db = await opening.db;
      await db.transaction([...db.objectStoreNames], "readonly").done;
      return false;
    } catch {
      return true;
    }
  }

  #forget(opening: Opening<S> | null): void {
    if (this.#opening === opening) this.#opening = null;
  }

  #open(): Opening<S> {
    const { name, upgrades } = this.plan;
    let self: Opening<S> | null = null;
    let wasBlocked = false;
    let block: (failure: StorageFailure) => void = () => undefined;
    const blocked = new Promise<never>((_, reject) => (block = reject));
    blocked.catch(() => undefined);
    const db = openDB<S>(name, upgrades.length, {
      upgrade: (database, from, to, tx) => {
        for (const upgrade of upgrades.slice(from, to ?? undefined)) upgrade(database, tx);
      },
      blocked: () => {
        // Whoever waits is told now, not when the other tab is closed.
        wasBlocked = true;
        block(new StorageFailure("blocked"));
        this.tell("blocked");
      },
      blocking: (_current, wanted, event) => {
        // A newer app wants to upgrade: never hold it up, and do not open the old form again.
        (event.target as IDBDatabase).close();
        this.#forget(self);
        if (wanted !== null) {
          this.#outdated = true;
          this.tell("blocked");
        }
      },
      terminated: () => this.#forget(self),
    });
    db.then(
      () => {
        if (wasBlocked) this.tell(null);
      },
      () => this.#forget(self),
    );
    self = { db, blocked };
    return self;
  }
}

interface Transaction {
  readonly done: Promise<void>;
  abort(): void;
}

async function settle<T extends Transaction, R>(tx: T, body: (tx: T) => Promise<R>): Promise<R> {
  let result: R;
  try {
    result = await body(tx);
  } catch (error) {
    try {
      tx.abort();
    } catch {
      // It has aborted by itself.
    }
    // Wait until it is certain that nothing was kept; its own reason (quota) says more than ours.
    const reason = await tx.done.then(() => null, (cause: unknown) => cause);
    throw reason !== null && isDead(error) ? reason : error;
  }
  await tx.done;
  return result;
}
