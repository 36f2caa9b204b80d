/** A labelled input with a hint and, at its place, what is wrong with it. */
import { useId } from "preact/hooks";
import type { ComponentChildren } from "preact";

export interface FieldProps {
  label: string;
  value: string;
  onInput: (value: string) => void;
  hint?: ComponentChildren | undefined;
  /** What is wrong and how to mend it; shown and announced. */
  error?: ComponentChildren;
  /** Said after the label: "mm". */
  unit?: string | undefined;
  lines?: number | undefined;
  inputMode?: "text" | "decimal" | "numeric" | undefined;
  autoComplete?: string | undefined;
  /** Capitals and no spelling marks: for codes and ranges. */
  code?: boolean | undefined;
  maxLength?: number | undefined;
  required?: boolean | undefined;
  onEnter?: (() => void) | undefined;
  onLeave?: (() => void) | undefined;
  inputRef?: ((element: HTMLInputElement | HTMLTextAreaElement | null) => void) | undefined;
}

export function Field(props: FieldProps) {
  const id = useId();
  const about = [
    props.hint !== undefined && `${id}-hint`,
    props.error && `${id}-error`,
  ].filter(Boolean);
  const common = {
    id,
    value: props.value,
    "aria-describedby": about.join(" ") || undefined,
    "aria-invalid": props.error ? ("true" as const) : undefined,
    required: props.required,
    maxLength: props.maxLength,
    autoComplete: props.autoComplete ?? "off",
    autoCapitalize: props.code ? ("characters" as const) : undefined,
    spellcheck: props.code ? false : undefined,
    class: props.code ? "input input-code" : "input",
    onBlur: props.onLeave,
  };
  return (
    <div class="field">
      <label for={id}>
        {props.label}
        {props.unit && <span class="unit"> ({props.unit})</span>}
      </label>
      {props.hint !== undefined && (
        <div class="hint" id={`${id}-hint`}>
          {props.hint}
        </div>
      )}
      {props.lines ? (
        <textarea
          {...common}
          ref={props.inputRef ?? null}
          rows={props.lines}
          onInput={(event) => props.onInput(event.currentTarget.value)}
        />
      ) : (
        <input
          {...common}
          ref={props.inputRef ?? null}
          type="text"
          inputMode={props.inputMode ?? "text"}
          onInput={(event) => props.onInput(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === "Enter" && props.onEnter) {
              event.preventDefault();
              props.onEnter();
            }
          }}
        />
      )}
      {/* Always there, so that what appears in it is announced. */}
      <div class="error" id={`${id}-error`} role="alert">
        {props.error || null}
      </div>
    </div>
  );
}

/** A choice among a few, as a native select. */
export function Choose(props: {
  label: string;
  value: string;
  options: readonly (readonly [value: string, label: string])[];
  onChange: (value: string) => void;
  hint?: ComponentChildren | undefined;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      {props.hint !== undefined && <div class="hint">{props.hint}</div>}
      <select
        id={id}
        class="input"
        value={props.value}
        onChange={(event) => props.onChange(event.currentTarget.value)}
      >
        {props.options.map(([value, label]) => (
          <option key={value} value={value}>
            {label}
          </option>
        ))}
      </select>
    </div>
  );
}
