/** A place where the kit lets the builder pick: the alternatives, and what each changes. */
import { useId } from "preact/hooks";
import { Clashes, Field, words } from "../../ui/parts";
import { pick } from "./actions";
import type { ChoiceView } from "./step-model";
import { type Work, useJotting, usePutBack } from "./work";

export function Choice({ work, view }: { work: Work; view: ChoiceView }) {
  const group = useId();
  usePutBack();
  const { choice, alternatives } = view;
  const picked = view.pick?.values.alternative ?? null;
  const why = useJotting(`why/${work.build}/${choice.id}`, view.pick?.values.why ?? "");
  const title = (id: unknown) =>
    alternatives.find((one) => one.id === id)?.values.title ?? words.step.notPicked;
  const take = (id: string) =>
    void work.save(pick(work.look, work.hand(), choice.id, id), {
      said: words.step.picked(title(id)),
    });
  const keepWhy = () => {
    if (why.text.trim() === (view.pick?.values.why ?? "")) return;
    void work
      .save(pick(work.look, work.hand(), choice.id, picked, why.text))
      .then((saved) => saved && why.drop());
  };
  return (
    <fieldset class="choice">
      <legend>
        {words.step.choose}: {choice.values.title}
      </legend>
      {choice.values.text && <p>{choice.values.text}</p>}
      {view.pick && (
        <Clashes
          view={view.pick}
          labels={words.step.fields}
          format={(value, field) =>
            field === "alternative" ? title(value) : String(value ?? words.clash.empty)
          }
        />
      )}
      {alternatives.map(({ id, values }) => (
        <label key={id} class="tick">
          <input
            type="radio"
            name={group}
            checked={picked === id}
            onChange={() => take(id)}
          />
          <span class="line-words">
            <span>
              <strong>{values.title}</strong>
              {values.in_manual && <span class="soft"> · {words.step.inManual}</span>}
            </span>
            {values.changes && <span>{words.step.changes(values.changes)}</span>}
          </span>
        </label>
      ))}
      {picked ? (
        <Field
          label={words.step.whyPicked}
          hint={words.shared.optional}
          value={why.text}
          maxLength={1000}
          onInput={why.set}
          onLeave={keepWhy}
          onEnter={keepWhy}
        />
      ) : (
        <p class="soft">{words.step.notPicked}</p>
      )}
      <p class="soft">{words.step.pickLater}</p>
    </fieldset>
  );
}
