/**
 * A kit from its outline: which steps and bags there are, and which bag serves which steps, typed
 * as ranges. Nothing is thrown; what cannot be read is told with its place in the text.
 *
 *     steps    1.1-1.7, 2.1-2.9, K1-K4        or, with titles, a line each:  Front axle: 2.1-2.9
 *     bags     1-12
 *     serves   bag 3: 2.1-2.4, 2.6            a line each; `bag` may be left out
 *
 * Lines that begin with `bag` or `bags` may also stand among the steps, so that one text holds all.
 */

export interface OutlineText {
  readonly steps: string;
  readonly bags?: string;
  readonly serves?: string;
}

export interface OutlineError {
  readonly field: keyof OutlineText;
  /** Where in that text: from `start` up to, not including, `end`. */
  readonly start: number;
  readonly end: number;
  readonly says: string;
}

export interface OutlineSection {
  /** What the numbers of its steps begin with: `1` of 1.1, `K` of K4; null if they differ. */
  readonly mark: string | null;
  readonly title: string | null;
}

export interface OutlineStep {
  readonly number: string;
  /** Index into the sections. */
  readonly section: number | null;
}

export interface Serves {
  readonly bag: string;
  readonly steps: readonly string[];
}

export interface Outline {
  readonly sections: readonly OutlineSection[];
  readonly steps: readonly OutlineStep[];
  /** Numbers of the bags. */
  readonly bags: readonly string[];
  readonly serves: readonly Serves[];
  /** In order of field and place; while there are any, do not make a kit of the rest. */
  readonly errors: readonly OutlineError[];
}

export const STEPS_MAX = 2_000;
export const BAGS_MAX = 500;
export const TEXT_MAX = 20_000;
/** Characters of a number or title, as the records have them. */
const NUMBER_MAX = 20;
const TITLE_MAX = 160;
/** Bags that serve one step. */
const BAGS_OF_STEP_MAX = 40;
const ERRORS_MAX = 20;

/** A piece of one of the texts, and where it stands there. */
interface Piece {
  readonly field: keyof OutlineText;
  readonly text: string;
  readonly start: number;
}

type Thing = "step" | "bag";

const FIELDS = ["steps", "bags", "serves"] as const;

export function parseOutline(text: OutlineText): Outline {
  const reader = new Reader();
  for (const field of FIELDS) {
    for (const line of reader.lines(field, text[field] ?? "")) reader.line(line);
  }
  return reader.outline();
}

/**
 * Which bag may serve which steps, where nobody has said: by number (bag 2: all steps of section 2)
 * or, with as many bags as sections or as steps, one each in order. A help to start from, to be
 * shown before it is taken; empty where there is nothing to go by.
 */
export function guessServes(outline: Outline): Serves[] {
  const { bags, sections, steps } = outline;
  const ofSection = (index: number): string[] =>
    steps.filter(({ section }) => section === index).map(({ number }) => number);
  const byMark = bags.flatMap((bag) => {
    const index = sections.findIndex(({ mark }) => mark === bag);
    return index < 0 ? [] : [{ bag, steps: ofSection(index) }];
  });
  if (byMark.length) return byMark;
  if (bags.length === 0) return [];
  if (bags.length === sections.length) {
    return bags.map((bag, index) => ({ bag, steps: ofSection(index) }));
  }
  if (bags.length !== steps.length) return [];
  return bags.map((bag, index) => ({ bag, steps: [steps[index]!.number] }));
}

class Reader {
  private readonly errors: OutlineError[] = [];
  private readonly sections: OutlineSection[] = [];
  private readonly steps = new Map<string, OutlineStep>();
  private readonly bags = new Set<string>();
  /** Read last, when all steps and bags are known. */
  private readonly serving: { bag: Piece; steps: Piece }[] = [];

  /** Lines, and parts of lines between semicolons. */
  lines(field: keyof OutlineText, text: string): Piece[] {
    if (text.length > TEXT_MAX) {
      const over = { field, text: text.slice(TEXT_MAX), start: TEXT_MAX };
      this.tell(over, `Only ${TEXT_MAX} characters can be read here. Write ranges, such as 1-12.`);
      return [];
    }
    return matches({ field, text, start: 0 }, /[^\n\r;]+/g).filter(({ text: line }) => line.trim());
  }

  line(line: Piece): void {
    const colon = line.text.indexOf(":");
    const left = colon < 0 ? null : trimmed(part(line, 0, colon));
    const right = part(line, colon + 1);
    const word = /^\s*bags?(?![^\s:])\s*/i.exec(line.text)?.[0].length ?? 0;
    const bag = trimmed(part(line, word, Math.max(word, colon)));
    if (left && bag.text && (word > 0 || line.field !== "steps")) {
      this.serving.push({ bag, steps: right });
    } else if (left && (word > 0 || line.field === "bags")) {
      this.readBags(right);
    } else if (line.field === "serves") {
      this.tell(trimmed(line), "Write the bag, a colon and its steps, such as “bag 3: 2.1-2.4”.");
    } else if (word > 0 || line.field === "bags") this.readBags(part(line, word));
    else this.readSteps(right, left);
  }

