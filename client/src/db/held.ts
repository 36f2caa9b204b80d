/**
 * Pictures that are being worked on and are no record yet: kept as they came from the camera, so
 * that a page killed behind it, or a reload, loses none.
 */
import type { DBSchema } from "idb";
import { Door, type Plan, type Watcher } from "./door";
import type { Picture } from "./pictures";

interface HeldSchema extends DBSchema {
  pictures: { key: string; value: Picture };
}

const plan = (workshop: string): Plan<HeldSchema> => ({
  name: `bagtrail-${workshop}-held`,
  durability: "strict",
  upgrades: [(db) => void db.createObjectStore("pictures")],
});

export class Held {
  readonly #door: Door<HeldSchema>;

  constructor(workshop: string, tell?: Watcher) {
    this.#door = new Door(plan(workshop), tell);
  }

  /** Keeps a picture under a name, in place of another. Rejects with StorageFailure. */
  async put(name: string, picture: Picture): Promise<void> {
    await this.#door.write(["pictures"], (tx) => tx.objectStore("pictures").put(picture, name));
  }

  get(name: string): Promise<Picture | undefined> {
    return this.#door.read(["pictures"], (tx) => tx.objectStore("pictures").get(name));
  }

  drop(name: string): Promise<void> {
    return this.#door.write(["pictures"], (tx) => tx.objectStore("pictures").delete(name));
  }

  close(): Promise<void> {
    return this.#door.close();
  }
}
