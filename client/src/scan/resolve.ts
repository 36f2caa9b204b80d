/**
 * What a scanned or typed text means in this workshop. Knows no screen, camera or address.
 *
 * Only the code in a text counts: a sticker outlives its server's address, and whatever else a
 * symbol says is never gone to.
 */
import { codeOf, normalise, sameWorkshop } from "../core/codes";
import { barcodeOf, typedDigits, typedGtins, type Barcode, type Symbology } from "../core/gtin";
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

/** A bag that carries a barcode, and the step to go on with in the build worked on last. */
export interface BagAhead extends FoundBag {
  build: View<"build"> | null;
  next: ServedStep | null;
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
  /** More than one bag carries the maker's barcode; the one to open next comes first. */
  | { kind: "barcodeBags"; barcode: Barcode; bags: readonly BagAhead[] }
  /** No label of this program, and no barcode of a bag. `barcode`: it can be taught to one. */
  | { kind: "foreign"; text: string; barcode: Barcode | null }
  /** A typed code that cannot be right; `meant`: bags whose code is one slip away. */
  | { kind: "damaged"; slip: TypedSlip; meant: readonly FoundBag[] };

/** What resolving needs of the store. */
export type Lookups = Pick<Store, "bagsByCode" | "bagsByBarcode" | "load" | "get" | "where">;

export interface Text {
  how: "scanned" | "typed";
  text: string;
  /** Of what was scanned; a QR code if it is not said. */
  symbology?: Symbology;
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

/** The bag as it stands in the build of its kit that was worked on last, and where in its path. */
async function ahead(bag: View<"bag">, store: Lookups): Promise<BagAhead & { at: number }> {
  const kit = bag.values.kit;
  if (kit) await store.load(kit);
  const found = named(store, bag);
  const [build] = kit ? await buildsOf(store, kit) : [];
  if (!kit || !build) return { ...found, build: null, next: null, at: Infinity };
  const records = kitRecords(store, kit);
  const { next } = bagIn(store, records, build, bag.id);
  const path = standing(records, {
    progress: store.where("step_progress", "build", build.id),
    ticks: store.where("operation_tick", "build", build.id),
  }).path;
  return { ...found, build, next, at: next ? path.indexOf(next.step.id) : Infinity };
}

/** What a barcode comes to if a bag carries it, else null. */
async function resolveBarcode(barcode: Barcode, store: Lookups): Promise<Answer | null> {
  const bags = await store.bagsByBarcode(barcode.text);
  const [bag] = bags;
  if (!bag) return null;
  if (bags.length === 1) return resolveBag(bag, store);
  const all = await Promise.all(bags.map((each) => ahead(each, store)));
  const number = ({ bag: { values } }: BagAhead): string => values.order ?? values.number ?? "";
  all.sort((a, b) => (a.at === b.at ? (number(a) < number(b) ? -1 : 1) : a.at - b.at));
  return { kind: "barcodeBags", barcode, bags: all.map(({ at: _at, ...each }) => each) };
}

async function resolveScanned(
  text: string,
  symbology: Symbology,
  store: Lookups,
  workshop: string,
): Promise<Answer> {
  // Our labels are QR codes: a linear code's characters are no label, whatever they look like.
  const read = symbology === "qr" ? codeOf(text) : null;
  const barcode = barcodeOf(text, symbology);
  const byBarcode = async (): Promise<Answer | null> =>
    barcode && (await resolveBarcode(barcode, store));
  if (read && "code" in read) {
    const answer = await resolveCode(read.code, store, workshop);
    const nobodys = answer.kind === "unknown" || answer.kind === "otherWorkshop";
    return (nobodys && (await byBarcode())) || answer;
  }
  return (await byBarcode()) ?? { kind: "foreign", text, barcode };
}

async function resolveTyped(text: string, store: Lookups, workshop: string): Promise<Answer> {
  const read = normalise(text);
  const label = "code" in read ? await resolveCode(read.code, store, workshop) : null;
  if (label && label.kind !== "unknown" && label.kind !== "otherWorkshop") return label;
  const gtins = typedGtins(text);
  const digits = typedDigits(text);
  // Digits that are no GTIN may stand under a Code 128.
  for (const each of [...gtins, ...(digits ? [digits] : [])]) {
    const answer = await resolveBarcode({ text: each, symbology: null }, store);
    if (answer) return answer;
  }
  if (label) return label;
  const [gtin] = gtins;
  if (gtin) {
    return { kind: "foreign", text: digits ?? text, barcode: { text: gtin, symbology: null } };
  }
  const slip = slipOf(text, "slip" in read ? read.slip : { reason: "check" });
  const near = slip.reason === "check" ? oneSlipAway(text) : [];
  const meant = await Promise.all(near.map((code) => store.bagsByCode(code)));
  return { kind: "damaged", slip, meant: meant.flat().map((bag) => named(store, bag)) };
}

/** Everything a text can come to. `workshop`: id of this device's workshop. */
export function resolve(
  { how, text, symbology }: Text,
  store: Lookups,
  workshop: string,
): Promise<Answer> {
  // An address pasted into the field is read like a scanned one.
  return how === "scanned" || text.includes("/")
    ? resolveScanned(text, symbology ?? "qr", store, workshop)
    : resolveTyped(text, store, workshop);
}
