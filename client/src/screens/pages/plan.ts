/** What is being made of a photographed page: kept word by word while it is worked on. */
import type { Frame } from "../../core/frames";
import { isSheet, wholeOf, type Quad } from "../../core/quad";
import type { Look } from "../../core/readable";
import type { Jotter } from "../../sync/types";

export interface Plan {
  /** Fractions of the picture. */
  readonly corners: Quad;
  readonly look: Look;
  readonly number: string;
  /** Ids of the steps that it shows, in the order in which they were chosen. */
  readonly steps: readonly string[];
  /** Of the straight page, by step; where there is none, all of it. */
  readonly frames: Readonly<Record<string, Frame>>;
  /** The corners are right; what is left is to say which steps it shows. */
  readonly straight: boolean;
}

export const newPlan = (guess: Quad | null, step: string | null): Plan => ({
  corners: guess ?? wholeOf(1, 1),
  look: "bright",
  number: "",
  steps: step ? [step] : [],
  frames: {},
  straight: false,
});

/** Other corners make another page: frames that were marked on the old one are gone with it. */
export const withCorners = (plan: Plan, corners: Quad): Plan => ({ ...plan, corners, frames: {} });

export function withStep(plan: Plan, step: string, wanted: boolean): Plan {
  if (wanted) return { ...plan, steps: [...plan.steps.filter((one) => one !== step), step] };
  return withFrame({ ...plan, steps: plan.steps.filter((one) => one !== step) }, step, null);
}

export function withFrame(plan: Plan, step: string, frame: Frame | null): Plan {
  const { [step]: _old, ...rest } = plan.frames;
  return { ...plan, frames: frame ? { ...rest, [step]: frame } : rest };
}

/** Name of the picture that is worked on, and of what is kept beside it; one for each kit. */
export const workName = (kit: string): string => `page/${kit}`;

export function jotDown(jotter: Jotter, kit: string, plan: Plan): void {
  jotter.write(workName(kit), JSON.stringify(plan));
}

/** What was jotted down, if it can be made sense of. */
export function jotted(jotter: Jotter, kit: string): Plan | null {
  try {
    const plan = JSON.parse(jotter.read(workName(kit)) ?? "null") as Plan | null;
    const sound =
      plan !== null &&
      Array.isArray(plan.corners) &&
      plan.corners.length === 4 &&
      plan.corners.every(({ x, y }) => Number.isFinite(x) && Number.isFinite(y)) &&
      ["plain", "bright", "grey"].includes(plan.look) &&
      typeof plan.number === "string" &&
      Array.isArray(plan.steps) &&
      typeof plan.frames === "object" &&
      plan.frames !== null;
    return sound ? { ...plan, straight: plan.straight && isSheet(plan.corners) } : null;
  } catch {
    return null;
  }
}
