/**
 * The path of a build: sections, bags and steps in the order of the manual, each bag before the
 * step that opens it first. Pure, over what the store shows.
 */
import { type Standing, type StepStanding, type StepState, nextAfter } from "../../core/progress";
import type { View } from "../../sync/types";

export type Item =
  | { kind: "bag"; id: string; bag: View<"bag">; done: boolean; begun: boolean }
  | { kind: "step"; id: string; step: View<"step">; at: StepStanding; bags: readonly string[] };

/** A run of items under one heading; `title` is empty for steps without a section. */
export interface Run {
  id: string;
  title: string;
  items: readonly Item[];
}

export type Filter = "all" | "ready" | "open";

/** States in which a step can be worked at now. */
export const CAN_DO: ReadonlySet<StepState> = new Set<StepState>(["ready", "under_way"]);
/** States that need nothing more. */
export const OVER: ReadonlySet<StepState> = new Set<StepState>(["done", "left_out"]);

const shows = (filter: Filter, state: StepState): boolean =>
  filter === "all" || (filter === "ready" ? CAN_DO.has(state) : !OVER.has(state));

/**
 * Runs of the path. `steps` in the order of the manual; `titleOf`: heading of a section;
 * sections that come again after another one begin a new run.
 */
export function makeRuns(
  steps: readonly View<"step">[],
  bags: ReadonlyMap<string, View<"bag">>,
  of: (step: string) => StepStanding,
  titleOf: (section: string) => string,
  filter: Filter,
): Run[] {
  const opened = new Set<string>();
  const lastUse = new Map<string, boolean>();
  const begun = new Set<string>();
  for (const { id, values } of steps)
    for (const bag of values.bags ?? []) {
      const { state } = of(id);
      lastUse.set(bag, (lastUse.get(bag) ?? true) && OVER.has(state));
      if (state === "done" || state === "under_way") begun.add(bag);
    }

  const runs: { id: string; title: string; items: Item[]; section: string }[] = [];
  for (const step of steps) {
    const at = of(step.id);
    if (!shows(filter, at.state)) continue;
    const section = step.values.section ?? "";
    let run = runs.at(-1);
    if (!run || run.section !== section) {
      run = { id: step.id, title: section ? titleOf(section) : "", items: [], section };
      runs.push(run);
    }
    const numbers: string[] = [];
    for (const id of step.values.bags ?? []) {
      const bag = bags.get(id);
      if (!bag) continue;
      numbers.push(bag.values.number ?? "");
      if (opened.has(id)) continue;
      opened.add(id);
      run.items.push({ kind: "bag", id, bag, done: lastUse.get(id) ?? false, begun: begun.has(id) });
    }
    run.items.push({ kind: "step", id: step.id, step, at, bags: numbers });
  }
  return runs.map(({ id, title, items }) => ({ id, title, items }));
}

/**
 * The step for the thumb: where the builder is, if it can still be worked at; else what comes after
 * it; else the first of all. Null when nothing can be done now.
 */
export function nextStep(standing: Standing, here: string | null): string | null {
  if (!here) return standing.next[0] ?? null;
  const at = standing.steps.get(here);
  return at && CAN_DO.has(at.state) ? here : nextAfter(standing, here);
}
