/** Progress as a steel rule: one graduation a step, each fifth longer, pencilled in when done. */
import { words } from "./words";

const MOST_GRADUATIONS = 120;

/** `here`: how many steps lie before the place where the builder is. */
export function Rule(props: { done: number; total: number; here?: number | null | undefined; label?: string | undefined }) {
  const { done, total } = props;
  const text = props.label ?? words.shared.stepsDone(done, total);
  // A rule with more graduations than can be told apart is drawn with every second, fifth, …
  const each = Math.max(1, Math.ceil(total / MOST_GRADUATIONS));
  const graduations = Array.from({ length: Math.floor(total / each) + 1 }, (_, at) => at * each);
  const width = Math.max(1, total);
  return (
    <div class="rule">
      <svg viewBox={`0 0 ${width} 10`} preserveAspectRatio="none" aria-hidden="true">
        <rect class="rule-done" x="0" y="0" width={done} height="10" />
        {graduations.map((at) => (
          <line
            key={at}
            class={at <= done ? "is-inked" : ""}
            x1={at}
            x2={at}
            y1="10"
            y2={at % (10 * each) === 0 ? 3 : at % (5 * each) === 0 ? 5 : 7}
          />
        ))}
        {typeof props.here === "number" && (
          <line class="rule-here" x1={props.here} x2={props.here} y1="0" y2="10" />
        )}
      </svg>
      <progress max={width} value={done} aria-label={text} />
      <span class="rule-text">{text}</span>
    </div>
  );
}
