/** Everything of one step of a build, gathered from the store in the order it is shown. */
import { byOrder } from "../../core/order";
import type { RecordType } from "../../core/records";
import type { Store, View } from "../../sync/types";
import { operationTickId, partTickId, pickId, progressId } from "./actions";

export interface LineView {
  line: View<"part_line">;
  part: View<"part"> | undefined;
  bag: View<"bag"> | undefined;
  tick: View<"part_tick"> | undefined;
  /** Set when the line belongs to an alternative that is not picked yet. */
  onlyIf: string | null;
}

export interface ChoiceView {
  choice: View<"choice">;
  alternatives: readonly View<"alternative">[];
  pick: View<"pick"> | undefined;
}

export interface StepView {
  step: View<"step">;
  progress: View<"step_progress"> | undefined;
  bags: readonly View<"bag">[];
  lines: readonly LineView[];
  operations: readonly View<"operation">[];
  joints: readonly View<"joint">[];
  dimensions: readonly View<"dimension">[];
  choices: readonly ChoiceView[];
  cautions: readonly View<"caution">[];
  page: View<"page"> | undefined;
}

type Ordered = { order?: string | null };

/** Records in the order of their keys, those of one key by id. */
export function inOrder<T extends RecordType>(views: readonly View<T>[]): View<T>[] {
  const key = (view: View<T>) => ({ id: view.id, order: (view.values as Ordered).order });
  return [...views].sort((a, b) => byOrder(key(a), key(b)));
}

/** Lines of a list that count for what has been picked so far. */
export function linesFor(
  store: Store,
  build: string,
  lines: readonly View<"part_line">[],
): LineView[] {
  const shown: LineView[] = [];
  for (const line of inOrder(lines)) {
    const { alternative, part, bag } = line.values;
    let onlyIf: string | null = null;
    if (alternative) {
      const of = store.get("alternative", alternative)?.values;
      const picked = of?.choice
        ? store.get("pick", pickId(build, of.choice))?.values.alternative
        : undefined;
      if (picked && picked !== alternative) continue;
      onlyIf = picked ? null : (of?.title ?? "?");
    }
    shown.push({
      line,
      part: part ? store.get("part", part) : undefined,
      bag: bag ? store.get("bag", bag) : undefined,
      tick: store.get("part_tick", partTickId(build, line.id)),
      onlyIf,
    });
  }
  return shown;
}

/** Cautions with those that can hurt a person first. */
export function hurtsFirst(cautions: readonly View<"caution">[]): View<"caution">[] {
  const rank = (view: View<"caution">) => (view.values.kind === "hurts" ? 0 : 1);
  return inOrder(cautions).sort((a, b) => rank(a) - rank(b));
}

/** The step with all that hangs on it; undefined while it is not on this device. */
export function readStep(store: Store, build: string, id: string): StepView | undefined {
  const step = store.get("step", id);
  if (!step) return undefined;
  const { page } = step.values;
  return {
    step,
    progress: store.get("step_progress", progressId(build, id)),
    bags: (step.values.bags ?? [])
      .map((bag) => store.get("bag", bag))
      .filter((bag) => bag !== undefined),
    lines: linesFor(store, build, store.where("part_line", "step", id)),
    operations: inOrder(store.where("operation", "step", id)),
    joints: [...store.where("joint", "step", id)],
    dimensions: inOrder(store.where("dimension", "step", id)),
    choices: inOrder(store.where("choice", "step", id)).map((choice) => ({
      choice,
      alternatives: inOrder(store.where("alternative", "choice", choice.id)),
      pick: store.get("pick", pickId(build, choice.id)),
    })),
    cautions: hurtsFirst(store.where("caution", "step", id)),
    page: page ? store.get("page", page) : undefined,
  };
}

/** Whether an operation is ticked in a build. */
export function isTicked(store: Store, build: string, operation: string): boolean {
  return store.get("operation_tick", operationTickId(build, operation))?.values.done === true;
}
