/** What records of a kit are called, and how their values read. */
import { barcodeInClear } from "../../core/gtin";
import { formatLength } from "../../core/numbers";
import { KIT_FIELDS } from "../../core/kit-fields";
import type { LengthUnit } from "../../core/numbers";
import type { RecordType } from "../../core/records";
import type { Store, View } from "../../sync/types";
import { decimalMark, words } from "../../ui/words";
import { kitWords } from "../../ui/words-kit";

type Values = Readonly<Record<string, unknown>>;

const str = (value: unknown): string => (typeof value === "string" ? value : "");

/** A part as it is told from others: number and name. */
export function partName(part: View<"part"> | undefined): string {
  if (!part) return kitWords.noPart;
  return [part.values.number, part.values.name].filter(Boolean).join(" ");
}

/** A page by what is printed on it, or else by its place among them, from 1. */
export function pageName(page: View<"page">, nth: number): string {
  return kitWords.pageName(page.values.number ?? null, page.values.title ?? null, nth);
}

/** The digits or text of a barcode as people read them. */
export function barcodeName({ text, symbology }: View<"barcode">["values"]): string {
  return barcodeInClear({ text: text ?? "", symbology: symbology ?? null });
}

/** What a record is called in a sentence. */
export function nameOf(store: Store, type: RecordType, id: string): string {
  const values = store.get(type, id)?.values as Values | undefined;
  return values ? called(store, type, values) : kitWords.nameless.toLowerCase();
}

function called(store: Store, type: RecordType, values: Values): string {
  switch (type) {
    case "section":
      return kitWords.sectionOf(kitWords.sectionName(str(values.mark), str(values.title)));
    case "page":
      return values.number || values.title
        ? kitWords.pageName(str(values.number) || null, str(values.title) || null, 0)
        : kitWords.somePage;
    case "barcode":
      return kitWords.barcodeOf(barcodeName(values as View<"barcode">["values"]));
    case "bag":
      return kitWords.bagName(str(values.number));
    case "step":
      return kitWords.stepName(str(values.number));
    case "part":
      return [str(values.number), str(values.name)].filter(Boolean).join(" ");
    case "part_line":
      return kitWords.lineName(
        typeof values.quantity === "number" ? values.quantity : 0,
        partName(store.get("part", str(values.part))),
      );
    case "joint":
      return str(values.fastener) || kitWords.someFastener;
    case "comes_before": {
      const kind = values.kind === "step" ? "step" : "operation";
      return kitWords.pairName(
        nameOf(store, kind, str(values.first)),
        nameOf(store, kind, str(values.then)),
      );
    }
    default:
      return kitWords.quoted(
        str(values.name) || str(values.title) || str(values.text) || kitWords.nameless,
      );
  }
}

/** A field's value as it is typed. */
export function typedText(
  type: string,
  field: string,
  value: unknown,
  unit: LengthUnit,
): string {
  if (value === null || value === undefined) return "";
  if (typeof value !== "number") return str(value);
  return KIT_FIELDS[type]?.[field]?.kind === "length"
    ? formatLength(value, unit, decimalMark)
    : String(value).replace(".", decimalMark);
}

/** How a value of a clash reads. */
export function clashText(
  store: Store,
  type: RecordType,
  unit: LengthUnit,
): (value: unknown, field: string) => string {
  return (value, field) => {
    if (value === null || value === undefined || value === "") return words.clash.empty;
    if (value === true) return words.shared.yes;
    if (value === false) return words.shared.no;
    if (Array.isArray(value)) {
      if (field === "frame") return kitWords.frame.at(value.map(Number));
      return value.map((id) => nameOf(store, "bag", str(id))).join(", ") || words.clash.empty;
    }
    if (typeof value === "number") {
      const length = KIT_FIELDS[type]?.[field]?.kind === "length";
      const text = typedText(type, field, value, unit);
      return length ? `${text} ${words.step[unit]}` : text;
    }
    const text = str(value);
    const points: Readonly<Record<string, RecordType>> = {
      section: "section",
      bag: "bag",
      step: "step",
      part: "part",
      operation: "operation",
      alternative: "alternative",
      page: "page",
    };
    const ref = points[field];
    if (ref) return nameOf(store, ref, text);
    return (
      kitWords.materials[text] ?? kitWords.threadLocks[text] ?? kitWords.kinds[text] ?? text
    );
  };
}

/** Ids of records whose number another one has, too. */
export function twice(views: readonly View<"step" | "part" | "bag">[]): ReadonlySet<string> {
  const byNumber = new Map<string, string[]>();
  for (const { id, values } of views) {
    const key = values.number?.trim().toLowerCase();
    if (key) byNumber.set(key, [...(byNumber.get(key) ?? []), id]);
  }
  return new Set([...byNumber.values()].filter((ids) => ids.length > 1).flat());
}
