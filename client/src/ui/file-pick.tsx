/** A button that asks for one file. */
import { useRef } from "preact/hooks";
import { BigButton, QuietButton } from "./buttons";

export function FilePick(props: {
  label: string;
  /** Kinds of files, as the `accept` of HTML. */
  accept: string;
  busy: boolean;
  /** The one thing to do next on its screen. */
  big?: boolean | undefined;
  off?: boolean | undefined;
  onFile: (file: File) => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  const Tap = props.big ? BigButton : QuietButton;
  return (
    <>
      <input
        ref={input}
        hidden
        type="file"
        aria-label={props.label}
        accept={props.accept}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = ""; // the same file can be chosen again
          if (file) props.onFile(file);
        }}
      />
      <Tap busy={props.busy} off={props.off} onTap={() => input.current?.click()}>
        {props.label}
      </Tap>
    </>
  );
}
