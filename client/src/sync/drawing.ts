/**
 * Drawing photos anew by the browser's own means: upright, small, and without the camera's data.
 */
import { PictureRefused, type Draw, type Drawn } from "./photos";

/** JPEG quality of kept photos. */
const QUALITY = 0.85;
const TYPE = "image/jpeg";

/**
 * See `Draw`. Bitmaps are let go at once, whatever happens: they are the largest things a phone
 * holds.
 */
export const drawPicture: Draw = async (file, longSidesPx) => {
  const full = await decode(file);
  try {
    const drawn: Drawn[] = [];
    for (const longSidePx of longSidesPx) {
      const scale = Math.min(1, longSidePx / Math.max(full.width, full.height));
      const widthPx = Math.max(1, Math.round(full.width * scale));
      const heightPx = Math.max(1, Math.round(full.height * scale));
      // Made small as a bitmap first: a canvas of the camera's own size comes out blank on some
      // phones.
      const small =
        scale < 1
          ? await createImageBitmap(full, {
              resizeWidth: widthPx,
              resizeHeight: heightPx,
              resizeQuality: "high",
            })
          : full;
      try {
        const bytes = await encode(small, widthPx, heightPx);
        drawn.push({ type: TYPE, bytes, widthPx, heightPx });
      } finally {
        if (small !== full) small.close();
      }
    }
    return drawn;
  } finally {
    full.close();
  }
};

async function decode(file: Blob): Promise<ImageBitmap> {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch (error) {
    throw new PictureRefused("unreadable", error);
  }
}

async function encode(bitmap: ImageBitmap, width: number, height: number): Promise<ArrayBuffer> {
  const blob = await (typeof OffscreenCanvas === "undefined"
    ? encodeOnPage(bitmap, width, height)
    : encodeOff(bitmap, width, height));
  // Some browsers give nothing, or another type, where memory has run out.
  if (!blob?.size || blob.type !== TYPE) throw new PictureRefused("large");
  return blob.arrayBuffer();
}

async function encodeOff(bitmap: ImageBitmap, width: number, height: number): Promise<Blob | null> {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext("2d", { alpha: false });
  if (!context) return null;
  paint(context, bitmap, width, height);
  return canvas.convertToBlob({ type: TYPE, quality: QUALITY });
}

function encodeOnPage(bitmap: ImageBitmap, width: number, height: number): Promise<Blob | null> {
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const context = canvas.getContext("2d", { alpha: false });
  if (!context) return Promise.resolve(null);
  paint(context, bitmap, width, height);
  return new Promise((resolve) => canvas.toBlob(resolve, TYPE, QUALITY));
}

function paint(
  context: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D,
  bitmap: ImageBitmap,
  width: number,
  height: number,
): void {
  // What is see-through in a PNG would come out black.
  context.fillStyle = "#fff";
  context.fillRect(0, 0, width, height);
  context.imageSmoothingQuality = "high";
  context.drawImage(bitmap, 0, 0, width, height);
}
