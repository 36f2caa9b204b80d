/** How a build stands, worked out once for all screens and again only when its records change. */
import { computed, type ReadonlySignal } from "@preact/signals";
import {
  type KitRecords,
  type Plan,
  type Standing,
  type StepStanding,
  type Wait,
  planOf,
  standing,
} from "../../core/progress";
import { to } from "../../routes";
import type { Store, View } from "../../sync/types";
import { useBench, words } from "../../ui/parts";
import type { Before } from "./operations";

export interface Outlooks {
  standing: Standing;
  /** Steps on the path: the manual's order, changed only where something has to come before. */
  steps: readonly View<"step">[];
  of(step: string): StepStanding;
  /** What is open and comes before an operation or a step, as it is named on screen. */
  before(operation: string): readonly Before[];
  waitsFor(step: string): readonly Before[];
  /** Place of an operation in its step, from 1; null if it is not known here. */
  placeOf(operation: string): number | null;
}

const NOTHING: StepStanding = {
  id: "",
  state: "ready",
  waitsFor: [],
  operations: [],
  operationsDone: 0,
  nextOperation: null,
  heldFor: null,
  shortages: 0,
};

interface KitPlan {
  kit: KitRecords;
  steps: readonly View<"step">[];
  plan: Plan;
}

/** The kit's part: not worked out again for a tick. */
function read(store: Store, id: string): KitPlan {
  const kit = {
    steps: store.where("step", "kit", id),
    bags: store.where("bag", "kit", id),
    operations: store.where("operation", "kit", id),
    comesBefore: store.where("comes_before", "kit", id),
    partLines: store.where("part_line", "kit", id),
  };
  return { kit, steps: kit.steps, plan: planOf(kit) };
}

function work(store: Store, build: string, { kit, steps: views, plan }: KitPlan): Outlooks {
  const at = standing(
    kit,
    {
      progress: store.where("step_progress", "build", build),
      ticks: store.where("operation_tick", "build", build),
      shortages: store.where("shortage", "build", build),
    },
    plan,
  );
  const byId = new Map(views.map((view) => [view.id, view]));
  const of = (step: string) => at.steps.get(step) ?? NOTHING;
  const placeOf = (operation: string): number | null => {
    const step = store.get("operation", operation)?.values.step;
    const place = step ? of(step).operations.indexOf(operation) : -1;
    return place < 0 ? null : place + 1;
  };
  const named = (wait: Wait, from: string | null): Before => {
    const number = byId.get(wait.step)?.values.number ?? "";
    if (wait.kind === "step")
      return {
        id: wait.id,
        what: words.step.title(number),
        short: words.step.title(number).toLowerCase(),
        number,
        href: to.step(build, wait.id),
        reason: wait.reason,
      };
    const place = words.step.operation(placeOf(wait.id) ?? 0);
    const text = store.get("operation", wait.id)?.values.text ?? "";
    const near = wait.step === from;
    const where = near ? place : `${words.step.title(number)}, ${place}`;
    return {
      id: wait.id,
      short: (near ? place : `${number} ${place}`).toLowerCase(),
      number,
      what: `${where}: ${text}`,
      href: to.operation(build, wait.step, wait.id),
      reason: wait.reason,
    };
  };
  return {
    standing: at,
    steps: at.path.map((id) => byId.get(id)).filter((view) => view !== undefined),
    of,
    before: (operation) => {
      const step = store.get("operation", operation)?.values.step ?? null;
      return at.before(operation).map((wait) => named(wait, step));
    },
    waitsFor: (step) => of(step).waitsFor.map((wait) => named(wait, step)),
    placeOf,
  };
}

const known = new WeakMap<Store, Map<string, ReadonlySignal<Outlooks>>>();

/** How a build stands; reading it in a component subscribes. */
export function useOutlooks(build: string, kit: string): Outlooks {
  const { store } = useBench();
  let builds = known.get(store);
  if (!builds) known.set(store, (builds = new Map()));
  const key = `${build} ${kit}`;
  let outlooks = builds.get(key);
  if (!outlooks) {
    const planned = computed(() => read(store, kit));
    outlooks = computed(() => work(store, build, planned.value));
    builds.set(key, outlooks);
  }
  return outlooks.value;
}
