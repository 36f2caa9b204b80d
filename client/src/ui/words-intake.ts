/** Texts of getting a kit in: the ways to do it, and the looking through; see words.ts. */
import type { ColumnField, FileSlip, Finding, Intake, IntakeKind, What } from "../core/intakes";
import { many, number } from "./words";

const joined = (...parts: (string | null | undefined | false)[]): string =>
  parts.filter(Boolean).join(", ");

const said = (value: unknown): string =>
  typeof value === "string" ? value : typeof value === "number" ? String(value) : "";

/** A size of a file as a person says it; MB of 1 000 000 bytes. */
export function size(bytes: number): string {
  if (bytes < 1_000_000) return `${number(Math.max(1, Math.round(bytes / 1000)))} kB`;
  return `${number(Math.round(bytes / 100_000) / 10)} MB`;
}

const things: Readonly<Record<What, readonly [one: string, more: string]>> = {
  section: ["section", "sections"],
  bag: ["bag", "bags"],
  step: ["step", "steps"],
  operation: ["operation", "operations"],
  part: ["part", "parts"],
  part_line: ["part line", "part lines"],
};

/** "12 bags, 45 steps, 259 part lines"; those that are none are left out. */
export function tally(counts: Readonly<Partial<Record<string, number>>>): string {
  return (["section", "bag", "step", "operation", "part", "part_line"] as const)
    .filter((what) => (counts[what] ?? 0) > 0)
    .map((what) => many(counts[what] ?? 0, ...things[what]))
    .join(", ");
}

/** A finding in one line: what it will be. */
export function findingSays({ what, values }: Pick<Finding, "what" | "values">): string {
  const of = (field: string): string => said(values[field]);
  const place = joined(of("bag") && `bag ${of("bag")}`, of("step") && `step ${of("step")}`);
  // A designation says what a name says, and more.
  const part = joined(of("designation") || of("name"), of("number"), of("material"));
  switch (what) {
    case "section":
      return `Section ${[of("mark"), of("title")].filter(Boolean).join(" · ")}`;
    case "bag":
      return `Bag ${[of("number") || "?", of("title")].filter(Boolean).join(" · ")}`;
    case "step":
      return `Step ${[of("number") || "?", of("title")].filter(Boolean).join(" · ")}`;
    case "operation":
      return joined(of("step") && `Step ${of("step")}: ${of("text")}`);
    case "part":
      return `Part: ${part || "?"}`;
    case "part_line":
      return `${of("quantity") || "?"} × ${part || "?"}${place && ` (${place})`}`;
  }
}

const slips: Readonly<Record<FileSlip["why"], (name: string, kind: IntakeKind) => string>> = {
  empty: (name) => `${name} is empty. Was it copied to its end?`,
  large: (name, kind) =>
    `${name} is too large: ${{ table: "a table", text: "a list", manual: "a manual" }[kind]} can have ` +
    `${{ table: "25 MB", text: "1 MB", manual: "100 MB" }[kind]} at most. ` +
    { table: "Save it without pictures.", text: "Take it in by parts.", manual: "Split it by chapters, and take them in one after the other." }[kind],
  pdf: (name) => `${name} is a PDF, and no table.`,
  table: (name) => `${name} is a table, and no PDF.`,
  picture: (name) =>
    `${name} is a picture. Put the pages into one PDF, or type the manual's numbers and photograph its pages at the kit.`,
  oldTable: (name) => `${name} is an old kind of spreadsheet. Open it and save it as .xlsx or .csv.`,
  other: (name, kind) =>
    kind === "manual"
      ? `${name} is no PDF. Save the manual as PDF and choose that.`
      : `${name} is no table that can be read. Save it as .csv or .xlsx and choose that.`,
};

