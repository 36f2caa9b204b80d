/** What a person types into a field of a record: numbers and text within the wire's bounds. */
import { KIT_FIELDS, type FieldKind } from "./kit-fields";
import { type LengthUnit, parseLength } from "./numbers";

/**
 * Why a text cannot be kept. `marks`: more than one decimal mark, or a mark that may be for
 * thousands; `whole`: no whole number; `range`: see `least`, `most`; `long`: more than `most`
 * characters.
 */
export interface Slip {
  readonly slip: "missing" | "characters" | "marks" | "whole" | "range" | "long" | "zero";
  readonly least?: number;
  readonly most?: number;
}

export type Typed = { readonly value: unknown } | Slip;

const BLANKS = /[\s\u00a0\u2007\u202f]+/g;
const MINUS = /^[\u2010-\u2015\u2212]/;
const CONTROLS = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/g;

/** A number with a point or a comma before decimals; blanks between digits are passed over. */
export function parseNumber(text: string, least: number, most: number, whole: boolean): Typed {
  const bare = text.replace(BLANKS, "").replace(MINUS, "-");
  if (!bare) return { value: null };
  if (!/^[-+]?(?:\d+[.,]?\d*|[.,]\d+)$/.test(bare)) {
    return { slip: /\d/.test(bare) && /^[-+\d.,']+$/.test(bare) ? "marks" : "characters" };
  }
  const value = Number(bare.replace(",", ".")) + 0;
  if (whole && !Number.isInteger(value)) return { slip: "whole" };
  return value < least || value > most ? { slip: "range", least, most } : { value: value || 0 };
}

/** Text as it is kept: without control characters, lone surrogates or blanks at its ends. */
export function parseText(text: string, most: number): Typed {
  const bare = text
    .replace(/\r\n?/g, "\n")
    .replace(CONTROLS, "")
    .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, "\ufffd")
    .trim();
  // As the server counts: by character, not by code unit.
  return [...bare].length > most ? { slip: "long", most } : { value: bare || null };
}

/**
 * What was typed for a field that holds text, a number or a length (in `unit`). Throws RangeError
 * for a field that is not typed.
 */
export function parseField(type: string, field: string, text: string, unit: LengthUnit = "mm"): Typed {
  const kind: FieldKind | undefined = KIT_FIELDS[type]?.[field];
  if (!kind) throw new RangeError(`${type}.${field} is not typed`);
  const typed = parseKind(kind, text, unit);
  return kind.required && "value" in typed && typed.value === null ? { slip: "missing" } : typed;
}

function parseKind(kind: FieldKind, text: string, unit: LengthUnit): Typed {
  if (kind.kind === "text") return parseText(text, kind.most);
  if (kind.kind === "number") return parseNumber(text, kind.least, kind.most, kind.whole ?? false);
  const length = parseLength(text, unit);
  if ("slip" in length) {
    if (length.slip === "empty") return { value: null };
    return length.slip === "range"
      ? { slip: "range", least: kind.least, most: kind.most }
      : { slip: length.slip };
  }
  return length.mm < kind.least || length.mm > kind.most
    ? { slip: "range", least: kind.least, most: kind.most }
    : { value: length.mm };
}
