/** What a screen shows when it has nothing, not yet, or trouble. */
import type { ComponentChildren } from "preact";
import { BigButton } from "./buttons";
import { Mark, type Sign } from "./marks";
import { words } from "./words";

/** Nothing is here yet; `children`: the ways on. */
export function Empty(props: { title: string; children?: ComponentChildren }) {
  return (
    <section class="plain-state">
      <h2>{props.title}</h2>
      {props.children}
    </section>
  );
}

/** Shown only after a moment (by CSS), so that quick loads do not flash. */
export function Loading({ what }: { what?: string | undefined }) {
  return (
    <p class="loading">
      <Mark sign="waiting" /> {what ?? words.shared.loading}
    </p>
  );
}

/** A strip of text that has to be read: what, why, how to mend it. */
export function Notice(props: {
  sign?: Sign | undefined;
  title?: string | undefined;
  /** Read out as soon as it comes up: it answers a tap. */
  loud?: boolean | undefined;
  children?: ComponentChildren;
}) {
  return (
    <section class="notice" role={props.loud ? "alert" : undefined}>
      <Mark sign={props.sign ?? "caution"} />
      <div>
        {props.title && <h2>{props.title}</h2>}
        {props.children}
      </div>
    </section>
  );
}

/** For what cannot be done without the server. */
export function Offline({ onRetry }: { onRetry?: (() => void) | undefined }) {
  return (
    <Notice sign="cut" loud>
      <p>{words.shared.needsServer}</p>
      {onRetry && <BigButton onTap={onRetry}>{words.shared.tryAgain}</BigButton>}
    </Notice>
  );
}

/** Something failed; `onRetry` if trying again can help. */
export function Trouble(props: {
  title: string;
  detail?: string | undefined;
  onRetry?: (() => void) | undefined;
}) {
  return (
    <Notice title={props.title} loud>
      {props.detail && <p>{props.detail}</p>}
      {props.onRetry && <BigButton onTap={props.onRetry}>{words.shared.tryAgain}</BigButton>}
    </Notice>
  );
}