export const intakeWords = {
  ways: {
    legend: "How does the kit get in?",
    addLegend: "Where does more of the kit come from?",
    outline: "From the manual's numbers",
    outlineHelp: "Type ranges; no server needed.",
    table: "From a table",
    tableHelp: "A list of parts or steps: CSV, XLSX.",
    text: "From a copied list",
    textHelp: "Paste “Bag 3: 4x M3x12 screw”.",
    manual: "From the manual as PDF",
    manualHelp: "Its steps and parts, page by page.",
    addTitle: "Add to this kit",
    addHelp:
      "What the kit has already under the same number is brought up to date, never made twice. You look everything through before it is taken in.",
    noKit: "This kit is not on this device",

    chooseTable: "Choose the table",
    chooseManual: "Choose the PDF",
    drop: "Or drop the file anywhere on this page.",
    dropHere: "Let go: it is read from here",
    tableAbout:
      "CSV, TSV or XLSX, up to 25 MB. Any columns in any order: you see what each is taken for, and can say otherwise.",
    manualAbout:
      "PDF, up to 100 MB and 300 pages; scanned pages too. It stays on your own server.",
    paste: "The list",
    pasteHint: "A line for each bag, step or part. It may come from a web page, a mail or a PDF.",
    pasteExample: "Bag 3 · 4x M3x12 cap screw · 2x bearing 5x11x4 (KG-2081)",
    pasteMissing: "Paste or type at least one line.",
    pasteLarge: "That is more than 1 MB of text. Take it in by parts.",
    readIt: "Read it",
    pastedName: "Copied list",

    sending: (name: string, bytes: number) => `Sending ${name} (${size(bytes)}) to the server…`,
    sendingFor: (since: string) => `since ${since}. The app may stay open meanwhile; it is quicker near the server.`,
    stopSending: "Stop sending",
    sendingStopped: "Stopped. Nothing was taken in.",
    offline: (name: string) =>
      `${name} could not be sent: reading it needs the server, and the server cannot be reached just now. The file is remembered as long as this page is open.`,
    offlineText:
      "Reading the list needs the server, and the server cannot be reached just now. What you pasted is kept on this device.",
    needsServer:
      "This way needs the server, and the server cannot be reached just now. From the manual's numbers works without it.",
    again: (name: string) => `Send ${name} again`,
    lastFile: (name: string) => `Last time it was ${name}, and it could not be sent. Choose it again.`,
    slip: (slip: FileSlip, name: string, kind: IntakeKind) => slips[slip.why](name, kind),
    asManual: "Read it as the manual",
    asTable: "Read it as a table",
    unpaired: "Pair this device first: what is read goes to your workshop's server.",
  },

  waiting: {
    title: "On its way in",
    state: (one: Intake): string => {
      const thing = one.kind === "manual" ? "page" : one.kind === "table" ? "row" : "line";
      const done =
        one.total > 0
          ? `${thing} ${number(Math.min(one.done, one.total))} of ${number(one.total)}`
          : "waits to be read";
      switch (one.state) {
        case "reading":
          return done;
        case "ready":
          return one.asking > 0
            ? `waits for you: ${many(one.asking, "question", "questions")}`
            : "waits for you";
        case "stopped":
          return `stopped at ${done}`;
        case "failed":
          return "could not be read: see why";
        case "taken":
          return "taken in";
      }
    },
    /** Title and state in one line: "Manual.pdf: page 42 of 120". */
    line: (name: string, state: string) => `${name}: ${state}`,
  },

  intake: {
    loading: "Asking the server…",
    title: { table: "Table", text: "Copied list", manual: "Manual" } as Readonly<Record<IntakeKind, string>>,
    gone: "This is not on its way in any more",
    goneWhy: "It was taken in or thrown away, perhaps on another device.",
    newKit: "For a new kit",
    forKit: (name: string) => `For ${name}`,
    reading: { table: "The table is being read…", text: "The list is being read…", manual: "The manual is being read…" } as Readonly<
      Record<IntakeKind, string>
    >,
    readingHelp: "You may leave: it goes on by itself, and is listed under Builds.",
    progress: (one: Intake) => {
      const thing = one.kind === "manual" ? ["page", "pages"] : ["row", "rows"];
      return one.total > 0
        ? `${number(one.done)} of ${many(one.total, thing[0] ?? "", thing[1] ?? "")} read`
        : "waits to be read: two at most are read at once";
    },
    stop: "Stop",
    stopped: (one: Intake) =>
      `Stopped after ${number(one.done)} of ${number(one.total)}. What was read until then is here; the rest can still be read.`,
    goOn: "Read on",
    failed: "It could not be read",
    failedHelp: "Nothing was written to a kit. Mend the file and choose it again, or try the same one once more.",
    tryAgain: "Try once more",
    otherFile: "Choose another file",
    throwAway: "Throw away",
    throwTitle: "Throw this away?",
    throwHelp: "What was read and corrected here is gone then. Kits are not touched.",
    throwDo: "Throw it away",
    thrown: "Thrown away",
    found: (counts: string) => counts || "Nothing was found that could be taken in",
    asking: (n: number) => `${many(n, "finding asks", "findings ask")} something`,
    unfit: (n: number) => `${many(n, "thing does", "things do")} not fit: see below`,
    nothingHelp: {
      table: "Say below what the columns are, and it is read anew.",
      text: "No line could be understood. Write for example: Bag 3: 4x M3x12 cap screw.",
      manual: "Draw a frame around each step, and it becomes one.",
    } as Readonly<Record<IntakeKind, string>>,
    offlineNow: "The server cannot be reached just now. What you see may be old; nothing can be changed until it is back.",
  },

  table: {
    columns: "What the columns are",
    columnsHelp: "Change what is wrong, then read the table anew. It is remembered for files of the same shape.",
    remembered: "Read as you set it for an earlier file of this shape.",
    column: (at: number, heading: string) =>
      heading ? `“${heading}”` : `Column ${columnLetters(at)}, without a heading,`,
    takenFor: (heading: string) => `${heading} is taken for`,
    nothing: "nothing: leave it out",
    samples: (all: readonly string[]) => (all.length > 0 ? `for example ${all.join(" · ")}` : "empty"),
    sure: { sure: "sure", likely: "likely", look: "please look" },
    fields: {
      "section.title": "Section",
      "bag.number": "Bag: number",
      "bag.title": "Bag: title",
      "step.number": "Step: number",
      "step.title": "Step: title",
      "step.text": "Step: text",
      "step.minutes": "Step: minutes",
      "step.bags": "Step: its bags",
      "operation.text": "Operation",
      "part.number": "Part: number",
      "part.name": "Part: name",
      "part.designation": "Part: designation (M3x12)",
      "part.material": "Part: material",
      "part.quantity": "Part: how many",
      "part.text": "Part: all in one text",
    } as Readonly<Record<ColumnField, string>>,
    howRead: "How the file is read",
    sheet: "Sheet",
    headingRow: "Row with the headings",
    headingHint: "Counted from 1; 0 if there is none.",
    headingBad: "Write a whole number from 0 to 100.",
    decimal: "Decimals are written with",
    point: "a point: 2.5",
    comma: "a comma: 2,5",
    again: "Read it anew",
    reset: "As it was",
    rows: (n: number) => many(n, "row", "rows"),
    preview: "What would come in",
  },

  unfit: {
    title: (n: number) => `${many(n, "thing does", "things do")} not fit`,
    help: "These stay out; everything else is taken in. Mend them in the file and take it in again, or type them at the kit.",
    place: (sheet: string | null, row: number, column: string | null) =>
      joined(sheet, `row ${number(row)}`, column && `column ${column}`),
    stood: (text: string) => (text ? `“${text}”` : "(empty)"),
    more: (n: number) => `Show ${number(n)} more`,
    copy: "Copy as text",
    copied: "Copied",
    notCopied: "This browser does not let the app copy. Mark the text and copy it by hand.",
    line: (file: string, place: string, text: string, reason: string) =>
      [file, place, text, reason].join("\t"),
  },

  findings: {
    questions: "Questions first",
    lines: "Line by line",
    firstRows: "The first of them",
    all: "All that was found",
    more: (n: number) => `Show ${number(n)} more`,
    showMore: "Show more",
    row: (row: number, kind: IntakeKind) => `${kind === "table" ? "row" : "line"} ${number(row)}`,
    read: (text: string) => `Read: “${text}”`,
    sure: "sure",
    likely: "likely",
    look: "please look",
    corrected: "said by you",
    leftOut: "left out",
    right: "Right so",
    keep: "Keep",
    leaveOut: "Leave out",
    takeIn: "Take it after all",
    more_: "More of it",
    changed: (what: string) => `Corrected: ${what}`,
    allRightSaid: (n: number) => `${many(n, "finding", "findings")} called right`,
    leftOutSaid: (what: string) => `Left out: ${what}`,
    added: (what: string) => `Added: ${what}`,
    undone: "Taken back",
    undo: "Undo the last correction",
    notSent: "Not corrected: the server cannot be reached just now.",
    whole: "Write a whole number.",
    missing: "This is needed.",
    other: "or say otherwise below",
    labels: {
      title: "Title",
      mark: "Mark",
      number: "Number",
      text: "Text",
      minutes: "Minutes",
      section: "Section",
      bags: "Bags",
      step: "Step",
      name: "Name",
      designation: "Designation",
      material: "Material",
      quantity: "How many",
      bag: "Bag",
    } as Readonly<Record<string, string>>,
    partNumber: "Part number",
    bagsHint: "Their numbers, with commas.",
  },

  manual: {
    page: "Page",
    pageOf: (n: number, total: number) => `Page ${number(n)} of ${number(total)}`,
    pageOption: (n: number, steps: number, asking: number, broken: boolean) =>
      `${number(n)}: ${
        joined(
          broken && "could not be read",
          steps > 0 && many(steps, "step", "steps"),
          asking > 0 && `${number(asking)} to look at`,
        ) || "nothing found"
      }`,
    before: "Page before",
    after: "Next page",
    alt: (n: number) => `Page ${number(n)} of the manual`,
    region: "The page with its frames",
    soFar: "Pages read so far",
    allRight: (n: number) => `All right on this page (${number(n)})`,
    larger: "Larger",
    smaller: "Smaller",
    findings: (n: number) => `Found on page ${number(n)}`,
    none: "Nothing was found on this page.",
    noText:
      "This page is a picture without text, so nothing can be read from it. Draw a frame around each step; numbers are suggested.",
    noPicture: "There is no picture of this page.",
    addStep: "Add a step",
    addPart: "Add a part to it",
    drawHelp: "Press at one corner of the step and drag to the other.",
    drawEnd: "Draw no step",
    nextNumber: (n: string) => `Number ${n}`,
    nextAsk: (n: number) => `Next that asks (${number(n)})`,
    frames: {
      move: (label: string) => `${label}: move its frame with the arrow keys`,
      start: (label: string) => `${label}: top left corner of its frame`,
      end: (label: string) => `${label}: bottom right corner of its frame`,
      draw: "Draw the frame of a step: press and drag, or press Enter to put one into the middle",
    },
  },

  take: {
    take: "Take it in",
    title: "Take it in",
    name: "Name of the kit",
    nameHint: "What stands on the box. Can be changed later.",
    nameMissing: "The kit needs a name.",
    nameDefault: "My kit",
    into: (kit: string) =>
      `Into ${kit}. What it has already is brought up to date; where somebody has said something else since, both are kept and you are asked.`,
    asking: (n: number) =>
      `${many(n, "finding still asks and is", "findings still ask and are")} left out. Look at them first if you want them.`,
    unfit: (n: number) =>
      `${many(n, "thing does not fit and stays out", "things do not fit and stay out")}.`,
    pages: "Keep the manual's pages as pictures, so that each step shows its figure",
    again: "Check the values that matter against the maker's manual: what is read can be wrong.",
    nothing: "There is nothing to take in yet.",
    done: "Taken in",
    doneInto: (kit: string) => `${kit} is on your bench`,
    made: (counts: string) => `New: ${counts}.`,
    changed: (counts: string) => `Brought up to date: ${counts}.`,
    same: "Everything was there already as it is here; nothing was changed.",
    left: (n: number) => `${many(n, "finding was", "findings were")} left out.`,
    clashes: (n: number) =>
      `${many(n, "record says", "records say")} something else than somebody has said since. Both are kept; you are asked at each.`,
    notHere: "It is on the server, and comes to this device as soon as the server can be reached again.",
    labels: "Print the labels",
    path: "To the path",
    kit: "To the kit",
    builds: "To Builds",
    notHereNow: "Its kit is not on this device. It may have been deleted since, or comes as soon as the server can be reached.",
    offline:
      "It may or may not have been taken in: the server could not be reached to its end. Try again; nothing is taken in twice.",
  },
};

/** A column as spreadsheets letter them: A of 0, AA of 26. */
function columnLetters(at: number): string {
  const letter = String.fromCharCode(65 + (at % 26));
  return at < 26 ? letter : columnLetters(Math.floor(at / 26) - 1) + letter;
}
