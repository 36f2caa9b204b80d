/** A code as a thumb types it: grouped by four, its slips said at once. */
import { ALPHABET, LENGTH, normalise, SEPARATORS, type Slip } from "../core/codes";
import { typedDigits, typedGtins } from "../core/gtin";

/** Where a typed code went wrong. `at` counts characters from 1, separators left out. */
export type TypedSlip =
  | { reason: "character"; character: string; at: number }
  | { reason: "length"; has: number; needs: number }
  /** The check character disagrees: one is misread, or two are swapped; no telling which. */
  | { reason: "check" }
  /** Digits only, more than a label has: a barcode's, but not so many as one has. */
  | { reason: "digits"; has: number }
  /** The check digit of a barcode's number disagrees. */
  | { reason: "gtin" };

/** Digits that a barcode's number has (GTIN). */
const GTIN_LENGTHS: readonly number[] = [8, 12, 13, 14];

/** The characters that count, without what is put between them. */
const bareOf = (text: string): string[] => [...text].filter((each) => !SEPARATORS.includes(each));

/** Where a typed text is wrong, or null if it can be a code. Says length last: typing goes on. */
export function typedSlip(text: string): TypedSlip | null {
  const read = normalise(text);
  return "code" in read || typedGtins(text).length > 0 ? null : slipOf(text, read.slip);
}

/** Whether a text can become right by typing on: then nothing is said of it before it is sent. */
export function onTheWay(text: string, slip: TypedSlip): boolean {
  const has = typedDigits(text)?.length;
  if (has !== undefined) return has < 13;
  return slip.reason === "length" && slip.has < slip.needs;
}

/** The slip that `normalise` found in `text`, with its place. */
export function slipOf(text: string, slip: Slip): TypedSlip {
  const bare = bareOf(text);
  const has = typedDigits(text)?.length ?? 0;
  if (has > LENGTH) return GTIN_LENGTHS.includes(has) ? { reason: "gtin" } : { reason: "digits", has };
  if (slip.reason === "character" && slip.character !== undefined) {
    const { character } = slip;
    return { reason: "character", character, at: bare.indexOf(character) + 1 };
  }
  if (slip.reason === "length") return { reason: "length", has: bare.length, needs: LENGTH };
  return { reason: "check" };
}

/** Codes of this length with a right check character that are one slip away from a wrong one. */
export function oneSlipAway(text: string): string[] {
  const typed = bareOf(text.toUpperCase());
  if (typed.length !== LENGTH) return [];
  const tries = new Set<string>();
  typed.forEach((_, at) => {
    for (const character of ALPHABET) tries.add(typed.with(at, character).join(""));
    const next = typed[at + 1];
    const here = typed[at];
    if (next !== undefined && here !== undefined) {
      tries.add(typed.with(at, next).with(at + 1, here).join(""));
    }
  });
  const codes = new Set<string>();
  for (const each of tries) {
    const read = normalise(each);
    if ("code" in read) codes.add(read.code);
  }
  return [...codes].sort();
}

/**
 * What the field shows after typing: capitals in two groups of four, as printed; a barcode's number
 * in one. Only what is
 * added at the end is regrouped; while the middle is mended, the caret must not be thrown about.
 */
export function grouped(before: string, now: string): string {
  if (!now.startsWith(before) || now.includes("/")) return now;
  const bare = bareOf(now.toUpperCase()).join("");
  // A barcode's number is not printed in fours.
  if (bare.length > LENGTH && typedDigits(bare)) return bare;
  return bare.length > 4 ? `${bare.slice(0, 4)}-${bare.slice(4)}` : bare;
}
