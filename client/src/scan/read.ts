/**
 * Reads a label's QR code out of a picture: the one place that speaks to the decoder library.
 *
 * Runs wherever the library's module has been prepared: in the worker, and in tests under Node.
 */
import { readBarcodes, type ReaderOptions } from "zxing-wasm/reader";

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

/** What is written in the first QR code of the picture, or null when none could be read. */
export async function readLabel(picture: ImageData, thorough: boolean): Promise<string | null> {
  const found = await readBarcodes(picture, thorough ? THOROUGH : QUICK);
  return found.find((each) => each.isValid)?.text ?? null;
}
