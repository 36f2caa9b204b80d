/**
 * What a scanned or typed text means in this workshop. Knows no screen, camera or address.
 *
 * Only the code in a text counts: a sticker outlives its server's address, and whatever else a
 * symbol says is never gone to.
 */
import { codeOf, normalise, sameWorkshop } from "../core/codes";
import type { RecordFields } from "../core/records";
import type { Store, View } from "../sync/types";
import { oneSlipAway, slipOf, type TypedSlip } from "./typed";

export type Progress = NonNullable<RecordFields["step_progress"]["state"]>;

/** A step that the bag serves, and what has been said of it in a build. */
export interface ServedStep {
  step: View<"step">;
  state: Progress;
}

/** A bag as it stands in one build. */
export interface InBuild {
  build: View<"build">;
  /** All steps of the bag in the order of the manual. */
  steps: readonly ServedStep[];
  /** The first step that can be gone on with; null when all are done or left out. */
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

/** Order of the manual: section, then step; ids last, so that it is the same everywhere. */
function inManual(store: Lookups, steps: readonly View<"step">[]): View<"step">[] {
  const key = ({ id, values }: View<"step">): [string, string, string] => [
    (values.section && store.get("section", values.section)?.values.order) || "",
    values.order ?? "",
    id,
  ];
  const keyed = steps.map((step) => ({ step, key: key(step) }));
  keyed.sort((a, b) => {
    const at = a.key.findIndex((part, index) => part !== b.key[index]);
    return at < 0 ? 0 : (a.key[at] ?? "") < (b.key[at] ?? "") ? -1 : 1;
  });
  return keyed.map((each) => each.step);
}

const isOpen = ({ state }: ServedStep): boolean => state !== "done" && state !== "left_out";

function bagIn(store: Lookups, build: View<"build">, steps: readonly View<"step">[]): InBuild {
  const said = new Map(
    store
      .where("step_progress", "build", build.id)
      .map(({ values }) => [values.step, values.state ?? "open"] as const),
  );
  const served = steps.map((step): ServedStep => ({ step, state: said.get(step.id) ?? "open" }));
  const open = served.filter(isOpen);
  return {
    build,
    steps: served,
    // What is held waits for a part or an answer; the next one may not.
    next: open.find((each) => each.state !== "held") ?? open[0] ?? null,
  };
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
  if (builds.length === 0) return { kind: "noBuild", ...found };
  const steps = inManual(
    store,
    store.where("step", "kit", kit).filter((each) => each.values.bags?.includes(bag.id)),
  );
  if (steps.length === 0) return { kind: "noSteps", builds, ...found };
  const [first, ...others] = builds.map((build) => bagIn(store, build, steps));
  if (!first) return { kind: "noBuild", ...found };
  const open = first.steps.filter(isOpen);
  const one = steps.length === 1 ? steps[0] : open.length === 1 ? open[0]?.step : undefined;
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
