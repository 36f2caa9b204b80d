/** Texts of Save and bring back; see words.ts. */
import { many, number } from "./words";

export const archiveWords = {
  title: "Save and bring back",
  lead:
    "An archive is one file with everything: records, pictures, and the history of who wrote what. Keep it elsewhere, or bring it into another workshop. It is an ordinary ZIP file, and a note inside says how to read it without this app.",
  builds: "Builds, each with its kit",
  kits: "Kits alone",
  none: "This workshop has no kit yet. An archive of another one can be brought in.",
  save: "Save as archive",
  saveLabel: (name: string) => `Save as archive: ${name}`,
  tables: "Tables (CSV)",
  tablesLabel: (name: string) => `Tables (CSV): ${name}`,
  tablesHelp:
    "Tables are for spreadsheets: they hold what is shown and no pictures, and cannot be brought back.",
  unsent: (changes: number, photos: number) => {
    const parts = [
      changes > 0 ? many(changes, "change", "changes") : "",
      photos > 0 ? many(photos, "photo", "photos") : "",
    ].filter(Boolean);
    return `${parts.join(" and ")} of this device ${
      changes + photos === 1 ? "is" : "are"
    } not yet on the server. An archive made now would not hold ${changes + photos === 1 ? "it" : "them"}.`;
  },
  exchange: "Exchange now",
  exchanging: "Exchanging…",

  bring: "Bring an archive in",
  bringHelp:
    "Into the workshop that it came from, it adds what is missing here and changes nothing else. From another workshop it comes in as a copy, with its history; its bags get new labels. All of it is looked at first: if anything is wrong with the file, nothing is written.",
  choose: "Choose an archive",
  notPaired: "Pair this device first: an archive is brought into its workshop.",
  sending: (name: string) => `Sending ${name}…`,
  sent: (share: number) => `${number(Math.floor(share * 100))} % sent`,
  looking: "The server looks through it and writes it. With many pictures that takes a while.",
  lost:
    "The server could not be reached, or the connection broke off. Bring the same file in again: what has come in already is not doubled.",
  tooLarge: {
    title: "Something on the way lets no file of this size pass",
    detail:
      "It did not reach the server. A proxy in front of it limits what may be sent: raise its limit, or run “bagtrail import FILE” on the server's machine.",
  },
  refused: (name: string) => `${name} was not brought in`,
  here: (name: string) => `${name} is here`,
  known: (name: string) => `${name} was here already, all of it`,
  came: (records: number, changes: number, photos: number) =>
    `New: ${many(records, "record", "records")}, ${many(changes, "change", "changes")}, ${many(photos, "picture", "pictures")}.`,
  copied:
    "It has come as a copy. Its bags have new label codes: print its labels before you scan them.",
  cleared: (n: number) =>
    `${many(n, "record", "records")} of it had been deleted here and cleared away, and ${n === 1 ? "stays" : "stay"} so.`,
  open: (name: string) => `Open ${name}`,
  labels: "Labels",
};
