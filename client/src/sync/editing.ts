/**
 * Edits of a kit, one after the other, each with its way back. The stack of a kit lasts as long as
 * the app is open, so that going from screen to screen of the editor loses none of it.
 */
import { signal, type ReadonlySignal } from "@preact/signals";
import {
  NO_EDITS,
  again,
  backwards,
  deedsOf,
  forwards,
  pushed,
  redone,
  undone,
  type Edit,
  type Left,
  type Look,
  type RecordName,
  type Stack,
  type Writing,
} from "../core/undo";
import type { RecordType } from "../core/records";
import type { Draft, Store, View } from "./types";

export interface EditOptions {
  /** What was done, in words: said now, and again when it is taken back. */
  said: string;
  remove?: readonly RecordName[] | undefined;
  together?: boolean | undefined;
}

/** What became of undo or redo. */
export interface TakenBack {
  edit: Edit;
  /** What somebody else wrote meanwhile and that was left as it is. */
  left: readonly Left[];
}

export class Editing {
  readonly #stack = signal<Stack>(NO_EDITS);
  #turns: Promise<unknown> = Promise.resolve();

  constructor(readonly store: Store) {}

  get stack(): ReadonlySignal<Stack> {
    return this.#stack;
  }

  /**
   * Writes an edit; resolves to what it did, or null if all of it stood already. Rejects with
   * StorageFailure, nothing saved.
   */
  edit(drafts: readonly Draft[], options: EditOptions): Promise<Edit | null> {
    return this.#turn(async () => {
      const deeds = deedsOf({ drafts, remove: options.remove ?? [] }, this.#look);
      if (deeds.length === 0) return null;
      const edit = { said: options.said, deeds, together: options.together ?? false };
      await this.#write(forwards(deeds), edit.together);
      this.#stack.value = pushed(this.#stack.value, edit);
      return edit;
    });
  }

  /** Takes the latest edit back; null: there is none. */
  undo(): Promise<TakenBack | null> {
    return this.#turn(async () => {
      const edit = this.#stack.value.done.at(-1);
      if (!edit) return null;
      const { left, ...writing } = backwards(edit, this.#look);
      await this.#write(writing, edit.together);
      this.#stack.value = undone(this.#stack.value);
      return { edit, left };
    });
  }

  /** Does once more what was taken back last; null: there is nothing. */
  redo(): Promise<TakenBack | null> {
    return this.#turn(async () => {
      const edit = this.#stack.value.undone.at(-1);
      if (!edit) return null;
      const { left, ...writing } = again(edit, this.#look);
      await this.#write(writing, edit.together);
      this.#stack.value = redone(this.#stack.value);
      return { edit, left };
    });
  }

  readonly #look: Look = (type, id) => this.store.get(type as RecordType, id)?.values;

  async #write({ drafts, remove }: Writing, together: boolean): Promise<void> {
    const views = remove
      .map(({ type, id }) => this.store.get(type as RecordType, id) as View | undefined)
      .filter((view) => view !== undefined);
    if (drafts.length + views.length === 0) return;
    const several = together && drafts.length + views.length > 1;
    await this.store.write(drafts as readonly Draft[], {
      remove: views,
      ...(several ? { together } : {}),
    });
  }

  /** One after the other, so that each sees what the one before has written. */
  #turn<R>(work: () => Promise<R>): Promise<R> {
    const turn = this.#turns.then(work);
    this.#turns = turn.catch(() => undefined);
    return turn;
  }
}

const known = new WeakMap<Store, Map<string, Editing>>();

/** The edits of a kit since the app was opened. */
export function editingOf(store: Store, kit: string): Editing {
  let kits = known.get(store);
  if (!kits) known.set(store, (kits = new Map()));
  let editing = kits.get(kit);
  if (!editing) kits.set(kit, (editing = new Editing(store)));
  return editing;
}