  outline(): Outline {
    const listed = this.bags.size > 0;
    const serves = new Map<string, Set<string>>();
    const bagsOf = new Map<string, number>();
    for (const { bag, steps } of this.serving) {
      if (!this.knownBag(bag, listed)) continue;
      const served = serves.get(bag.text) ?? new Set();
      serves.set(bag.text, served);
      this.numbers(steps, "step", (number, at) => {
        const others = bagsOf.get(number) ?? 0;
        if (!this.steps.has(number)) this.tell(at, `Step ${number} is not among the steps.`);
        else if (others === BAGS_OF_STEP_MAX) {
          this.tell(at, `Step ${number} can be served by ${BAGS_OF_STEP_MAX} bags.`);
        } else if (!served.has(number)) {
          served.add(number);
          bagsOf.set(number, others + 1);
        }
        return true;
      });
    }
    return {
      sections: this.sections,
      steps: [...this.steps.values()],
      bags: [...this.bags],
      serves: [...serves].map(([bag, served]) => ({ bag, steps: [...served] })),
      errors: this.errors.sort(
        (a, b) => FIELDS.indexOf(a.field) - FIELDS.indexOf(b.field) || a.start - b.start,
      ),
    };
  }

  /** Without a list of bags, those that serve steps are the bags. */
  private knownBag(bag: Piece, listed: boolean): boolean {
    if (this.bags.has(bag.text)) return true;
    const slip = listed ? `Bag ${short(bag.text)} is not among the bags.` : slipOf(bag.text, "bag");
    if (slip) this.tell(bag, slip);
    else this.addBag(bag.text, bag);
    return !slip && this.bags.has(bag.text);
  }

  private readBags(from: Piece): void {
    this.numbers(from, "bag", (number, at) => this.addBag(number, at));
  }

  private addBag(number: string, at: Piece): boolean {
    if (this.bags.has(number)) this.tell(at, `Bag ${number} stands here twice.`);
    else if (this.bags.size < BAGS_MAX) this.bags.add(number);
    else {
      this.tell(at, `A kit can have ${BAGS_MAX} bags; bag ${number} is one more.`);
      return false;
    }
    return true;
  }

  private readSteps(from: Piece, titled: Piece | null): void {
    const title = titled?.text.replace(/\s+/g, " ") || null;
    if (titled && title && title.length > TITLE_MAX) {
      this.tell(titled, `A title can have ${TITLE_MAX} characters; this one has ${title.length}.`);
      return;
    }
    if (titled && /[\p{Cc}\p{Cs}]/u.test(title ?? "")) {
      this.tell(titled, "This title has a character in it that cannot be kept. Type it anew.");
      return;
    }
    const made: string[] = [];
    this.numbers(from, "step", (number, at) => {
      if (this.steps.has(number)) this.tell(at, `Step ${number} stands here twice.`);
      else if (this.steps.size < STEPS_MAX) {
        this.steps.set(number, { number, section: null });
        made.push(number);
      } else {
        this.tell(at, `A kit can have ${STEPS_MAX} steps; step ${number} is one more.`);
        return false;
      }
      return true;
    });
    const marks = new Set(made.map(markOf));
    const shared = marks.size === 1 ? ([...marks][0] ?? null) : null;
    for (const number of made) {
      const section = title === null ? { mark: markOf(number), title } : { mark: shared, title };
      this.steps.set(number, { number, section: this.sectionAt(section) });
    }
  }

  private sectionAt(section: OutlineSection): number | null {
    const { mark, title } = section;
    if (mark === null && title === null) return null;
    const known = this.sections.findIndex((one) =>
      title === null ? one.title === null && one.mark === mark : one.title === title,
    );
    return known < 0 ? this.sections.push(section) - 1 : known;
  }

  /** Reads numbers and ranges; `take` says whether to go on. */
  private numbers(from: Piece, thing: Thing, take: (number: string, at: Piece) => boolean): void {
    for (const item of matches(from, ITEM)) {
      // `Step 3` says no more than `3`.
      if (/^(?:steps?|bags?)$/i.test(item.text)) continue;
      const numbers = expand(item.text, thing);
      if (typeof numbers === "string") this.tell(item, numbers);
      else for (const number of numbers) if (!take(number, item)) return;
    }
  }

  private tell({ field, start, text }: Piece, says: string): void {
    if (this.errors.length >= ERRORS_MAX) return;
    this.errors.push({ field, start, end: start + text.length, says });
  }
}

