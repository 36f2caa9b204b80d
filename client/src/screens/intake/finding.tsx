/** A finding in one line, and the panel in which a person says what is right. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { sureness, type Finding, type IntakeKind, type Values, type What } from "../../core/intakes";
import { Field, Mark, QuietButton, Row, type Sign } from "../../ui/parts";
import { findingSays, intakeWords } from "../../ui/words-intake";
import type { Correcting } from "./corrections";

const text = intakeWords.findings;

/** Fields in the order in which they are asked for; those after the bar stand under a fold. */
const FIELDS: Readonly<Record<What, readonly [main: readonly string[], rest: readonly string[]]>> = {
  section: [["title", "mark"], []],
  bag: [["number", "title"], []],
  step: [["number", "title"], ["section", "bags", "minutes", "text"]],
  operation: [["text", "step"], []],
  part: [["number", "name", "designation"], ["material"]],
  part_line: [["quantity", "number", "designation", "name"], ["bag", "step", "material"]],
};
const NEEDED: Readonly<Record<What, readonly string[]>> = {
  section: [],
  bag: ["number"],
  step: ["number"],
  operation: ["text", "step"],
  part: [],
  part_line: ["quantity"],
};
const MOST: Readonly<Record<string, number>> = {
  title: 160, name: 160, section: 160, designation: 120, material: 60, bag: 20, step: 20, mark: 20,
}; // prettier-ignore

/** A value as it is typed. */
export function asTyped(value: unknown): string {
  if (Array.isArray(value)) return value.map(asTyped).join(", ");
  if (typeof value === "string") return value;
  return typeof value === "number" ? String(value) : "";
}

/** What was typed as a value; undefined: nothing; `slip`: why it is none. */
export function fromTyped(field: string, typed: string): { value?: unknown; slip?: string } {
  const plain = typed.trim();
  if (plain === "") return {};
  if (field === "bags") {
    return { value: plain.split(/[\s,;]+/).filter(Boolean) };
  }
  if (field !== "quantity" && field !== "minutes") return { value: plain };
  return /^\d{1,6}$/.test(plain) ? { value: Number(plain) } : { slip: text.whole };
}

function labelOf(what: What, field: string): string {
  if (field === "number" && (what === "part" || what === "part_line")) return text.partNumber;
  return text.labels[field] ?? field;
}

const SIGNS: Readonly<Record<"sure" | "likely" | "look", Sign>> = {
  sure: "done",
  likely: "under_way",
  look: "caution",
};

/** How sure it is, or what a person has said: a mark and its word. */
export function Sureness({ finding }: { finding: Finding }) {
  const [sign, word]: readonly [Sign, string] = finding.leftOut
    ? ["left_out", text.leftOut]
    : finding.corrected && finding.asks.length === 0
      ? ["done", text.corrected]
      : [SIGNS[sureness(finding)], text[sureness(finding)]];
  return (
    <span class={`state ${finding.leftOut ? "state-left_out" : ""}`}>
      <Mark sign={sign} />
      {word}
    </span>
  );
}

/** One line of a list; a tap opens it. `reveal`: brought into sight when it opens. */
export function FindingRow(props: {
  finding: Finding;
  open: boolean;
  reveal?: boolean;
  kind?: IntakeKind;
  onTap: () => void;
  /** Below the line when it is open. */
  children?: ComponentChildren;
}) {
  const { finding, open } = props;
  const row = useRef<HTMLLIElement>(null);
  useEffect(() => {
    if (open && props.reveal) row.current?.scrollIntoView?.({ block: "nearest" });
  }, [open]);
  const under = finding.what === "operation" || finding.what === "part_line";
  return (
    <li
      ref={row}
      class={`finding ${under ? "is-under" : ""} ${finding.leftOut ? "is-out" : ""} ${open ? "is-open" : ""}`}
    >
      <button type="button" class="finding-head" aria-expanded={open} onClick={props.onTap}>
        <span class="finding-says">{findingSays(finding)}</span>
        <Sureness finding={finding} />
        {finding.row !== null && finding.text && (
          <span class="soft finding-read">
            {text.row(finding.row, props.kind ?? "text")}: {finding.text}
          </span>
        )}
      </button>
      {open && props.children}
    </li>
  );
}

