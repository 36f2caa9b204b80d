/**
 * Every text of the app, in English. Another language is another object of type `Words`.
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
    saved: "Saved on this device",
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
    nothing: "nothing",
  },

  nav: { builds: "Builds", path: "Path", scan: "Scan", devices: "Devices" },

  strip: {
    starting: "Looking for the server…",
    allSent: "Everything is on the server",
    changes: (n: number) => `${many(n, "change", "changes")} not yet on the server`,
    photos: (n: number) => `${many(n, "photo", "photos")} only on this device`,
    unreachable: "Server out of reach: work on, all is kept here",
    unpaired: "Not paired: all is kept here, tap to pair again",
    tooOld: "This app is too old for the server: tap to update",
    parked: (n: number) => `${many(n, "change", "changes")} refused by the server`,
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

  // Screens of the bench: Path, Step, Bag.
  path: {},
  step: {},
  bag: {},

  scan: {},
};

export type Words = typeof words;
