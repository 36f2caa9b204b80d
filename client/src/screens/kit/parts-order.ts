/** The order of a kit's parts. */
import type { Store, View } from "../../sync/types";

/** Parts by number, then name: they have no other order. */
export function partsInOrder(store: Store, kit: string): View<"part">[] {
  const compare = new Intl.Collator(undefined, { numeric: true }).compare;
  return [...store.where("part", "kit", kit)].sort((a, b) =>
    compare(
      `${a.values.number ?? "\uffff"} ${a.values.name ?? ""}`,
      `${b.values.number ?? "\uffff"} ${b.values.name ?? ""}`,
    ),
  );
}
