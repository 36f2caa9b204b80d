/**
 * An intake: a table, a pasted list or a manual on its way into a kit. Its shapes as the server
 * says them (server/bagtrail/wire/intake.py), and the small sums about them. Pure.
 */
import type { Frame } from "./frames";

export const KINDS = ["table", "text", "manual"] as const;
export type IntakeKind = (typeof KINDS)[number];

/** Bytes that each may have at most (server/bagtrail/wire/intake.py, KINDS). */
export const BYTES_MAX: Readonly<Record<IntakeKind, number>> = {
  table: 25_000_000,
  text: 1_000_000,
  manual: 100_000_000,
};

export const STATES = ["reading", "ready", "stopped", "failed", "taken"] as const;
export type IntakeState = (typeof STATES)[number];

/** What a finding can be. */
export const WHATS = ["section", "bag", "step", "operation", "part", "part_line"] as const;
export type What = (typeof WHATS)[number];

/** What a column of a table can be. */
export const COLUMNS = [
  "section.title", "bag.number", "bag.title", "step.number", "step.title", "step.text",
  "step.minutes", "step.bags", "operation.text", "part.number", "part.name",
  "part.designation", "part.material", "part.quantity", "part.text",
] as const; // prettier-ignore
export type ColumnField = (typeof COLUMNS)[number];

/** Why not, in words of the server (RFC 9457). */
export interface IntakeProblem {
  readonly type: string;
  readonly title: string;
  readonly detail?: string;
}

export interface Column {
  /** From 0. */
  readonly at: number;
  readonly heading: string;
  readonly samples: readonly string[];
  readonly field: ColumnField | null;
  /** 0 to 1. */
  readonly sure: number;
}

/** How a table is read. */
export interface Layout {
  readonly sheets: readonly string[];
  readonly sheet: string;
  /** From 1; 0: none. */
  readonly headingRow: number;
  readonly decimal: "." | ",";
  readonly columns: readonly Column[];
  readonly rows: number;
  readonly remembered: boolean;
}

/** Another way to read it; what is left out stays. */
export interface LayoutChange {
  readonly sheet?: string;
  readonly heading_row?: number;
  readonly decimal?: "." | ",";
  readonly columns?: readonly (ColumnField | null)[];
}

export interface Intake {
  readonly id: string;
  readonly kind: IntakeKind;
  /** Of its file. */
  readonly name: string;
  /** That it is for; null: a new one. */
  readonly kit: string | null;
  readonly state: IntakeState;
  /** Pages of a manual or rows of a table that are read, and that there are. */
  readonly done: number;
  readonly total: number;
  readonly problem: IntakeProblem | null;
  readonly layout: Layout | null;
  /** Findings that would be taken. */
  readonly counts: Readonly<Partial<Record<What, number>>>;
  /** Findings that wait for an answer. */
  readonly asking: number;
  /** Rows and cells that could not be read. */
  readonly unfit: number;
}

export interface Question {
  readonly field: string;
  readonly says: string;
  readonly options: readonly unknown[];
}

export type Values = Readonly<Record<string, unknown>>;

export interface Finding {
  readonly id: number;
  readonly what: What;
  readonly page: number | null;
  readonly row: number | null;
  readonly frame: Frame | null;
  /** What was read. */
  readonly text: string;
  readonly values: Values;
  /** 0 to 1. */
  readonly sure: number;
  readonly asks: readonly Question[];
  readonly leftOut: boolean;
  readonly corrected: boolean;
}

export interface FindingsPage {
  readonly items: readonly Finding[];
  /** To be asked for the next ones; null: there are none. */
  readonly next: number | null;
}

export interface FindingsQuery {
  readonly after?: number;
  readonly limit?: number;
  readonly page?: number;
  readonly what?: What;
  readonly asking?: boolean;
}

export interface Correction {
  readonly id: number;
  /** All of them; answers every question. */
  readonly values?: Values;
  readonly frame?: Frame;
  readonly left_out?: boolean;
  /** Takes all back that was said of it: it is and asks again what the reader had found. */
  readonly as_read?: boolean;
}

export interface NewFinding {
  readonly what: What;
  readonly page?: number;
  readonly frame?: Frame;
  readonly values: Values;
}

