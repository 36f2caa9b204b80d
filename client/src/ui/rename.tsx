/** Giving a thing another name, in its place; the old one is one tap away. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { useBench } from "./bench-context";
import { QuietButton, Row } from "./buttons";
import { Field } from "./field";
import { say, sayTrouble } from "./say";
import { words } from "./words";
import type { View } from "../sync/types";

/** `children`: what else can be done with the thing, beside the button. `most`: characters. */
export function Rename(props: {
  view: View<"kit"> | View<"build"> | View<"device">;
  most: number;
  children?: ComponentChildren;
}) {
  const { store, jotter } = useBench();
  const { view } = props;
  const key = `rename/${view.id}`;
  const called = view.values.name ?? "";
  const [name, setShown] = useState<string | null>(() => jotter.read(key) ?? null);
  /** Kept as it is typed; `null`: not being renamed. */
  const setName = (next: string | null) => {
    setShown(next);
    if (next === null || next === called) jotter.drop(key);
    else jotter.write(key, next);
  };
  const input = useRef<HTMLElement | null>(null);
  const open = name !== null;
  const asked = useRef(false);
  useEffect(() => {
    if (open && asked.current) input.current?.focus();
  }, [open]);
  const begin = () => {
    asked.current = true;
    setName(called);
  };
  const write = (text: string) =>
    store.write([{ type: view.type, id: view.id, set: { name: text } }]);
  const keep = async () => {
    const next = name?.trim();
    if (!next) return;
    try {
      if (next !== called) {
        await write(next);
        say(words.rename.done, () =>
          write(called).catch(() => sayTrouble(words.shared.notSaved)),
        );
      }
      setName(null);
    } catch {
      sayTrouble(words.shared.notSaved);
    }
  };
  if (name === null) {
    return (
      <div class="row tag-deeds">
        {props.children}
        <QuietButton onTap={begin} label={`${words.rename.rename}: ${called}`}>
          {words.rename.rename}
        </QuietButton>
      </div>
    );
  }
  return (
    <>
      <Field
        label={words.rename.name}
        value={name}
        onInput={setName}
        error={name.trim() ? null : words.rename.missing}
        maxLength={props.most}
        onEnter={() => void keep()}
        inputRef={(element) => (input.current = element)}
      />
      <Row>
        <QuietButton onTap={() => void keep()}>{words.shared.save}</QuietButton>
        <QuietButton onTap={() => setName(null)}>{words.shared.close}</QuietButton>
      </Row>
    </>
  );
}
