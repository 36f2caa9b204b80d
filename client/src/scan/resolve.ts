/**
 * What a scanned or typed text means in this workshop. Knows no screen, camera or address.
 *
 * Only the code in a text counts: a sticker outlives its server's address, and whatever else a
 * symbol says is never gone to.
 */
import { codeOf, normalise, sameWorkshop } from "../core/codes";
import { standing, type KitRecords, type StepState } from "../core/progress";
import type { Store, View } from "../sync/types";
import { oneSlipAway, slipOf, type TypedSlip } from "./typed";

/** A step that the bag serves, and how it stands in a build. */
export interface ServedStep {
  step: View<"step">;
  state: StepState;
}

/** A bag as it stands in one build. */
export interface InBuild {
  build: View<"build">;
  /** All steps of the bag in the order to do them. */
  steps: readonly ServedStep[];
  /** The step to go on with: under way, else the first ready one; null when all are done. */
  next: ServedStep | null;
}

export interface FoundBag {
  bag: View<"bag">;
  kitName: string;
}

export type Answer =
  /** One step it can be: go there. */
  | ({ kind: "step"; inBuild: InBuild; step: View<"step"> } & FoundBag)
  /** Several steps or builds: offer them. `inBuild` is the build worked on last. */
  | ({ kind: "steps"; inBuild: InBuild; others: readonly InBuild[] } & FoundBag)
  /** The bag serves no step yet. */
  | ({ kind: "noSteps"; builds: readonly View<"build">[] } & FoundBag)
  /** Nobody has begun to build its kit. */
  | ({ kind: "noBuild" } & FoundBag)
  /** More than one bag carries the code: ask which. */
  | { kind: "bags"; code: string; bags: readonly FoundBag[] }
  /** Ours by its look, but no bag of this workshop as this device knows it. */
  | { kind: "unknown"; code: string }
  /** Printed by another workshop. */
  | { kind: "otherWorkshop"; code: string }
  /** A symbol that is no label of this program. */
  | { kind: "foreign"; text: string }
  /** A typed code that cannot be right; `meant`: bags whose code is one slip away. */
  | { kind: "damaged"; slip: TypedSlip; meant: readonly FoundBag[] };

/** What resolving needs of the store. */
export type Lookups = Pick<Store, "bagsByCode" | "load" | "get" | "where">;

export interface Text {
  how: "scanned" | "typed";
  text: string;
}

const isOpen = ({ state }: ServedStep): boolean => state !== "done" && state !== "left_out";

function kitRecords(store: Lookups, kit: string): KitRecords {
  return {
    steps: store.where("step", "kit", kit),
    bags: store.where("bag", "kit", kit),
    operations: store.where("operation", "kit", kit),
    comesBefore: store.where("comes_before", "kit", kit),
    partLines: store.where("part_line", "kit", kit),
  };
}

function bagIn(store: Lookups, kit: KitRecords, build: View<"build">, bag: string): InBuild {
  const at = standing(kit, {
    progress: store.where("step_progress", "build", build.id),
    ticks: store.where("operation_tick", "build", build.id),
  });
  const stands = at.bags.get(bag);
  const steps = (stands?.steps ?? []).flatMap((id): ServedStep[] => {
    const step = store.get("step", id);
    return step ? [{ step, state: at.steps.get(id)?.state ?? "ready" }] : [];
  });
  const next = steps.find((each) => each.step.id === stands?.nextStep && isOpen(each));
  return { build, steps, next: next ?? null };
}

/** When a build was last worked on, as an instant that sorts as text; empty if never. */
function lastWorkedOn(store: Lookups, build: View<"build">): string {
  const moments = [
    build.values.started_at,
    ...store.where("place", "build", build.id).map(({ values }) => values.at),
    ...store
      .where("sitting", "build", build.id)
      .flatMap(({ values }) => [values.began_at, values.last_at, values.ended_at]),
    ...store.where("step_progress", "build", build.id).map(({ values }) => values.at),
  ];
  return moments.reduce<string>((latest, at) => (at && at > latest ? at : latest), "");
}

/** Builds of a kit, the one last worked on first; finished ones only if there is no other. */
async function buildsOf(store: Lookups, kit: string): Promise<View<"build">[]> {
  const all = store.where("build", "kit", kit);
  await Promise.all(all.map((each) => store.load(each.id)));
  const going = all.filter((each) => !each.values.finished_at);
  return (going.length > 0 ? going : [...all])
    .map((build) => ({ build, at: lastWorkedOn(store, build) }))
    .sort((a, b) => (a.at === b.at ? (a.build.id < b.build.id ? -1 : 1) : a.at > b.at ? -1 : 1))
    .map((each) => each.build);
}

function named(store: Lookups, bag: View<"bag">): FoundBag {
  const kit = bag.values.kit && store.get("kit", bag.values.kit);
  return { bag, kitName: (kit && kit.values.name) || "" };
}

/** What a bag comes to: its step, or what has to be asked. */
export async function resolveBag(bag: View<"bag">, store: Lookups): Promise<Answer> {
  const found = named(store, bag);
  const kit = bag.values.kit;
  if (!kit) return { kind: "noBuild", ...found };
  await store.load(kit);
  const builds = await buildsOf(store, kit);
  const records = kitRecords(store, kit);
  const [first, ...others] = builds.map((build) => bagIn(store, records, build, bag.id));
  if (!first) return { kind: "noBuild", ...found };
  if (first.steps.length === 0) return { kind: "noSteps", builds, ...found };
  const open = first.steps.filter(isOpen);
  const [one] = (first.steps.length === 1 ? first.steps : open.length === 1 ? open : []).map(
    (each) => each.step,
  );
  if (one && others.length === 0) return { kind: "step", inBuild: first, step: one, ...found };
  return { kind: "steps", inBuild: first, others, ...found };
}

async function resolveCode(code: string, store: Lookups, workshop: string): Promise<Answer> {
  const bags = await store.bagsByCode(code);
  const [bag] = bags;
  if (!bag) return { kind: sameWorkshop(code, workshop) ? "unknown" : "otherWorkshop", code };
  if (bags.length > 1) {
    return { kind: "bags", code, bags: bags.map((each) => named(store, each)) };
  }
  return resolveBag(bag, store);
}

/** Everything a text can come to. `workshop`: id of this device's workshop. */
export async function resolve(
  { how, text }: Text,
  store: Lookups,
  workshop: string,
): Promise<Answer> {
  // An address pasted into the field is read like a scanned one.
  const asLabel = how === "scanned" || text.includes("/");
  const read = asLabel ? codeOf(text) : normalise(text);
  if ("code" in read) return resolveCode(read.code, store, workshop);
  if (asLabel) return { kind: "foreign", text };
  const slip = slipOf(text, read.slip);
  const near = slip.reason === "check" ? oneSlipAway(text) : [];
  const meant = await Promise.all(near.map((code) => store.bagsByCode(code)));
  return { kind: "damaged", slip, meant: meant.flat().map((bag) => named(store, bag)) };
}
