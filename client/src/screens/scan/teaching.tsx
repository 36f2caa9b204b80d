/** Scan in teaching: the next barcode that is read or typed is taught to one bag. */
import { useLocation } from "preact-iso";
import { useState } from "preact/hooks";
import { codeOf, sameWorkshop } from "../../core/codes";
import { barcodeOf, typedGtins, type Barcode } from "../../core/gtin";
import { to } from "../../routes";
import type { Seen } from "../../scan/decoder";
import { Loading, Notice, Page, say, sayTrouble, useBench, words } from "../../ui/parts";
import { codesWords } from "../../ui/words-codes";
import { scanWords } from "../../ui/words-scan";
import { useLoaded } from "../bench/work";
import { useEye } from "./eye";
import { nameOf, teach } from "./teach";
import { TypedCode } from "./typed-code";

const text = codesWords;

export function Teaching(props: { workshop: string; build: string; bag: string }) {
  const bench = useBench();
  const { store } = bench;
  const { route } = useLocation();
  const kit = store.get("build", props.build)?.values.kit;
  const loaded = useLoaded(props.build, kit);
  const bag = store.get("bag", props.bag);
  const [busy, setBusy] = useState(false);
  /** Why what was read last is not taught. */
  const [why, setWhy] = useState<string | null>(null);
  const back = to.bag(props.build, props.bag);

  async function take(barcode: Barcode | null, otherwise: string): Promise<void> {
    if (!bag || busy) return;
    if (!barcode) return setWhy(otherwise);
    setBusy(true);
    setWhy(null);
    try {
      const { said, undo } = await teach(bench, bag, barcode);
      bench.jotter.drop(`teach/${bag.id}`);
      route(back);
      say(said, undo);
    } catch {
      sayTrouble(words.shared.notSaved);
      setBusy(false);
    }
  }

  async function see({ text: read, symbology }: Seen): Promise<void> {
    if (symbology === "qr") {
      const label = codeOf(read);
      if ("code" in label) {
        const ours = sameWorkshop(label.code, props.workshop);
        if (ours || (await store.bagsByCode(label.code)).length > 0) return setWhy(text.ownLabel);
      }
    }
    await take(barcodeOf(read, symbology), symbology === "qr" ? text.tooMuch : text.misread);
  }

  function typed(digits: string): Promise<void> {
    const [gtin] = typedGtins(digits);
    return take(gtin ? { text: gtin, symbology: null } : null, text.noDigits);
  }

  const eye = useEye({
    wanted: bag !== undefined,
    paused: busy,
    aim: text.aim,
    intro: text.teachIntro,
    onSeen: (seen) => void see(seen).catch(() => sayTrouble(scanWords.notLooked)),
  });
  return (
    <Page
      title={bag ? text.teachTitle(nameOf(bag)) : text.teach}
      back={back}
      backLabel={text.back}
      actions={bag && eye.start}
    >
      {!bag && (loaded ? <p>{text.noBag}</p> : <Loading />)}
      {bag && (
        <>
          {why && (
            <Notice loud>
              <p>{why}</p>
            </Notice>
          )}
          {eye.view}
          <TypedCode
            label={text.digitsLabel}
            hint={text.digitsHint}
            button={text.teachDigits}
            jot={`teach/${bag.id}`}
            busy={busy}
            onCode={(digits) => void typed(digits)}
          />
        </>
      )}
    </Page>
  );
}
