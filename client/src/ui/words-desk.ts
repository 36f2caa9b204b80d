/** Texts of Start a kit, Labels and Devices; see words.ts. */
import { many, number, words } from "./words";

export const deskWords = {
  kitNew: {
    title: "Start a kit",
    name: "Name of the kit",
    nameDefault: "My kit",
    nameHint: "What stands on the box. Can be changed later.",
    steps: "Steps",
    stepsHint:
      "As the manual numbers them: ranges and single ones, with commas; a section with a title on a line of its own.",
    stepsExample: "1.1-1.7, K1-K4",
    stepsTitled: "Front axle: 2.1-2.9",
    bags: "Bags",
    bagsHint: "As the bags are numbered.",
    bagsExample: "1-12",
    serves: "Which bag serves which steps",
    servesHint: "One line for each bag, as: bag 3: 2.1-2.4. Or tap a bag below. It can wait, too.",
    guess: "Suggest it by the numbers",
    preview: (bags: number, steps: number, sections: number) =>
      `${many(bags, "bag", "bags")}, ${many(steps, "step", "steps")}${
        sections > 0 ? ` in ${many(sections, "section", "sections")}` : ""
      }`,
    nothingYet: "Type the steps and the bags, and the tags appear here.",
    bag: (n: string) => `Bag ${n}`,
    servesSteps: (steps: string) => `steps ${steps}`,
    servesNone: "no steps yet",
    tapTitle: (bag: string) => `Bag ${bag}: which steps does it serve?`,
    tapHelp: "Tap the steps that take parts from this bag.",
    section: (mark: string) => (mark ? `Section ${mark}` : "Steps"),
    create: "Make kit and labels",
    created: (name: string) => `${name} is on your bench`,
    undone: "Taken back: the kit is gone",
    needSteps: "Type at least one step, for example 1-20.",
    notPaired: "Pair this device first: a label's code says which workshop it belongs to.",
    more: (n: number) => `and ${many(n, "more bag", "more bags")}`,
  },

  labels: {
    title: "Labels",
    noKit: "This kit is not on this device",
    noBags: "This kit has no bags yet, so there is nothing to label.",
    sheet: "Sheet of labels",
    sheetHint: "Paper, labels across × down, size of one label: measure one of yours, or look on the packet.",
    sheetName: (paper: string, columns: number, rows: number, w: string, h: string) =>
      `${paper} ${number(columns)}×${number(rows)}, ${w}×${h} mm`,
    start: "Begin at label",
    startHint: (most: number) => `1 to ${number(most)}; labels count along the rows.`,
    startBad: (most: number) => `Write a whole number from 1 to ${number(most)}.`,
    offset: "The print is out of place",
    offsetHint: "If everything comes out shifted, measure by how much and say it here.",
    right: "To the right",
    down: "Down",
    offsetBad: "Write millimetres from -15 to 15, such as 1.5 or -0.8.",
    preview: "How the first page comes out",
    previewAlt: "The first page of labels",
    makePdf: "Print",
    savePdf: "Save PDF",
    pages: (labels: number, pages: number) =>
      `${many(labels, "label", "labels")} on ${many(pages, "page", "pages")}`,
    scale:
      "Print at 100 % (“actual size”), never “fit to page”. The rule on the page must measure 100 mm.",
    paper: "Matt labels read best. Put them outside the bag, flat.",
    offline:
      "Labels are drawn by the server, and it cannot be reached just now. The codes below are good already: write one on a bag with a pen, and it can be typed in.",
    waitSent:
      "The kit is not on the server yet. Labels can be printed as soon as it has been sent.",
    codes: "Codes in clear",
    toPath: "To the path",
    noPreview: "The server could not draw this page. Check the numbers above.",
  },

  devices: {
    title: "Devices",
    workshop: (name: string) => `Workshop: ${name}`,
    sync: "What is on the server",
    exchanged: (at: string) => `Last exchange with the server: ${at}`,
    neverExchanged: "No exchange since the app was opened",
    exchangeNow: "Exchange now",
    exchanging: "Exchanging…",
    parkedTitle: "Refused by the server",
    parkedHelp:
      "Kept on this device and counted nowhere until you decide: send it again once the reason given is mended, write it anew at its place, or let it go.",
    sendAgain: "Send again",
    letGo: "Let go",
    letGoTitle: "Let this go?",
    letGoHelp: "It is then nowhere any more, neither here nor on the server. This cannot be undone.",
    letGoDo: "Let it go for good",
    parkedAlong: (n: number) =>
      n === 1
        ? "1 other change stands or falls with it."
        : `${number(n)} other changes stand or fall with it.`,
    parkedPlace: (step: string | null, build: string | null) =>
      [step && `step ${step}`, build].filter(Boolean).join(", "),
    openStep: (step: string) => `Open step ${step}`,
    workshopFields: { name: "Name of the workshop", units: "Lengths in" } as Readonly<
      Record<string, string>
    >,
    /** Types of records as a builder knows them. */
    things: {
      workshop: "Workshop",
      device: "Device",
      kit: "Kit",
      build: "Build",
      section: "Section",
      bag: "Bag",
      part: "Part",
      step: "Step of a kit",
      step_progress: "State of a step",
      operation_tick: "Tick of an operation",
      part_tick: "Parts laid out",
      pick: "Choice",
      reading: "Reading",
      note: "Note",
      photo: "Photo",
      shortage: "Report of a part short",
      sitting: "Time at the bench",
      movement: "Parts in or out",
      place: "Where a device was",
    } as Readonly<Record<string, string>>,
    facts: {
      ...words.bag.fields,
      ...words.step.fields,
      name: "Name",
      title: "Title",
      number: "Number",
      code: "Code",
      typed: "Reading",
      instrument: "Measured with",
      began_at: "Began",
      last_at: "Last thing done",
      ended_at: "Ended",
      deleted: "To be deleted",
    } as Readonly<Record<string, string>>,
    thisOne: "This device",
    others: "Other devices",
    noOthers: "No other device is paired yet.",
    kinds: { phone: "Phone", tablet: "Tablet", desk: "Desk" },
    paired: (day: string) => `paired ${day}`,
    revoked: (day: string) => `revoked ${day}`,
    lastAt: (build: string, step: string, at: string) => `last at ${build}, step ${step}, ${at}`,
    revoke: "Revoke",
    revokeTitle: (name: string) => `Revoke ${name}?`,
    revokeHelp:
      "It is let in no more. What it has not sent yet stays on it, and it can be paired again. This cannot be undone from here.",
    revokeDo: "Revoke it",
    revokedSaid: (name: string) => `${name} is revoked`,
    pairAnother: "Pair another device",
    pairHelp: "Point the other device's camera at this, or open this address there and type the code.",
    pairCode: "Code",
    pairLeft: (left: string) => `good for ${left} more, for one device`,
    pairGone: "This code has run out.",
    pairNew: "New code",
    already: "This device is paired already; nothing had to be done",
    qrAlt: (url: string) => `QR symbol with the address ${url}`,
    offline: "Without a network",
    offlineReady: "Ready: the app opens without a network.",
    offlinePreparing: "Not ready yet: the app is being kept on this device…",
    offlineInsecure:
      "NOT ready: this page came over plain HTTP. Browsers allow offline use, the camera and safe storage only over HTTPS (or at http://localhost on the server's own machine). Open the server's https:// address here; “bagtrail serve --lan” makes one.",
    offlineUnsupported:
      "NOT ready: this browser cannot keep apps, or this is a private window. Use a normal window of another browser.",
    offlineRefused:
      "NOT ready: the browser would not keep the app. Mostly it does not trust the server's certificate: clicking the warning away is not enough, the certificate has to be trusted on this device.",
    offlineDetail: (detail: string) => `The browser says: ${detail}`,
    kept: "The browser has promised to keep this app's storage.",
    notKept:
      "The browser may clear this app's storage when space runs short. Putting the app on the home screen helps.",
    keptUnknown: "This browser does not say whether it keeps the app's storage.",
    askKeep: "Ask it to keep it",
    askedNo: "The browser said no. Putting the app on the home screen helps.",
    saveCopy: "Save a copy of unsent work",
    copySaved: "Copy made: it is in this device's downloads",
    takeCopy: "Take back a saved copy",
    copyTaken: (n: number) =>
      n > 0
        ? `${many(n, "change", "changes")} taken in, with their photos`
        : "Everything in this copy was here already",
    copyRefused: "This copy could not be taken in. Nothing was changed.",
    copyFailed: "The copy could not be made: the storage could not be read.",
    storageFull:
      "This device's storage is full. Free some space (photos, other apps); what you entered before is safe. A photo that found no room waits at its step while the app stays open.",
    storageBlocked: "Another window has an older version of this app open. Close it, then try again.",
    storageLost:
      "The browser has cut this app off from its storage. Reload the page; if that does not help, restart the browser.",
    reload: "Reload",
    refusalTitle: "The server answers, but does not do its part",
    quarantined: (n: number) =>
      `${many(n, "entry", "entries")} that this device has to send cannot be read by this version of the app. Nothing is thrown away: it is put aside, and goes with the copy of unsent work. A newer version may read it.`,
    light: "Light",
    lights: { device: "As this device", day: "Day", night: "Night" },
    app: "The app",
    version: (v: string) => `Bagtrail ${v}`,
    update: "Update now",
    updateWaits: "A newer version is ready. It loads in a moment; nothing entered is lost.",
    updateBusy: "Something is being kept just now, or a photo still waits for room. Try again after that.",
    tooOld: "The server speaks a newer language than this app. Update, and everything kept here is sent.",
    fields: { name: "Name" } as Readonly<Record<string, string>>,
  },
};
