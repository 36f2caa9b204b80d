/** Texts of the kit editor: Kit, Kit step, Kit table; see words.ts. */
import type { Slip } from "../core/typed";
import { decimalMark, many, number, words } from "./words";

const nouns: Readonly<Record<string, readonly [one: string, more: string]>> = {
  kit: ["kit", "kits"],
  section: ["section", "sections"],
  bag: ["bag", "bags"],
  barcode: ["barcode", "barcodes"],
  part: ["part", "parts"],
  part_line: ["part line", "part lines"],
  step: ["step", "steps"],
  operation: ["operation", "operations"],
  comes_before: ["order pair", "order pairs"],
  joint: ["joint", "joints"],
  dimension: ["dimension", "dimensions"],
  choice: ["choice", "choices"],
  alternative: ["alternative", "alternatives"],
  caution: ["caution", "cautions"],
  page: ["page", "pages"],
  step_progress: ["state of a step", "states of steps"],
  operation_tick: ["tick", "ticks"],
  note: ["note", "notes"],
  photo: ["photo", "photos"],
  shortage: ["shortage", "shortages"],
  reading: ["reading", "readings"],
  pick: ["choice made", "choices made"],
  movement: ["movement of parts", "movements of parts"],
  part_tick: ["part line laid out", "part lines laid out"],
  sitting: ["sitting", "sittings"],
  build: ["build", "builds"],
};

/** `3 steps`, for a type of record. */
export function count(type: string, n: number): string {
  const [one, more] = nouns[type] ?? [type, type];
  return many(n, one, more);
}

