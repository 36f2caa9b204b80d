/** A code typed in, for torn labels and refused cameras. Slips are said as they are made. */
import { useState } from "preact/hooks";
import { grouped, onTheWay, typedSlip, type TypedSlip } from "../../scan/typed";
import { Field, QuietButton, useBench } from "../../ui/parts";
import { slipText } from "./answer";

export function TypedCode(props: {
  label: string;
  hint: string;
  button: string;
  /** Where it is kept while it is typed. */
  jot: string;
  busy: boolean;
  onCode: (code: string) => void;
}) {
  const { jotter } = useBench();
  const [code, setCode] = useState(() => jotter.read(props.jot) ?? "");
  const [sent, setSent] = useState(false);
  const slip: TypedSlip | null = code.includes("/") ? null : typedSlip(code);
  const error = slip && code !== "" && (sent || !onTheWay(code, slip)) ? slipText(slip) : null;

  const send = (): void => {
    setSent(true);
    // A code that fails its check is looked up all the same: the answer knows what was meant.
    const lookedUp = slip === null || ["check", "gtin", "digits"].includes(slip.reason);
    if (code !== "" && lookedUp) props.onCode(code);
  };
  return (
    <form
      class="block"
      onSubmit={(event) => {
        event.preventDefault();
        send();
      }}
    >
      <Field
        label={props.label}
        hint={props.hint}
        code
        value={code}
        error={error}
        maxLength={200}
        onInput={(now) => {
          const next = grouped(code, now);
          setCode(next);
          setSent(false);
          if (next === "") jotter.drop(props.jot);
          else jotter.write(props.jot, next);
        }}
        onEnter={send}
      />
      <QuietButton type="submit" busy={props.busy}>
        {props.button}
      </QuietButton>
    </form>
  );
}
