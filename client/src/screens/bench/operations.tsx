/** The actions of a step, to tick one after the other; one that is too early says what is first. */
import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import type { View } from "../../sync/types";
import { Clashes, Field, HereMark, QuietButton, Sheet, moment, words } from "../../ui/parts";
import { BigButton, useBench } from "../../ui/parts";
import { operationTickId, tickOperations } from "./actions";
import { type Work, deviceName, useJotting } from "./work";

/** Something open that has to be done before an operation. */
export interface Before {
  id: string;
  /** How it is named: "Operation 2: …", "Step 2.1". */
  what: string;
  /** The same in few letters: "3", "2.1", "2.1 operation 3". */
  short: string;
  /** Number of the step that it is, or is in. */
  number: string;
  href: string;
  reason: string | null;
}

/** A second tap sooner than this is the same one, by a finger that trembles or slips; ms. */
const SAME_TAP_MS = 400;

/** Ticking, from the boxes and from the button under the thumb alike. */
export interface Ticking {
  tick: (operation: string, done: boolean) => void;
  /** Passes a tap on, unless it is the same as the one before. */
  once: (act: () => void) => void;
  /** Asked to be ticked although something comes before it. */
  asked: string | null;
  answer: () => void;
  /** Whether it was kept. */
  overrule: (why: string) => Promise<boolean>;
}

export function useTicking(
  work: Work,
  step: string,
  /** In the order to do them. */
  operations: readonly View<"operation">[],
  before: (operation: string) => readonly Before[],
  /** An operation has just been ticked and that is kept. */
  onTicked: (operation: string) => void,
): Ticking {
  const [asked, setAsked] = useState<string | null>(null);
  const tappedMs = useRef(-Infinity);
  const save = async (operation: string, done: boolean, overruled?: string) => {
    const after = operations.slice(operations.findIndex(({ id }) => id === operation) + 1);
    const still = operations.filter(
      ({ id }) =>
        id !== operation &&
        work.look("operation_tick", operationTickId(work.build, id))?.values.done !== true,
    );
    const next = done ? (still.find((one) => after.includes(one)) ?? still[0])?.id : operation;
    const saved = await work.save(
      tickOperations(work.look, work.hand(), step, [operation], done, overruled),
      { at: { step, operation: next ?? null } },
    );
    if (saved && done) onTicked(operation);
    return saved;
  };
  return {
    tick: (operation, done) => {
      if (done && before(operation).length > 0) setAsked(operation);
      else void save(operation, done);
    },
    once: (act) => {
      const nowMs = performance.now();
      if (nowMs - tappedMs.current < SAME_TAP_MS) return;
      tappedMs.current = nowMs;
      act();
    },
    asked,
    answer: () => setAsked(null),
    overrule: async (why) => {
      const saved = asked !== null && (await save(asked, true, why));
      if (saved) setAsked(null);
      return saved;
    },
  };
}

export function Operations(props: {
  work: Work;
  ticking: Ticking;
  /** In the order to do them. */
  operations: readonly View<"operation">[];
  /** Open things that come before an operation. */
  before: (operation: string) => readonly Before[];
  /** What the whole step waits for: said once above, not again at each operation. */
  said: ReadonlySet<string>;
  /** Place shown before each operation, from 1. */
  placeOf: (operation: string) => number;
  /** The operation the builder is at, or would begin with. */
  here: string | null;
  /** The builder is there indeed. */
  begun: boolean;
  /** Joints and dimensions of an operation. */
  under: (operation: string) => ComponentChildren;
}) {
  const { work, operations, ticking } = props;
  const { asked } = ticking;
  const tick = (operation: string, box: HTMLInputElement) => {
    const done = box.checked;
    if (done && props.before(operation).length > 0) box.checked = false;
    ticking.tick(operation, done);
  };
  return (
    <>
      <ol class="operations" role="list">
        {operations.map((operation) => (
          <One
            key={operation.id}
            work={work}
            operation={operation}
            place={props.placeOf(operation.id)}
            here={props.here === operation.id}
            begun={props.begun}
            before={props.before(operation.id).filter(({ id }) => !props.said.has(id))}
            onTick={(box) => tick(operation.id, box)}
          >
            {props.under(operation.id)}
          </One>
        ))}
      </ol>
      <TooEarly
        work={work}
        operation={asked}
        before={asked ? props.before(asked) : []}
        onClose={ticking.answer}
        onOverrule={ticking.overrule}
      />
    </>
  );
}