/** `a, b and c`. */
export function list(parts: readonly string[]): string {
  return parts.length < 2
    ? (parts[0] ?? "")
    : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1) ?? ""}`;
}

const counts = (of: ReadonlyMap<string, number>): string =>
  list([...of].map(([type, n]) => count(type, n)));

const withPhotos = (photos: number): string =>
  photos > 0 ? ` with ${count("photo", photos)}` : "";

export const kitWords = {
  loading: "Reading the kit…",
  none: "This kit is not on this device",
  noneHelp: "It may not have arrived yet, or it was deleted.",
  noneStep: "This step is not on this device",
  back: "Kit",
  toBuilds: "Builds",
  lead: "What you type is kept as soon as you leave a field.",
  undo: "Undo",
  redo: "Redo",
  undoOf: (what: string) => `Undo: ${what}`,
  redoOf: (what: string) => `Redo: ${what}`,
  nothingToUndo: "Undo: nothing to take back",
  nothingToRedo: "Redo: nothing was taken back",
  undone: (what: string) => `Taken back: ${what}`,
  redone: (what: string) => `Done again: ${what}`,
  left: (what: string, where: readonly string[]) =>
    `${what}. Somebody else has changed ${list(where)} since, so that was left as it is.`,
  leftField: (field: string, of: string) => `“${field}” of ${of}`,

  about: "About the kit",
  asked: "Two devices said different things",
  askedHere: "Two devices said different things here",
  deleteAskedHere: "Deleted on one device, changed on another",
  sections: "Sections",
  bags: "Bags",
  steps: "Steps",
  parts: "Parts",
  order: "What comes before what",
  cautions: "Cautions for the whole kit",
  cautionsHelp: "Shown at the head of every build's path. Those of one step stand at the step.",
  pages: "Pages of the manual",
  pagesNone: "No page of the manual is here yet.",
  pageSteps: (numbers: readonly string[]) =>
    numbers.length === 0
      ? "No step points at it"
      : `${numbers.length === 1 ? "Step" : "Steps"} ${
          numbers.length > 12
            ? `${numbers.slice(0, 12).join(", ")} and ${number(numbers.length - 12)} more`
            : list(numbers)
        }`,
  somePage: "Page without a number",
  barcodes: "Makers' barcodes that it is known by",
  barcodeOf: (text: string) => `Barcode ${text}`,
  noSection: "In no section",
  asTable: "As a table",
  tables: {
    bags: "Bags",
    steps: "Steps",
    parts: "Parts",
    part_lines: "Part lines",
    operations: "Operations",
  },
  allTables: "Tables",

  sectionName: (mark: string, title: string) =>
    [mark, title].filter(Boolean).join(" ") || "Section without a name",
  sectionOf: (name: string) => `Section ${name}`,
  bagName: (n: string) => `Bag ${n}`,
  stepName: (n: string) => `Step ${n}`,
  lineName: (quantity: number, part: string) => `${number(quantity)} × ${part}`,
  noPart: "a part that is gone",
  someFastener: "Fastener",
  nameless: "Without a name",
  pairName: (first: string, then: string) => `${first} before ${then}`,
  pageName: (n: string | null, title: string | null, nth: number) =>
    [n ? `Page ${n}` : title ? "" : `Page ${number(nth)}`, title].filter(Boolean).join(": "),
  quoted: (text: string) => `“${text.length > 40 ? `${text.slice(0, 38)}…` : text}”`,

  fields: {
    name: "Name",
    maker: "Maker",
    scale: "Scale",
    currency: "Currency",
    about: "About",
    mark: "Mark",
    title: "Title",
    number: "Number",
    code: "Code",
    designation: "Designation",
    material: "Material",
    quantity: "Quantity",
    part: "Part",
    bag: "Bag",
    bags: "Bags",
    step: "Step",
    section: "Section",
    text: "Text",
    minutes: "Expected minutes",
    page: "Page",
    frame: "Frame",
    order: "Place in the list",
    alternative: "Only for",
    operation: "Operation",
    fastener: "Fastener",
    count: "How many",
    through: "Goes through",
    into: "Into",
    thread_lock: "Thread-locking",
    snug: "Snug",
    torque_nm: "Torque",
    measured: "Measured how",
    target: "Target",
    plus: "Plus",
    minus: "Minus",
    changes: "What it changes",
    in_manual: "As in the manual",
    kind: "Kind",
    reason: "Why",
    first: "First",
    then: "Then",
    source: "Came from",
  } as Readonly<Record<string, string>>,
  hints: {
    currency: "Three letters, such as EUR.",
    scale: "Such as 1:6.",
    designation: "Of hardware, such as M3x12 cap screw, ISO 4762.",
    text: "What the manual says, in your words.",
    measured: "From where to where, with what.",
    torque: "Only if the manual gives one.",
    tolerance: "How far over and under is still right.",
  },
  newtonMetres: "N·m",
  unsaid: "not said",
  none_: "none",
  materials: {
    metal: "metal",
    plastic: "plastic",
    rubber: "rubber",
    wood: "wood",
    lock_nut: "lock nut",
  } as Readonly<Record<string, string>>,
  threadLocks: { use: "use", never: "never", unsaid: "the manual does not say" } as Readonly<
    Record<string, string>
  >,
  kinds: { hurts: words.step.hurts, spoils: words.step.spoils } as Readonly<Record<string, string>>,

  slips: (slip: Slip): string => {
    switch (slip.slip) {
      case "missing":
        return "This cannot be empty. The old value stays until you write another.";
      case "characters":
        return `Write a number, such as 4 or 4${decimalMark}5.`;
      case "marks":
        return "Write one comma or one point only, and none for thousands.";
      case "whole":
        return "Write a whole number, without decimals.";
      case "zero":
        return "Nothing can be divided by 0.";
      case "range":
        return `Write a number from ${number(slip.least ?? 0)} to ${number(slip.most ?? 0)}.`;
      case "long":
        return `That is too long: ${number(slip.most ?? 0)} characters at most.`;
    }
  },
  rangeMm: (least: number, most: number) =>
    `Write a length from ${number(least)} to ${number(most)} mm.`,

  twice: {
    step: "Another step has this number, too.",
    part: "Another part has this number, too.",
    bag: "Another bag has this number, too.",
  } as Readonly<Record<string, string>>,

  add: "Add",
  adds: {
    section: "Add sections",
    bag: "Add bags",
    step: "Add steps",
    part: "Add parts",
    operation: "Add operations",
    choice: "Add choices",
    alternative: "Add alternatives",
    caution: "Add cautions",
  } as Readonly<Record<string, string>>,
  addHints: {
    section: "One a line: its mark, then its title, as: A Front axle",
    bag: "One a line: number, then title, as: 13 Gearbox",
    step: "One a line: number, then title, as: 2.10 Fit the hub",
    part: "One a line: the name. Or number, name, designation with tabs between.",
    operation: "One a line. Several lines can be pasted.",
    choice: "One a line: what is to be chosen.",
    alternative: "One a line.",
    caution: "One a line.",
  } as Readonly<Record<string, string>>,
  addHurts: "Add: can hurt you",
  addSpoils: "Add: can spoil the part",
  addLine: "Add a part line",
  addJoint: "Add a joint",
  addDimension: "Add this dimension",
  addDimensionTitle: "Another dimension",
  addHere: "Put them into section",
  lineNumber: (n: number, why: string) => `Line ${number(n)}: ${why}`,
  nothingToAdd: "Write at least one line.",
  needNumber: "a number comes first",
  notPaired: "Pair this device first: a bag's code says which workshop it belongs to.",
  pickPart: "Choose a part.",
  noPartsYet: "This kit has no parts yet: add them on the kit's own page, or as a table.",
  noneYet: (type: string) => `No ${(nouns[type] ?? [type, type])[1]} yet.`,

  up: "Up",
  down: "Down",
  upOf: (what: string) => `Up: ${what}`,
  downOf: (what: string) => `Down: ${what}`,
  placeAfter: "Put it after",
  placeStays: "where it is",
  placeFirst: "the beginning: first of all",
  remove: "Delete",
  removeOf: (what: string) => `Delete: ${what}`,
  removeTitle: (what: string) => `Delete ${what}?`,
  removeAlong: (of: ReadonlyMap<string, number>) => `With it go ${counts(of)}.`,
  removeLoses: (of: ReadonlyMap<string, number>) =>
    `${counts(of)} ${[...of.values()].reduce((a, b) => a + b, 0) === 1 ? "stays and names" : "stay and name"} it no more.`,
  removeStays: (of: ReadonlyMap<string, number>) =>
    `Builds have ${counts(of)} of it: they are kept, but are no longer shown at it.`,
  removeUndo: "All of it comes back with one Undo.",
  removeDo: "Delete it",
  keepIt: "Keep it",
  openStep: "Open this step",
  openOf: (what: string) => `Open: ${what}`,

  /** Deleting a kit or a build as a whole. */
  whole: {
    kit: "Delete this kit",
    build: "Delete this build",
    looking: "Looking at what goes with it…",
    notRead: "Not all of it could be read from this device's storage, so nothing is deleted.",
    title: (name: string) => `Delete ${name}?`,
    inKit: (of: ReadonlyMap<string, number>) => `With the kit go ${counts(of)}.`,
    emptyKit: "There is nothing in this kit.",
    built: (names: readonly string[]) =>
      names.length === 1
        ? `There is a build of this kit: ${list(names)}.`
        : `There are ${number(names.length)} builds of this kit: ${list(names)}.`,
    goesToo: (builds: number) =>
      `${builds === 1 ? "A build is" : "Builds are"} nothing without the steps of the kit, so ${builds === 1 ? "it is" : "they are"} deleted, too.`,
    notBuilt: "There is no build of it.",
    /** Null: nothing that anybody has entered. */
    inBuilds: (builds: number, of: ReadonlyMap<string, number>) => {
      const shown = new Map([...of].filter(([type]) => type in nouns));
      return shown.size > 0
        ? `With the ${builds === 1 ? "build" : "builds"} go ${counts(shown)}.`
        : null;
    },
    emptyBuilds: (builds: number) =>
      builds === 1 ? "Nothing is noted in the build yet." : "Nothing is noted in the builds yet.",
    kitStays: (kit: string) => `The kit stays${kit ? `: ${kit}` : ""}, and can be built again.`,
    undo: "All of it comes back with one Undo, on the screen that follows.",
    everywhere: "It goes from all devices of the workshop.",
    doKit: (builds: number, photos: number) =>
      builds === 0
        ? "Delete the kit"
        : `Delete the kit and its ${count("build", builds)}${withPhotos(photos)}`,
    doBuild: (photos: number) => `Delete the build${withPhotos(photos)}`,
    keep: "Keep it",
    doing: "Deleting…",
    gone: (name: string) => `${name} deleted`,
    back: (name: string) => `${name} is back`,
  },

  said: {
    added: (type: string, n: number, what: string) => (n === 1 ? `${what} added` : `${count(type, n)} added`),
    changed: (field: string, of: string) => `${field} of ${of} changed`,
    removed: (what: string) => `${what} deleted`,
    moved: (what: string) => `${what} moved`,
    frame: (of: string) => `Frame of ${of} changed`,
    page: (of: string) => `Page of ${of} changed`,
    paired: (first: string, then: string) => `${first} comes before ${then}`,
    unpaired: (first: string, then: string) => `${first} need not come before ${then} any more`,
    pasted: (changed: number, added: number) =>
      list(
        [
          changed > 0 ? `${many(changed, "row", "rows")} changed` : "",
          added > 0 ? `${many(added, "row", "rows")} added` : "",
        ].filter(Boolean),
      ) + " by pasting",
    filled: (n: number) => `${many(n, "row", "rows")} filled`,
    emptied: (n: number) => `${many(n, "cell", "cells")} emptied`,
    rowsRemoved: (n: number) => `${many(n, "row", "rows")} deleted`,
    rowAdded: "Row added",
  },

  step: {
    title: (n: string) => `Edit step ${n}`,
    own: "The step itself",
    inSection: "Section",
    bags: (numbers: readonly string[]) =>
      numbers.length ? `Bags: ${numbers.join(", ")}` : "Bags: none yet",
    operations: "Operations",
    lines: "Parts laid out",
    joints: "Joints",
    dimensions: "Dimensions",
    choices: "Choices",
    cautions: "Cautions",
    figure: "Figure: page and frame",
    order: "What comes before what",
    previous: (n: string) => `Step before: ${n}`,
    next: (n: string) => `Next step: ${n}`,
    underOperation: "At operation",
    wholeStep: "the whole step",
    jointsSay: (count: number, what: string) => (count > 1 ? `${number(count)} × ${what}` : what),
    alternatives: "Alternatives",
    noBags: "This kit has no bags yet.",
  },

  frame: {
    page: "Page of the manual",
    noPage: "no page",
    noPages: "This kit has no pages yet. They come with the manual, or from photos of it.",
    set: "Draw the frame",
    again: "Draw it again",
    stop: "Leave it as it is",
    drawHelp: "Draw from corner to corner with a finger or the mouse.",
    moveHelp:
      "Drag inside the frame to move it, at a corner to change it. By keys: the arrows, with Shift in larger steps.",
    isWhole: "The whole page is shown",
    name: (n: string) => `Frame of step ${n}`,
    at: ([left, top, width, height]: readonly number[]) =>
      `${pc(left)} from the left, ${pc(top)} from the top, ${pc(width)} wide, ${pc(height)} high`,
    whole: "Take the whole page",
    pageAlt: (page: string) => `${page} of the manual`,
  },

  pairs: {
    lead: "What has to be done first, whatever the order of the list says.",
    none: "Nothing has to come before anything else yet.",
    before: (first: string, then: string) => `${first} comes before ${then}`,
    why: "Why",
    add: "Add an order",
    first: "Tap what comes first.",
    then: (first: string) => `${first} comes first. Tap what comes after it.`,
    reason: (first: string, then: string) => `Why does ${first} come before ${then}?`,
    keep: "Keep this order",
    stop: "Leave it",
    again: "Choose another first",
    few: "It takes two of them to say which comes first.",
    itself: (what: string) => `${what} cannot come before itself.`,
    closes: (first: string, then: string, way: readonly string[]) =>
      `${first} cannot come before ${then}, because ${then} comes before it already: ${way.join(" → ")}. If one of these is wrong, take that away first.`,
    twice: (first: string, then: string) => `${first} comes before ${then} already.`,
    ringTitle: "These wait for each other",
    ring: (way: readonly string[]) => `${way.join(" → ")} → ${way[0] ?? ""}`,
    ringHelp:
      "None of them can be first. Two devices may each have added a pair without knowing of the other. Take away the pair that is wrong:",
    remove: (first: string, then: string) => `Take away: ${first} before ${then}`,
    chart: "Drawing of the order, from left to right",
    search: "Find by number or title",
  },

  table: {
    title: (what: string, kit: string) => `${what} of ${kit}`,
    others: "Other tables",
    rowHead: "Row",
    newRow: "new",
    newRowName: "New row",
    rows: (n: number) => many(n, "row", "rows"),
    chosen: (rows: number, columns: number) =>
      `${many(rows, "row", "rows")} × ${many(columns, "column", "columns")} chosen`,
    help: "Arrows move. Enter or typing edits, Tab goes on to the right, Escape leaves it as it was. Shift and arrows choose several; Ctrl+C, Ctrl+V, Ctrl+D (fill down), Delete, Ctrl+Z.",
    helpThumb:
      "Tap a cell, then tap it again to change it. The number before a row chooses the row; with “Several” on, the next tap chooses up to there.",
    edit: "Edit",
    editOf: "Edit the cell",
    extend: "Several",
    extendOf: "Several: choose up to the next tap",
    copy: "Copy",
    paste: "Paste…",
    fill: "Fill down",
    remove: (n: number) => `Delete ${many(n, "row", "rows")}`,
    copied: (rows: number) => `${many(rows, "row", "rows")} copied`,
    notCopied: "The browser did not let this be copied. Choose and copy it here by hand:",
    pasteTitle: "Paste rows",
    pasteHelp:
      "Put rows copied from a spreadsheet here. They are filled in from the chosen cell on; what goes beyond the last row is added.",
    pasteDo: "Fill them in",
    pasteStop: "Leave it",
    cell: (row: number, column: string) => `Row ${number(row)}, ${column}`,
    unfitTitle: (n: number) => `${many(n, "cell does", "cells do")} not fit; nothing is written yet`,
    unfitHelp:
      "Mend them here, or in the spreadsheet and paste again; or leave these rows out.",
    unfitMore: (n: number) => `and ${many(n, "more cell", "more cells")}`,
    leave: (n: number) => `Leave ${many(n, "row", "rows")} out, fill in the rest`,
    drop: "Throw this paste away",
    tryAgain: "Try again",
    beyond: "The table has no column here.",
    beyondName: (n: number) => `column ${number(n)} of the paste`,
    fixed: "This column is not written by hand.",
    missing: "A new row needs this.",
    noSuch: {
      part: "No part has this number or name.",
      bag: "No bag has this number.",
      step: "No step has this number.",
      section: "No section has this mark or title.",
    } as Readonly<Record<string, string>>,
    several: "More than one has this number or name.",
    tooMany: (n: number) => `At most ${number(n)} bags.`,
    keptRow: (missing: readonly string[]) =>
      `Kept in the last row until ${list(missing)} ${missing.length === 1 ? "is" : "are"} there, too.`,
    nothingHere: "There is nothing in that cell to change.",
    notFit: (where: string, why: string) => `${where}: ${why}`,
    stays: "It stays as you typed it.",
    oldValue: "Take the old value",
    minutes: "Minutes",
  },
};

function pc(value: number | undefined): string {
  return `${number(Math.round((value ?? 0) * 1000) / 10)} %`;
}
