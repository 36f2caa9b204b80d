/**
 * Texts of the app, in English; those that only some later screens want are in files of
 * their own (words-desk.ts, words-scan.ts and others), so that the first load stays small. Another
 * language is another object of type `Words`.
 * Numbers and dates follow the locale of the browser; plurals are functions.
 */

const locale = typeof navigator === "undefined" ? "en" : navigator.language || "en";
const rules = new Intl.PluralRules("en");
const figures = new Intl.NumberFormat(locale);
const clock = new Intl.DateTimeFormat(locale, { hour: "2-digit", minute: "2-digit" });
const dayAndClock = new Intl.DateTimeFormat(locale, {
  day: "numeric",
  month: "short",
  hour: "2-digit",
  minute: "2-digit",
});
const day = new Intl.DateTimeFormat(locale, { day: "numeric", month: "long", year: "numeric" });

/** `many(3, "step", "steps")` is "3 steps". */
export function many(count: number, one: string, more: string): string {
  return `${figures.format(count)} ${rules.select(count) === "one" ? one : more}`;
}

export function number(value: number): string {
  return figures.format(value);
}

/** The mark that this browser's language writes before decimals. */
export const decimalMark: "." | "," = figures.format(0.5).includes(",") ? "," : ".";

/** A moment as a person says it: the clock for today, else with the day. `at`: ms or ISO text. */
export function moment(at: number | string, now = Date.now()): string {
  const then = new Date(at);
  if (Number.isNaN(then.getTime())) return "";
  const today = new Date(now).toDateString() === then.toDateString();
  return today ? clock.format(then) : dayAndClock.format(then);
}

export function date(at: number | string): string {
  const then = new Date(at);
  return Number.isNaN(then.getTime()) ? "" : day.format(then);
}