/** A dash with blanks beside it, a long dash, or `to`: what can only stand between two numbers. */
const BETWEEN = String.raw`\s*[\u2013\u2014]\s*|\s+to\s+|\s+-\s*|-\s+`;
const WORD = String.raw`[^\s,:\u2013\u2014]*[^\s,:\u2013\u2014-]`;
/** A word, or two with that between them; else stray dashes and colons, to be told. */
const ITEM = new RegExp(`${WORD}(?:(?:${BETWEEN})${WORD})?|[:\\u2013\\u2014-]+`, "gi");
const SPLIT = new RegExp(BETWEEN, "i");
const NUMBER = /^[\p{L}\p{N}](?:[\p{L}\p{N}./_-]*[\p{L}\p{N}])?$/u;
/** What comes before the part that counts, and that part: digits, or one letter at the end. */
const COUNTED = /^(.*?)([0-9]+|[A-Za-z])$/;

/** The numbers that an item stands for, or what is wrong with it. */
function expand(item: string, thing: Thing): string[] | string {
  const said = item.split(SPLIT);
  if (said.length === 2) return range(said[0]!, said[1]!, thing);
  // A dash without blanks: a range where both sides count, or else part of the number, as in A-1.
  const dashes = [...item.matchAll(/-/g)].map((match) => match.index);
  const middle = dashes[dashes.length >> 1];
  if (dashes.length % 2 && middle !== undefined) {
    const from = item.slice(0, middle);
    const to = item.slice(middle + 1);
    const bothCount = [from, to].every((end) => /[0-9]/.test(end));
    const letters = /(?:^|[0-9])[A-Za-z]$/.test(from) && /^[A-Za-z]$/.test(to);
    if (bothCount || letters) return range(from, to, thing);
  }
  return slipOf(item, thing) ?? [item];
}

function range(from: string, to: string, thing: Thing): string[] | string {
  const slip = slipOf(from, thing) ?? slipOf(to, thing);
  if (slip) return slip;
  const [, prefix = "", first = ""] = COUNTED.exec(from) ?? [];
  // `1.1-7`, `K1-4` and `2a-c` leave out what both ends begin with.
  const rest = COUNTED.exec(to);
  const [, other = "", last = ""] = rest?.[1] === "" ? [to, prefix, to] : (rest ?? []);
  if (!first || !last || prefix !== other || isDigits(first) !== isDigits(last)) {
    return (
      `“${from}” to “${to}” is no range: both must begin alike, and end in a number ` +
      "or in one letter, such as 1.1-1.7."
    );
  }
  if (!isDigits(first)) return letters(prefix, first, last);
  const low = Number(first);
  const high = Number(last);
  if (high < low) return `${from} to ${to} runs backwards.`;
  const most = thing === "step" ? STEPS_MAX : BAGS_MAX;
  if (high - low >= most) return `${from} to ${to} is too many: a kit can have ${most} ${thing}s.`;
  return Array.from({ length: high - low + 1 }, (_, i) => {
    return prefix + String(low + i).padStart(first.length, "0");
  });
}

function letters(prefix: string, first: string, last: string): string[] | string {
  const low = first.charCodeAt(0);
  const high = last.charCodeAt(0);
  const oneCase = (first < "a") === (last < "a");
  if (high < low || !oneCase) return `${prefix}${first} to ${prefix}${last} runs backwards.`;
  return Array.from({ length: high - low + 1 }, (_, i) => prefix + String.fromCharCode(low + i));
}

/** Why a text is no number of a step or bag; null if it is. */
function slipOf(text: string, thing: Thing): string | null {
  if (text.length > NUMBER_MAX) {
    return `“${short(text)}” is too long: a number can have ${NUMBER_MAX} characters.`;
  }
  if (NUMBER.test(text) && (/\p{N}/u.test(text) || [...text].length <= 2)) return null;
  const title = thing === "step" ? " A title stands before a colon: “Front axle: 2.1-2.9”." : "";
  return `“${short(text)}” is not the number of a ${thing}.${title}`;
}

/** What a number begins with, before what counts: `1` of 1.1 and 1.1a, `K` of K4, null of 12. */
function markOf(number: string): string | null {
  const mark = /^(.*?)[0-9]+[A-Za-z]?$/.exec(number)?.[1] ?? "";
  return mark.replace(/[./_-]+$/, "") || null;
}

function isDigits(text: string): boolean {
  return /^[0-9]+$/.test(text);
}

function short(text: string): string {
  const characters = [...text];
  return characters.length > 24 ? `${characters.slice(0, 24).join("")}…` : text;
}

function part(piece: Piece, from: number, to = piece.text.length): Piece {
  return { ...piece, text: piece.text.slice(from, to), start: piece.start + from };
}

function trimmed(piece: Piece): Piece {
  const lead = piece.text.length - piece.text.trimStart().length;
  return { ...part(piece, lead), text: piece.text.trim() };
}

function matches(piece: Piece, pattern: RegExp): Piece[] {
  return [...piece.text.matchAll(pattern)].map((match) =>
    part(piece, match.index, match.index + match[0].length),
  );
}
