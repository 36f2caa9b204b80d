/**
 * A table that is filled by hand or from a spreadsheet: tab separated text both ways, and what a
 * paste would write, checked whole before anything of it is written.
 */

/**
 * Cells of tab separated text as spreadsheets put it on the clipboard: a cell that holds a tab, a
 * line break or a quotation mark stands in quotation marks, those in it doubled (RFC 4180, section
 * 2, with a tab for the comma). A line end after the last row makes no row.
 */
export function parseTable(text: string): string[][] {
  const rows: string[][] = [[]];
  let at = 0;
  const bare = text.replace(/^\ufeff/, "");
  while (at <= bare.length) {
    let cell = "";
    const closing = bare[at] === '"' ? closingQuote(bare, at) : -1;
    if (closing >= 0) {
      cell = bare.slice(at + 1, closing).replaceAll('""', '"').replace(/\r\n?/g, "\n");
      at = closing + 1;
    } else {
      const end = endOfCell(bare, at);
      cell = bare.slice(at, end);
      at = end;
    }
    rows.at(-1)!.push(cell);
    if (at >= bare.length) break;
    if (bare[at] === "\t") {
      at += 1;
      continue;
    }
    at += bare.startsWith("\r\n", at) ? 2 : 1;
    if (at >= bare.length) break;
    rows.push([]);
  }
  return rows;
}

/** Where a cell that began with a quotation mark is closed; -1: the mark is part of its text. */
function closingQuote(text: string, from: number): number {
  for (let at = from + 1; at < text.length; at += 1) {
    if (text[at] !== '"') continue;
    if (text[at + 1] === '"') {
      at += 1;
      continue;
    }
    const next = text[at + 1];
    return next === undefined || next === "\t" || next === "\n" || next === "\r" ? at : -1;
  }
  return -1;
}

function endOfCell(text: string, from: number): number {
  let at = from;
  while (at < text.length && text[at] !== "\t" && text[at] !== "\n" && text[at] !== "\r") at += 1;
  return at;
}

/** Cells as tab separated text that a spreadsheet takes in as it was. */
export function tableText(rows: readonly (readonly string[])[]): string {
  const cell = (text: string): string =>
    /["\t\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  return rows.map((row) => row.map(cell).join("\t")).join("\n");
}

export interface Column<Why> {
  readonly field: string;
  /** Not written by hand: a paste must leave it as it is. */
  readonly fixed?: boolean;
  /** A new row cannot do without. */
  readonly required?: boolean;
  read(text: string): { readonly value: unknown } | { readonly why: Why };
}

/** A cell of a paste that cannot be written; row and column counted in the paste, from 0. */
export interface Unfit<Why> {
  readonly row: number;
  readonly column: number;
  readonly text: string;
  /** `beyond`: the table has no such column; `fixed`; `missing`: a new row cannot do without it. */
  readonly why: Why | "beyond" | "fixed" | "missing";
}

export interface Paste<Why> {
  /** What to write into rows that are there: row of the table, from 0. */
  readonly changes: readonly { readonly row: number; readonly set: Readonly<Record<string, unknown>> }[];
  /** New rows, in order. */
  readonly added: readonly Readonly<Record<string, unknown>>[];
  readonly unfit: readonly Unfit<Why>[];
}

/**
 * What `cells` would write with their upper left corner at `row`, `column` of a table of `rows`
 * rows. Rows below the last are new. Rows of the paste in `leave` are passed over: of those that
 * are there nothing is written, new ones are not made. Empty lines of a paste make no new rows.
 */
export function planPaste<Why>(
  cells: readonly (readonly string[])[],
  at: { readonly row: number; readonly column: number; readonly rows: number },
  columns: readonly Column<Why>[],
  leave: ReadonlySet<number> = new Set(),
  /** Text that stands in a fixed column, so that what was copied can be pasted again. */
  standing: (row: number, field: string) => string = () => "",
): Paste<Why> {
  const changes: { row: number; set: Record<string, unknown> }[] = [];
  const added: Record<string, unknown>[] = [];
  const unfit: Unfit<Why>[] = [];
  cells.forEach((line, i) => {
    const row = at.row + i;
    const isNew = row >= at.rows;
    if (leave.has(i) || (isNew && line.every((text) => !text.trim()))) return;
    const set: Record<string, unknown> = {};
    line.forEach((text, j) => {
      const column = columns[at.column + j];
      const slip = (why: Unfit<Why>["why"]) => unfit.push({ row: i, column: j, text, why });
      if (!column) {
        if (text.trim()) slip("beyond");
        return;
      }
      if (column.fixed) {
        if (text.trim() && (isNew || text.trim() !== standing(row, column.field))) slip("fixed");
        return;
      }
      const read = column.read(text);
      if ("why" in read) slip(read.why);
      else set[column.field] = read.value;
    });
    if (isNew) {
      columns.forEach((column, k) => {
        const j = k - at.column;
        const inPaste = j >= 0 && j < line.length;
        if (column.required && !inPaste) unfit.push({ row: i, column: j, text: "", why: "missing" });
      });
      added.push(set);
    } else if (Object.keys(set).length > 0) {
      changes.push({ row, set });
    }
  });
  return { changes, added, unfit };
}
