/**
 * The program's own signs, drawn from the tag and the bench. They are decoration beside a word;
 * a mark never stands alone, so each is hidden from screen readers.
 */
import type { ComponentChildren } from "preact";
import { words } from "./words";

export type StepState = "waiting" | "ready" | "under_way" | "done" | "held" | "left_out";

export type Sign =
  | StepState
  | "here" // plumb bob
  | "string" // a knot: not yet on the server
  | "photo" // a print with a clip
  | "caution" // warning strip tied round
  | "two_tags" // clash
  | "cut"; // a cut string: server out of reach

/* 24 x 24 units, drawn with a 2-unit pen; the parts filled with ink are marked `ink`. */
const drawings: Record<Sign, ComponentChildren> = {
  // A tag that is still only marked out, dashed.
  waiting: (
    <>
      <path d="M9 6h12v13H5V10z" stroke-dasharray="3.2 3" stroke-linecap="butt" />
      <path d="M8 9C6 7 4 5 3 2" />
    </>
  ),
  // An open tag on its string.
  ready: (
    <>
      <path d="M9 6h12v13H5V10z" />
      <circle class="ink" cx="9.5" cy="10.5" r="1" />
      <path d="M9 10C6.5 8 4.5 6 3 2" />
    </>
  ),
  // A tag half pencilled in.
  under_way: (
    <>
      <path d="M9 6h12v13H5V10z" />
      <path d="m5.5 14.5 7-8M7 18.5 17.5 6.5" stroke-width="2.2" />
    </>
  ),
  // A pencil tick: pressed down, flicked up.
  done: (
    <>
      <path d="M3.5 13.2c1.9 1.4 3.4 3.3 4.8 6.3C11 13.6 14.6 8.6 21 4" stroke-width="3" />
    </>
  ),
  // A clamp, screwed down on what it holds.
  held: (
    <>
      <path d="M16 9V4H5v13h11" />
      <path d="M13 9h6M13 13h6" stroke-width="3" />
      <path d="M16 13v9M12.5 22h7" />
    </>
  ),
  // A tag struck through from corner to corner.
  left_out: (
    <>
      <path d="M9 6h12v12H6V9z" />
      <path d="M3 21 22 3" />
    </>
  ),
  // A plumb bob over its point.
  here: (
    <>
      <path d="M12 2v6" />
      <path class="ink" d="M8 8h8l1 4-5 9-5-9z" />
    </>
  ),
  // A reef knot with two ends.
  string: (
    <>
      <path d="M2 9c6 0 8 6 12 6s4-5 0-5-4 4-8 5-4 2-4 2" />
      <path d="M22 9c-3 0-4 6-8 6" />
    </>
  ),
  photo: (
    <>
      <path d="M4 6h16v15H4z" />
      <path d="M7 9h10v7H7z" />
      <path d="M10 8V4a2 2 0 0 1 4 0v4" />
    </>
  ),
  // A warning tied on: a tag with a stroke and a point.
  caution: (
    <>
      <path d="M8 3h13v18H3V8z" />
      <path d="M12.5 7v6" stroke-width="3" />
      <path d="M12.5 17v.4" stroke-width="3" />
    </>
  ),
  // Two tags nose to nose, and a crack between them.
  two_tags: (
    <>
      <path d="M2 6h5l3 3v9H2z" />
      <path d="M22 6h-5l-3 3v9h8z" />
      <path d="m12 2 1 3-2 2M12 22l-1-2" stroke-width="1.6" />
    </>
  ),
  cut: (
    <>
      <path d="M2 15c3-4 5-4 7-3m6-1c2 1 4 1 7-3" />
      <path d="m10 6 2 3m2 9-2-3" />
    </>
  ),
};

/** A sign alone, for places where its word stands right beside it. */
export function Mark({ sign }: { sign: Sign }) {
  return (
    <svg class="mark" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      {drawings[sign]}
    </svg>
  );
}

/** State of a step or bag: its mark and its word. `word` replaces the usual word ("Done 14:05"). */
export function StateMark({ state, word }: { state: StepState; word?: string | undefined }) {
  return (
    <span class={`state state-${state}`}>
      <Mark sign={state} />
      {word ?? words.states[state]}
    </span>
  );
}

/** 'You are here', or who is: the one place, with the bar of a tag, where `--here` is used. */
export function HereMark({ who }: { who?: string | undefined }) {
  return (
    <span class="here-mark">
      <Mark sign="here" />
      {who ? words.shared.someoneIsHere(who) : words.shared.youAreHere}
    </span>
  );
}
