/**
 * Lengths as a builder types them, and readings against what the manual asks for.
 * All lengths are kept in millimetres; 1 inch = 25.4 mm exactly (international inch, 1959).
 */

export type LengthUnit = "mm" | "inch";

export const MM_PER_INCH = 25.4;
/** Greatest length a record can hold, in mm (server/bagtrail/wire/records.py). */
export const LENGTH_MAX_MM = 100_000;
/** Lengths are compared in steps of 0.0001 mm: finer than any bench instrument, coarser than the
 * error of binary fractions. */
const STEPS_PER_MM = 10_000;

/**
 * Why a text is no length. `marks`: more than one decimal mark, so that it could be read two ways;
 * `range`: beyond 100 m; `zero`: divided by nothing.
 */
export type LengthSlip = "empty" | "characters" | "marks" | "range" | "zero";

export type Length =
  | { readonly mm: number; readonly unit: LengthUnit }
  | { readonly slip: LengthSlip };

const MINUS = /^[-\u2010-\u2015\u2212]/;
const BLANKS = /[\s\u00a0\u2007\u202f]+/g;
const UNIT = /(mm|in|inch|inches|["\u2033\u201d]|'')\.?$/i;
const DECIMAL = /^(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)$/;
const FRACTION = /^(?:([0-9]+)[ -])?([0-9]+)\/([0-9]+)$/;

/**
 * A typed length in mm. A comma is a decimal mark as a point is; a unit behind the number
 * (`mm`, `in`, `"`) goes before `unit`; fractions such as `1 3/8` are read in either unit.
 */
export function parseLength(text: string, unit: LengthUnit): Length {
  let rest = text.replace(BLANKS, " ").trim();
  if (!rest) return { slip: "empty" };
  const said = UNIT.exec(rest)?.[1]?.toLowerCase();
  if (said) rest = rest.replace(UNIT, "").trim();
  const sign = MINUS.test(rest) ? -1 : 1;
  rest = rest.replace(/^[-+\u2010-\u2015\u2212]/, "").trim();
  const meant = said === undefined ? unit : said === "mm" ? "mm" : "inch";

  const value = positive(rest);
  if (typeof value !== "number") return value;
  if (!Number.isFinite(value)) return { slip: "range" };
  const mm = roundMm(sign * value * (meant === "mm" ? 1 : MM_PER_INCH));
  return Math.abs(mm) > LENGTH_MAX_MM ? { slip: "range" } : { mm, unit: meant };
}

function positive(text: string): number | { slip: LengthSlip } {
  if (DECIMAL.test(text)) return Number(text.replace(",", "."));
  const fraction = FRACTION.exec(text);
  if (fraction) {
    const [, whole = "0", upper = "0", lower = "1"] = fraction;
    if (Number(lower) === 0) return { slip: "zero" };
    return Number(whole) + Number(upper) / Number(lower);
  }
  if (!/[0-9]/.test(text)) return { slip: text ? "characters" : "empty" };
  return { slip: /^[0-9.,' ]+$/.test(text) ? "marks" : "characters" };
}

/** What the manual asks for, in mm; `plus` and `minus` are how far off it may be, both from 0. */
export interface Target {
  readonly target: number;
  readonly plus?: number | null | undefined;
  readonly minus?: number | null | undefined;
}

export interface Judged {
  /** null: the manual gives no tolerance, so that only the difference can be told. */
  readonly verdict: "within" | "over" | "under" | null;
  /** How far beyond the limit, in mm; 0 within it. Never negative. */
  readonly byMm: number;
  /** Reading less target, in mm. */
  readonly offMm: number;
}

/**
 * A reading against its target. On the limit is within, and where a tolerance is given on one side
 * only the other is 0 (both common practice).
 */
export function judge(readingMm: number, { target, plus, minus }: Target): Judged {
  const off = steps(readingMm) - steps(target);
  const offMm = off / STEPS_PER_MM;
  if (plus == null && minus == null) return { verdict: null, byMm: 0, offMm };
  const over = off - steps(plus ?? 0);
  const under = -off - steps(minus ?? 0);
  if (over > 0) return { verdict: "over", byMm: over / STEPS_PER_MM, offMm };
  if (under > 0) return { verdict: "under", byMm: under / STEPS_PER_MM, offMm };
  return { verdict: "within", byMm: 0, offMm };
}

/** To the nearest 0.0001 mm, halves away from zero; never -0. */
export function roundMm(mm: number): number {
  return steps(mm) / STEPS_PER_MM;
}

/**
 * A length as text without its unit: mm with up to 3 decimals, inch with up to 4, no idle zeros.
 * `mark`: the decimal mark to write.
 */
export function formatLength(mm: number, unit: LengthUnit, mark: "." | "," = "."): string {
  const value = unit === "mm" ? mm : mm / MM_PER_INCH;
  const scale = unit === "mm" ? 1000 : 10_000;
  const rounded = Math.round(Math.abs(value) * scale + 1e-6) / scale;
  return (value < 0 && rounded > 0 ? "-" : "") + String(rounded).replace(".", mark);
}

function steps(mm: number): number {
  // Half a millionth of a step more: 2.00005 is stored as a little less than it says.
  return Math.sign(mm) * Math.round(Math.abs(mm) * STEPS_PER_MM + 1e-6) || 0;
}
