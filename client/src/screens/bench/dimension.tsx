/** What the manual asks to be measured, and the place for what was measured. */
import { useId, useState } from "preact/hooks";
import {
  type Judged,
  type LengthUnit,
  formatLength,
  judge,
  parseLength,
} from "../../core/numbers";
import type { Store, View } from "../../sync/types";
import {
  BigButton,
  Clashes,
  Field,
  QuietButton,
  Row,
  Sheet,
  moment,
  useBench,
  useOnce,
  words,
} from "../../ui/parts";
import { decimalMark } from "../../ui/words";
import { takeReading } from "./actions";
import { type Work, deviceName, useJotting } from "./work";

/** A length in a unit, with the unit. */
const length = (mm: number, unit: LengthUnit): string =>
  `${formatLength(mm, unit, decimalMark)} ${words.step[unit]}`;

export function verdictText(judged: Judged, unit: LengthUnit): string {
  switch (judged.verdict) {
    case "within":
      return judged.offMm === 0 ? words.step.exact : words.step.within;
    case "over":
      return words.step.over(length(judged.byMm, unit));
    case "under":
      return words.step.under(length(judged.byMm, unit));
    case null:
      return judged.offMm === 0
        ? words.step.exact
        : words.step.off(`${judged.offMm > 0 ? "+" : ""}${length(judged.offMm, unit)}`);
  }
}

/** A step gauge: the band that is allowed, and a pencil line where the reading lies. */
function Gauge({ judged, plus, minus }: { judged: Judged; plus: number; minus: number }) {
  const reach = Math.max(plus + minus, 0.01);
  // The band is the middle half of the gauge; what lies further out stands at its end.
  const place = 30 + (60 * (judged.offMm + minus)) / reach;
  const at = Math.min(117, Math.max(3, place));
  return (
    <svg class="gauge" viewBox="0 0 120 20" aria-hidden="true" focusable="false">
      <path d="M0 17h30v-6h60v6h30" />
      <path class="gauge-at" d={`M${at} 2v${at > 30 && at < 90 ? 8 : 14}`} />
    </svg>
  );
}

/** What was measured of a dimension in a build, in the order of time. */
export function readingsOf(store: Store, build: string, dimension: string): View<"reading">[] {
  return store
    .where("reading", "dimension", dimension)
    .filter(({ values }) => values.build === build && typeof values.value === "number")
    .sort((a, b) => ((a.values.at ?? "") < (b.values.at ?? "") ? -1 : 1));
}

/** An operation was ticked: what it asks to be measured, if the builder likes, there and then. */
export function AskReading(props: {
  work: Work;
  step: string;
  /** Those without a reading when the operation was ticked; none: closed. */
  dimensions: readonly View<"dimension">[];
  onClose: () => void;
}) {
  const { store } = useBench();
  const { work, dimensions } = props;
  const missing = dimensions.some(({ id }) => readingsOf(store, work.build, id).length === 0);
  return (
    <Sheet
      open={dimensions.length > 0}
      title={words.step.measureTitle}
      onClose={props.onClose}
      main={
        <BigButton onTap={props.onClose}>
          {missing ? words.step.goOnUnmeasured : words.step.goOnMeasured}
        </BigButton>
      }
    >
      {dimensions.map((dimension) => (
        <Dimension key={dimension.id} work={work} step={props.step} dimension={dimension} />
      ))}
    </Sheet>
  );
}

