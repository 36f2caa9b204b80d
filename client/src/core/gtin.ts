/**
 * Numbers in the makers' own barcodes (GTIN: EAN and UPC), and what of a barcode is kept.
 *
 * Source: GS1 General Specifications: check digit, a GTIN of any length as 14 digits with zeros
 * before it, zero suppression of UPC-E. Vectors: tests/contract/gtin.json.
 */
import type { RecordFields } from "./records";

export type Symbology = NonNullable<RecordFields["barcode"]["symbology"]>;

/** What is kept of a barcode: its text in its one spelling. Symbology null: typed, not read. */
export interface Barcode {
  readonly text: string;
  readonly symbology: Symbology | null;
}

/** Longest text that a record takes, in characters (wire/records.py). */
export const TEXT_MAX = 300;
const LENGTHS: ReadonlySet<number> = new Set([8, 12, 13, 14]);
/** Line ends and separators of fields: no record's text has them (wire/fields.py). */
const CONTROL = /[\u0000-\u001f\u007f-\u009f]+/g;
const GTIN_KINDS: ReadonlySet<Symbology> = new Set(["ean_13", "ean_8", "upc_a", "upc_e"]);

/** Check digit of `data`, digits only: weights 3 and 1 from the right. RangeError for others. */
export function checkDigit(data: string): string {
  if (!/^[0-9]+$/.test(data)) throw new RangeError(`Not digits: ${data}`);
  const sum = [...data]
    .reverse()
    .reduce((total, digit, at) => total + Number(digit) * (at % 2 ? 1 : 3), 0);
  return String((10 - (sum % 10)) % 10);
}

/** A GTIN of 8, 12, 13 or 14 digits as 14; null if it is none or its check digit is wrong. */
export function gtin14(digits: string): string | null {
  if (!LENGTHS.has(digits.length) || !/^[0-9]+$/.test(digits)) return null;
  return checkDigit(digits.slice(0, -1)) === digits.slice(-1) ? digits.padStart(14, "0") : null;
}

/** The 12 digits of a UPC-E's 8 (a zero, six digits, check digit); null if it is none. */
export function expandUpcE(digits: string): string | null {
  if (!/^0[0-9]{7}$/.test(digits)) return null;
  const six = digits.slice(1, 7);
  const last = six.charAt(5);
  const body =
    last <= "2"
      ? `${six.slice(0, 2)}${last}0000${six.slice(2, 5)}`
      : last === "3"
        ? `${six.slice(0, 3)}00000${six.slice(3, 5)}`
        : last === "4"
          ? `${six.slice(0, 4)}00000${six.slice(4, 5)}`
          : `${six.slice(0, 5)}0000${last}`;
  const full = `0${body}${digits.slice(7)}`;
  return gtin14(full) === null ? null : full;
}

/**
 * What to keep and look up of a symbol that was read, or null: a GTIN whose check digit is wrong
 * was misread, an empty text says nothing, and one of more than `TEXT_MAX` is not kept.
 */
export function barcodeOf(text: string, symbology: Symbology): Barcode | null {
  if (!GTIN_KINDS.has(symbology)) {
    const kept = text.replace(CONTROL, " ").trim();
    return kept === "" || kept.length > TEXT_MAX ? null : { text: kept, symbology };
  }
  const gtin = gtin14(symbology === "upc_e" && text.length === 8 ? (expandUpcE(text) ?? "") : text);
  return gtin === null ? null : { text: gtin, symbology };
}

/** Blanks and dashes that are typed between digits. */
const BETWEEN = /[\s\u00ad\u2007\u200b\u202f\ufeff\u2010-\u2015\u2212-]/g;

/** The digits of a typed text, if it has nothing else and is too long for less than a barcode. */
export function typedDigits(text: string): string | null {
  const digits = text.replace(BETWEEN, "");
  return /^[0-9]{8,}$/.test(digits) ? digits : null;
}

/**
 * The GTINs that typed digits can mean, likeliest first: eight may be an EAN-8 or a UPC-E. Empty:
 * none, or a slip.
 */
export function typedGtins(text: string): string[] {
  const digits = typedDigits(text) ?? "";
  const found = [gtin14(digits), gtin14(expandUpcE(digits) ?? "")];
  return [...new Set(found.filter((gtin) => gtin !== null))];
}

/** As it is printed below the bars: without the zeros that fill a GTIN up to 14 digits. */
export function barcodeInClear({ text, symbology }: Barcode): string {
  const gtin = /^[0-9]{14}$/.test(text) && (symbology === null || GTIN_KINDS.has(symbology));
  if (!gtin) return text;
  if (symbology === "ean_8") return text.slice(6);
  if (symbology === "upc_a" || symbology === "upc_e") return text.slice(2);
  if (symbology === "ean_13") return text.slice(1);
  // Typed: the shortest of the lengths there are.
  const length = [8, 12, 13].find((most) => /^0*$/.test(text.slice(0, 14 - most)));
  return text.slice(14 - (length ?? 14));
}
