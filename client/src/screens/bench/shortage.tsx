/** A part found missing, wrong or damaged: reported in a panel, shown until it is settled. */
import { useState } from "preact/hooks";
import type { RecordFields } from "../../core/records";
import type { View } from "../../sync/types";
import {
  BigButton,
  Choose,
  Clashes,
  Field,
  QuietButton,
  Sheet,
  moment,
  useBench,
  useOnce,
  words,
} from "../../ui/parts";
import { reportShortage, settleShortage } from "./actions";
import { partName } from "./lay-out";
import type { LineView } from "./step-model";
import { type Work, useJotting } from "./work";

type Kind = RecordFields["shortage"]["kind"];
const KINDS: readonly Kind[] = ["missing", "wrong", "damaged"];

/** What a shortage is about; `line: null` is something that the kit does not name. */
export interface ShortOf {
  line: LineView | null;
  bag: string | null;
  /** The step that would be held, with its number. */
  step: { id: string; number: string } | null;
}

export function ReportShortage(props: {
  work: Work;
  /** Null: closed. */
  about: ShortOf | null;
  onClose: () => void;
}) {
  const { work, about } = props;
  const of = about?.line?.line.id ?? about?.bag ?? about?.step?.id ?? "";
  const key = `short/${work.build}/${of}`;
  const text = useJotting(`${key}/text`);
  const kindJot = useJotting(`${key}/kind`, "missing");
  const kind: Kind = KINDS.find((one) => one === kindJot.text) ?? "missing";
  const count = useJotting(`${key}/count`, "1");
  const [hold, setHold] = useState(false);
  const [error, setError] = useState<string | null>(null);
  const once = useOnce();
  const close = () => {
    setHold(false);
    setError(null);
    props.onClose();
  };
  const keep = () => {
    if (!about) return;
    const quantity = /^\s*\d{1,6}\s*$/.test(count.text) ? Number(count.text) : 0;
    if (quantity < 1 || quantity > 100_000) {
      setError(words.bag.howManyBad);
      return;
    }
    setError(null);
    const line = about.line?.line;
    const part = about.line ? partName(about.line) : words.bag.unknownPart;
    const why = words.bag.line(words.bag.kinds[kind], quantity, part);
    const found = reportShortage(work.look, work.hand(), {
      kind,
      quantity,
      text: text.text,
      part: line?.values.part ?? null,
      partLine: line?.id ?? null,
      bag: line?.values.bag ?? about.bag,
      step: about.step?.id ?? line?.values.step ?? null,
      hold: hold && about.step ? { step: about.step.id, why } : null,
    });
    once(async () => {
      if (!(await work.save(found, { said: words.bag.kept, together: hold }))) return;
      for (const jot of [text, kindJot, count]) jot.drop();
      close();
    });
  };
  return (
    <Sheet
      open={about !== null}
      title={about?.line ? words.step.shortOf(partName(about.line)) : words.bag.report}
      onClose={close}
      main={<BigButton onTap={keep}>{words.bag.keep}</BigButton>}
    >
      <Choose
        label={words.bag.kind}
        value={kind}
        options={KINDS.map((one) => [one, words.bag.kinds[one]] as const)}
        onChange={kindJot.set}
      />
      <Field
        label={words.bag.howMany}
        value={count.text}
        inputMode="numeric"
        error={error}
        onInput={count.set}
      />
      <Field
        label={words.bag.text}
        hint={words.shared.optional}
        value={text.text}
        lines={2}
        maxLength={1000}
        onInput={text.set}
      />
      {about?.step && (
        <label class="tick">
          <input
            type="checkbox"
            checked={hold}
            onChange={(event) => setHold(event.currentTarget.checked)}
          />
          <span>{words.bag.holdStep(about.step.number)}</span>
        </label>
      )}
    </Sheet>
  );
}

/** Shortages that are not settled, each with a way to settle it. */
export function Shortages({ work, list }: { work: Work; list: readonly View<"shortage">[] }) {
  const { store } = useBench();
  // One that only some device calls settled is still asked about.
  const open = list.filter(
    ({ values, clashes, deleteAsked }) =>
      values.build === work.build && (!values.settled_at || clashes.length > 0 || deleteAsked),
  );
  if (open.length === 0) return null;
  const nameOf = ({ values }: View<"shortage">) =>
    (values.part ? store.get("part", values.part)?.values.name : null) ?? words.bag.unknownPart;
  return (
    <ul class="shortages" role="list">
      {open.map((one) => (
        <li key={one.id}>
          <p>
            <strong>
              {words.bag.line(
                words.bag.kinds[one.values.kind ?? "missing"],
                one.values.quantity ?? 1,
                nameOf(one),
              )}
            </strong>
            {one.values.text && <span> · {one.values.text}</span>}
            <span class="soft"> · {words.bag.foundAt(moment(one.values.found_at ?? ""))}</span>
          </p>
          <Clashes view={one} labels={words.bag.fields} />
          <QuietButton
            onTap={() =>
              void work.save(settleShortage(work.hand(), one.id, true), {
                said: words.bag.settled,
              })
            }
          >
            {words.bag.settle}
          </QuietButton>
        </li>
      ))}
    </ul>
  );
}
