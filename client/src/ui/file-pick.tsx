/** A button that asks for one file. */
import { useRef } from "preact/hooks";
import { QuietButton } from "./buttons";

export function FilePick(props: {
  label: string;
  /** Kinds of files, as the `accept` of HTML. */
  accept: string;
  busy: boolean;
  onFile: (file: File) => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <input
        ref={input}
        hidden
        type="file"
        accept={props.accept}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = ""; // the same file can be chosen again
          if (file) props.onFile(file);
        }}
      />
      <QuietButton busy={props.busy} onTap={() => input.current?.click()}>
        {props.label}
      </QuietButton>
    </>
  );
}
