/**
 * Codes of labels: short texts that a person can read, type and check.
 *
 * Eight characters of Crockford's base 32: two say which workshop printed it, five are random, one
 * is a check character by ISO/IEC 7064, MOD 37,36. Twin: server/bagtrail/trade/codes.py;
 * both run tests/contract/codes.json.
 */
import { sha256 } from "@noble/hashes/sha2.js";

/** Crockford's base 32: digits and capitals without I, L, O (look like 1, 1, 0) and U. */
export const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
export const LENGTH = 8;
export const RANDOM_BITS = 25;

/** A check character can be one that base 32 has not; such a code is never issued. */
const CHECK_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const LOOKS_LIKE: ReadonlyMap<string, string> = new Map([["O", "0"], ["I", "1"], ["L", "1"]]);
/** Blanks and dashes that keyboards, clipboards and 'smart' punctuation put into a code. */
export const SEPARATORS =
  "\t\n\r \u00a0\u00ad\u2007\u200b\u202f\ufeff-\u2010\u2011\u2012\u2013\u2014\u2015\u2212";

// Scheme and host may be missing and are never believed: a sticker outlives its server's address.
const LABEL_TEXT =
  /^(?:(?:[a-z][a-z0-9+.-]*:)?\/\/)?[^/?#\s]*\/b\/([^/?#]+)\/?(?:[?#].*)?$/i;
const UUID = /^[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}$/;

/** Why a text is no code. `character`: the first one that no code has, if that is why. */
export interface Slip {
  readonly reason: "length" | "character" | "check" | "foreign";
  readonly character?: string;
}

export type Read = { readonly code: string } | { readonly slip: Slip };

/**
 * Check character of `text` (digits and capitals) by ISO/IEC 7064:2003, MOD 37,36.
 * Throws RangeError for other characters.
 */
export function checkCharacter(text: string): string {
  let product = 36;
  for (const character of text) {
    const value = CHECK_ALPHABET.indexOf(character);
    if (value < 0) throw new RangeError(`Not a digit or capital: ${character}`);
    product = (((product + value) % 36 || 36) * 2) % 37;
  }
  return CHECK_ALPHABET.charAt((37 - product) % 36);
}

/** Two characters: the first 10 bits of SHA-256 of the workshop's id. RangeError if no UUID. */
export function workshopTag(workshopId: string): string {
  const id = workshopId.toLowerCase();
  if (!UUID.test(id)) throw new RangeError(`Not a UUID: ${workshopId}`);
  const [first = 0, second = 0] = sha256(Uint8Array.from(id, (c) => c.charCodeAt(0)));
  const bits = ((first << 8) | second) >> 6;
  return ALPHABET.charAt(bits >> 5) + ALPHABET.charAt(bits & 31);
}

/**
 * The code that `random` (0 to 2^25 - 1) makes, or null if its check character is unusable.
 * Throws RangeError if `random` is out of range.
 */
export function codeFrom(workshopId: string, random: number): string | null {
  if (!Number.isInteger(random) || random < 0 || random >= 2 ** RANDOM_BITS) {
    throw new RangeError(`random must be 0 to ${2 ** RANDOM_BITS - 1}, not ${random}`);
  }
  const middle = [20, 15, 10, 5, 0].map((shift) => ALPHABET.charAt((random >> shift) & 31));
  const body = workshopTag(workshopId) + middle.join("");
  const check = checkCharacter(body);
  return ALPHABET.includes(check) ? body + check : null;
}

/**
 * A code that is not `taken`. `draw` gives a random whole number of at least 25 bits each time.
 * Throws RangeError after 1,000 draws: `draw` is not random, or the workshop is full.
 */
export function newCode(
  workshopId: string,
  draw: () => number,
  taken: ReadonlySet<string> = new Set(),
): string {
  for (let tries = 0; tries < 1000; tries += 1) {
    const code = codeFrom(workshopId, draw() & (2 ** RANDOM_BITS - 1));
    if (code !== null && !taken.has(code)) return code;
  }
  throw new RangeError("1,000 draws gave no free code");
}

/** As printed beside the symbol: two groups of four, `7K3Q-XWMW`. */
export function inClear(code: string): string {
  return `${code.slice(0, 4)}-${code.slice(4)}`;
}

/**
 * The code that a person typed, or why it is none. Forgives lower case, blanks, dashes, and O for
 * 0, I and L for 1. A character that no code has is reported before a wrong length, so that typing
 * can be corrected on the way.
 */
export function normalise(text: string): Read {
  let code = "";
  for (const character of text) {
    if (SEPARATORS.includes(character)) continue;
    // Only ASCII has capitals here: a dotless i or a long s must not become part of a code.
    const capital = /^[a-z]$/.test(character) ? character.toUpperCase() : character;
    const meant = LOOKS_LIKE.get(capital) ?? capital;
    if (!ALPHABET.includes(meant)) return { slip: { reason: "character", character } };
    code += meant;
  }
  if (code.length !== LENGTH) return { slip: { reason: "length" } };
  if (checkCharacter(code.slice(0, -1)) !== code.slice(-1)) return { slip: { reason: "check" } };
  return { code };
}

/**
 * The code in a scanned text, or the slip `foreign`. A label says `https://HOST/B/CODE`; scheme and
 * host may be any or missing, and the code may stand alone. Nothing else of the text is used.
 */
export function codeOf(text: string): Read {
  const bare = strip(text);
  const read = normalise(LABEL_TEXT.exec(bare)?.[1] ?? bare);
  return "code" in read ? read : { slip: { reason: "foreign" } };
}

/** Whether a code was printed by this workshop; one in 1,024 of another's looks like ours. */
export function sameWorkshop(code: string, workshopId: string): boolean {
  return code.slice(0, 2) === workshopTag(workshopId);
}

function strip(text: string): string {
  let from = 0;
  let to = text.length;
  while (from < to && SEPARATORS.includes(text.charAt(from))) from += 1;
  while (to > from && SEPARATORS.includes(text.charAt(to - 1))) to -= 1;
  return text.slice(from, to);
}
