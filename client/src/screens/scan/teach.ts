/** Writes down which bag carries a maker's barcode, and takes that back. */
import type { Barcode } from "../../core/gtin";
import { derivedId } from "../../core/ids";
import type { Bench, Draft, View } from "../../sync/types";
import { say } from "../../ui/parts";
import { codesWords } from "../../ui/words-codes";
import { scanWords } from "../../ui/words-scan";

const text = codesWords;

export const nameOf = (bag: View<"bag">): string => scanWords.bagName(bag.values.number ?? "", "");

/** What came of teaching: what to say, and the way back if there is one. */
export interface Taught {
  readonly said: string;
  readonly undo?: () => Promise<void>;
}

/**
 * Teaches a barcode to a bag, once. The record's id follows from both, so that two devices cannot
 * teach it twice. Rejects with StorageFailure if nothing was kept.
 */
export async function teach(
  { store }: Pick<Bench, "store">,
  bag: View<"bag">,
  { text: code, symbology }: Barcode,
): Promise<Taught> {
  const before = await store.bagsByBarcode(code);
  if (before.some(({ id }) => id === bag.id)) return { said: text.taughtAlready(nameOf(bag)) };
  const { kit } = bag.values;
  const id = derivedId("barcode", bag.id, code);
  const draft: Draft<"barcode"> = {
    type: "barcode",
    id,
    // It may have been forgotten before.
    set: { ...(kit ? { kit } : {}), bag: bag.id, text: code, symbology, deleted: null },
  };
  await store.write([draft as Draft]);
  return {
    said: before.length ? text.taughtToo(nameOf(bag), before.length) : text.taught(nameOf(bag)),
    undo: async () => {
      const record = store.get("barcode", id);
      if (record) await store.remove([record as View]);
      say(text.takenBack);
    },
  };
}
