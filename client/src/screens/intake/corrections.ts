/** Corrections of an intake's findings, each of which can be taken back. */
import { useRef, useState } from "preact/hooks";
import { undoing, type Correction, type Corrections, type Finding, type NewFinding } from "../../core/intakes";
import type { Intakes } from "../../sync/types";
import { say, sayTrouble } from "../../ui/parts";
import { findingSays, intakeWords } from "../../ui/words-intake";

const text = intakeWords.findings;

export interface Correcting {
  readonly busy: boolean;
  /** Takes the last correction back; null: there is none. */
  readonly undo: (() => void) | null;
  /** Resolves with whether it was taken. */
  correct(before: Finding, what: Omit<Correction, "id">): Promise<boolean>;
  /** Calls them right as they are, and that is taken back as one. */
  allRight(items: readonly Finding[]): Promise<boolean>;
  /** Resolves with the new finding; null: it was not taken. */
  add(what: NewFinding): Promise<Finding | null>;
}

/** `heard`: findings as they are now. Undo reaches as far back as this screen has been open. */
export function useCorrections(
  intakes: Intakes | null,
  intake: string,
  heard: (items: readonly Finding[]) => void,
): Correcting {
  const [busy, setBusy] = useState(false);
  const [back, setBack] = useState<readonly (readonly Correction[])[]>([]);
  // One after the other: what is corrected twice quickly ends as it was corrected last.
  const turns = useRef<Promise<unknown>>(Promise.resolve());

  const send = (corrections: Corrections): Promise<readonly Finding[] | null> => {
    const sent = turns.current.then(async () => {
      if (!intakes) return null;
      setBusy(true);
      const answer = await intakes.correct(intake, corrections);
      setBusy(false);
      if (answer.kind === "ok") {
        heard(answer.value);
        return answer.value;
      }
      sayTrouble(
        answer.kind === "offline"
          ? text.notSent
          : [answer.problem.title, answer.problem.detail].filter(Boolean).join(": "),
      );
      return null;
    });
    turns.current = sent;
    return sent;
  };

  const takeBack = async (changed: readonly Correction[]): Promise<void> => {
    setBack((all) => all.filter((other) => other !== changed));
    if (await send({ changed })) say(text.undone);
    else setBack((all) => [...all, changed]);
  };
  const remember = (changed: readonly Correction[], said: string): void => {
    setBack((all) => [...all, changed]);
    say(said, () => takeBack(changed));
  };
  const last = back.at(-1);
  return {
    busy,
    undo: last ? () => void takeBack(last) : null,
    async correct(before, what) {
      const items = await send({ changed: [{ id: before.id, ...what }] });
      if (!items) return false;
      const now = items.find((one) => one.id === before.id) ?? before;
      const gone = what.left_out === true;
      remember([undoing(before)], (gone ? text.leftOutSaid : text.changed)(findingSays(now)));
      return true;
    },
    async allRight(items) {
      if (!(await send({ changed: items.map(({ id, values }) => ({ id, values })) }))) return false;
      remember(items.map(undoing), text.allRightSaid(items.length));
      return true;
    },
    async add(what) {
      const items = await send({ added: [what] });
      const made = items?.at(-1);
      if (!made) return null;
      remember([{ id: made.id, left_out: true }], text.added(findingSays(made)));
      return made;
    },
  };
}

/** The list with the findings that were heard of; those that are new stand at its end. */
export function withHeard(items: readonly Finding[], heard: readonly Finding[]): readonly Finding[] {
  const by = new Map(heard.map((one) => [one.id, one]));
  const known = new Set(items.map((one) => one.id));
  return [
    ...items.map((one) => by.get(one.id) ?? one),
    ...heard.filter((one) => !known.has(one.id)),
  ];
}
