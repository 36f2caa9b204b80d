/**
 * Where a build stands, from the records of its kit and its own: state of every step and bag, what
 * a step waits for, what can be done next, where the other devices are.
 *
 * What a builder has said of a step stands (`step_progress`); waiting and ready are worked out.
 */
import { compareText } from "./merge";
import { precedence, type ComesBefore, type Precedence } from "./precedence";
import type { RecordFields, RecordType } from "./records";

/** A record as these functions need it; the store's views are such. */
export interface Rec<T extends RecordType> {
  readonly id: string;
  readonly values: Readonly<Partial<RecordFields[T]>>;
}

export interface KitRecords {
  readonly steps: readonly Rec<"step">[];
  readonly bags: readonly Rec<"bag">[];
  readonly operations: readonly Rec<"operation">[];
  readonly comesBefore: readonly Rec<"comes_before">[];
  /** Where a part line names a bag and a step, that step is served by the bag. */
  readonly partLines?: readonly Rec<"part_line">[];
}

export interface BuildRecords {
  readonly progress: readonly Rec<"step_progress">[];
  readonly ticks: readonly Rec<"operation_tick">[];
  readonly shortages?: readonly Rec<"shortage">[];
}

export type StepState = "waiting" | "ready" | "under_way" | "done" | "held" | "left_out";

/** Something that is open and has to be done first. `step`: the step it is, or belongs to. */
export interface Wait {
  readonly kind: "step" | "operation";
  readonly id: string;
  readonly step: string;
  readonly reason: string | null;
}

export interface StepStanding {
  readonly id: string;
  readonly state: StepState;
  /** Why it waits; may also be filled for a step that a builder began all the same. */
  readonly waitsFor: readonly Wait[];
  /** Its operations in the order to do them. */
  readonly operations: readonly string[];
  readonly operationsDone: number;
  /** The first that is not done and that nothing holds up; else the first not done. */
  readonly nextOperation: string | null;
  readonly heldFor: string | null;
  /** Shortages found at it and not settled. */
  readonly shortages: number;
}

export interface BagStanding {
  readonly id: string;
  /** As of a step; `empty`: no step is known to be served by it. */
  readonly state: StepState | "empty";
  /** The steps it serves, in order. */
  readonly steps: readonly string[];
  readonly stepsDone: number;
  /** The one to open when its label is scanned; null only without steps. */
  readonly nextStep: string | null;
}

export interface Counts {
  readonly steps: Readonly<Record<StepState, number>>;
  readonly stepsTotal: number;
  readonly operationsDone: number;
  readonly operationsTotal: number;
  readonly shortages: number;
  /** Steps done, of those that are not left out: 0 to 1; 0 for a build without steps. */
  readonly share: number;
  /** Expected working time of the steps that are open, in minutes, of those that give one. */
  readonly minutesLeft: number;
  /** Open steps that give no time. */
  readonly stepsWithoutMinutes: number;
}

export interface Standing {
  /** Ids of all steps in an order that respects what comes before what. */
  readonly path: readonly string[];
  readonly steps: ReadonlyMap<string, StepStanding>;
  /** In order of the bags. */
  readonly bags: ReadonlyMap<string, BagStanding>;
  readonly counts: Counts;
  /** Steps that can be worked on now: those under way, then those ready, each in order of path. */
  readonly next: readonly string[];
  /** Steps, or operations, that wait for each other in a ring: a slip in the kit. */
  readonly cycle: readonly string[] | null;
  /** What is open and has to come before an operation, its step's own predecessors included. */
  before(operation: string): readonly Wait[];
}

/** What follows from the kit alone: to be kept while only the build changes. */
export interface Plan {
  readonly steps: Precedence;
  readonly operations: Precedence;
  readonly stepOf: ReadonlyMap<string, string | undefined>;
  /** Operations of each step in the order to do them. */
  readonly operationsOf: ReadonlyMap<string, readonly string[]>;
}

export function planOf(kit: KitRecords): Plan {
  const steps = precedence(kit.steps.map(ordered), pairs(kit, "step"));
  const operations = precedence(kit.operations.map(ordered), pairs(kit, "operation"));
  const stepOf = new Map(kit.operations.map(({ id, values }) => [id, values.step]));
  return { steps, operations, stepOf, operationsOf: group(operations.order, (id) => stepOf.get(id)) };
}

/**
 * `kit` and `build` hold the records of one kit and one build that stand; order is no matter.
 * `ways`: the plan of this kit, if it is at hand.
 */
