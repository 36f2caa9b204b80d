/** Where in a build a person has to be asked: two devices wrote without knowing of each other. */
import type { RecordType } from "../../core/records";
import { to } from "../../routes";
import type { Store, View } from "../../sync/types";

/** Types of records that are settled on the page of a step, or of a bag. */
const TYPES = [
  "step_progress", "operation_tick", "part_tick", "pick", "reading", "note", "photo", "shortage",
] as const satisfies readonly RecordType[];

/** A page on which something is to be settled. `step`, `bag`: its number. */
export interface Question {
  readonly href: string;
  readonly step: string | null;
  readonly bag: string | null;
}

const isAsked = ({ clashes, deleteAsked }: View): boolean => deleteAsked || clashes.length > 0;

function stepOf(store: Store, { values }: View): string | null {
  const of: Readonly<Record<string, unknown>> = values;
  const named = (field: string): string => String(of[field] ?? "");
  return (
    (named("step") ||
      store.get("part_line", named("part_line"))?.values.step ||
      store.get("choice", named("choice"))?.values.step) ??
    null
  );
}

/** Each page once, in the order in which they are found. */
export function questionsOf(store: Store, build: string): Question[] {
  const found = new Map<string, Question>();
  for (const type of TYPES) {
    for (const view of store.where(type, "build", build) as readonly View[]) {
      if (!isAsked(view)) continue;
      const step = store.get("step", stepOf(store, view) ?? "");
      const { bag: bagId } = view.values as { bag?: string | null };
      const bag = step ? undefined : store.get("bag", bagId ?? "");
      const href = step ? to.step(build, step.id) : bag ? to.bag(build, bag.id) : null;
      if (href === null) continue;
      found.set(href, { href, step: step?.values.number ?? null, bag: bag?.values.number ?? null });
    }
  }
  return [...found.values()];
}
