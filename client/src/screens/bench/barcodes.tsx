/** The makers' own barcodes that a bag is known by: taught, listed, forgotten. */
import { barcodeInClear } from "../../core/gtin";
import { to } from "../../routes";
import type { View } from "../../sync/types";
import { QuietButton, Row, useBench } from "../../ui/parts";
import { codesWords } from "../../ui/words-codes";
import type { Work } from "./work";

const text = codesWords;

const inClear = ({ values }: View<"barcode">): string =>
  barcodeInClear({ text: values.text ?? "", symbology: values.symbology ?? null });

export function Barcodes({ work, bag }: { work: Work; bag: View<"bag"> }) {
  const { store } = useBench();
  const taught = store.where("barcode", "bag", bag.id);
  return (
    <section class="block" aria-labelledby="bag-barcodes">
      <h2 id="bag-barcodes">{text.barcodes}</h2>
      {taught.length === 0 && <p>{text.none}</p>}
      {taught.length > 0 && (
        <ul class="bag-barcodes" role="list">
          {taught.map((one) => (
            <li key={one.id}>
              <span>
                <span class="soft">{text.kind(one.values.symbology ?? null)}</span>{" "}
                <code>{inClear(one)}</code>
              </span>
              <QuietButton onTap={() => void work.remove(one, text.forgotten(inClear(one)))}>
                {text.forget(inClear(one))}
              </QuietButton>
            </li>
          ))}
        </ul>
      )}
      <Row>
        <QuietButton href={to.teach(work.build, bag.id)}>{text.teach}</QuietButton>
      </Row>
    </section>
  );
}
