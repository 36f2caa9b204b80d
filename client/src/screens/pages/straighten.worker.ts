/**
 * Makes photographed pages straight, away from where the screen is drawn: a page is some ten
 * million pixels.
 */
import { findSheet, lightOf, scaled, type Raster } from "../../core/quad";
import { inLook } from "../../core/readable";
import { sizeOf, straightened } from "../../core/straighten";
import type { AskedOfPage, ToldOfPage } from "./straightener";

/** Long side in which the page is worked on, px: more than is kept, for the page is only a part. */
const WORK_PX = 3600;
/** Long side in which corners are looked for, px. */
const GUESS_PX = 320;
/** Long side of what is kept, px; JPEG quality: fine print stays readable. */
const KEPT_PX = 2560;
const QUALITY = 0.85;
const TYPE = "image/jpeg";

let picture: Raster | null = null;
let sheet: { corners: string; raster: Raster } | null = null;

function canvasOf(width: number, height: number) {
  const canvas = new OffscreenCanvas(width, height);
  const pen = canvas.getContext("2d", { willReadFrequently: true, alpha: false });
  if (!pen) throw new Error("This browser gives no 2D canvas to a worker.");
  return { canvas, pen };
}

async function rasterOf(whole: ImageBitmap, longSide: number): Promise<Raster> {
  const scale = Math.min(1, longSide / Math.max(whole.width, whole.height));
  const width = Math.max(1, Math.round(whole.width * scale));
  const height = Math.max(1, Math.round(whole.height * scale));
  // Made small as a bitmap first: canvases of a camera's own size come out blank on some phones.
  const small = await createImageBitmap(whole, {
    resizeWidth: width,
    resizeHeight: height,
    resizeQuality: "high",
  });
  try {
    const { pen } = canvasOf(width, height);
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, width, height);
    pen.drawImage(small, 0, 0);
    return pen.getImageData(0, 0, width, height);
  } finally {
    small.close();
  }
}

async function open(file: Blob): Promise<ToldOfPage> {
  picture = null;
  sheet = null;
  let whole: ImageBitmap;
  try {
    whole = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return { kind: "unreadable" };
  }
  try {
    const small = await rasterOf(whole, GUESS_PX);
    picture = await rasterOf(whole, WORK_PX);
    const found = findSheet(lightOf(small), small.width, small.height);
    const { width, height } = picture;
    return {
      kind: "opened",
      width,
      height,
      guess: found && scaled(found, 1 / small.width, 1 / small.height),
    };
  } finally {
    whole.close();
  }
}

async function make({ corners, look }: AskedOfPage & { kind: "make" }): Promise<ToldOfPage> {
  if (!picture) throw new Error("No picture is open.");
  const name = JSON.stringify(corners);
  if (sheet?.corners !== name) {
    const places = scaled(corners, picture.width, picture.height);
    const raster = straightened(picture, places, sizeOf(places, KEPT_PX));
    if (!raster) return { kind: "noSheet" };
    sheet = { corners: name, raster };
  }
  const drawn = inLook(sheet.raster, look);
  const { canvas, pen } = canvasOf(drawn.width, drawn.height);
  const shown = new ImageData(drawn.width, drawn.height);
  shown.data.set(drawn.data);
  pen.putImageData(shown, 0, 0);
  const blob = await canvas.convertToBlob({ type: TYPE, quality: QUALITY });
  // Some browsers give nothing, or another type, where memory has run out.
  if (!blob.size || blob.type !== TYPE) throw new Error("The picture could not be made.");
  const { width: widthPx, height: heightPx } = drawn;
  return { kind: "made", page: { type: TYPE, bytes: await blob.arrayBuffer(), widthPx, heightPx } };
}

/** One after the other: a phone has memory for one page. */
let turn: Promise<unknown> = Promise.resolve();

self.onmessage = ({ data }: MessageEvent<{ id: number; asked: AskedOfPage }>) => {
  const { id, asked } = data;
  turn = turn.then(async () => {
    let told: ToldOfPage;
    try {
      told = asked.kind === "open" ? await open(asked.file) : await make(asked);
    } catch (error) {
      told = { kind: "lost", why: error instanceof Error ? error.message : String(error) };
    }
    const moved = told.kind === "made" ? [told.page.bytes] : [];
    self.postMessage({ id, told }, { transfer: moved });
  });
};
