/** Calls about intakes as plain data, and the readers of their replies (server/bagtrail/wire/intake.py). */
import { asFrame } from "../core/frames";
import {
  COLUMNS,
  KINDS,
  STATES,
  WHATS,
  type Column,
  type ColumnField,
  type Corrections,
  type Finding,
  type FindingsPage,
  type FindingsQuery,
  type Intake,
  type IntakeKind,
  type Layout,
  type LayoutChange,
  type ManualPage,
  type Question,
  type Taken,
  type Taking,
  type Unfit,
  type UnfitPage,
  type What,
} from "../core/intakes";
import type { Call } from "./http";
import { list, maybe, nothing, number, object, problem, text, Unlike } from "./messages";

const SHORT_MS = 12_000;
/** A table is read anew in one go; a large one takes a while. */
const LAYOUT_MS = 60_000;
/** Hundreds of records and pages are written in one go. */
const TAKE_MS = 300_000;
/** The slowest network that is waited for, bytes in one ms: 50 kB/s. */
const SLOWEST = 50;
const SEND_MS = 60_000;

const at = (id: string, more = ""): string => `/api/intakes/${encodeURIComponent(id)}${more}`;

/** Sends a file or a text to be read; `signal` gives it up. */
export function start(
  what: { readonly kind: IntakeKind; readonly name: string; readonly kit: string | null },
  body: Blob,
  signal?: AbortSignal,
): Call<Intake> {
  const query = new URLSearchParams({ kind: what.kind, name: what.name.slice(-255) });
  if (what.kit !== null) query.set("kit", what.kit);
  return {
    method: "POST",
    path: `/api/intakes?${query}`,
    file: body,
    timeoutMs: SEND_MS + Math.ceil(body.size / SLOWEST),
    read: intake,
    ...(signal ? { signal } : {}),
  };
}

export function all(): Call<Intake[]> {
  return get("/api/intakes", (body) => list(object(body)["items"]).map(intake));
}

export function one(id: string): Call<Intake> {
  return get(at(id), intake);
}

export function throwAway(id: string): Call<null> {
  return { method: "DELETE", path: at(id), timeoutMs: SHORT_MS, read: nothing };
}

export function stop(id: string): Call<Intake> {
  return { method: "POST", path: at(id, "/stop"), timeoutMs: SHORT_MS, read: intake };
}

export function resume(id: string): Call<Intake> {
  return { method: "POST", path: at(id, "/resume"), timeoutMs: SHORT_MS, read: intake };
}

export function layout(id: string, change: LayoutChange): Call<Intake> {
  return post(at(id, "/layout"), change, intake, LAYOUT_MS);
}

export function findings(id: string, query: FindingsQuery): Call<FindingsPage> {
  const { after, limit, page, what, asking } = query;
  const asked = new URLSearchParams();
  if (after !== undefined) asked.set("after", String(after));
  if (limit !== undefined) asked.set("limit", String(limit));
  if (page !== undefined) asked.set("page", String(page));
  if (what !== undefined) asked.set("what", what);
  if (asking) asked.set("asking", "yes");
  const said = asked.toString();
  return get(at(id, `/findings${said && `?${said}`}`), (body) => {
    const { items, next } = object(body);
    return { items: list(items).map(finding), next: maybe(next, number) };
  });
}

export function correct(id: string, corrections: Corrections): Call<Finding[]> {
  const read = (body: unknown): Finding[] => list(object(body)["items"]).map(finding);
  return post(at(id, "/findings"), corrections, read, SHORT_MS);
}

export function unfit(id: string, after: number, limit: number): Call<UnfitPage> {
  return get(at(id, `/unfit?after=${after}&limit=${limit}`), (body) => {
    const { items, total } = object(body);
    return { items: list(items).map(unfitOne), total: number(total) };
  });
}

export function pages(id: string): Call<ManualPage[]> {
  return get(at(id, "/pages"), (body) => list(object(body)["items"]).map(manualPage));
}

