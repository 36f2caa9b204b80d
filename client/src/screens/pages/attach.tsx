/** Which steps a page shows, and whether all of it. */
import { useState } from "preact/hooks";
import { byOrder } from "../../core/order";
import type { View } from "../../sync/types";
import { Field, QuietButton, useBench } from "../../ui/parts";
import { pagesWords } from "../../ui/words-pages";
import { type Plan, withFrame, withStep } from "./plan";

const text = pagesWords;
/** With more steps than this, there is a field to find one by. */
const MANY = 8;

/** `from`: the step from which the builder came; it is chosen, and others are a rarer thing. */
export function Steps(props: {
  kit: string;
  from: string | null;
  plan: Plan;
  onPlan: (plan: Plan) => void;
}) {
  const { store } = useBench();
  const { plan } = props;
  const [sought, setSought] = useState("");
  const steps = [...store.where("step", "kit", props.kit)].sort(inOrder);
  const asked = sought.trim().toLowerCase();
  const found = steps.filter(({ values }) =>
    `${values.number ?? ""} ${values.title ?? ""}`.toLowerCase().includes(asked),
  );
  const pageOf = ({ values }: View<"step">) =>
    values.page ? store.get("page", values.page) : undefined;
  // Only as the screen opens: a list that folds itself up under a finger would be a nuisance.
  const [folded] = useState(() => plan.steps.length === 1 && plan.steps[0] === props.from);
  const list = (
    <fieldset class="block">
      <legend>{text.steps}</legend>
      <p class="hint">{steps.length > 0 ? text.stepsHint : text.noSteps}</p>
      {steps.length > MANY && (
        <Field label={text.findStep} value={sought} onInput={setSought} maxLength={60} />
      )}
      {steps.length > 0 && found.length === 0 && <p role="status">{text.nothingFound}</p>}
      {found.length > 0 && (
        <ul class="page-steps" role="list">
          {found.map((step) => {
            const page = pageOf(step);
            return (
              <li key={step.id}>
                <label class="tick">
                  <input
                    type="checkbox"
                    checked={plan.steps.includes(step.id)}
                    onChange={(event) =>
                      props.onPlan(withStep(plan, step.id, event.currentTarget.checked))
                    }
                  />
                  <span class="line-words">
                    <span>{text.step(step.values.number ?? "", step.values.title ?? null)}</span>
                    {page && <span class="soft">{text.hasPage(page.values.number ?? null)}</span>}
                  </span>
                </label>
              </li>
            );
          })}
        </ul>
      )}
    </fieldset>
  );
  return folded ? (
    <details class="fold">
      <summary>{text.otherSteps}</summary>
      {list}
    </details>
  ) : (
    list
  );
}

const inOrder = (a: View<"step">, b: View<"step">): number =>
  byOrder({ order: a.values.order ?? "", id: a.id }, { order: b.values.order ?? "", id: b.id });

/** For each step that was chosen: all of the page, or a frame of its own. */
export function Frames(props: {
  plan: Plan;
  /** The step whose frame is being marked on the page. */
  marking: string | null;
  onMark: (step: string | null) => void;
  onPlan: (plan: Plan) => void;
}) {
  const { store } = useBench();
  const { plan, marking } = props;
  const steps = plan.steps.map((id) => store.get("step", id)).filter((step) => step !== undefined);
  if (steps.length === 0) return null;
  return (
    <section class="block" aria-labelledby="page-frames">
      <h2 id="page-frames">{text.frames}</h2>
      <p>{text.framesHint}</p>
      <ul class="page-frames" role="list">
        {steps.map(({ id, values }) => {
          const number = values.number ?? "";
          const frame = plan.frames[id];
          return (
            <li key={id}>
              <span>
                {text.step(number, values.title ?? null)}
                <br />
                <span class="soft">{frame ? text.ownFigure : text.wholePage}</span>
              </span>
              {frame && (
                <QuietButton
                  onTap={() => {
                    if (marking === id) props.onMark(null);
                    props.onPlan(withFrame(plan, id, null));
                  }}
                >
                  {text.unmark(number)}
                </QuietButton>
              )}
              <QuietButton
                pressed={marking === id}
                onTap={() => props.onMark(marking === id ? null : id)}
              >
                {frame ? text.moveMark(number) : text.mark(number)}
              </QuietButton>
              {marking === id && !frame && <p role="status">{text.drawNow(number)}</p>}
            </li>
          );
        })}
      </ul>
    </section>
  );
}
