/**
 * Reads symbols out of a picture: the one place that speaks to the decoder library.
 *
 * Runs wherever the library's module has been prepared: in the worker, and in tests under Node.
 */
import { readBarcodes, type ReaderOptions, type ReadResult } from "zxing-wasm/reader";
import { barcodeOf, type Symbology } from "../core/gtin";

/** What a symbol says, and of which kind it is. */
export interface Found {
  readonly text: string;
  readonly symbology: Symbology;
}

/**
 * The library's own defaults look for every symbology with every trick and take 12 to 17 times as
 * long; a bench label is a QR code, and the next frame comes in a tenth of a second.
 */
const QUICK: ReaderOptions = {
  formats: ["QRCode"],
  tryHarder: false,
  tryRotate: false,
  tryInvert: false,
  tryDownscale: false,
  maxNumberOfSymbols: 1,
};

/** For every fifth frame and for pictures from the gallery: slower, finds more. */
const THOROUGH: ReaderOptions = {
  formats: ["QRCode"],
  tryHarder: true,
  maxNumberOfSymbols: 1,
};

/**
 * The makers' own codes. A linear code says less of itself than a QR code, so that a scratch can
 * make another out of it: so many lines across it must agree.
 */
const LINEAR: ReaderOptions = {
  formats: ["EAN13", "EAN8", "UPCA", "UPCE", "Code128"],
  minLineCount: 3,
  maxNumberOfSymbols: 1,
};
/** Held upright, a phone sees many of them on their side; that costs next to nothing. */
const LINEAR_QUICK: ReaderOptions = { ...LINEAR, ...QUICK, formats: LINEAR.formats!, tryRotate: true };

/**
 * The first QR code of the picture; where there is none, the first linear code. Null when none
 * could be read, or one whose check digit says that it was misread.
 *
 * One after the other, because a frame that shows a label must cost no more than it did: the second
 * look takes a third of the first, and only where there is no label.
 */
export async function readSymbol(picture: ImageData, thorough: boolean): Promise<Found | null> {
  const labels = await readBarcodes(picture, thorough ? THOROUGH : QUICK);
  const label = labels.find((each) => each.isValid);
  if (label) return { text: label.text, symbology: "qr" };
  for (const each of await readBarcodes(picture, thorough ? LINEAR : LINEAR_QUICK)) {
    const symbology = each.isValid ? symbologyOf(each) : null;
    if (symbology && barcodeOf(each.text, symbology)) return { text: each.text, symbology };
  }
  return null;
}

/** The library spells UPC-A as EAN-13 with a zero before it, and says the 13 digits of a UPC-E. */
function symbologyOf({ format, text }: ReadResult): Symbology | null {
  switch (format) {
    case "EAN13":
    case "UPCA":
      return text.length === 12 || text.startsWith("0") ? "upc_a" : "ean_13";
    case "EAN8":
      return "ean_8";
    case "UPCE":
      return "upc_e";
    case "Code128":
      return "code_128";
    default:
      return null;
  }
}
