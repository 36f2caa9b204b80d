/** Adding to a list: a line each, typed or pasted. */
import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import { parseField } from "../../core/typed";
import type { RecordType } from "../../core/records";
import type { Draft } from "../../sync/types";
import { Field, QuietButton, Row, useOnce } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { newId, useJotting } from "../bench/work";
import { slipWords } from "./kept";
import type { Editor } from "./use-editor";

/** Fields of one line as text, or what is wrong with it. */
export type LineRead = Readonly<Record<string, string>> | { readonly why: string };

/** Number or mark first, then the title; or both with a tab between. */
export function numberAndTitle(line: string): LineRead {
  const tab = line.split("\t");
  const [, number = "", title = ""] =
    tab.length > 1 ? ["", tab[0], tab.slice(1).join(" ")] : (/^(\S+)\s*(.*)$/.exec(line) ?? []);
  return number.trim() ? { number: number.trim(), title } : { why: kitWords.needNumber };
}

/** A mark of up to three characters first, if there is one, then the title. */
export function markAndTitle(line: string): LineRead {
  const tab = line.split("\t");
  if (tab.length > 1) return { mark: tab[0] ?? "", title: tab.slice(1).join(" ") };
  const [, mark = "", title = ""] = /^(\S{1,3})(?:\s+(.+))?$/.exec(line) ?? [];
  return mark ? { mark, title } : { mark: "", title: line };
}

/** A name alone, or number, name, designation, material with tabs between. */
export function partOfLine(line: string): LineRead {
  const [first = "", name, designation = "", material = ""] = line.split("\t");
  return name === undefined ? { name: first } : { number: first, name, designation, material };
}

/** The line as it is. */
export const wholeLine =
  (field: string) =>
  (line: string): LineRead => ({ [field]: line });

interface LinesRead {
  sets: Record<string, unknown>[];
  whys: string[];
}

/** Every line that is not empty, read for `type`; `whys` names those that do not fit. */
export function readLines(
  type: RecordType,
  text: string,
  read: (line: string) => LineRead,
): LinesRead {
  const sets: LinesRead["sets"] = [];
  const whys: string[] = [];
  text.split(/\r\n?|\n/).forEach((line, at) => {
    if (!line.trim()) return;
    const fields = read(line.trim());
    if ("why" in fields && Object.keys(fields).length === 1) {
      whys.push(kitWords.lineNumber(at + 1, fields.why ?? ""));
      return;
    }
    const set: Record<string, unknown> = {};
    for (const [field, value] of Object.entries(fields)) {
      const typed = parseField(type, field, value);
      if ("slip" in typed) whys.push(kitWords.lineNumber(at + 1, slipWords(type, field, typed)));
      else if (typed.value !== null) set[field] = typed.value;
    }
    sets.push(set);
  });
  return { sets, whys };
}

export function AddLines(props: {
  editor: Editor;
  type: RecordType;
  /** Where what is typed is kept until it is added. */
  jot: string;
  read: (line: string) => LineRead;
  /** What else is set, for `n` of them; an answer in words says why it cannot be done. */
  rest: (n: number) => Record<string, unknown>[] | string;
  /** What one of them is called, by its fields. */
  called: (set: Readonly<Record<string, unknown>>) => string;
  /** More than one way to add them: the buttons' words and what each sets. */
  ways?: readonly (readonly [label: string, set: Record<string, unknown>])[] | undefined;
  children?: ComponentChildren | undefined;
  onAdded?: ((ids: readonly string[]) => void) | undefined;
}) {
  const { editor, type } = props;
  const jot = useJotting(`kit/add/${props.jot}`);
  const [error, setError] = useState<string | null>(null);
  const once = useOnce();
  const input = useRef<HTMLElement | null>(null);
  const add = async (more: Record<string, unknown>) => {
    const { sets, whys } = readLines(type, jot.text, props.read);
    if (whys.length > 0) return setError(whys.join(" "));
    if (sets.length === 0) return setError(kitWords.nothingToAdd);
    const rest = props.rest(sets.length);
    if (typeof rest === "string") return setError(rest);
    const drafts = sets.map(
      (set, at) => ({ type, id: newId(), set: { ...rest[at], ...more, ...set } }) as Draft,
    );
    const said = kitWords.said.added(type, sets.length, props.called(sets[0] ?? {}));
    if (!(await editor.save(drafts, { said }))) return;
    jot.drop();
    input.current?.focus({ preventScroll: true });
    props.onAdded?.(drafts.map(({ id }) => id));
  };
  const ways = props.ways ?? [[kitWords.add, {}] as const];
  return (
    <div class="kit-add">
      <Field
        label={kitWords.adds[type] ?? kitWords.add}
        hint={kitWords.addHints[type]}
        value={jot.text}
        lines={Math.min(8, Math.max(2, jot.text.split("\n").length))}
        error={error}
        inputRef={(element) => (input.current = element)}
        onInput={(text) => {
          setError(null);
          jot.set(text);
        }}
      />
      {props.children}
      <Row>
        {ways.map(([label, set]) => (
          <QuietButton
            key={label}
            label={`${label}: ${kitWords.adds[type] ?? ""}`}
            onTap={() => once(() => add(set))}
          >
            {label}
          </QuietButton>
        ))}
      </Row>
    </div>
  );
}
