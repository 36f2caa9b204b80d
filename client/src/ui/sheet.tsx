/** A panel that comes up from the bench's edge: a native dialog, so focus and Escape are right. */
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { QuietButton } from "./buttons";
import { words } from "./words";

/**
 * Keep it mounted and switch `open`; `onClose` is called for Escape and the close button. `main`:
 * the button to tap next, lowest of all. The title has the focus first: nothing is chosen yet.
 * `closeLabel`: what closing means, where that is more than going back.
 */
export function Sheet(props: {
  open: boolean;
  title: string;
  onClose: () => void;
  main?: ComponentChildren | undefined;
  closeLabel?: string | undefined;
  children: ComponentChildren;
}) {
  const ref = useRef<HTMLDialogElement>(null);
  const opened = useRef(false);
  const id = useId();
  useEffect(() => {
    const dialog = ref.current;
    if (!dialog) return;
    if (props.open && !dialog.open) dialog.showModal();
    if (!props.open && dialog.open) dialog.close();
    // What opened it may be gone by now ("Done" becomes "Next"): then not back to the very start.
    if (!props.open && opened.current && document.activeElement === document.body) {
      document.querySelector<HTMLElement>("main h1")?.focus({ preventScroll: true });
    }
    opened.current = props.open;
  }, [props.open]);
  return (
    <dialog class="sheet" ref={ref} aria-labelledby={id} onClose={props.onClose}>
      {props.open && (
        <div class="sheet-inner">
          <h2 id={id} tabIndex={-1} autoFocus>
            {props.title}
          </h2>
          {props.children}
          <QuietButton onTap={props.onClose}>{props.closeLabel ?? words.shared.close}</QuietButton>
          {props.main && <div class="sheet-main">{props.main}</div>}
        </div>
      )}
    </dialog>
  );
}
