/** What this browser remembers of itself: the workshops it was paired to, and which one is open. */
import type { DBSchema } from "idb";
import { Door, type Plan, type Watcher } from "./door";

/** A pairing as remembered, so that the app starts without a network. */
export interface Pairing {
  readonly workshop: { readonly id: string; readonly name: string };
  readonly device: { readonly id: string; readonly name: string; readonly clock: string };
  readonly publicUrl: string;
}

interface ProfileSchema extends DBSchema {
  pairings: { key: string; value: Pairing };
  meta: { key: "current"; value: string };
}

const plan: Plan<ProfileSchema> = {
  name: "bagtrail",
  durability: "strict",
  upgrades: [
    (db) => {
      db.createObjectStore("pairings");
      db.createObjectStore("meta");
    },
  ],
};

export class Profile {
  readonly #door: Door<ProfileSchema>;

  constructor(tell?: Watcher) {
    this.#door = new Door(plan, tell);
  }

  /** The pairing of the open workshop, or null. */
  current(): Promise<Pairing | null> {
    return this.#door.read(["pairings", "meta"], async (tx) => {
      const id = await tx.objectStore("meta").get("current");
      return (id !== undefined && (await tx.objectStore("pairings").get(id))) || null;
    });
  }

  /** Remembers a pairing and opens its workshop. */
  async remember(pairing: Pairing): Promise<void> {
    await this.#door.write(["pairings", "meta"], async (tx) => {
      await tx.objectStore("pairings").put(pairing, pairing.workshop.id);
      await tx.objectStore("meta").put(pairing.workshop.id, "current");
    });
  }

  close(): Promise<void> {
    return this.#door.close();
  }
}
