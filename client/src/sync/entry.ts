/**
 * One record in memory: what the server has of it, what this device has added, and how it is seen.
 */
import { overlay, shown, type Fields, type Head, type State } from "../core/merge";
import { metaOf } from "../core/meta";
import type { RecordType } from "../core/records";
import type { OutboxRow } from "../db/outbox";
import type { View } from "./types";

/** A change of this device that the mirror does not hold yet. */
export interface Pending {
  readonly row: OutboxRow;
  /** Where the server has put it; null: not sent, or not answered for. */
  readonly seq: number | null;
}

const NO_HEADS: readonly Head[] = [];
const NO_PENDING: readonly Pending[] = [];
const LOUD: ReadonlySet<string> = new Set();

export class Entry {
  #server: readonly Head[] = NO_HEADS;
  #pending: readonly Pending[] = NO_PENDING;
  #state: State | null = null;
  #view: View | null | undefined;

  constructor(
    readonly type: string,
    readonly id: string,
  ) {}

  get server(): readonly Head[] {
    return this.#server;
  }

  set server(heads: readonly Head[]) {
    this.#server = heads;
    this.#forget();
  }

  /** In order of writing. */
  get pending(): readonly Pending[] {
    return this.#pending;
  }

  set pending(pending: readonly Pending[]) {
    this.#pending = pending.length ? pending : NO_PENDING;
    this.#forget();
  }

  get state(): State {
    return (this.#state ??= this.#pending.length
      ? overlay(this.#server, this.#pending.map(({ row }) => row))
      : { heads: this.#server, ghosts: {} });
  }

  /** What was seen of it when a write was asked for: `ids`, and what this device wrote since. */
  seen(ids: ReadonlySet<string> | null): State {
    if (!ids) return this.state;
    const own = new Set(this.#pending.map(({ row }) => row.id));
    const heads = this.state.heads.filter(({ id }) => ids.has(id) || own.has(id));
    return { ...this.state, heads };
  }

  /** How it is seen; null if it is gone or not complete yet. */
  get view(): View | null {
    if (this.#view === undefined) this.#view = this.#look();
    return this.#view;
  }

  #look(): View | null {
    const meta = metaOf(this.type);
    const { values, clashes, gone, deleteAsked } = shown(this.state, meta?.quiet ?? LOUD);
    if (gone) return null;
    if (meta?.required.some((field) => values[field] === undefined || values[field] === null)) {
      return null;
    }
    return {
      type: this.type as RecordType,
      id: this.id,
      values: values as View["values"],
      clashes: clashes.map((clash) => ({ ...clash, others: [...clash.others] })),
      deleteAsked,
      unsent: this.#pending.some(({ seq }) => seq === null),
    };
  }

  #forget(): void {
    this.#state = null;
    this.#view = undefined;
  }
}

/** The kit or build that a record belongs to, by what is shown of it; "" for the workshop's own. */
export function scopeOf(type: string, heads: readonly Head[]): string {
  const field = metaOf(type)?.scope;
  const value = field ? lastOf(heads, field) : undefined;
  return typeof value === "string" ? value : "";
}

/** What a bag or a barcode is found by: its label code, its text. */
export function codeOf(type: string, heads: readonly Head[]): string | undefined {
  const field = type === "bag" ? "code" : type === "barcode" ? "text" : null;
  const value = field ? lastOf(heads, field) : undefined;
  return typeof value === "string" ? value : undefined;
}

function lastOf(heads: readonly Head[], field: string): unknown {
  for (let i = heads.length - 1; i >= 0; i -= 1) {
    const set: Fields | undefined = heads[i]?.set;
    if (set && Object.hasOwn(set, field)) return set[field];
  }
  return undefined;
}

