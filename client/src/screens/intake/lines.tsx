/** Findings as a list: questions first, then all of them in the order of the file. */
import { useEffect, useState } from "preact/hooks";
import type { Finding, Intake } from "../../core/intakes";
import type { Intakes } from "../../sync/types";
import { Loading, QuietButton, Row } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";
import { useCorrections, withHeard } from "./corrections";
import { FindingPanel, FindingRow } from "./finding";

const text = intakeWords.findings;
const AT_FIRST = 100;
/** So many questions stand open at once; a list of hundreds of forms would be slow. */
const OPEN_MAX = 20;

const asksStill = (one: Finding): boolean => one.asks.length > 0 && !one.leftOut;

/**
 * `title`: of the list. `few`: how many are shown before somebody wants more. `onMoved`: something
 * was corrected, so that counts are different.
 */
export function Lines(props: {
  intakes: Intakes;
  intake: Intake;
  title: string;
  few?: number;
  onMoved: () => void;
}) {
  const { intakes, intake } = props;
  const limit = props.few ?? AT_FIRST;
  const [asking, setAsking] = useState<readonly Finding[]>([]);
  const [items, setItems] = useState<readonly Finding[] | null>(null);
  const [next, setNext] = useState<number | null>(null);
  const [open, setOpen] = useState<number | null>(null);
  const correcting = useCorrections(intakes, intake.id, (heard) => {
    const known = (all: readonly Finding[]) =>
      withHeard(all, heard.filter((one) => all.some(({ id }) => id === one.id)));
    setAsking(known);
    setItems((all) => all && known(all));
    props.onMoved();
  });
  // Read anew: everything is another one.
  const version = JSON.stringify([intake.state, intake.total, intake.layout]);
  useEffect(() => {
    let gone = false;
    setItems(null);
    void Promise.all([
      intakes.allFindings(intake.id, { asking: true }),
      intakes.findings(intake.id, { limit }),
    ]).then(([asks, first]) => {
      if (gone) return;
      if (asks.kind === "ok") setAsking(asks.value);
      if (first.kind === "ok") {
        setItems(first.value.items);
        setNext(first.value.next);
      } else setItems([]);
    });
    return () => {
      gone = true;
    };
  }, [intakes, intake.id, version]);
  const more = async () => {
    if (next === null) return;
    const answer = await intakes.findings(intake.id, { after: next, limit: AT_FIRST });
    if (answer.kind !== "ok") return;
    setItems((all) => withHeard(all ?? [], answer.value.items));
    setNext(answer.value.next);
  };
  if (items === null) return <Loading what={intakeWords.intake.loading} />;
  const first = new Set(asking.map((one) => one.id));
  const list = (all: readonly Finding[], label: string) => (
    <ul role="list" class="findings" aria-label={label}>
      {all.map((one, at) => (
        <FindingRow
          key={one.id}
          finding={one}
          kind={intake.kind}
          // Questions stand open: they are what is to be done here.
          open={open === one.id || (at < OPEN_MAX && first.has(one.id) && asksStill(one))}
          onTap={() => setOpen(open === one.id ? null : one.id)}
        >
          <FindingPanel key={one.id} finding={one} correcting={correcting} />
        </FindingRow>
      ))}
    </ul>
  );
  const rest = items.filter((one) => !first.has(one.id));
  return (
    <>
      {correcting.undo && (
        <Row>
          <QuietButton busy={correcting.busy} onTap={correcting.undo}>
            {text.undo}
          </QuietButton>
        </Row>
      )}
      {asking.length > 0 && (
        <section class="block">
          <h2 id="questions">{text.questions}</h2>
          {list(asking, text.questions)}
        </section>
      )}
      {rest.length > 0 && (
        <section class="block">
          <h2>{props.title}</h2>
          {list(rest, props.title)}
          {next !== null && <QuietButton onTap={() => void more()}>{text.showMore}</QuietButton>}
        </section>
      )}
    </>
  );
}
