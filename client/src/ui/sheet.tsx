/** A panel that comes up from the bench's edge: a native dialog, so focus and Escape are right. */
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { QuietButton } from "./buttons";
import { words } from "./words";

/** Keep it mounted and switch `open`; `onClose` is called for Escape and the close button. */
export function Sheet(props: {
  open: boolean;
  title: string;
  onClose: () => void;
  children: ComponentChildren;
}) {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const dialog = ref.current;
    if (!dialog) return;
    if (props.open && !dialog.open) dialog.showModal();
    if (!props.open && dialog.open) dialog.close();
  }, [props.open]);
  return (
    <dialog class="sheet" ref={ref} aria-labelledby={id} onClose={props.onClose}>
      {props.open && (
        <div class="sheet-inner">
          <h2 id={id}>{props.title}</h2>
          {props.children}
          <QuietButton onTap={props.onClose}>{words.shared.close}</QuietButton>
        </div>
      )}
    </dialog>
  );
}