export function take(id: string, taking: Taking): Call<Taken> {
  return post(at(id, "/take"), taking, taken, TAKE_MS);
}

// ---- calls ----

function get<T>(path: string, read: (body: unknown) => T): Call<T> {
  return { method: "GET", path, timeoutMs: SHORT_MS, read };
}

function post<T>(path: string, json: unknown, read: (body: unknown) => T, timeoutMs: number): Call<T> {
  return { method: "POST", path, json, timeoutMs, read };
}

// ---- replies ----

function yes(value: unknown): boolean {
  if (typeof value === "boolean") return value;
  throw new Unlike("yes or no was agreed");
}

function word<T extends string>(known: readonly T[], value: unknown): T {
  const found = known.find((one) => one === value);
  if (found !== undefined) return found;
  throw new Unlike("a known word was agreed");
}

function tally<T extends string>(value: unknown): Record<T, number> {
  return Object.fromEntries(
    Object.entries(object(value)).map(([name, count]) => [name, number(count)]),
  ) as Record<T, number>;
}

function column(value: unknown): Column {
  const { at: place, heading, samples, field, sure } = object(value);
  return {
    at: number(place),
    heading: text(heading),
    samples: list(samples).map(text),
    field: maybe(field, (one) => word<ColumnField>(COLUMNS, one)),
    sure: number(sure),
  };
}

function layoutOf(value: unknown): Layout {
  const { sheets, sheet, heading_row, decimal, columns, rows, remembered } = object(value);
  return {
    sheets: list(sheets).map(text),
    sheet: text(sheet),
    headingRow: number(heading_row),
    decimal: word([".", ","] as const, decimal),
    columns: list(columns).map(column),
    rows: number(rows),
    remembered: yes(remembered),
  };
}

export function intake(body: unknown): Intake {
  const one = object(body);
  return {
    id: text(one["id"]),
    kind: word(KINDS, one["kind"]),
    name: text(one["name"]),
    kit: maybe(one["kit"], text),
    state: word(STATES, one["state"]),
    done: number(one["done"]),
    total: number(one["total"]),
    problem: maybe(one["problem"], problem),
    layout: maybe(one["layout"], layoutOf),
    counts: tally<What>(one["counts"]),
    asking: number(one["asking"]),
    unfit: number(one["unfit"]),
  };
}

function question(value: unknown): Question {
  const { field, says, options } = object(value);
  return { field: text(field), says: text(says), options: list(options) };
}

export function finding(value: unknown): Finding {
  const one = object(value);
  return {
    id: number(one["id"]),
    what: word(WHATS, one["what"]),
    page: maybe(one["page"], number),
    row: maybe(one["row"], number),
    frame: asFrame(maybe(one["frame"], (sides) => list(sides).map(number))),
    text: text(one["text"]),
    values: object(one["values"]),
    sure: number(one["sure"]),
    asks: list(one["asks"]).map(question),
    leftOut: yes(one["left_out"]),
    corrected: yes(one["corrected"]),
  };
}

function unfitOne(value: unknown): Unfit {
  const { file, sheet, row, column: place, text: stood, reason } = object(value);
  return {
    file: text(file),
    sheet: maybe(sheet, text),
    row: number(row),
    column: maybe(place, text),
    text: text(stood),
    reason: text(reason),
  };
}

function manualPage(value: unknown): ManualPage {
  const one = object(value);
  return {
    number: number(one["number"]),
    blob: maybe(one["blob"], text),
    widthPx: maybe(one["width_px"], number),
    heightPx: maybe(one["height_px"], number),
    hasText: yes(one["has_text"]),
    steps: number(one["steps"]),
    asking: number(one["asking"]),
    problem: maybe(one["problem"], problem),
  };
}

function taken(body: unknown): Taken {
  const { kit, build, made, changed, clashes, left } = object(body);
  return {
    kit: text(kit),
    build: maybe(build, text),
    made: tally(made),
    changed: tally(changed),
    clashes: number(clashes),
    left: number(left),
  };
}