/** Minutes and seconds left, as 9:05. `seconds` >= 0. */
export function countdown(seconds: number): string {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** How long ago, as a person says it. `ms` >= 0. */
export function ago(ms: number): string {
  const minutes = Math.floor(ms / 60_000);
  if (minutes < 1) return "just now";
  if (minutes < 60) return `${many(minutes, "minute", "minutes")} ago`;
  const hours = Math.floor(minutes / 60);
  return hours < 24
    ? `${many(hours, "hour", "hours")} ago`
    : `${many(Math.floor(hours / 24), "day", "days")} ago`;
}

/** A stretch of time as 35 min or 2 h 05 min. `ms` >= 0. */
export function stretch(ms: number): string {
  const minutes = Math.floor(ms / 60_000);
  if (minutes < 1) return "less than a minute";
  return minutes < 60
    ? `${minutes} min`
    : `${number(Math.floor(minutes / 60))} h ${String(minutes % 60).padStart(2, "0")} min`;
}

const joined = (...parts: (string | null | undefined | false)[]): string =>
  parts.filter(Boolean).join(", ");

const states = {
  waiting: "Waiting",
  ready: "Ready",
  under_way: "Under way",
  done: "Done",
  held: "Held",
  left_out: "Left out",
} as const;

export const words = {
  app: "Bagtrail",
  states,

  shared: {
    back: "Back",
    close: "Close",
    undo: "Undo",
    tryAgain: "Try again",
    save: "Save",
    notSaved: "Not saved: this device's storage refused it. Nothing was changed.",
    optional: "may be left empty",
    loading: "Fetching it from this device's storage…",
    youAreHere: "You are here",
    someoneIsHere: (name: string) => `${name} is here`,
    stepsDone: (done: number, total: number) =>
      `${number(done)} of ${many(total, "step", "steps")} done`,
    thisDevice: "this device",
    unknownDevice: "a device not known here",
    skip: "Go to the content",
    places: "Places",
    needsServer: "This needs the server, and the server cannot be reached just now.",
    stopped: "This screen has stopped",
    stoppedWhy:
      "Something in the app went wrong. What you entered before is kept on this device.",
    nowhere: "There is nothing at this address",
    nowhereWhy: "It may have been deleted, or the address was cut short.",
    yes: "yes",
    no: "no",
  },

  start: {
    failed: "Bagtrail cannot start here",
    failedWhy:
      "The browser did not open this app's storage. In a private window, or with storage switched off, it cannot keep your work, so it does not pretend to.",
    insecure: "This address cannot carry the app",
    insecureWhy:
      "This page came over plain HTTP from another machine. Browsers give an app offline use, the camera and safe storage only over HTTPS, or at http://localhost on the server's own machine. So that nothing is lost half-way, Bagtrail does not start here.",
    insecureHow: "What to do",
    insecureSteps: (https: string) => [
      `Try ${https}`,
      "If that does not answer: on the server's machine, give it HTTPS. A reverse proxy with a certificate for a name of yours does it; README tells how.",
      "Then set the public address in the server's settings, so that labels and pairing use it.",
    ],
  },

  nav: { builds: "Builds", path: "Path", scan: "Scan", devices: "Devices" },

  strip: {
    starting: "Looking for the server…",
    claimable: "A new server, not anyone's yet",
    notYet: "This device is not paired yet",
    allSent: "Everything is on the server",
    changes: (n: number) => `${many(n, "change", "changes")} not yet on the server`,
    photos: (n: number) => `${many(n, "photo", "photos")} only on this device`,
    unreachable: "Server out of reach: work on, all is kept here",
    unpaired: "Not paired: all is kept here, tap to pair again",
    tooOld: "This app is too old for the server: tap to update",
    parked: (n: number) => `${many(n, "change", "changes")} refused by the server`,
    refusal: (title: string) => `The server does not do its part: ${title}`,
    quarantined: (n: number) => `${many(n, "entry", "entries")} put aside: tap for what to do`,
    full: "Storage of this device is full: tap for what to do",
    blocked: "Another window of Bagtrail holds the storage: close it",
    lost: "This device's storage has stopped working: tap for what to do",
    title: "What is on the server",
    update: "A newer app is ready",
  },

  picture: {
    elsewhere: (device: string) => `still on ${device}`,
    elsewhereUnknown: "still on another device",
    none: "cannot be shown just now",
    loading: "picture on its way",
  },

  rename: {
    rename: "Rename",
    name: "Name",
    missing: "It needs a name.",
    done: "Renamed",
  },

  clash: {
    title: (label: string) => `${label}: two devices said different things`,
    choose: "Tap the one that is right. The other is kept in the journal.",
    shownNow: "shown now",
    by: (device: string, at: string) => `${device}, ${at}`,
    settled: "Settled",
    empty: "(empty)",
    deleteTitle: "Deleted on one device, changed on another",
    keep: "Keep it",
    remove: "Delete it",
    deleteHelp: "It stays until you say which is right.",
    kept: "Kept",
    removed: "Deleted",
  },

  builds: {
    title: "Builds",
    empty: "This workshop is empty",
    emptyHelp: "Two ways on. You can do the other one later.",
    tryDemo: "Try the demo kit",
    tryDemoHelp: "An invented truck, complete with bags, steps and drawings, to look around in.",
    startKit: "Start a kit",
    startKitHelp: "Your own: from its manual, a table or a list, and there are labels to print.",
    demoBusy: "Unpacking the demo kit…",
    demoDone: "The demo kit is here",
    firstPull: "Fetching the workshop from the server…",
    notFetched:
      "This device has not fetched the workshop yet, and the server cannot be reached just now. It goes on by itself as soon as it can.",
    began: (day: string) => `begun ${day}`,
    finished: (day: string) => `finished ${day}`,
    isAt: (device: string, step: string, at: string) => `${device}: step ${step}, ${at}`,
    here: (step: string, at: string) => `You: step ${step}, ${at}`,
    goOn: (step: string) => `Go on at step ${step}`,
    begin: (step: string) => `Begin with step ${step}`,
    open: (name: string) => `Open ${name}`,
    labels: "Labels",
    kits: "Kits",
    archives: "Save and bring back",
    edit: "Edit",
    addTo: "Add to it",
    buildIt: "Build it",
    buildAgain: "Build again",
    buildStarted: (name: string) => `${name}: begun`,
    noSteps: "no steps yet",
    counts: (bags: number, steps: number) =>
      `${many(bags, "bag", "bags")}, ${many(steps, "step", "steps")}`,
    secondBuild: (kit: string, nth: number) => `${kit}, build ${number(nth)}`,
    fields: { name: "Name", maker: "Maker", scale: "Scale", about: "About" } as Readonly<
      Record<string, string>
    >,
  },

  first: {
    title: "Welcome to the bench",
    lead: "This server has no owner yet, and you sit at its own machine. Take it, and it is yours; nobody else gets in unless you pair their device.",
    workshop: "Name of the workshop",
    workshopDefault: "My workshop",
    device: "Name of this device",
    take: "This is my workshop",
    taken: (name: string) => `${name} is yours`,
  },

  pair: {
    title: "Pair this device",
    lead: "This device does not belong to a workshop yet.",
    wasPaired: (workshop: string) =>
      `This device is no longer paired with ${workshop}. Everything you did on it is kept here and goes to the server once it is paired again.`,
    how: "How to pair",
    steps: [
      "On a device that is paired already, open Devices and tap “Pair another device”.",
      "Point this device's camera at the picture there, or type the code that stands below it.",
      "On an iPhone or iPad, put Bagtrail on the home screen first, open it there, and type the code: the home screen keeps its own storage.",
    ],
    code: "Code",
    codeHint: "Eight letters and digits. Capitals and dashes do not matter.",
    codeMissing: "Type the code that the other device shows.",
    codeFromLink: "The code came with the picture. One tap, and this device is in.",
    name: "Name of this device",
    nameMissing: "Give this device a name, so that you know it in the list.",
    pair: "Pair",
    paired: (workshop: string) => `Paired with ${workshop}`,
    offline: "The server cannot be reached. Is this device in the same network as the server?",
    deviceNames: { phone: "Phone", tablet: "Tablet", desk: "Desk" },
    starting: "Looking for the server…",
  },

  // Screens of the bench: Path, Step, Bag.
  path: {
    builds: "Builds",
    arriving: "On its way from the server…",
    noBuild: "This build is not on this device",
    noBuildHelp: "It may not have arrived yet, or it was deleted.",
    empty: "This kit has no steps yet",
    emptyHelp: "Give it an outline first: which steps there are, and which bags serve them.",
    steps: "Bags and steps in order",
    section: (mark: string, title: string) =>
      title ? [mark, title].filter(Boolean).join(" · ") : mark && `Section ${mark}`,
    rest: "Steps",
    asked: "Two devices said different things here",
    openHere: "Open it here",
    openedBefore: "Opened",
    bag: (numbers: readonly string[]) => (numbers.length === 1 ? "Bag" : "Bags") + ` ${numbers.join(", ")}`,
    bagTitle: (number: string, title: string | null | undefined) =>
      title ? `Bag ${number}: ${title}` : `Bag ${number}`,
    otherBags: "Bags that no step names",
    after: (numbers: readonly string[], more: number) =>
      `after ${numbers.join(", ")}${more > 0 ? ` and ${number(more)} more` : ""}`,
    opsDone: (done: number, total: number) => `${number(done)} of ${many(total, "operation", "operations")}`,
    minutes: (n: number) => `about ${many(Math.max(1, Math.round(n)), "minute", "minutes")}`,
    goOn: (step: string) => `Go on at ${step}`,
    begin: (step: string) => `Begin with ${step}`,
    nextReady: (step: string) => `Next: ${step}`,
    allDone: "Everything is done or left out",
    noneReady: "Nothing is ready: see what is held or waiting",
    isAt: (device: string, step: string, operation: string | null) =>
      joined(`${device} is at ${step}`, operation && `operation ${operation}`),
    wasAt: (device: string, step: string, operation: string | null) =>
      joined(`${device} was at ${step}`, operation && `operation ${operation}`),
    goThere: "Go there",
    otherDevices: "Where the other devices are",
    show: "Show",
    showAll: "All",
    showReady: "Ready now",
    showOpen: "Not done",
    noneOfThese: "No step like that.",
    unfold: (from: string, until: string) => `Show ${from} to ${until}`,
    kitCautions: (n: number) => `${many(n, "caution", "cautions")} for the whole kit`,
    atBench: (time: string) => `${time} at the bench`,
    thisSitting: (time: string) => `this sitting ${time}`,
    standUp: "End this sitting",
    stoodUp: "Sitting ended",
    stillThere: "Still at the bench?",
    stillWhy: (at: string, ago: string) => `The last thing was done at ${at}, ${ago}.`,
    wentOn: "Yes, I went on",
    stopped: (at: string) => `No, I stopped at ${at}`,
    pause: (from: string, until: string) => `Did you work on from ${from} to ${until}?`,
    pauseWhy: "Nothing was ticked in that time, so it is not counted yet.",
    pauseCounts: "Yes, count it",
    pauseNot: "No, that was a pause",
    counted: "Counted",
    notCounted: "Not counted",
    deleteBuild: "Delete this build",
  },
  step: {
    title: (step: string) => `Step ${step}`,
    path: "Path",
    none: "This step is not on this device",
    noneHelp: "It may not have arrived yet, or it was deleted.",
    notLoaded: "This build could not be read from this device's storage.",
    takenBack: "Taken back",
    figure: "Figure",
    figureOf: (step: string) => `Figure of step ${step}`,
    enlarge: "Tap to enlarge",
    larger: "Larger",
    smaller: "Smaller",
    wholePage: "Whole page",
    onlyFrame: "Only this figure",
    manualPage: (page: string) => `Manual, page ${page}`,
    text: "What the manual says",
    neighbours: "Steps before and after",
    cautions: "Cautions",
    hurts: "Can hurt you",
    spoils: "Can spoil the part",
    labelFirst:
      "What the product's own label says and the rules where you are come before this.",
    waitsFor: "Waits for",
    waitsHelp: "You can begin all the same; the app then asks why.",
    heldFor: "Held",
    heldNoReason: "No reason was given.",
    takeUp: "Take it up again",
    tookUp: (step: string) => `${step} is under way again`,
    openBags: "Open",
    bag: (number: string) => `Bag ${number}`,
    layOut: "Lay out",
    laidOut: (done: number, total: number) => `${number(done)} of ${number(total)} laid out`,
    allOut: "All laid out",
    partsAgain: "Show the parts again",
    allOutSaid: (n: number) => `${many(n, "line", "lines")} laid out`,
    quantity: (n: number) => `${number(n)} ×`,
    fromBag: (number: string) => `bag ${number}`,
    onlyIf: (alternative: string) => `only for “${alternative}”`,
    shortOf: (part: string) => `Missing, wrong or damaged: ${part}`,
    shortHere: "Missing?",
    operations: "Do",
    operation: (place: number) => `Operation ${number(place)}`,
    beginHere: "Begin here",
    tick: (place: number) => `Tick ${number(place)}`,
    goFirst: (step: string) => `Go to ${step} first`,
    tickedAt: (at: string, device: string) => `${at}, ${device}`,
    overruled: (why: string) => `Done out of order: ${why}`,
    after: (what: readonly string[]) => `after ${what.join(", ")}`,
    firstTitle: "Something comes before this",
    firstHelp: "Do that first, or say why you go on all the same.",
    because: (why: string) => `Why: ${why}`,
    why: "Why you go on all the same",
    whyNeeded: "Write a word or two: whoever reads the book later will want to know.",
    tickAnyway: "Tick it all the same",
    showFirst: "Show me that one",
    cycle: "The order given for these goes round in a circle; it is shown as the manual has it.",
    count: (n: number, what: string) => (n > 1 ? `${number(n)} × ${what}` : what),
    fastener: "fastener",
    goesInto: (through: string | null, into: string | null) =>
      through && into
        ? `through ${through} into ${into}`
        : through
          ? `through ${through}`
          : into
            ? `into ${into}`
            : "",
    material: {
      metal: "metal",
      plastic: "plastic",
      rubber: "rubber",
      wood: "wood",
      lock_nut: "a lock nut",
    },
    threadLock: {
      use: "Thread-locking: use",
      never: "Thread-locking: never",
      unsaid: "Thread-locking: the manual does not say",
    },
    snug: "Snug: stop when it touches",
    torque: (value: string) => `${value} N·m, from the manual`,
    asks: (target: string, low: string, high: string) => `${target}, so ${low} to ${high}`,
    asksExactly: (target: string) => `${target}; the manual gives no tolerance`,
    reading: "Reading",
    unit: "Unit",
    mm: "mm",
    inch: "inch",
    within: "within",
    exact: "as asked",
    over: (by: string) => `over by ${by}`,
    under: (by: string) => `under by ${by}`,
    off: (by: string) => `${by} from target`,
    slips: {
      empty: "Write what you measured.",
      characters: "Write a number, such as 111,8 or 4.5 or 1 3/8 in.",
      marks: "Write one comma or one point only.",
      range: "That is more than 100 m. Look at the unit.",
      zero: "Nothing can be divided by 0.",
    },
    keepReading: "Keep this reading",
    measureTitle: "Ticked. The manual asks for a reading here",
    goOnUnmeasured: "Go on without it",
    goOnMeasured: "Go on",
    readingKept: (text: string) => `Reading kept: ${text}`,
    readings: "Readings",
    deleteReading: "Delete reading",
    readingDeleted: "Reading deleted",
    instrument: "Measured with",
    choose: "Choose",
    inManual: "as in the manual",
    changes: (text: string) => `Changes: ${text}`,
    picked: (title: string) => `Chosen: ${title}`,
    pickLater: "Can be changed later.",
    notPicked: "Nothing chosen yet",
    whyPicked: "Why this one",
    notes: "Notes",
    note: "Note",
    addNote: "Keep note",
    noteKept: "Note kept",
    deleteNote: "Delete note",
    noteDeleted: "Note deleted",
    photos: "Photos",
    takePhoto: "Take a photo",
    gallery: "Gallery",
    photoKept: (n: number) => `${many(n, "photo", "photos")} kept on this device`,
    photoRefused: "This picture was not kept.",
    photoBusy: "Keeping the picture…",
    photoUnkept: (n: number) =>
      rules.select(n) === "one"
        ? "1 photo is not kept yet"
        : `${number(n)} photos are not kept yet`,
    photoUnkeptHelp:
      "This device's storage did not take it. Free some space and try again; until then it is only in this open app.",
    photoUnkeptDrop: "Throw it away",
    photoOf: (step: string, at: string) => `Photo of step ${step}, ${at}`,
    caption: "What it shows",
    deletePhoto: "Delete photo",
    photoDeleted: "Photo deleted",
    cameraLost:
      "The phone closed the app behind its camera, and the picture did not come back. Take it again, or fetch it from the gallery.",
    word: "What should the next builder watch for?",
    wordBy: "Watch for",
    done: "Done",
    doneSaid: (step: string) => `${step} is done`,
    doneOpen: (n: number) => `${many(n, "operation is", "operations are")} not ticked.`,
    tickRest: "Tick them too",
    notDone: "Not done after all",
    reopened: (step: string) => `${step} is open again`,
    offered: "If you like, for the book:",
    next: (step: string) => `Next: ${step}`,
    previousStep: (step: string) => `Back to ${step}`,
    nextStep: (step: string) => `On to ${step}`,
    toPath: "To the path",
    edit: "Edit this step",
    otherwise: "Not now, or not at all",
    hold: "Hold this step",
    holdWhy: "What holds it",
    held: (step: string) => `${step} is held`,
    leaveOut: "Leave it out",
    leftOut: (step: string) => `${step} is left out`,
    takeIn: "Take it in again",
    fields: {
      state: "State of the step",
      word: "What to watch for",
      held_for: "What holds it",
      done: "Ticked",
      overruled: "Why out of order",
      laid_out: "Laid out",
      alternative: "Choice",
      why: "Why",
      text: "Text",
      caption: "What the photo shows",
    } as Readonly<Record<string, string>>,
    open: "Open",
  },
  bag: {
    title: (number: string) => `Bag ${number}`,
    none: "This bag is not on this device",
    noneHelp: "It may not have arrived yet, or it was deleted.",
    code: "Code on its label",
    steps: "Steps it serves",
    noSteps: "No step names this bag.",
    openStep: (step: string) => `Open step ${step}`,
    allDone: "All its steps are done or left out",
    parts: "What is in it",
    noParts: "The kit does not say what is in it.",
    pieces: (n: number) => many(n, "piece", "pieces"),
    forStep: (step: string) => `for ${step}`,
    spare: "no step names it",
    shortages: "Found short",
    report: "Something is missing, wrong or damaged",
    kinds: { missing: "Missing", wrong: "Wrong part", damaged: "Damaged" },
    kind: "What is it",
    howMany: "How many",
    howManyBad: "Write a whole number, 1 or more.",
    text: "What you see",
    holdStep: (step: string) => `Hold step ${step} until it is settled`,
    keep: "Keep this report",
    kept: "Report kept",
    settle: "Settle it",
    settled: "Settled",
    foundAt: (at: string) => `found ${at}`,
    line: (kind: string, n: number, part: string) => `${kind}: ${number(n)} × ${part}`,
    fields: {
      kind: "What is it",
      quantity: "How many",
      text: "What was seen",
      settled_at: "Settled",
    } as Readonly<Record<string, string>>,
    unknownPart: "a part that the kit does not name",
  },
};

export type Words = typeof words;
