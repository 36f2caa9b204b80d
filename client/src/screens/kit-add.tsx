/** Add to a kit: more of it from a table, a copied list, or a manual. */
import { useEffect, useState } from "preact/hooks";
import { to } from "../routes";
import { Loading, Page, useBench, words } from "../ui/parts";
import { intakeWords } from "../ui/words-intake";
import Waiting from "./intake/waiting";
import { DropHint, SentWay, useSentWays, useWay, Ways, type Way } from "./intake/ways";

const text = intakeWords.ways;
const WAYS: readonly Way[] = ["table", "text", "manual"];

export default function AddToKit({ kit: kitId }: { kit: string }) {
  const { store } = useBench();
  const [loaded, setLoaded] = useState(false);
  const [way, setWay] = useWay(kitId, WAYS);
  const { sending, dropping } = useSentWays(kitId, way, setWay);
  useEffect(() => {
    const done = () => setLoaded(true);
    store.load(kitId).then(done, done);
  }, [store, kitId]);
  const kit = store.get("kit", kitId);
  const page = { title: text.addTitle, back: to.builds(), backLabel: words.nav.builds };
  if (!kit) return <Page {...page}>{loaded ? <p>{text.noKit}</p> : <Loading />}</Page>;
  return (
    <Page {...page} above={kit.values.name}>
      <Waiting kit={kitId} />
      <DropHint dropping={dropping} />
      <p>{text.addHelp}</p>
      <Ways legend={text.addLegend} ways={WAYS} way={way} onWay={setWay} />
      {way !== "outline" && <SentWay way={way} kit={kitId} sending={sending} onWay={setWay} />}
    </Page>
  );
}
