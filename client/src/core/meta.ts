/** What the wire says of each record type beside its fields; generated, see scripts/meta.mjs. */
import { RECORD_META as GENERATED } from "./meta.gen";
import type { RecordType } from "./records";

export interface RecordMeta {
  /** The field that names the kit or build the record belongs to; null: the workshop itself. */
  readonly scope: "kit" | "build" | null;
  /** Fields on which a clash is settled by the later write without asking. */
  readonly quiet: ReadonlySet<string>;
  /** Fields from which the id follows, in order; empty: the id is random. */
  readonly derived: readonly string[];
  /** Its name in plural, as in the server's paths. */
  readonly collection: string;
  /** Fields without which the record is not complete and not shown. */
  readonly required: readonly string[];
  /** Fields that hold ids of other records, and of which type. */
  readonly refs: Readonly<Record<string, string>>;
}

export const RECORD_META: Readonly<Record<RecordType, RecordMeta>> = GENERATED;

const BY_NAME: ReadonlyMap<string, RecordMeta> = new Map(Object.entries(RECORD_META));

/** Of any type that travels; undefined for one that only a newer server knows. */
export function metaOf(type: string): RecordMeta | undefined {
  return BY_NAME.get(type);
}
