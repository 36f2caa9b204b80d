/** The end of a step: done, with a photo and a word if the builder likes; held; left out. */
import { useState } from "preact/hooks";
import { to } from "../../routes";
import {
  BigButton,
  Field,
  QuietButton,
  Row,
  Sheet,
  useBench,
  words,
} from "../../ui/parts";
import { sayState, sayWord, tickOperations } from "./actions";
import { PhotoButtons } from "./photos";
import { isTicked, type StepView } from "./step-model";
import { type Work, useJotting } from "./work";

/** A step that can be gone to: its number and address. */
export interface Way {
  number: string;
  href: string;
}

/** What the next builder should watch for; kept when the field is left. */
export function Word({ work, view }: { work: Work; view: StepView }) {
  const jot = useJotting(`word/${work.build}/${view.step.id}`, view.progress?.values.word ?? "");
  const keep = () => {
    if (jot.text.trim() === (view.progress?.values.word ?? "")) return;
    void work
      .save(sayWord(work.look, work.hand(), view.step.id, jot.text))
      .then((saved) => saved && jot.drop());
  };
  return (
    <Field
      label={words.step.word}
      hint={words.shared.optional}
      value={jot.text}
      lines={2}
      maxLength={2000}
      onInput={jot.set}
      onLeave={keep}
    />
  );
}

/** After 'Done': what was left open, photo, word, and the way on under the thumb. */
export function AfterDone(props: {
  work: Work;
  view: StepView;
  open: boolean;
  next: Way | null;
  onClose: () => void;
}) {
  const { work, view, next } = props;
  const { store } = useBench();
  const number = view.step.values.number ?? "";
  const unticked = view.operations.filter(({ id }) => !isTicked(store, work.build, id));
  const tickRest = () =>
    void work.save(
      tickOperations(
        work.look,
        work.hand(),
        view.step.id,
        unticked.map(({ id }) => id),
        true,
      ),
    );
  const reopen = () => {
    void work
      .save(sayState(work.look, work.hand(), view.step.id, "under_way"), {
        said: words.step.reopened(number),
      })
      .then((saved) => saved && props.onClose());
  };
  return (
    <Sheet
      open={props.open}
      title={words.step.doneSaid(number)}
      onClose={props.onClose}
      main={
        next && (
          <BigButton href={next.href} onTap={props.onClose}>
            {words.step.next(next.number)}
          </BigButton>
        )
      }
    >
      {unticked.length > 0 && (
        <Row>
          <span>{words.step.doneOpen(unticked.length)}</span>
          <QuietButton onTap={tickRest}>{words.step.tickRest}</QuietButton>
        </Row>
      )}
      <p>{words.step.offered}</p>
      <PhotoButtons work={work} step={view.step.id} />
      <Word work={work} view={view} />
      <QuietButton onTap={reopen}>{words.step.notDone}</QuietButton>
    </Sheet>
  );
}

/** Where the step itself is put right: what the manual has of it. */
export function EditStep({ view }: { view: StepView }) {
  const { kit } = view.step.values;
  if (!kit) return null;
  return <QuietButton href={to.kitStep(kit, view.step.id)}>{words.step.edit}</QuietButton>;
}

/** Holding a step with what holds it, and leaving it out. */
export function Otherwise({ work, view }: { work: Work; view: StepView }) {
  const jot = useJotting(`hold/${work.build}/${view.step.id}`);
  const [open, setOpen] = useState(jot.text !== "");
  const number = view.step.values.number ?? "";
  const { id } = view.step;
  const hold = () => {
    void work
      .save(sayState(work.look, work.hand(), id, "held", jot.text), {
        said: words.step.held(number),
      })
      .then((saved) => saved && jot.drop());
  };
  const leaveOut = () =>
    void work.save(sayState(work.look, work.hand(), id, "left_out"), {
      said: words.step.leftOut(number),
    });
  return (
    <details
      class="otherwise"
      open={open}
      onToggle={(event) => setOpen(event.currentTarget.open)}
    >
      <summary>{words.step.otherwise}</summary>
      {open && (
        <div class="block">
          <Field
            label={words.step.holdWhy}
            hint={words.shared.optional}
            value={jot.text}
            maxLength={500}
            onInput={jot.set}
          />
          <Row>
            <QuietButton onTap={hold}>{words.step.hold}</QuietButton>
            <QuietButton onTap={leaveOut}>{words.step.leaveOut}</QuietButton>
            <EditStep view={view} />
          </Row>
        </div>
      )}
    </details>
  );
}
