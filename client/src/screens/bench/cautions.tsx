/** What can hurt a person or spoil a part: first on the screen, and never folded away. */
import type { View } from "../../sync/types";
import { Mark, words } from "../../ui/parts";

export function Cautions({ cautions }: { cautions: readonly View<"caution">[] }) {
  if (cautions.length === 0) return null;
  return (
    <section class="cautions" aria-label={words.step.cautions}>
      <ul role="list">
        {cautions.map(({ id, values }) => (
          <li key={id} class={values.kind === "hurts" ? "caution caution-hurts" : "caution"}>
            <Mark sign="caution" />
            <p>
              <strong>{values.kind === "hurts" ? words.step.hurts : words.step.spoils}.</strong>{" "}
              {values.text}
            </p>
          </li>
        ))}
      </ul>
      {cautions.some(({ values }) => values.kind === "hurts") && (
        <p class="caution-rule">{words.step.labelFirst}</p>
      )}
    </section>
  );
}