export function standing(
  kit: KitRecords,
  build: BuildRecords,
  ways: Plan = planOf(kit),
): Standing {
  const { stepOf, operationsOf } = ways;
  const said = new Map(build.progress.map(({ values }) => [values.step, values]));
  const ticked = new Set(build.ticks.filter((t) => t.values.done).map((t) => t.values.operation));
  const shortages = openShortages(kit, build);

  const closed = (step: string | undefined): boolean => {
    const state = said.get(step)?.state;
    return state === "done" || state === "left_out";
  };
  const operationDone = (id: string): boolean => ticked.has(id) || closed(stepOf.get(id));
  const stepWaits = (step: string): Wait[] =>
    ways.steps
      .openBefore(step, closed)
      .map(({ id, reason }) => ({ kind: "step", id, step: id, reason }));
  const operationWaits = (id: string): Wait[] =>
    ways.operations.openBefore(id, operationDone).map((open) => ({
      kind: "operation",
      id: open.id,
      step: stepOf.get(open.id) ?? "",
      reason: open.reason,
    }));

  const standingOf = (step: string): StepStanding => {
    const operations = operationsOf.get(step) ?? [];
    const open = operations.filter((id) => !ticked.has(id));
    const free = open.find((id) => operationWaits(id).length === 0);
    const waitsFor = stepWaits(step);
    // Every operation that is left hangs on another step's: then the step as a whole waits.
    if (open.length && free === undefined) {
      const named = new Set<string>();
      for (const wait of open.flatMap(operationWaits)) {
        if (wait.step !== step && !named.has(wait.id)) waitsFor.push(wait);
        named.add(wait.id);
      }
    }
    const progress = said.get(step);
    const begun = operations.length > open.length;
    return {
      id: step,
      state: stateOf(progress?.state, begun, waitsFor.length > 0),
      waitsFor: closed(step) ? [] : waitsFor,
      operations,
      operationsDone:
        progress?.state === "done" ? operations.length : operations.length - open.length,
      nextOperation: closed(step) ? null : (free ?? open[0] ?? null),
      heldFor: progress?.state === "held" ? (progress.held_for ?? null) : null,
      shortages: shortages.get(step) ?? 0,
    };
  };

  const path = ways.steps.order;
  const steps = new Map(path.map((id) => [id, standingOf(id)]));
  const inState = (...states: (StepState | undefined)[]): string[] =>
    path.filter((id) => states.includes(steps.get(id)?.state));
  return {
    path,
    steps,
    bags: bagStandings(kit, path, steps),
    counts: count(kit, build, steps),
    next: [...inState("under_way"), ...inState("ready")],
    cycle: ways.steps.cycle ?? ways.operations.cycle,
    before: (operation) => {
      const step = stepOf.get(operation);
      return [...(step === undefined ? [] : stepWaits(step)), ...operationWaits(operation)];
    },
  };
}

/** The step to offer after `step`: the next on the path that can be worked on, or the first. */
export function nextAfter({ path, next }: Standing, step: string): string | null {
  const can = new Set(next);
  can.delete(step);
  const behind = path.slice(path.indexOf(step) + 1).find((id) => can.has(id));
  return behind ?? path.find((id) => can.has(id)) ?? null;
}

/** Where a device was last. `at`: a moment in UTC as text. */
export interface Whereabouts {
  readonly device: string;
  readonly step: string | null;
  readonly operation: string | null;
  readonly at: string;
}

/** Where this device was in the build, and where the others are, the latest first. */
export function whereabouts(
  places: readonly Rec<"place">[],
  device: string,
): { mine: Whereabouts | null; others: readonly Whereabouts[] } {
  const all = places
    .flatMap(({ values }): Whereabouts[] =>
      values.device && values.at
        ? [
            {
              device: values.device,
              step: values.step ?? null,
              operation: values.operation ?? null,
              at: values.at,
            },
          ]
        : [],
    )
    .sort((a, b) => compareText(b.at, a.at) || compareText(a.device, b.device));
  return {
    mine: all.find((one) => one.device === device) ?? null,
    others: all.filter((one) => one.device !== device),
  };
}

function stateOf(said: string | null | undefined, begun: boolean, waits: boolean): StepState {
  switch (said) {
    case "done":
    case "held":
    case "left_out":
    case "under_way":
      return said;
    default:
      // `open`, nothing, or a word that only a newer app knows.
      return begun ? "under_way" : waits ? "waiting" : "ready";
  }
}