export interface Corrections {
  readonly changed?: readonly Correction[];
  readonly added?: readonly NewFinding[];
}

export interface Unfit {
  readonly file: string;
  readonly sheet: string | null;
  readonly row: number;
  readonly column: string | null;
  readonly text: string;
  readonly reason: string;
}

export interface UnfitPage {
  readonly items: readonly Unfit[];
  readonly total: number;
}

export interface ManualPage {
  readonly number: number;
  readonly blob: string | null;
  readonly widthPx: number | null;
  readonly heightPx: number | null;
  readonly hasText: boolean;
  readonly steps: number;
  readonly asking: number;
  readonly problem: IntakeProblem | null;
}

/** What came of taking it in. */
export interface Taken {
  readonly kit: string;
  readonly build: string | null;
  /** Records by type. */
  readonly made: Readonly<Record<string, number>>;
  readonly changed: Readonly<Record<string, number>>;
  readonly clashes: number;
  readonly left: number;
}

export interface Taking {
  readonly kit?: string;
  readonly name?: string;
  /** Whether a manual's pages are kept as pictures. */
  readonly pages?: boolean;
}

// ---- small sums ----

/** How sure a reader is, in three steps; a question always asks to be looked at. */
export type Sureness = "sure" | "likely" | "look";

export function sureness({ sure, asks }: Pick<Finding, "sure" | "asks">): Sureness {
  if (asks.length > 0 || sure < 0.6) return "look";
  return sure < 0.9 ? "likely" : "sure";
}

/** Whether it only waits to be called right: it asks nothing, but its reader is not sure of it. */
export function unsure(one: Finding): boolean {
  return !one.leftOut && !one.corrected && one.asks.length === 0 && sureness(one) !== "sure";
}

/** Why a file is none of the kind that was asked for; `kind`: what it is instead, if we know. */
export interface FileSlip {
  readonly why: "empty" | "large" | "pdf" | "table" | "picture" | "oldTable" | "other";
  readonly kind: IntakeKind | null;
}

/**
 * What is plainly wrong with a file, by its name, size and first bytes; null: let the server see.
 * Source of the signatures: ISO 32000-1, 7.5.2 (`%PDF-`); PKWARE's APPNOTE, 4.3.7 (zip, which
 * ISO/IEC 29500 tables are); RFC 2083, 3.1 (PNG); ITU-T T.81, B.1.1.3 (JPEG).
 */
export function fileSlip(
  kind: IntakeKind,
  name: string,
  sizeBytes: number,
  head: Uint8Array,
): FileSlip | null {
  if (sizeBytes === 0) return { why: "empty", kind: null };
  const is = contentOf(head);
  if (is === "pdf" && kind !== "manual") return { why: "pdf", kind: "manual" };
  if (is === "picture") return { why: "picture", kind: null };
  if (is === "oldTable") return { why: "oldTable", kind: null };
  const table = (is === "zip" && /\.xlsx$/i.test(name)) || (is === "text" && /\.(csv|tsv)$/i.test(name));
  if (kind === "manual" && is !== "pdf") {
    return table ? { why: "table", kind: "table" } : { why: "other", kind: null };
  }
  if (kind === "table" && is === "zip" && !table) return { why: "other", kind: null };
  if (kind === "table" && is === "bytes") return { why: "other", kind: null };
  return sizeBytes > BYTES_MAX[kind] ? { why: "large", kind: null } : null;
}

function contentOf(head: Uint8Array): "pdf" | "zip" | "picture" | "oldTable" | "text" | "bytes" {
  const begins = (...bytes: number[]): boolean => bytes.every((byte, at) => head[at] === byte);
  // A reader allows rubbish before the header.
  if (String.fromCharCode(...head.subarray(0, 1024)).includes("%PDF-")) return "pdf";
  if (begins(0x50, 0x4b, 0x03, 0x04)) return "zip";
  if (begins(0x89, 0x50, 0x4e, 0x47) || begins(0xff, 0xd8, 0xff)) return "picture";
  if (begins(0xd0, 0xcf, 0x11, 0xe0)) return "oldTable";
  // UTF-16 has zero bytes and a byte order mark; other text has none of either.
  if (begins(0xff, 0xfe) || begins(0xfe, 0xff)) return "text";
  return head.subarray(0, 1024).includes(0) ? "bytes" : "text";
}

