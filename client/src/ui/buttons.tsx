/** What is tapped. At least 48 px high; links look the same when they go somewhere. */
import type { ComponentChildren } from "preact";
import { Mark } from "./marks";

export interface TapProps {
  children: ComponentChildren;
  onTap?: (() => void) | undefined;
  href?: string | undefined;
  /** For files: leaves the app's own routing. */
  download?: string | true | undefined;
  /** For what the browser shows itself (a PDF): a window of its own. */
  newTab?: boolean | undefined;
  type?: "button" | "submit" | undefined;
  /** Says why beside the button; the button itself stays reachable by keyboard. */
  off?: boolean | undefined;
  /** Something is under way: taps are passed over, the label stays. */
  busy?: boolean | undefined;
  label?: string | undefined;
  /** For a switch: pressed is told by a tick, too. */
  pressed?: boolean | undefined;
}

function tap(kind: string, props: TapProps) {
  const { href, onTap, off, busy, label, pressed, download } = props;
  if (href !== undefined && !off) {
    return (
      <a
        class={kind}
        href={href}
        aria-label={label}
        download={download}
        target={props.newTab ? "_blank" : undefined}
        rel={props.newTab ? "noopener" : undefined}
        onClick={() => onTap?.()}
      >
        {props.children}
      </a>
    );
  }
  const idle = Boolean(off || busy);
  return (
    <button
      class={kind}
      type={props.type ?? "button"}
      aria-disabled={idle || undefined}
      aria-busy={busy || undefined}
      aria-label={label}
      aria-pressed={pressed}
      onClick={(event) => {
        if (idle) event.preventDefault();
        else onTap?.();
      }}
    >
      {pressed && <Mark sign="done" />}
      {props.children}
    </button>
  );
}

/** The one thing to do next on a screen. */
export function BigButton(props: TapProps) {
  return tap("big-button", props);
}

/** Anything else that can be done. */
export function QuietButton(props: TapProps) {
  return tap("quiet-button", props);
}

/** Buttons beside one another, 8 px apart, wrapping. */
export function Row({ children }: { children: ComponentChildren }) {
  return <div class="row">{children}</div>;
}