function bagStandings(
  kit: KitRecords,
  path: readonly string[],
  steps: ReadonlyMap<string, StepStanding>,
): Map<string, BagStanding> {
  const serves = new Map<string, Set<string>>(kit.bags.map(({ id }) => [id, new Set()]));
  for (const { id, values } of kit.steps) {
    for (const bag of values.bags ?? []) serves.get(bag)?.add(id);
  }
  for (const { values } of kit.partLines ?? []) {
    if (values.bag && values.step) serves.get(values.bag)?.add(values.step);
  }
  const place = new Map(path.map((id, i) => [id, i]));
  const order = precedence(kit.bags.map(ordered), []).order;
  return new Map(
    order.map((id) => {
      const served = [...serves.get(id)!]
        .filter((step) => place.has(step))
        .sort((a, b) => place.get(a)! - place.get(b)!);
      const of = (...states: StepState[]): string[] =>
        served.filter((step) => states.includes(steps.get(step)!.state));
      const [next = null] = [
        ...of("under_way"), ...of("ready"), ...of("held"), ...of("waiting"), ...of("done"),
        ...of("left_out"),
      ];
      return [
        id,
        {
          id,
          state: bagState(of, served),
          steps: served,
          stepsDone: of("done").length,
          nextStep: next,
        },
      ];
    }),
  );
}

function bagState(
  of: (...states: StepState[]) => string[],
  served: readonly string[],
): BagStanding["state"] {
  if (!served.length) return "empty";
  if (of("left_out").length === served.length) return "left_out";
  if (of("done", "left_out").length === served.length) return "done";
  if (of("under_way").length) return "under_way";
  if (of("ready").length) return of("done").length ? "under_way" : "ready";
  return of("held").length ? "held" : "waiting";
}

function count(
  kit: KitRecords,
  build: BuildRecords,
  steps: ReadonlyMap<string, StepStanding>,
): Counts {
  const tally = { waiting: 0, ready: 0, under_way: 0, done: 0, held: 0, left_out: 0 };
  let operationsDone = 0;
  let operationsTotal = 0;
  let minutesLeft = 0;
  let stepsWithoutMinutes = 0;
  for (const { id, values } of kit.steps) {
    const { state, operations, operationsDone: done } = steps.get(id)!;
    tally[state] += 1;
    if (state === "left_out") continue;
    operationsDone += done;
    operationsTotal += operations.length;
    if (state === "done") continue;
    if (values.minutes == null) stepsWithoutMinutes += 1;
    else minutesLeft += values.minutes;
  }
  const counted = kit.steps.length - tally.left_out;
  return {
    steps: tally,
    stepsTotal: kit.steps.length,
    operationsDone,
    operationsTotal,
    shortages: (build.shortages ?? []).filter(({ values }) => !values.settled_at).length,
    share: counted ? tally.done / counted : 0,
    minutesLeft,
    stepsWithoutMinutes,
  };
}

/** Open shortages by step: that at which it was found, or else that of the part line. */
function openShortages(kit: KitRecords, build: BuildRecords): Map<string, number> {
  const lines = new Map((kit.partLines ?? []).map(({ id, values }) => [id, values.step]));
  const open = new Map<string, number>();
  for (const { values } of build.shortages ?? []) {
    if (values.settled_at) continue;
    const step = values.step ?? (values.part_line ? lines.get(values.part_line) : null);
    if (step) open.set(step, (open.get(step) ?? 0) + 1);
  }
  return open;
}

function pairs(kit: KitRecords, kind: "step" | "operation"): ComesBefore[] {
  return kit.comesBefore.flatMap(({ values }) =>
    values.kind === kind && values.first && values.then
      ? [{ first: values.first, then: values.then, reason: values.reason }]
      : [],
  );
}

function ordered(record: {
  readonly id: string;
  readonly values: { readonly order?: string | null | undefined };
}): { id: string; order: string | null } {
  return { id: record.id, order: record.values.order ?? null };
}

function group(
  ids: readonly string[],
  key: (id: string) => string | undefined,
): Map<string, string[]> {
  const groups = new Map<string, string[]>();
  for (const id of ids) {
    const at = key(id);
    if (at === undefined) continue;
    const known = groups.get(at);
    if (known) known.push(id);
    else groups.set(at, [id]);
  }
  return groups;
}
