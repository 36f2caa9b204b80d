/** The frame of a screen: title, content, and what to do, within reach of the thumb. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useOwnHeight } from "./own-height";
import { words } from "./words";

/** What to do on a screen: stays above the bottom bar. At most one on a screen. */
export function Reach({ children }: { children: ComponentChildren }) {
  return (
    <div class="reach" ref={useOwnHeight("--reach-h")}>
      {children}
    </div>
  );
}

/**
 * `back`: where the way back leads. `actions`: buttons that stay above the bottom bar. The
 * title takes the focus when the screen opens, so that screen readers begin there.
 */
export function Page(props: {
  title: string;
  /** Small line above the title: kit, section. */
  above?: ComponentChildren | undefined;
  back?: string | undefined;
  backLabel?: string | undefined;
  actions?: ComponentChildren | undefined;
  children: ComponentChildren;
}) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${props.title} · ${words.app}`;
  }, [props.title]);
  useEffect(() => {
    // Not on the very first screen: there the browser's own start of the page is right.
    if (history.state !== null || performance.now() > 5000) {
      heading.current?.focus({ preventScroll: true });
    }
  }, []);
  return (
    <div class="page">
      <header class="page-head">
        {props.back !== undefined && (
          <a class="back" href={props.back}>
            <span aria-hidden="true">‹</span> {props.backLabel ?? words.shared.back}
          </a>
        )}
        {props.above !== undefined && <p class="above">{props.above}</p>}
        <h1 ref={heading} tabIndex={-1}>
          {props.title}
        </h1>
      </header>
      <div class="page-body">{props.children}</div>
      {props.actions !== undefined && <Reach>{props.actions}</Reach>}
    </div>
  );
}
