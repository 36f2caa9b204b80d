/** A kit's records from its outline, and the small sums of the 'Start a kit' screen. Pure. */
import { newCode } from "../../core/codes";
import type { Outline } from "../../core/outline";
import { spread } from "../../core/order";
import type { Draft } from "../../sync/types";

/** What is not in the outline; `draw`: a random whole number of at least 25 bits each time. */
export interface Making {
  name: string;
  workshop: string;
  nowMs: number;
  newId: () => string;
  draw: () => number;
  /** Codes that other bags have. */
  taken: ReadonlySet<string>;
}

export interface MadeKit {
  kit: string;
  build: string;
  /** The kit first, its contents, then a build of it: to be written together. */
  drafts: Draft[];
}

/** Throws RangeError if no free code can be found (the workshop is full). */
export function kitFromOutline(outline: Outline, making: Making): MadeKit {
  const kit = making.newId();
  const build = making.newId();
  const taken = new Set(making.taken);
  const drafts: Draft[] = [{ type: "kit", id: kit, set: { name: making.name, source: "outline" } }];

  const sectionOrders = spread(outline.sections.length);
  const sections = outline.sections.map((section, at) => {
    const id = making.newId();
    const order = sectionOrders[at] ?? "V";
    const { mark, title } = section;
    drafts.push({ type: "section", id, set: { kit, mark, title, order } });
    return id;
  });

  const bagOrders = spread(outline.bags.length);
  const bags = new Map<string, string>();
  outline.bags.forEach((number, at) => {
    const id = making.newId();
    const code = newCode(making.workshop, making.draw, taken);
    taken.add(code);
    bags.set(number, id);
    drafts.push({ type: "bag", id, set: { kit, number, code, order: bagOrders[at] ?? "V" } });
  });

  const servedBy = new Map<string, string[]>();
  for (const { bag, steps } of outline.serves) {
    const id = bags.get(bag);
    if (id === undefined) continue;
    for (const step of steps) servedBy.set(step, [...(servedBy.get(step) ?? []), id]);
  }

  const stepOrders = spread(outline.steps.length);
  outline.steps.forEach(({ number, section }, at) => {
    drafts.push({
      type: "step",
      id: making.newId(),
      set: {
        kit,
        number,
        section: section === null ? null : (sections[section] ?? null),
        order: stepOrders[at] ?? "V",
        bags: servedBy.get(number) ?? [],
      },
    });
  });

  const started_at = new Date(making.nowMs).toISOString();
  drafts.push({ type: "build", id: build, set: { kit, name: making.name, started_at } });
  return { kit, build, drafts };
}

/** `a` and `b` follow one another in counting: 2.3 and 2.4, K1 and K2. */
function follows(a: string, b: string): boolean {
  const [one, two] = [/^(.*?)(\d+)$/.exec(a), /^(.*?)(\d+)$/.exec(b)];
  return Boolean(one && two && one[1] === two[1] && Number(one[2]) + 1 === Number(two[2]));
}

/** Numbers as ranges, in the order given: 2.1, 2.2, 2.3, 2.6 is `2.1-2.3, 2.6`. */
export function asRanges(numbers: readonly string[]): string {
  const runs: string[][] = [];
  for (const number of numbers) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run && last !== undefined && follows(last, number)) run.push(number);
    else runs.push([number]);
  }
  return runs
    .map((run) => (run.length > 1 ? `${run[0] ?? ""}-${run.at(-1) ?? ""}` : (run[0] ?? "")))
    .join(", ");
}

/** The text of 'which bag serves which steps' with the line of one bag written anew. */
export function withBagLine(text: string, bag: string, steps: readonly string[]): string {
  const kept = text.split("\n").filter((line) => {
    const named = /^\s*(?:bags?\s+)?(\S+?)\s*:/i.exec(line)?.[1];
    return line.trim() !== "" && named !== bag;
  });
  if (steps.length > 0) kept.push(`bag ${bag}: ${asRanges(steps)}`);
  return kept.join("\n");
}
