/**
 * A table of records to be worked on with the keyboard, a mouse or a thumb: the grid pattern of the
 * WAI-ARIA Authoring Practices Guide (W3C), 'data grid' with editing. Only the rows in sight are in
 * the document, and the one that has the focus.
 */
import type { ComponentChildren } from "preact";
import { useId, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { parseTable, planPaste, tableText } from "../../core/sheet";
import type { Takings } from "../../core/belongs";
import type { Draft, View } from "../../sync/types";
import { Field, Page, QuietButton, Sheet, say, useBench } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { newId, useJotting } from "../bench/work";
import type { TableColumn, TableOf } from "./columns";
import { jotKey } from "./kept";
import { AskRemove, removeAll, takingsOf } from "./list";
import { nameOf } from "./names";
import { UnfitPaste, type Pending } from "./unfit";
import { UndoBar } from "./undo-bar";
import type { Editor } from "./use-editor";

const text = kitWords.table;
type Values = Readonly<Record<string, unknown>>;

/** A cell: row from 0, column from 0; column -1 is the row's own head. */
interface Cell {
  row: number;
  column: number;
}

/** Rows drawn above and below those in sight. */
const BEYOND = 8;
/** Height of a row in rem, as kit.css has it. */
const ROW_REM = 3;
/** Rows drawn where nothing can be measured. */
const ROWS_BLIND = 30;

const rootFont = (): number =>
  Number.parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;

/** Rows in the order in which the table was opened, new ones behind: no row jumps while it is edited. */
function useSteadyRows(table: TableOf): View[] {
  const kept = useRef<string[]>([]);
  const now = table.rows();
  const byId = new Map(now.map((view) => [view.id, view]));
  const known = new Set(kept.current);
  kept.current = [
    ...kept.current.filter((id) => byId.has(id)),
    ...now.map(({ id }) => id).filter((id) => !known.has(id)),
  ];
  return kept.current.map((id) => byId.get(id)!);
}

/** The texts of the last row, kept until it is complete. */
function parseDraft(jotted: string): Record<string, string> {
  try {
    const read: unknown = JSON.parse(jotted || "{}");
    if (typeof read !== "object" || read === null) return {};
    return Object.fromEntries(
      Object.entries(read).filter((one): one is [string, string] => typeof one[1] === "string"),
    );
  } catch {
    return {};
  }
}

export function Grid(props: {
  editor: Editor;
  table: TableOf;
  label: string;
  jot: string;
  back: string;
  backLabel: string;
  /** Below the table. */
  children: ComponentChildren;
}) {
  const { store, jotter } = useBench();
  const { editor, table } = props;
  const { columns, type } = table;
  const rows = useSteadyRows(table);
  const draftJot = useJotting(`kit/row/${props.jot}`);
  const draft = useMemo(() => parseDraft(draftJot.text), [draftJot.text]);
  const [active, setActive] = useState<Cell>({ row: 0, column: 0 });
  const [anchor, setAnchor] = useState<Cell>({ row: 0, column: 0 });
  const [extending, setExtending] = useState(false);
  const [editing, setEditing] = useState<{ cell: Cell; text: string; before: string } | null>(null);
  const [told, setTold] = useState<string | null>(null);
  const [pending, setPending] = useState<Pending | null>(null);
  const [pasting, setPasting] = useState(false);
  const [byHand, setByHand] = useState<string | null>(null);
  const [taking, setTaking] = useState<Takings | null>(null);
  const [view, setView] = useState({ top: 0, height: 0 });
  const scroller = useRef<HTMLDivElement>(null);
  const wantsFocus = useRef(false);
  const pointing = useRef(false);
  const openEdit = useRef(editing);
  openEdit.current = editing;
  const helpId = useId();
  const toldId = useId();

  const last = rows.length;
  const rowHeight = useMemo(() => ROW_REM * rootFont(), []);
  const clamp = ({ row, column }: Cell): Cell => ({
    row: Math.max(0, Math.min(last, row)),
    column: Math.max(-1, Math.min(columns.length - 1, column)),
  });
  const at = clamp(active);
  const from = clamp(anchor);
  const wholeRows = at.column < 0 || from.column < 0;
  const range = {
    top: Math.min(at.row, from.row),
    bottom: Math.max(at.row, from.row),
    left: wholeRows ? 0 : Math.min(at.column, from.column),
    right: wholeRows ? columns.length - 1 : Math.max(at.column, from.column),
  };
  const several = range.top !== range.bottom || range.left !== range.right;
  const chosenRows = rows.slice(range.top, range.bottom + 1);
  const inRange = (row: number, column: number) =>
    row >= range.top && row <= range.bottom && column >= range.left && column <= range.right;

  // ---- what cells hold ----

  const kept = (row: number, column: TableColumn): string =>
    row < last ? column.show(rows[row]!.values as Values) : (draft[column.field] ?? "");
  const jotOf = (row: number, column: TableColumn): string =>
    jotKey(rows[row]?.id ?? `${props.jot}/new`, column.field);
  /** What was typed and did not fit, else what is kept. */
  const shown = (row: number, column: TableColumn): string =>
    (row < last ? jotter.read(jotOf(row, column)) : undefined) ?? kept(row, column);
  const isBad = (row: number, column: TableColumn): boolean =>
    row < last
      ? jotter.read(jotOf(row, column)) !== undefined
      : Boolean(draft[column.field]) && "why" in column.read(draft[column.field] ?? "");

  // ---- going about ----

  const go = (to: Cell, extend = false) => {
    const next = clamp(to);
    wantsFocus.current = true;
    setActive(next);
    if (!extend) setAnchor(next);
  };
  useLayoutEffect(() => {
    const element = scroller.current;
    if (!element) return;
    const see = () => setView({ top: element.scrollTop, height: element.clientHeight });
    see();
    element.addEventListener("scroll", see, { passive: true });
    addEventListener("resize", see);
    return () => {
      element.removeEventListener("scroll", see);
      removeEventListener("resize", see);
    };
  }, []);
  useLayoutEffect(() => {
    if (!wantsFocus.current || editing) return;
    wantsFocus.current = false;
    const cell = scroller.current?.querySelector<HTMLElement>('[tabindex="0"]');
    // The chosen cell is this one already, so that the anchor stays.
    cell?.focus({ preventScroll: true });
    cell?.scrollIntoView({ block: "nearest", inline: "nearest" });
  });

  // ---- editing a cell ----

  const begin = (cell: Cell, typed?: string) => {
    const column = columns[cell.column];
    if (!column || column.fixed) return setTold(text.nothingHere);
    const before = kept(cell.row, column);
    setTold(null);
    setActive(cell);
    setAnchor(cell);
    setEditing({ cell, text: typed ?? shown(cell.row, column), before });
  };
  const type_ = (next: string) => {
    const now = openEdit.current;
    const column = now && columns[now.cell.column];
    if (!now || !column) return;
    setTold(null);
    setEditing({ ...now, text: next });
    if (now.cell.row < last) jotter.write(jotOf(now.cell.row, column), next);
  };
  const leave = () => {
    openEdit.current = null;
    setEditing(null);
  };
  const cancel = () => {
    const now = openEdit.current;
    const column = now && columns[now.cell.column];
    if (now && column && now.cell.row < last) jotter.drop(jotOf(now.cell.row, column));
    setTold(null);
    leave();
    wantsFocus.current = true;
  };
  /** For hands without Escape. */
  const forget = () => {
    const column = columns[at.column];
    if (column) jotter.drop(jotOf(at.row, column));
    setTold(null);
    leave();
    wantsFocus.current = true;
  };
  const where = (row: number, column: TableColumn) =>
    text.cell(row + 1, column.label);
  /** Keeps what was typed; false: it does not fit, and stays. */
  const commit = (): boolean => {
    const now = openEdit.current;
    const column = now && columns[now.cell.column];
    if (!now || !column) return true;
    const { row } = now.cell;
    if (row >= last) return commitNew(column, now.text);
    const jot = jotOf(row, column);
    if (now.text === now.before) {
      jotter.drop(jot);
      return true;
    }
    const read = column.read(now.text);
    if ("why" in read) {
      jotter.write(jot, now.text);
      setTold(`${text.notFit(where(row, column), read.why)} ${text.stays}`);
      return false;
    }
    const { id } = rows[row]!;
    jotter.write(jot, now.text);
    void editor
      .save([{ type, id, set: { [column.field]: read.value } } as Draft], {
        said: kitWords.said.changed(column.label, nameOf(store, type, id)),
      })
      .then((saved) => {
        if (saved && jotter.read(jot) === now.text) jotter.drop(jot);
        setView((same) => ({ ...same }));
      });
    return true;
  };
  /** A cell of the last row: the row is made as soon as nothing is missing. */
  const commitNew = (column: TableColumn, typed: string): boolean => {
    const next = { ...draft, [column.field]: typed };
    draftJot.set(JSON.stringify(next));
    const read = column.read(typed);
    if (typed.trim() && "why" in read) {
      setTold(`${text.notFit(where(last, column), read.why)} ${text.stays}`);
      return false;
    }
    const some = columns.some(({ field }) => next[field]?.trim());
    if (!some) return true;
    const missing = columns.filter((one) => one.required && !next[one.field]?.trim());
    if (missing.length > 0) {
      setTold(text.keptRow(missing.map(({ label }) => label)));
      return true;
    }
    const line = columns.map(({ field }) => next[field] ?? "");
    const plan = planPaste([line], { row: last, column: 0, rows: last }, columns);
    if (plan.unfit.length > 0) return true;
    const along = table.along(1);
    if (typeof along === "string") {
      setTold(along);
      return true;
    }
    const set = { ...along[0], ...plan.added[0] };
    void editor
      .save([{ type, id: newId(), set } as Draft], { said: kitWords.said.rowAdded })
      .then((saved) => saved && draftJot.set("{}"));
    return true;
  };
  const done = (to: Cell) => {
    if (!commit()) return;
    leave();
    go(to);
  };

  // ---- several cells ----

  const selected = (): string[][] =>
    chosenRows.map((_, i) =>
      columns.slice(range.left, range.right + 1).map((column) => kept(range.top + i, column)),
    );
  const copyText = () => tableText(selected());
  const copy = async () => {
    const copied = copyText();
    try {
      await navigator.clipboard.writeText(copied);
      say(text.copied(chosenRows.length));
    } catch {
      setByHand(copied);
    }
  };
  const fixedText = (row: number, field: string) => {
    const column = columns.find((one) => one.field === field);
    return column && row < last ? kept(row, column) : "";
  };
  const apply = async (todo: Pending): Promise<boolean> => {
    const plan = planPaste(
      todo.cells,
      { row: todo.row, column: todo.column, rows: last },
      columns,
      todo.leave,
      fixedText,
    );
    if (plan.unfit.length > 0) {
      setPending({ ...todo, unfit: plan.unfit });
      return false;
    }
    const along = plan.added.length > 0 ? table.along(plan.added.length) : [];
    if (typeof along === "string") {
      setTold(along);
      return false;
    }
    const drafts = [
      ...plan.changes.map(({ row, set }) => ({ type, id: rows[row]!.id, set })),
      ...plan.added.map((set, i) => ({ type, id: newId(), set: { ...along[i], ...set } })),
    ] as Draft[];
    const said = kitWords.said.pasted(plan.changes.length, plan.added.length);
    if (!(await editor.save(drafts, { said }))) return false;
    setPending(null);
    setTold(null);
    const height = todo.cells.length;
    const width = Math.max(...todo.cells.map((line) => line.length));
    setAnchor({ row: todo.row, column: todo.column });
    setActive({ row: todo.row + height - 1, column: todo.column + width - 1 });
    wantsFocus.current = true;
    return true;
  };
  const paste = (pasted: string): Promise<boolean> => {
    let cells = parseTable(pasted);
    // One line over several rows fills each of them.
    if (cells.length === 1 && range.bottom > range.top) {
      cells = Array.from({ length: chosenRows.length }, () => cells[0]!);
    }
    return apply({ cells, row: range.top, column: range.left, leave: new Set(), unfit: [] });
  };
  const fill = () => {
    const [first, ...rest] = chosenRows;
    if (!first || rest.length === 0) return;
    const some = columns.slice(range.left, range.right + 1).filter(({ fixed }) => !fixed);
    const set = Object.fromEntries(
      some.map(({ field }) => [field, (first.values as Values)[field] ?? null]),
    );
    void editor.save(
      rest.map(({ id }) => ({ type, id, set }) as Draft),
      { said: kitWords.said.filled(rest.length) },
    );
  };
  const empty = () => {
    const some = columns.slice(range.left, range.right + 1).flatMap((column) => {
      const read = column.fixed ? { why: "" } : column.read("");
      return "why" in read ? [] : [[column.field, read.value] as const];
    });
    if (some.length === 0) return setTold(text.nothingHere);
    const set = Object.fromEntries(some);
    void editor.save(
      chosenRows.map(({ id }) => ({ type, id, set }) as Draft),
      { said: kitWords.said.emptied(chosenRows.length * some.length) },
    );
  };
  const remove = (of: Takings, n: number) =>
    void removeAll(editor, of, kitWords.said.rowsRemoved(n)).then((saved) => {
      if (!saved) return;
      setTaking(null);
      go({ row: range.top, column: at.column });
    });
  const askRemove = () => {
    const of = takingsOf(store, chosenRows.map(({ id }) => ({ type, id })));
    if (chosenRows.length === 0) return;
    if (of.along.size + of.loses.size + of.stays.size > 0) setTaking(of);
    else remove(of, chosenRows.length);
  };

  // ---- keys ----

  const page = Math.max(1, Math.floor(view.height / rowHeight) - 2);
  const onKey = (event: KeyboardEvent) => {
    const { key } = event;
    if (openEdit.current) return onEditKey(event);
    const control = event.ctrlKey || event.metaKey;
    const wide = columns.length - 1;
    const to: Record<string, Cell> = {
      ArrowUp: { row: control ? 0 : at.row - 1, column: at.column },
      ArrowDown: { row: control ? last : at.row + 1, column: at.column },
      ArrowLeft: { row: at.row, column: control ? -1 : at.column - 1 },
      ArrowRight: { row: at.row, column: control ? wide : at.column + 1 },
      Home: { row: control ? 0 : at.row, column: control ? 0 : -1 },
      End: { row: control ? last : at.row, column: wide },
      PageUp: { row: at.row - page, column: at.column },
      PageDown: { row: at.row + page, column: at.column },
    };
    const next = event.altKey ? undefined : to[key];
    const act = (run: () => void) => {
      event.preventDefault();
      run();
    };
    if (next) return act(() => go(next, event.shiftKey));
    if (key === "Enter" || key === "F2") return act(() => begin(at));
    if (key === "Escape" && several) return act(() => setAnchor(at));
    if (key === "Delete" || key === "Backspace") {
      return act(control || wholeRows ? askRemove : empty);
    }
    if (control && key.toLowerCase() === "a") {
      return act(() => {
        setAnchor({ row: 0, column: 0 });
        setActive({ row: Math.max(0, last - 1), column: wide });
      });
    }
    if (control && key.toLowerCase() === "d") return act(fill);
    if (key === " " && event.shiftKey) return act(() => setAnchor({ row: from.row, column: -1 }));
    if (key.length === 1 && !control && !event.altKey && at.column >= 0) {
      return act(() => begin(at, key));
    }
  };
  const onEditKey = (event: KeyboardEvent) => {
    const now = openEdit.current;
    // Half a character is no key stroke.
    if (!now || event.isComposing) return;
    const { row, column } = now.cell;
    if (event.key === "Escape") {
      event.preventDefault();
      cancel();
    } else if (event.key === "Enter" && !event.altKey) {
      event.preventDefault();
      done({ row: row + (event.shiftKey ? -1 : 1), column });
    } else if (event.key === "Tab") {
      event.preventDefault();
      if (event.shiftKey) {
        done(column > 0 ? { row, column: column - 1 } : { row: row - 1, column: columns.length - 1 });
      } else {
        done(column < columns.length - 1 ? { row, column: column + 1 } : { row: row + 1, column: 0 });
      }
    }
  };
  const onCopy = (event: ClipboardEvent) => {
    if (openEdit.current || !event.clipboardData) return;
    event.preventDefault();
    event.clipboardData.setData("text/plain", copyText());
    say(text.copied(chosenRows.length));
  };
  const onPaste = (event: ClipboardEvent) => {
    if (openEdit.current) return;
    event.preventDefault();
    void paste(event.clipboardData?.getData("text/plain") ?? "");
  };
  /** Focus that no tap brought, as of a screen reader: the chosen cell goes along. */
  const onFocus = (cell: Cell) => {
    if (pointing.current || openEdit.current) return;
    if (at.row === cell.row && at.column === cell.column) return;
    setActive(cell);
    setAnchor(cell);
  };
  const onTap = (event: MouseEvent, cell: Cell) => {
    pointing.current = false;
    const now = openEdit.current;
    if (now && now.cell.row === cell.row && now.cell.column === cell.column) return;
    const again = at.row === cell.row && at.column === cell.column && !several;
    if (event.shiftKey || extending) return go(cell, true);
    if (again && cell.column >= 0 && document.activeElement === event.currentTarget) {
      return begin(cell);
    }
    go(cell);
  };

  // ---- drawing ----

  const high = view.height > 0 ? Math.ceil(view.height / rowHeight) : ROWS_BLIND;
  const first = Math.max(0, Math.floor(view.top / rowHeight) - BEYOND);
  const end = Math.min(last, first + high + 2 * BEYOND);
  const drawn = Array.from({ length: Math.max(0, end - first + 1) }, (_, i) => first + i);
  if (!drawn.includes(at.row)) drawn.push(at.row);
  drawn.sort((a, b) => a - b);
  const tracks = [
    "3.25rem",
    ...columns.map(({ wide }, i) => `min(${wide + 2}ch, ${i === 0 ? "38vw" : "40vw"})`),
  ].join(" ");

  const actions = (
    <UndoBar editor={editor} many>
      <QuietButton onTap={() => begin(at)} label={text.editOf}>
        {text.edit}
      </QuietButton>
      <QuietButton
        pressed={extending}
        label={text.extendOf}
        onTap={() => setExtending(!extending)}
      >
        {text.extend}
      </QuietButton>
      <QuietButton onTap={() => void copy()}>{text.copy}</QuietButton>
      <QuietButton onTap={() => setPasting(true)}>{text.paste}</QuietButton>
      <QuietButton off={chosenRows.length < 2} onTap={fill}>
        {text.fill}
      </QuietButton>
      <QuietButton
        off={chosenRows.length === 0}
        label={text.remove(chosenRows.length)}
        onTap={askRemove}
      >
        {kitWords.remove}
      </QuietButton>
    </UndoBar>
  );
  return (
    <Page title={props.label} back={props.back} backLabel={props.backLabel} actions={actions}>
      <p class="soft" id={helpId}>
        <span class="kit-keys">{text.help}</span>
        <span class="kit-thumbs">{text.helpThumb}</span>
      </p>
      {/* One place for both, as high without words as with: nothing moves under a finger. */}
      <div class="kit-told">
        <div class="error" id={toldId} role="alert">
          {told}
        </div>
        {told && columns[at.column] && at.row < last && isBad(at.row, columns[at.column]!) && (
          <QuietButton onTap={forget}>{text.oldValue}</QuietButton>
        )}
        <p class="soft" role="status">
          {told
            ? null
            : several
              ? text.chosen(range.bottom - range.top + 1, range.right - range.left + 1)
              : text.rows(last)}
        </p>
      </div>
      <div
        ref={scroller}
        class="kit-grid"
        role="grid"
        aria-label={props.label}
        aria-describedby={helpId}
        aria-rowcount={last + 2}
        aria-colcount={columns.length + 1}
        aria-multiselectable="true"
        style={{ "--tracks": tracks }}
        onPointerDown={() => (pointing.current = true)}
        onPointerUp={() => setTimeout(() => (pointing.current = false))}
        onPointerCancel={() => (pointing.current = false)}
        onKeyDown={onKey}
        onCopy={onCopy}
        onPaste={onPaste}
      >
        <div class="kit-grid-head" role="rowgroup">
          <div class="kit-grid-row" role="row" aria-rowindex={1}>
            <div class="kit-grid-corner" role="columnheader" aria-colindex={1}>
              <span class="unseen">{text.rowHead}</span>
            </div>
            {columns.map((column, i) => (
              <div key={column.field} role="columnheader" aria-colindex={i + 2}>
                {column.label}
              </div>
            ))}
          </div>
        </div>
        <div
          class="kit-grid-body"
          role="rowgroup"
          style={{ blockSize: `${(last + 1) * ROW_REM}rem` }}
        >
          {drawn.map((row) => {
            const isNew = row === last;
            return (
              <div
                key={rows[row]?.id ?? "new"}
                class={isNew ? "kit-grid-row is-new" : "kit-grid-row"}
                role="row"
                aria-rowindex={row + 2}
                style={{ insetBlockStart: `${row * ROW_REM}rem` }}
              >
                <div
                  class="kit-grid-corner"
                  role="rowheader"
                  aria-colindex={1}
                  aria-label={isNew ? text.newRowName : undefined}
                  aria-selected={wholeRows && inRange(row, 0)}
                  tabIndex={at.row === row && at.column < 0 ? 0 : -1}
                  onFocus={() => onFocus({ row, column: -1 })}
                  onClick={(event) => onTap(event, { row, column: -1 })}
                >
                  {isNew ? text.newRow : row + 1}
                </div>
                {columns.map((column, i) => {
                  const open = editing?.cell.row === row && editing.cell.column === i;
                  const bad = isBad(row, column);
                  return (
                    <div
                      key={column.field}
                      role="gridcell"
                      class={column.numeric ? "is-number" : undefined}
                      aria-colindex={i + 2}
                      aria-selected={inRange(row, i)}
                      aria-readonly={column.fixed || undefined}
                      aria-invalid={bad || undefined}
                      tabIndex={!open && at.row === row && at.column === i ? 0 : -1}
                      onFocus={() => onFocus({ row, column: i })}
                      onClick={(event) => onTap(event, { row, column: i })}
                    >
                      {open ? (
                        <CellInput
                          value={editing.text}
                          label={isNew ? `${text.newRowName}, ${column.label}` : where(row, column)}
                          numeric={column.numeric ?? false}
                          most={column.most}
                          about={told ? toldId : undefined}
                          onInput={type_}
                          onLeave={() => {
                            if (!openEdit.current) return;
                            commit();
                            leave();
                          }}
                        />
                      ) : (
                        shown(row, column)
                      )}
                    </div>
                  );
                })}
              </div>
            );
          })}
        </div>
      </div>
      {taking && (
        <AskRemove
          what={text.rows(chosenRows.length)}
          takings={taking}
          onRemove={() => remove(taking, chosenRows.length)}
          onKeep={() => setTaking(null)}
        />
      )}
      {pending && (
        <UnfitPaste
          pending={pending}
          columns={columns}
          onChange={(next) => void apply(next)}
          onDrop={() => {
            setPending(null);
            wantsFocus.current = true;
            setView((same) => ({ ...same }));
          }}
        />
      )}
      <PasteSheet
        open={pasting}
        jot={`kit/paste/${props.jot}`}
        onClose={() => setPasting(false)}
        onPaste={(pasted) => {
          setPasting(false);
          return paste(pasted);
        }}
      />
      <Sheet open={byHand !== null} title={text.copy} onClose={() => setByHand(null)}>
        <Field label={text.notCopied} lines={6} value={byHand ?? ""} onInput={() => undefined} />
      </Sheet>
      {props.children}
    </Page>
  );
}

/** The input in a cell: takes the focus, its text chosen unless typing has begun. */
function CellInput(props: {
  value: string;
  label: string;
  numeric: boolean;
  most: number | undefined;
  about: string | undefined;
  onInput: (value: string) => void;
  onLeave: () => void;
}) {
  const input = useRef<HTMLTextAreaElement>(null);
  // At once, not after the next picture: the key stroke that follows belongs in here.
  useLayoutEffect(() => {
    const element = input.current;
    element?.focus({ preventScroll: true });
    element?.setSelectionRange(element.value.length, element.value.length);
    element?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }, []);
  return (
    <textarea
      ref={input}
      class="kit-grid-input"
      rows={1}
      value={props.value}
      aria-label={props.label}
      aria-invalid={props.about ? "true" : undefined}
      aria-describedby={props.about}
      inputMode={props.numeric ? "decimal" : "text"}
      maxLength={props.most}
      enterkeyhint="next"
      autoComplete="off"
      onInput={(event) => props.onInput(event.currentTarget.value)}
      onBlur={props.onLeave}
    />
  );
}

/** For hands without Ctrl+V: what was copied goes into a field first. */
function PasteSheet(props: {
  open: boolean;
  jot: string;
  onClose: () => void;
  onPaste: (pasted: string) => Promise<boolean>;
}) {
  const jot = useJotting(props.jot);
  return (
    <Sheet
      open={props.open}
      title={text.pasteTitle}
      onClose={props.onClose}
      main={
        <QuietButton
          off={!jot.text.trim()}
          onTap={() => {
            const pasted = jot.text;
            jot.drop();
            void props.onPaste(pasted);
          }}
        >
          {text.pasteDo}
        </QuietButton>
      }
    >
      <Field
        label={text.pasteTitle}
        hint={text.pasteHelp}
        lines={8}
        value={jot.text}
        onInput={jot.set}
      />
    </Sheet>
  );
}
