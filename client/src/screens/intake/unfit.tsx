/** What could not be read: where, what stood there, and why. */
import { useEffect, useState } from "preact/hooks";
import type { Intake, Unfit } from "../../core/intakes";
import type { Intakes } from "../../sync/types";
import { QuietButton, Row, say, sayTrouble } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";

const text = intakeWords.unfit;
const PAGE = 50;
/** Items in one request. */
const ALL = 500;

const placeOf = (one: Unfit): string => text.place(one.sheet, one.row, one.column);

export function UnfitList({ intakes, intake }: { intakes: Intakes; intake: Intake }) {
  const [items, setItems] = useState<readonly Unfit[]>([]);
  const total = intake.unfit;
  const version = JSON.stringify([intake.state, total, intake.layout]);
  const load = async (after: number, limit: number): Promise<readonly Unfit[]> => {
    const answer = await intakes.unfit(intake.id, after, limit);
    return answer.kind === "ok" ? answer.value.items : [];
  };
  useEffect(() => {
    let gone = false;
    if (total > 0) void load(0, PAGE).then((first) => !gone && setItems(first));
    return () => {
      gone = true;
    };
  }, [intakes, intake.id, version]);
  if (total === 0) return null;
  const left = total - items.length;
  const copy = async () => {
    const all: Unfit[] = [...items];
    while (all.length < total) {
      const more = await load(all.length, ALL);
      if (more.length === 0) break;
      all.push(...more);
    }
    const lines = all.map((one) => text.line(one.file, placeOf(one), one.text, one.reason));
    try {
      await navigator.clipboard.writeText(lines.join("\n"));
      say(text.copied);
    } catch {
      sayTrouble(text.notCopied);
    }
  };
  return (
    <section class="block">
      <h2>{text.title(total)}</h2>
      <p class="soft">{text.help}</p>
      <ul role="list" class="unfit" aria-label={text.title(total)}>
        {items.map((one, at) => (
          <li key={at}>
            <span class="soft">{placeOf(one)}</span>
            <span class="code">{text.stood(one.text)}</span>
            <span>{one.reason}</span>
          </li>
        ))}
      </ul>
      <Row>
        {left > 0 && items.length > 0 && (
          <QuietButton
            onTap={() => void load(items.length, PAGE).then((more) => setItems([...items, ...more]))}
          >
            {text.more(Math.min(left, PAGE))}
          </QuietButton>
        )}
        <QuietButton onTap={() => void copy()}>{text.copy}</QuietButton>
      </Row>
    </section>
  );
}
