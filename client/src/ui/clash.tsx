/** Two devices wrote different things without knowing of each other: a person settles it here. */
import type { RecordType } from "../core/records";
import type { Clash, Draft, Store, View } from "../sync/types";
import { useBench } from "./bench-context";
import { QuietButton, Row } from "./buttons";
import { Mark } from "./marks";
import { say, sayTrouble } from "./say";
import { moment, number, words } from "./words";

/** Name of the device whose clock made `change`. */
export function authorOf(store: Store, change: string): string {
  const clock = change.slice(0, change.indexOf("."));
  const device = store.all("device").find((one) => one.values.clock === clock);
  return device?.values.name ?? words.shared.unknownDevice;
}

/** Moment in a stamp (PROTOCOL.md: the first 12 hex digits are ms since 1970). */
export function stampMs(stamp: string): number {
  return Number.parseInt(stamp.slice(0, 12), 16);
}

/** An instant as the wire writes it. */
const INSTANT = /^\d{4}-\d{2}-\d{2}T[\d:.]+Z$/;

/** A value in words, where nothing more is known of it. */
export function plain(value: unknown): string {
  if (value === null || value === undefined || value === "") return words.clash.empty;
  if (value === true) return words.shared.yes;
  if (value === false) return words.shared.no;
  if (typeof value === "number") return number(value);
  if (typeof value !== "string") return JSON.stringify(value);
  return INSTANT.test(value) ? moment(value) : value;
}

function ClashOne<T extends RecordType>(props: {
  view: View<T>;
  clash: Clash;
  label: string;
  format: (value: unknown, field: string) => string;
}) {
  const { store } = useBench();
  const { clash, view } = props;
  const settle = (value: unknown) => {
    const set = { [clash.field]: value } as Draft["set"];
    store.write([{ type: view.type, id: view.id, set }]).then(
      () => say(words.clash.settled),
      () => sayTrouble(words.shared.notSaved),
    );
  };
  return (
    <section class="clash">
      <h3>
        <Mark sign="two_tags" /> {words.clash.title(props.label)}
      </h3>
      <p>{words.clash.choose}</p>
      <ul>
        {[clash.shown, ...clash.others].map((one, index) => (
          <li key={one.change}>
            <button type="button" class="clash-value" onClick={() => settle(one.value)}>
              <strong>{props.format(one.value, clash.field)}</strong>
              <span>
                {words.clash.by(authorOf(store, one.change), moment(stampMs(one.stamp)))}
                {index === 0 && ` · ${words.clash.shownNow}`}
              </span>
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

/**
 * All that a person has to be asked about a record; nothing when there is nothing to ask.
 * `labels`: what each field is called; `format`: how a value of it reads.
 */
export function Clashes<T extends RecordType>(props: {
  view: View<T>;
  labels?: Readonly<Record<string, string>> | undefined;
  format?: ((value: unknown, field: string) => string) | undefined;
}) {
  const { store } = useBench();
  const { view } = props;
  const settleDelete = (keep: boolean) => {
    store.settleDelete(view as View, keep).then(
      () => say(keep ? words.clash.kept : words.clash.removed),
      () => sayTrouble(words.shared.notSaved),
    );
  };
  return (
    <>
      {view.deleteAsked && (
        <section class="clash">
          <h3>
            <Mark sign="two_tags" /> {words.clash.deleteTitle}
          </h3>
          <p>{words.clash.deleteHelp}</p>
          <Row>
            <QuietButton onTap={() => settleDelete(true)}>{words.clash.keep}</QuietButton>
            <QuietButton onTap={() => settleDelete(false)}>{words.clash.remove}</QuietButton>
          </Row>
        </section>
      )}
      {view.clashes.map((clash) => (
        <ClashOne
          key={clash.field}
          view={view}
          clash={clash}
          label={props.labels?.[clash.field] ?? clash.field.replaceAll("_", " ")}
          format={props.format ?? plain}
        />
      ))}
    </>
  );
}