/** What is asked of a finding, and its fields. Give it the finding's id as key. */
export function FindingPanel(props: {
  finding: Finding;
  correcting: Correcting;
  /** A picture of its place. */
  picture?: ComponentChildren;
  /** Further things to do with it. */
  deeds?: ComponentChildren;
}) {
  const { finding, correcting } = props;
  const { values, what, asks } = finding;
  const [draft, setDraft] = useState<Readonly<Record<string, string>>>({});
  const [tried, setTried] = useState(false);
  const [main, rest] = FIELDS[what];
  const typed = (field: string): string => draft[field] ?? asTyped(values[field]);
  const touched = Object.keys(draft).some((field) => draft[field] !== asTyped(values[field]));

  const slipOf = (field: string): string | null => {
    const { value, slip } = fromTyped(field, typed(field));
    if (slip !== undefined) return slip;
    return value === undefined && NEEDED[what].includes(field) ? text.missing : null;
  };
  const wrong = [...main, ...rest].some((field) => slipOf(field) !== null);
  const say = async (next: Values): Promise<void> => {
    if (await correcting.correct(finding, { values: next, ...(finding.leftOut ? { left_out: false } : {}) })) {
      setDraft({});
    }
  };
  const keep = () => {
    setTried(true);
    if (wrong) return;
    const next: Record<string, unknown> = { ...values };
    for (const field of Object.keys(draft)) {
      const { value } = fromTyped(field, typed(field));
      if (value === undefined) delete next[field];
      else next[field] = value;
    }
    void say(next);
  };
  const pick = (field: string, option: unknown) => {
    // A second question is still to be answered: both go together.
    if (asks.length > 1) setDraft({ ...draft, [field]: asTyped(option) });
    else void say({ ...values, ...parsed(draft), [field]: option });
  };
  const field = (name: string) => (
    <Field
      key={name}
      label={labelOf(what, name)}
      value={typed(name)}
      hint={name === "bags" ? text.bagsHint : undefined}
      lines={name === "text" ? 3 : undefined}
      inputMode={name === "quantity" || name === "minutes" ? "numeric" : "text"}
      maxLength={name === "number" ? (what === "part" || what === "part_line" ? 60 : 20) : MOST[name]}
      error={(tried || name in draft) && slipOf(name)}
      onInput={(value) => setDraft({ ...draft, [name]: value })}
      onEnter={keep}
    />
  );
  return (
    <div class="finding-panel">
      {props.picture}
      {finding.text && finding.row === null && <p class="soft">{text.read(finding.text)}</p>}
      {!finding.leftOut &&
        asks.map((ask) => (
          <fieldset class="switch" key={ask.field}>
            <legend>
              <Mark sign="caution" /> {ask.says}
            </legend>
            <Row>
              {ask.options.map((option, at) => (
                <QuietButton
                  key={at}
                  busy={correcting.busy}
                  pressed={draft[ask.field] === asTyped(option) || undefined}
                  onTap={() => pick(ask.field, option)}
                >
                  {asTyped(option)}
                </QuietButton>
              ))}
            </Row>
          </fieldset>
        ))}
      {!finding.leftOut && (
        <>
          <div class="finding-fields">{main.map(field)}</div>
          {rest.length > 0 && (
            <details>
              <summary>{text.more_}</summary>
              <div class="finding-fields">{rest.map(field)}</div>
            </details>
          )}
        </>
      )}
      <Row>
        {finding.leftOut ? (
          <QuietButton busy={correcting.busy} onTap={() => void correcting.correct(finding, { left_out: false })}>
            {text.takeIn}
          </QuietButton>
        ) : (
          <>
            {touched || wrong ? (
              <QuietButton busy={correcting.busy} onTap={keep}>
                {text.keep}
              </QuietButton>
            ) : (
              (!finding.corrected || asks.length > 0) && (
                <QuietButton busy={correcting.busy} onTap={() => void say(values)}>
                  {text.right}
                </QuietButton>
              )
            )}
            <QuietButton busy={correcting.busy} onTap={() => void correcting.correct(finding, { left_out: true })}>
              {text.leaveOut}
            </QuietButton>
          </>
        )}
        {props.deeds}
      </Row>
    </div>
  );
}

function parsed(draft: Readonly<Record<string, string>>): Values {
  const found = Object.entries(draft).flatMap(([field, typed]) => {
    const { value } = fromTyped(field, typed);
    return value === undefined ? [] : [[field, value] as const];
  });
  return Object.fromEntries(found);
}