/** Bytes of a file's head that {@link fileSlip} wants. */
export const HEAD_BYTES = 1024;

/** The kind that a dropped file is for, by its name and first bytes. */
export function kindOfFile(name: string, head: Uint8Array): IntakeKind | null {
  const is = contentOf(head);
  if (is === "pdf") return "manual";
  if ((is === "zip" && /\.xlsx$/i.test(name)) || (is === "text" && /\.(csv|tsv|txt)$/i.test(name))) {
    return "table";
  }
  return null;
}

/** A kit's name from its file's: without ending, and without the words for what it is. */
export function nameFromFile(file: string, most = 120): string {
  const plain = file
    .replace(/^.*[\\/]/, "")
    .replace(/\.[a-z0-9]{1,5}$/i, "")
    .replace(/[_\s]+/g, " ")
    .trim();
  const bare = plain.replace(
    /(?:[\s,.-]+(?:assembly|building|build|instructions?|manual|parts?|list|bags?|table|kit))+$/i,
    "",
  );
  const called = bare.trim() || plain;
  // As a file is named that may have no blanks: tarn-6 is Tarn 6.
  const spaced = /\s/.test(called) ? called : called.replace(/-+/g, " ").trim();
  return [...spaced.charAt(0).toUpperCase() + spaced.slice(1)].slice(0, most).join("").trim();
}

/** The number that follows in counting: 2.4 after 2.3, K5 after K4, 2b after 2a; null: none does. */
export function numberAfter(number: string): string | null {
  const counted = /^(.*?)([0-9]+)$/.exec(number);
  if (counted) {
    const [, before = "", digits = ""] = counted;
    return before + String(Number(digits) + 1).padStart(digits.length, "0");
  }
  const lettered = /^(.*[0-9])([a-yA-Y])$/.exec(number);
  if (!lettered) return null;
  const [, before = "", letter = ""] = lettered;
  return before + String.fromCharCode(letter.charCodeAt(0) + 1);
}

/**
 * Whether to ask again for the pages of a manual that is being read: `done` are, `shown` are here.
 * The more there are the seldomer, as each time all of them are told: some 40 times for 300 pages.
 */
export function pagesDue(done: number, shown: number): boolean {
  return done - shown >= Math.max(1, Math.ceil(shown / 8));
}

/** Where a thing stands in a manual: by page, then from top to bottom. */
export function byPlace(a: Finding, b: Finding): number {
  const [pageA, pageB] = [a.page ?? 0, b.page ?? 0];
  if (pageA !== pageB) return pageA - pageB;
  return (a.frame?.[1] ?? 0) - (b.frame?.[1] ?? 0) || a.id - b.id;
}

/**
 * A step to be, drawn on a page: numbered after the last one above it, or before it, and in the
 * same section. `1` if there is none.
 */
export function stepDrawn(steps: readonly Finding[], page: number, frame: Frame): NewFinding {
  const before = steps
    .filter((one) => !one.leftOut)
    .filter((one) => (one.page ?? 0) < page || (one.page === page && (one.frame?.[1] ?? 0) <= frame[1]))
    .sort(byPlace)
    .at(-1);
  const taken = new Set(steps.filter((one) => !one.leftOut).map((one) => one.values["number"]));
  let number: string | null = before ? numberAfter(String(before.values["number"] ?? "")) : "1";
  for (let tries = 0; number !== null && taken.has(number) && tries < 3000; tries += 1) {
    number = numberAfter(number);
  }
  const section = before?.values["section"];
  return {
    what: "step",
    page,
    frame,
    values: { number: number ?? "1", ...(typeof section === "string" ? { section } : {}) },
  };
}

/** The values with one of them said. */
export function answered(values: Values, field: string, value: unknown): Values {
  return { ...values, [field]: value };
}

/** How a correction of `before` is taken back. */
export function undoing(before: Finding): Correction {
  // Values of a finding that asks may be incomplete: they cannot be said again.
  if (!before.corrected) return { id: before.id, as_read: true };
  return {
    id: before.id,
    values: before.values,
    left_out: before.leftOut,
    ...(before.frame ? { frame: before.frame } : {}),
  };
}
