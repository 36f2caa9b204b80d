/** Reads a label or a maker's barcode out of a picture that was taken before. */
import { seenIn, type Decoder, type Seen } from "./decoder";

/** Long sides at which a picture is tried, in px: most labels are found in the small one. */
const LONG_SIDES_PX = [1280, 2560];

/** The file is no picture that this browser can show. */
export class NotAPicture extends Error {
  override name = "NotAPicture";
}

/**
 * What a symbol in the picture says, or null. Upright whatever the file's EXIF says; scaled down,
 * since phones refuse canvases of more than 16 megapixels.
 * Rejects with {@link NotAPicture}, or DecoderFailure if the decoder is not to be had.
 */
export async function readPicture(file: Blob, decoder: Decoder): Promise<Seen | null> {
  let whole: ImageBitmap;
  try {
    whole = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    throw new NotAPicture("This file is not a picture.");
  }
  try {
    const long = Math.max(whole.width, whole.height);
    for (const side of LONG_SIDES_PX) {
      const scale = Math.min(1, side / long);
      const picture = await createImageBitmap(whole, {
        resizeWidth: Math.max(1, Math.round(whole.width * scale)),
        resizeHeight: Math.max(1, Math.round(whole.height * scale)),
        resizeQuality: "medium",
      });
      const seen = seenIn(await decoder.decode(picture, true));
      if (seen || scale === 1) return seen;
    }
    return null;
  } finally {
    whole.close();
  }
}
