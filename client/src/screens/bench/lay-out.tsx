/** Parts to lay out before a step, or in a bag: quantity, name, designation, and a tick. */
import { useState } from "preact/hooks";
import { Clashes, QuietButton, words } from "../../ui/parts";
import { layOut } from "./actions";
import type { LineView } from "./step-model";
import type { Work } from "./work";

/** What a part is called on screen. */
export function partName(view: LineView): string {
  return view.part?.values.name ?? words.bag.unknownPart;
}

export function LayOut(props: {
  work: Work;
  lines: readonly LineView[];
  /** The step they are laid out for, which is then under way; null in a bag. */
  step: string | null;
  /** Small text at the end of a line: its bag, or its step. */
  where: (view: LineView) => string | null;
  onShort: (view: LineView) => void;
}) {
  const { work, lines } = props;
  const isOut = (view: LineView) => view.tick?.values.laid_out === true;
  const certain = lines.filter((view) => !view.onlyIf);
  const open = certain.filter((view) => !isOut(view));
  // Only as the screen opens: a list that folds itself up under a finger would be a nuisance.
  const [folded] = useState(lines.length > 0 && lines.every(isOut));
  const tick = (view: LineView, out: boolean) => {
    void work.save(layOut(work.look, work.hand(), props.step, [view.line.id], out));
  };
  const all = () => {
    const drafts = layOut(
      work.look,
      work.hand(),
      props.step,
      open.map((view) => view.line.id),
      true,
    );
    void work.save(drafts, { said: words.step.allOutSaid(open.length) });
  };
  const list = (
    <>
      <ul class="lines" role="list">
        {lines.map((view) => {
          const { line, part } = view;
          const facts = [
            part?.values.designation,
            part?.values.number && <span class="whole">{part.values.number}</span>,
            props.where(view),
            view.onlyIf && words.step.onlyIf(view.onlyIf),
          ].filter(Boolean);
          return (
            <li key={line.id} class={isOut(view) ? "line is-ticked" : "line"}>
              <label class="tick">
                <input
                  type="checkbox"
                  checked={isOut(view)}
                  onChange={(event) => tick(view, event.currentTarget.checked)}
                />
                <span class="line-count">{words.step.quantity(line.values.quantity ?? 0)}</span>
                <span class="line-words">
                  <span>{partName(view)}</span>
                  {facts.length > 0 && (
                    <span class="soft">
                      {facts.map((fact, at) => (at > 0 ? [" · ", fact] : fact))}
                    </span>
                  )}
                </span>
              </label>
              {view.tick && <Clashes view={view.tick} labels={words.step.fields} />}
              <button type="button" class="short-button" onClick={() => props.onShort(view)}>
                {words.step.shortHere}
                <span class="unseen">: {partName(view)}</span>
              </button>
            </li>
          );
        })}
      </ul>
      {open.length > 1 && <QuietButton onTap={all}>{words.step.allOut}</QuietButton>}
    </>
  );
  return folded ? (
    <details class="fold">
      <summary>{words.step.partsAgain}</summary>
      {list}
    </details>
  ) : (
    list
  );
}
