/**
 * The decoder's worker: gets pictures, answers with what is written on them.
 *
 * The WebAssembly file is our own copy, served and kept offline with the rest of the app; the
 * library would otherwise fetch it from elsewhere.
 */
import { prepareZXingModule } from "zxing-wasm/reader";
import wasmUrl from "zxing-wasm/reader/zxing_reader.wasm?url";
import type { Asked, Picture, Told } from "./decoder";
import { readSymbol } from "./read";

prepareZXingModule({
  overrides: {
    locateFile: (path: string, folder: string) => (path.endsWith(".wasm") ? wasmUrl : folder + path),
  },
});

let canvas: OffscreenCanvas | null = null;

function pixels(picture: Picture): ImageData {
  const [width, height] =
    "displayWidth" in picture
      ? [picture.displayWidth, picture.displayHeight]
      : [picture.width, picture.height];
  if (!canvas || canvas.width !== width || canvas.height !== height) {
    canvas = new OffscreenCanvas(width, height);
  }
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  if (!pen) throw new Error("This browser gives no 2D canvas to a worker.");
  pen.drawImage(picture, 0, 0);
  picture.close();
  return pen.getImageData(0, 0, width, height);
}

self.onmessage = async (event: MessageEvent<Asked>) => {
  const { id, picture, thorough } = event.data;
  const began = performance.now();
  let told: Told;
  try {
    const found = await readSymbol(pixels(picture), thorough);
    const [text, symbology] = found ? [found.text, found.symbology] : [null, null];
    told = { id, text, symbology, ms: performance.now() - began };
  } catch (error) {
    told = { id, failure: error instanceof Error ? error.message : String(error) };
  }
  self.postMessage(told);
};
