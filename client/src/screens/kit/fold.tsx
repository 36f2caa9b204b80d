/** A part of an editor's screen that folds away; it stays as it was while the app is open. */
import { signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import type { View } from "../../sync/types";
import { Mark, number } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { isAsked } from "./list";

const open = signal<Readonly<Record<string, boolean>>>({});

/** `views`: what is in it, to be counted, and looked through for what has to be settled. */
export function Fold(props: {
  id: string;
  title: string;
  views?: readonly View[] | undefined;
  /** Open at first. */
  open?: boolean | undefined;
  children: ComponentChildren;
}) {
  const shown = open.value[props.id] ?? props.open ?? false;
  const asked = props.views?.some(isAsked);
  return (
    <details
      class="kit-fold"
      open={shown}
      onToggle={(event) => {
        const now = event.currentTarget.open;
        if (now !== shown) open.value = { ...open.value, [props.id]: now };
      }}
    >
      <summary>
        <h2>
          {props.title}
          {props.views && <span class="soft"> {number(props.views.length)}</span>}
        </h2>
        {asked && (
          <span class="kit-warn">
            <Mark sign="two_tags" /> {kitWords.askedHere}
          </span>
        )}
      </summary>
      {shown && <div class="block">{props.children}</div>}
    </details>
  );
}
