/** Texts of Scan and of an opened label; see words.ts. */
import { many } from "./words";

export const scanWords = {
  title: "Scan",
  intro: "Point the camera at a bag's label and its step comes up.",
  start: "Start the camera",
  starting: "Waking the camera…",
  asleep: "The camera is off while the app is out of sight.",
  cameraPicture: "What the camera sees",
  aim: "Hold the bag's label in the tag.",
  hintDistance: "Nothing read yet: hold the phone about 20 cm away.",
  hintDistanceCloser: "Nothing read yet: hold the phone about 20 cm away and tap 2× size.",
  hintTilt:
    "Still nothing: tilt the label until no light shines back from it, and smooth its creases. " +
    "A torn label can be typed in below.",
  torch: "Torch",
  closer: "2× size",
  otherLens: "Other lens",
  fromPicture: "Read it from a picture",
  nothingInPicture:
    "No label could be read in this picture. Take it closer, sharper and without shine.",
  notAPicture: "This file is not a picture that can be opened here. Choose a JPEG, PNG or WebP.",
  codeLabel: "Or type the code on the label",
  codeHint: "Eight characters in two groups. O counts as 0; I and L count as 1.",
  find: "Find the bag",
  looking: "Looking for the bag…",
  notLooked:
    "This device's storage could not be read just now, so the code was not looked up. Try again.",
  readerLost: "The code reader could not be loaded on this device",
  typeInstead: "Codes can be typed below meanwhile.",
  failures: {
    refused: {
      title: "The camera is not allowed",
      mend:
        "Open this site's settings (the sign beside the address, or the phone's settings for " +
        "the installed app), allow the camera, and try again. Or type the code below.",
    },
    none: {
      title: "No camera found",
      mend: "This device has none that can be used here. Type the code below.",
    },
    busy: {
      title: "The camera is in use",
      mend:
        "Another app or window holds it. Close that one and try again, or type the code below.",
    },
    insecure: {
      title: "No camera at this address",
      mend:
        "Browsers give the camera only to HTTPS addresses. Open the app by its https:// " +
        "address (Devices says which), or type the code below.",
    },
    other: {
      title: "The camera did not start",
      mend: "Try again. If it stays so, restart the browser, or type the code below.",
    },
  },
  bagName: (bag: string, kit: string) => [`Bag ${bag}`, kit].filter(Boolean).join(" · "),
  stepName: (step: string) => `Step ${step}`,
  goOn: (step: string) => `Go to step ${step}`,
  servesSteps: (n: number) => `This bag serves ${many(n, "step", "steps")}.`,
  allDone: "Every step of this bag is done or left out.",
  inBuild: (build: string) => `In ${build}, the build worked on last.`,
  otherSteps: "Other steps of this bag",
  otherBuilds: "Other builds of this kit",
  openBag: "Open the bag",
  openBagIn: (build: string) => `Open the bag in ${build}`,
  noSteps: "No step names this bag yet. Say at the kit which steps it serves.",
  noBuild: (kit: string) =>
    `Nobody has begun a build of ${kit || "its kit"} yet. Begin one, then scan again.`,
  toBuilds: "Go to Builds",
  twoBags: (code: string) => `Two bags carry ${code}`,
  twoBagsWhy: "Which one is in your hand?",
  unknownTitle: (code: string) => `No bag here carries ${code}`,
  unknown:
    "The code is sound and looks like one of this workshop's. Its bag may have been deleted, " +
    "or made on another device that has not reached the server yet.",
  askServer: "Ask the server again",
  otherWorkshopTitle: (code: string) => `${code} is another workshop's`,
  otherWorkshop:
    "This label was printed by another workshop, and its bags are kept there. Scan it with a " +
    "device that is paired with that workshop.",
  foreignTitle: "Not one of our labels",
  foreign: "This symbol is no bag's label. Nothing of it is opened; it only says:",
  damagedTitle: "This code cannot be right",
  slipCharacter: (character: string, at: number) =>
    `Character ${at} is “${character}”, and no code has that. Look at the label again: codes ` +
    "have digits and letters, but no U.",
  slipLength: (has: number, needs: number) =>
    has < needs
      ? `That is ${many(has, "character", "characters")}; a code has ${needs}.`
      : `That is ${has} characters; a code has only ${needs}.`,
  slipCheck:
    "The characters do not belong together: one is misread, or two are swapped. Compare them " +
    "one by one with the label.",
  meant: "One character away from it is:",
  scanAnother: "Scan another label",
  notPairedTitle: "This device is not paired yet",
  notPaired: "Pair it with a workshop first; then its bags can be scanned, offline too.",
  pair: "Pair this device",
  labelNotPaired:
    "You have scanned a bag's label. Pair this device with the workshop that printed it: on a " +
    "paired device open Devices, and scan or type the pairing code it shows. The label is " +
    "remembered and opened afterwards.",
  labelClaimable:
    "You have scanned a bag's label, but this server is new and has no bags yet. Set it up first.",
};
