/** Fields that keep what was typed as soon as they are left; what does not fit stays, with why. */
import { useState } from "preact/hooks";
import { KIT_FIELDS } from "../../core/kit-fields";
import { parseField, type Slip } from "../../core/typed";
import type { LengthUnit } from "../../core/numbers";
import type { RecordType } from "../../core/records";
import type { Draft, View } from "../../sync/types";
import { Choose, Field, QuietButton, useBench, words } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { useJotting } from "../bench/work";
import { nameOf, typedText } from "./names";
import { unitOf, type Editor } from "./use-editor";

/** Why a text does not fit a field, in words. */
export function slipWords(type: string, field: string, slip: Slip): string {
  const kind = KIT_FIELDS[type]?.[field];
  return slip.slip === "range" && kind?.kind === "length"
    ? kitWords.rangeMm(kind.least, kind.most)
    : kitWords.slips(slip);
}

/** What is typed into a field of a record is kept under this key until it is saved. */
export const jotKey = (id: string, field: string): string => `kit/${id}/${field}`;

export function Kept<T extends RecordType>(props: {
  editor: Editor;
  view: View<T>;
  field: string;
  label?: string | undefined;
  hint?: string | undefined;
  lines?: number | undefined;
  /** Another unit than the workshop's for lengths. */
  unit?: string | undefined;
}) {
  const { store } = useBench();
  const { editor, view, field } = props;
  const { type, id } = view;
  const kind = KIT_FIELDS[type]?.[field];
  const units: LengthUnit = unitOf(store);
  const value = (view.values as Readonly<Record<string, unknown>>)[field];
  const shown = typedText(type, field, value, units);
  const jot = useJotting(jotKey(id, field), shown);
  const read = (text: string) => parseField(type, field, text, units);
  const [told, setTold] = useState(jot.text !== shown);
  const typed = read(jot.text);
  const label = props.label ?? kitWords.fields[field] ?? field;

  const keep = () => {
    // As it was: what is shown may be rounded, and must not be written back.
    if (jot.text === shown) return jot.drop();
    if ("slip" in typed) return setTold(true);
    const set = { [field]: typed.value } as Draft["set"];
    void editor
      .save([{ type, id, set }], { said: kitWords.said.changed(label, nameOf(store, type, id)) })
      .then((saved) => saved && jot.drop());
  };
  const numeric = kind?.kind !== "text";
  return (
    <Field
      label={label}
      unit={props.unit ?? (kind?.kind === "length" ? words.step[units] : undefined)}
      hint={props.hint}
      value={jot.text}
      lines={props.lines}
      inputMode={numeric ? "decimal" : "text"}
      maxLength={kind?.kind === "text" ? kind.most : 40}
      error={told && "slip" in typed ? slipWords(type, field, typed) : null}
      onInput={(text) => {
        setTold(false);
        jot.set(text);
      }}
      onEnter={keep}
      onLeave={keep}
    />
  );
}

/** A few words to choose from, or another record; kept at once. "" is none. */
export function KeptChoose<T extends RecordType>(props: {
  editor: Editor;
  view: View<T>;
  field: string;
  label?: string | undefined;
  hint?: string | undefined;
  options: readonly (readonly [value: string, label: string])[];
  /** Cannot be none. */
  required?: boolean | undefined;
  none?: string | undefined;
}) {
  const { store } = useBench();
  const { view, field, editor } = props;
  const value = (view.values as Readonly<Record<string, unknown>>)[field];
  const label = props.label ?? kitWords.fields[field] ?? field;
  const none: [string, string][] = props.required ? [] : [["", props.none ?? kitWords.unsaid]];
  return (
    <Choose
      label={label}
      hint={props.hint}
      value={typeof value === "string" ? value : ""}
      options={[...none, ...props.options]}
      onChange={(next) =>
        void editor.save(
          [{ type: view.type, id: view.id, set: { [field]: next || null } as Draft["set"] }],
          { said: kitWords.said.changed(label, nameOf(store, view.type, view.id)) },
        )
      }
    />
  );
}

/** Yes or no, as a switch. */
export function KeptSwitch<T extends RecordType>(props: {
  editor: Editor;
  view: View<T>;
  field: string;
  label: string;
}) {
  const { store } = useBench();
  const { view, field, editor } = props;
  const on = (view.values as Readonly<Record<string, unknown>>)[field] === true;
  return (
    <QuietButton
      pressed={on}
      onTap={() =>
        void editor.save(
          [{ type: view.type, id: view.id, set: { [field]: !on } as Draft["set"] }],
          { said: kitWords.said.changed(props.label, nameOf(store, view.type, view.id)) },
        )
      }
    >
      {props.label}
    </QuietButton>
  );
}