function One(props: {
  work: Work;
  operation: View<"operation">;
  place: number;
  here: boolean;
  begun: boolean;
  before: readonly Before[];
  onTick: (box: HTMLInputElement) => void;
  children: ComponentChildren;
}) {
  const bench = useBench();
  const { work, operation } = props;
  const tick = work.look("operation_tick", operationTickId(work.build, operation.id));
  const done = tick?.values.done === true;
  const here = props.here && props.begun;
  const shape = ["operation", done && "is-ticked", here && "is-here"];
  return (
    <li
      id={operation.id}
      class={shape.filter(Boolean).join(" ")}
      aria-current={here ? "location" : undefined}
    >
      <label class="tick">
        <input
          type="checkbox"
          checked={done}
          onChange={(event) => props.onTick(event.currentTarget)}
        />
        <span class="line-words">
          <span>
            <span class="operation-place">{props.place}</span> {operation.values.text}
          </span>
          {done && tick?.values.at && (
            <span class="soft">
              {words.step.tickedAt(moment(tick.values.at), deviceName(bench, tick.values.device))}
            </span>
          )}
          {!done && props.before.length > 0 && (
            <span class="soft">
              {words.step.after(props.before.map((one) => one.short))}
            </span>
          )}
          {props.here && !done && (here ? <HereMark /> : <strong>{words.step.beginHere}</strong>)}
        </span>
      </label>
      {done && tick?.values.overruled && (
        <p class="overruled">{words.step.overruled(tick.values.overruled)}</p>
      )}
      {tick && <Clashes view={tick} labels={words.step.fields} />}
      {props.children}
    </li>
  );
}

/** The way to what comes first: on this page, or at its own step. */
function Show({ before, onClose }: { before: Before; onClose: () => void }) {
  const here = document.getElementById(before.id);
  const show = () => {
    onClose();
    // Once the panel has closed and given its focus back.
    setTimeout(() => {
      here?.scrollIntoView({ block: "center" });
      here?.querySelector("input")?.focus({ preventScroll: true });
    });
  };
  return here ? (
    <QuietButton onTap={show}>{words.step.showFirst}</QuietButton>
  ) : (
    <QuietButton href={before.href} onTap={onClose}>
      {words.step.showFirst}
    </QuietButton>
  );
}

/** Says what comes first and why; goes on all the same with a word for the book. */
function TooEarly(props: {
  work: Work;
  operation: string | null;
  before: readonly Before[];
  onClose: () => void;
  onOverrule: (why: string) => Promise<boolean>;
}) {
  const jot = useJotting(`overrule/${props.work.build}/${props.operation ?? ""}`);
  const [error, setError] = useState<string | null>(null);
  const overrule = () => {
    if (!jot.text.trim()) {
      setError(words.step.whyNeeded);
      return;
    }
    setError(null);
    void props.onOverrule(jot.text.trim()).then((saved) => saved && jot.drop());
  };
  return (
    <Sheet
      open={props.operation !== null}
      title={words.step.firstTitle}
      main={<BigButton onTap={overrule}>{words.step.tickAnyway}</BigButton>}
      onClose={() => {
        setError(null);
        props.onClose();
      }}
    >
      <ul class="befores" role="list">
        {props.before.map((one) => (
          <li key={one.id}>
            <p>
              <strong>{one.what}</strong>
            </p>
            {one.reason && <p>{words.step.because(one.reason)}</p>}
            <Show before={one} onClose={props.onClose} />
          </li>
        ))}
      </ul>
      <p>{words.step.firstHelp}</p>
      <Field
        label={words.step.why}
        value={jot.text}
        maxLength={500}
        lines={2}
        error={error}
        onInput={jot.set}
      />
    </Sheet>
  );
}