export function Dimension(props: { work: Work; step: string; dimension: View<"dimension"> }) {
  const bench = useBench();
  const { work, dimension } = props;
  const { values } = dimension;
  const target = { target: values.target ?? 0, plus: values.plus, minus: values.minus };
  const group = useId();
  const workshop = bench.store.all("workshop")[0]?.values.units ?? "mm";
  const unitJot = useJotting("unit", workshop);
  const unit: LengthUnit = unitJot.text === "inch" ? "inch" : "mm";
  const jot = useJotting(`reading/${work.build}/${dimension.id}`);
  const instrument = useJotting("instrument");
  const [error, setError] = useState<string | null>(null);
  const once = useOnce();

  const readings = readingsOf(bench.store, work.build, dimension.id);
  const last = readings.at(-1);
  // What a person has to settle is not folded away.
  const asked = readings.some(({ clashes, deleteAsked }) => deleteAsked || clashes.length > 0);
  const typed = parseLength(jot.text, unit);
  const judged = "mm" in typed ? judge(typed.mm, target) : null;
  const kept = last ? judge(last.values.value ?? 0, target) : null;
  const shown = judged ?? kept;
  const toleranced = typeof values.plus === "number" || typeof values.minus === "number";

  const keep = () => {
    if ("slip" in typed) {
      setError(words.step.slips[typed.slip]);
      return;
    }
    setError(null);
    const text = `${length(typed.mm, typed.unit)}, ${verdictText(judge(typed.mm, target), typed.unit)}`;
    once(() =>
      work
        .save(
          takeReading(work.hand(), props.step, dimension.id, {
            value: typed.mm,
            typed: /[a-z"″]/i.test(jot.text) ? jot.text : `${jot.text.trim()} ${words.step[unit]}`,
            instrument: instrument.text.trim() || null,
          }),
          {
            said: words.step.readingKept(text),
            at: { step: props.step, operation: values.operation ?? null },
          },
        )
        .then((saved) => saved && jot.drop()),
    );
  };

  return (
    <section class="dimension" aria-label={values.name}>
      <p>
        <strong>{values.name}</strong>
        {values.measured && <span class="soft"> · {values.measured}</span>}
      </p>
      <p class="dimension-asks">
        {toleranced
          ? words.step.asks(
              length(target.target, unit),
              formatLength(target.target - (values.minus ?? 0), unit, decimalMark),
              length(target.target + (values.plus ?? 0), unit),
            )
          : words.step.asksExactly(length(target.target, unit))}
      </p>
      <div class="dimension-entry">
        <Field
          label={words.step.reading}
          unit={words.step[unit]}
          value={jot.text}
          inputMode="decimal"
          maxLength={40}
          error={error}
          onInput={(text) => {
            setError(null);
            jot.set(text);
          }}
          onEnter={keep}
        />
        <fieldset class="show">
          <legend>{words.step.unit}</legend>
          {(["mm", "inch"] as const).map((one) => (
            <label key={one}>
              <input
                type="radio"
                name={group}
                checked={unit === one}
                onChange={() => unitJot.set(one)}
              />
              <span>{words.step[one]}</span>
            </label>
          ))}
        </fieldset>
      </div>
      {shown && (
        <p class={`verdict verdict-${shown.verdict ?? "none"}`} role="status">
          {toleranced && (
            <Gauge judged={shown} plus={values.plus ?? 0} minus={values.minus ?? 0} />
          )}
          <strong>{verdictText(shown, unit)}</strong>
          {!judged && last && <span>{length(last.values.value ?? 0, unit)}</span>}
        </p>
      )}
      {jot.text.trim() && (
        <Row>
          <QuietButton onTap={keep}>{words.step.keepReading}</QuietButton>
        </Row>
      )}
      {(jot.text.trim() || readings.length > 0) && (
        <details class="fold" open={asked}>
          <summary>
            {words.step.readings} {readings.length > 0 && `(${readings.length})`}
          </summary>
          <Field
            label={words.step.instrument}
            hint={words.shared.optional}
            value={instrument.text}
            maxLength={120}
            onInput={instrument.set}
          />
          <ul class="readings" role="list">
            {[...readings].reverse().map((reading) => {
              const of = reading.values;
              return (
                <li key={reading.id}>
                  <p>
                    <strong>{length(of.value ?? 0, unit)}</strong>{" "}
                    {verdictText(judge(of.value ?? 0, target), unit)}{" "}
                    <span class="soft">
                      {[
                        of.instrument,
                        words.step.tickedAt(moment(of.at ?? ""), deviceName(bench, of.device)),
                      ]
                        .filter(Boolean)
                        .join(" · ")}
                    </span>
                  </p>
                  <Clashes view={reading} labels={words.step.fields} />
                  <QuietButton onTap={() => void work.remove(reading, words.step.readingDeleted)}>
                    {words.step.deleteReading}
                  </QuietButton>
                </li>
              );
            })}
          </ul>
        </details>
      )}
    </section>
  );
}
