/** Texts of Scan and Bag about the makers' own barcodes; see words.ts. */
import type { Symbology } from "../core/gtin";
import { many } from "./words";

const kinds: Record<Symbology, string> = {
  ean_13: "EAN-13",
  ean_8: "EAN-8",
  upc_a: "UPC-A",
  upc_e: "UPC-E",
  code_128: "Code 128",
  qr: "QR code",
};

export const codesWords = {
  kind: (symbology: Symbology | null) => (symbology ? kinds[symbology] : "Typed in"),
  newTitle: "A barcode that no bag carries yet",
  newBarcode: (symbology: Symbology | null) =>
    symbology
      ? `This ${kinds[symbology]} is no label of this app, and no bag has been taught it. It says:`
      : "No label of this app says so, and no bag has been taught a barcode with these digits:",
  teachIt: "Teach it to a bag",
  tooMuch:
    "It says more than can be kept as a bag's barcode. Use the bag's label, or print it one.",
  misread: "It could not be read without doubt. Hold it flatter and closer, and scan it again.",
  severalTitle: (n: number) => `${many(n, "bag", "bags")} carry this barcode`,
  severalWhy: "Which one is in your hand? The one that the build needs next is below.",
  openNext: (bag: string, step: string | null) => (step ? `${bag}: step ${step}` : bag),
  nothingOpen: "No open step",
  stepNext: (step: string) => `Next: step ${step}`,
  whichKit: "In which kit is the bag?",
  whichBag: "Which bag is in your hand?",
  bagsOf: (kit: string) => `Bags of ${kit}`,
  otherKit: "Another kit",
  noKits: "There is no kit here yet. Start one, then scan again.",
  noBags: "This kit has no bags yet.",
  toBuilds: "Go to Builds",
  taught: (bag: string) => `${bag} is known by this barcode now`,
  taughtAlready: (bag: string) => `${bag} was known by this barcode already`,
  taughtToo: (bag: string, others: number) =>
    `${bag} is known by this barcode now, like ${many(others, "other bag", "other bags")}: ` +
    "scanning asks which",
  takenBack: "Taken back",
  teachTitle: (bag: string) => `Teach the barcode of ${bag}`,
  teachIntro:
    "Point the camera at the maker's own barcode on this bag. The first one that is read is taught.",
  aim: "Hold the maker's barcode in the tag.",
  ownLabel: "This is a label of this app: it is known already. Hold the maker's own barcode there.",
  digitsLabel: "Or type the digits below the bars",
  digitsHint: "8, 12, 13 or 14 digits; the last one checks the others.",
  teachDigits: "Teach these digits",
  noDigits: "Type the digits that stand below the bars: 8, 12, 13 or 14 of them.",
  noBag: "This bag is no longer here, so there is nothing to teach.",
  back: "Bag",
  slipDigits: (has: number) =>
    `That is ${many(has, "digit", "digits")}. A maker's barcode has 8, 12, 13 or 14, and a label's ` +
    "code has eight characters.",
  slipGtin:
    "The last digit does not fit the others: one is misread, or two are swapped. Compare them one " +
    "by one with those below the bars.",
  barcodes: "Maker's barcode",
  none: "Taught once, the maker's own barcode on this bag scans like our label.",
  teach: "Teach the maker's barcode",
  forget: (text: string) => `Forget ${text}`,
  forgotten: (text: string) => `${text} is forgotten`,
} as const;
