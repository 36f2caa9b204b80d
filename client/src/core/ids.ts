/** Ids of records: lower-case UUIDs. Randomness is passed in, never made here. */
import { v4, v5 } from "uuid";

/** Namespace of derived ids, fixed for ever; server/bagtrail/wire/records.py has the same. */
export const DERIVED_NAMESPACE = "6b0f5f0a-4a51-5c7e-9d0e-7a1d3c5b9e20";

/**
 * Id of a record that can exist only once for its parts (RFC 9562 version 5, name-based).
 * `parts`: the ids named by the type's `derived` in meta.ts, in that order.
 */
export function derivedId(type: string, ...parts: string[]): string {
  return v5([type, ...parts].join(":"), DERIVED_NAMESPACE);
}

/** A random id (RFC 9562 version 4) from 16 random bytes. */
export function randomId(randomBytes: Uint8Array): string {
  if (randomBytes.length < 16) throw new RangeError("16 random bytes are needed.");
  return v4({ random: randomBytes.slice(0, 16) });
}

/** Identity of a new clock from 8 random bytes: 16 lower-case hex digits. */
export function randomClock(randomBytes: Uint8Array): string {
  if (randomBytes.length < 8) throw new RangeError("8 random bytes are needed.");
  return [...randomBytes.slice(0, 8)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
