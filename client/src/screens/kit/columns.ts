/** The columns of a kit's tables: what a cell shows, and what becomes of what is typed into it. */
import { behind } from "../../core/placing";
import { KIT_FIELDS } from "../../core/kit-fields";
import type { Column } from "../../core/sheet";
import { parseField } from "../../core/typed";
import type { RecordType } from "../../core/records";
import type { Store, View } from "../../sync/types";
import { kitWords } from "../../ui/words-kit";
import { inOrder } from "../bench/step-model";
import { slipWords } from "./kept";
import { placed } from "./list";
import { typedText } from "./names";
import { partsInOrder } from "./parts-order";
import type { TableName } from "./tables";
import { freshCodes } from "./use-editor";

type Values = Readonly<Record<string, unknown>>;

export interface TableColumn extends Column<string> {
  readonly label: string;
  /** Width in characters. */
  readonly wide: number;
  readonly numeric?: boolean;
  /** Greatest number of characters, where there is one. */
  readonly most?: number;
  show(values: Values): string;
}

export interface TableOf {
  readonly type: RecordType;
  readonly columns: readonly TableColumn[];
  /** Rows in the order in which the table opens. */
  rows(): readonly View[];
  /** What is set along with each of `n` new rows; an answer in words says why there can be none. */
  along(n: number): Record<string, unknown>[] | string;
}

/** Most bags of a step (server/bagtrail/wire/records.py). */
const BAGS_MAX = 40;

const fold = (text: string): string => text.trim().toLowerCase();

export function tableOf(store: Store, kit: string, what: TableName, workshop: string | null): TableOf {
  const type: RecordType =
    what === "part_lines" ? "part_line" : (what.slice(0, -1) as "bag" | "step" | "part" | "operation");
  const column = (field: string, wide: number, more: Partial<TableColumn> = {}): TableColumn => {
    const kind = KIT_FIELDS[type]?.[field];
    return {
      field,
      wide,
      label: kitWords.fields[field] ?? field,
      ...(kind?.kind === "number" ? { numeric: true } : {}),
      ...(kind?.kind === "text" ? { most: kind.most } : {}),
      ...(kind?.required ? { required: true } : {}),
      show: (values) => typedText(type, field, values[field], "mm"),
      read(text) {
        const typed = parseField(type, field, text);
        return "slip" in typed ? { why: slipWords(type, field, typed) } : typed;
      },
      ...more,
    };
  };

  /** A cell that names another record by one of its texts. */
  const ref = (
    field: string,
    wide: number,
    of: "part" | "bag" | "step" | "section",
    names: readonly string[],
    required = false,
  ): TableColumn =>
    column(field, wide, {
      ...(required ? { required } : {}),
      show: (values) => {
        const id = values[field];
        return typeof id === "string" ? refName(store, of, id, names) : "";
      },
      read: (text) => {
        if (!text.trim()) {
          return required ? { why: kitWords.slips({ slip: "missing" }) } : { value: null };
        }
        return find(store, kit, of, names, text);
      },
    });

  const siblings = (): readonly View[] => store.where(type, "kit" as never, kit) as readonly View[];
  const ordered = (n: number) => behind(siblings().map(placed), n).map((order) => ({ kit, order }));
  const rows = (): readonly View[] => inOrder(siblings());
  /** Step by step; what belongs to none comes last. */
  const byStep = (): readonly View[] => {
    const place = new Map(inOrder(store.where("step", "kit", kit)).map(({ id }, at) => [id, at]));
    const of = ({ values }: View) => place.get(String((values as Values).step)) ?? place.size;
    return inOrder(siblings()).sort((a, b) => of(a) - of(b));
  };

  switch (what) {
    case "bags":
      return {
        type,
        rows,
        columns: [
          column("number", 10),
          column("title", 34),
          column("code", 12, { fixed: true }),
        ],
        along(n) {
          if (!workshop) return kitWords.notPaired;
          const codes = freshCodes(store, workshop, n);
          return ordered(n).map((set, at) => ({ ...set, code: codes[at] }));
        },
      };
    case "steps":
      return {
        type,
        rows,
        along: ordered,
        columns: [
          column("number", 10),
          column("title", 30),
          ref("section", 16, "section", ["mark", "title"]),
          column("bags", 14, {
            show: (values) => {
              const bags = Array.isArray(values.bags) ? (values.bags as string[]) : [];
              return bags.map((id) => refName(store, "bag", id, ["number"])).join(", ");
            },
            read: (text) => readBags(store, kit, text),
          }),
          column("minutes", 10, { label: kitWords.table.minutes }),
          column("text", 40),
        ],
      };
    case "parts":
      return {
        type,
        rows: () => partsInOrder(store, kit) as readonly View[],
        along: (n) => Array.from({ length: n }, () => ({ kit })),
        columns: [
          column("number", 14),
          column("name", 30),
          column("designation", 30),
          column("material", 14),
        ],
      };
    case "part_lines":
      return {
        type,
        rows: byStep,
        along: ordered,
        columns: [
          ref("part", 30, "part", ["number", "name"], true),
          column("quantity", 9),
          ref("bag", 9, "bag", ["number"]),
          ref("step", 9, "step", ["number"]),
        ],
      };
    case "operations":
      return {
        type,
        along: ordered,
        columns: [ref("step", 10, "step", ["number"], true), column("text", 60)],
        rows: byStep,
      };
  }
}

/** What another record is called in a cell: all of its names that it has. */
function refName(store: Store, type: RecordType, id: string, names: readonly string[]): string {
  const values = store.get(type, id)?.values as Values | undefined;
  return values ? whole(values, names) : "";
}

const whole = (values: Values, names: readonly string[]): string =>
  names
    .map((name) => values[name])
    .filter((name) => typeof name === "string" && name)
    .join(" ");

/** By all names together, as a cell shows it, then by the first, then by the second alone. */
function find(
  store: Store,
  kit: string,
  type: "part" | "bag" | "step" | "section",
  names: readonly string[],
  text: string,
): { value: string } | { why: string } {
  const wanted = fold(text);
  const all = store.where(type, "kit" as never, kit) as readonly View[];
  for (const some of [names, ...names.map((name) => [name])]) {
    const hits = all.filter(({ values }) => fold(whole(values, some)) === wanted);
    const [hit] = hits;
    if (hits.length > 1) return { why: kitWords.table.several };
    if (hit) return { value: hit.id };
  }
  return { why: kitWords.table.noSuch[type] ?? "" };
}

/** Bags by their numbers, with commas, semicolons or blanks between. */
function readBags(store: Store, kit: string, text: string): { value: string[] } | { why: string } {
  const ids: string[] = [];
  for (const number of text.split(/[,;\s]+/).filter(Boolean)) {
    const found = find(store, kit, "bag", ["number"], number);
    if ("why" in found) return { why: `${number}: ${found.why}` };
    if (!ids.includes(found.value)) ids.push(found.value);
  }
  return ids.length > BAGS_MAX ? { why: kitWords.table.tooMany(BAGS_MAX) } : { value: ids };
}
