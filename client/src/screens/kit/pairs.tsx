/** What comes before what: told in words, drawn, added by two taps and a reason, taken away. */
import { useEffect, useRef, useState } from "preact/hooks";
import { columnsOf, KitOrder, type Pair, type Stop } from "../../core/pairs";
import type { Ordered } from "../../core/precedence";
import { parseField } from "../../core/typed";
import type { Draft, Store, View } from "../../sync/types";
import { Field, Mark, Notice, QuietButton, Row, useBench, useOnce } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { newId, useJotting } from "../bench/work";
import { Kept } from "./kept";
import { RecordClashes, isAsked } from "./list";
import { nameOf } from "./names";
import type { Editor } from "./use-editor";

const text = kitWords.pairs;

export interface Thing extends Ordered {
  /** As it is named in sentences: "Step 1.1". */
  readonly name: string;
  /** As it stands on its box: short. */
  readonly short: string;
  /** On the button to choose it by, and what that is read out as. */
  readonly button: string;
  readonly label?: string;
}

/** The order of a whole kit, for what a new pair would close. */
export function kitOrder(store: Store, kit: string): KitOrder {
  return new KitOrder(
    store.where("step", "kit", kit).map(({ id }) => id),
    store
      .where("operation", "kit", kit)
      .map(({ id, values }) => ({ id, step: values.step ?? "" })),
    store.where("comes_before", "kit", kit).map(({ values }) => pairOf(values)),
  );
}

function pairOf(values: Partial<Pair>): Pair {
  const { kind = "step", first = "", then = "", reason = null } = values;
  return { kind, first, then, reason };
}

/** A step or operation in a sentence; operations with their step. */
function stopName(store: Store, { kind, id }: Stop): string {
  if (kind === "step") return nameOf(store, "step", id);
  const step = store.get("step", store.get("operation", id)?.values.step ?? "");
  const of = nameOf(store, "operation", id);
  return step ? `${step.values.number ?? ""} ${of}` : of;
}

const BOX = { width: 132, height: 34, right: 44, down: 14, pad: 6 };
const LETTERS = 15;

/** Boxes in columns and lines between them. Says the same as the list beside it. */
function Chart({ things, pairs }: { things: readonly Thing[]; pairs: readonly Pair[] }) {
  const columns = columnsOf(things, pairs);
  if (columns.length === 0) return null;
  const shorts = new Map(things.map(({ id, short }) => [id, short]));
  const at = new Map(
    columns.flatMap((column, x) =>
      column.map((id, y) => [
        id,
        {
          x: BOX.pad + x * (BOX.width + BOX.right),
          y: BOX.pad + y * (BOX.height + BOX.down),
        },
      ] as const),
    ),
  );
  const width = 2 * BOX.pad + columns.length * (BOX.width + BOX.right) - BOX.right;
  const rows = Math.max(...columns.map((column) => column.length));
  const height = 2 * BOX.pad + rows * (BOX.height + BOX.down) - BOX.down;
  const cut = (name: string) => (name.length > LETTERS ? `${name.slice(0, LETTERS - 1)}…` : name);
  return (
    <div class="kit-chart" role="region" aria-label={text.chart} tabIndex={0}>
      <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
        {pairs.map(({ first, then }, i) => {
          const [a, b] = [at.get(first), at.get(then)];
          if (!a || !b) return null;
          const [x1, y1] = [a.x + BOX.width, a.y + BOX.height / 2];
          const [x2, y2] = [b.x, b.y + BOX.height / 2];
          const bend = Math.max(18, (x2 - x1) / 2);
          return (
            <g key={i}>
              <path d={`M${x1} ${y1}C${x1 + bend} ${y1} ${x2 - bend} ${y2} ${x2 - 3} ${y2}`} />
              <path class="kit-chart-tip" d={`M${x2} ${y2}l-9 -4.5v9z`} />
            </g>
          );
        })}
        {[...at].map(([id, { x, y }]) => (
          <g key={id}>
            <path
              class="kit-chart-box"
              d={`M${x + 9} ${y}h${BOX.width - 9}v${BOX.height}h${-BOX.width}v${9 - BOX.height}z`}
            />
            <text x={x + 10} y={y + BOX.height / 2 + 5}>
              {cut(shorts.get(id) ?? "")}
            </text>
          </g>
        ))}
      </svg>
    </div>
  );
}

export function OrderPairs(props: {
  editor: Editor;
  kind: Pair["kind"];
  /** Those to choose from, in the order of the list. */
  things: readonly Thing[];
  pairs: readonly View<"comes_before">[];
}) {
  const { store } = useBench();
  const { editor, kind, things } = props;
  const place = new Map(things.map(({ id }, i) => [id, i]));
  const placeOf = (id: string | undefined) => place.get(id ?? "") ?? things.length;
  const pairs = [...props.pairs].sort(
    ({ values: a }, { values: b }) =>
      placeOf(a.first) - placeOf(b.first) || placeOf(a.then) - placeOf(b.then),
  );
  const order = kitOrder(store, editor.kit);
  const ring = order.ring();
  const name = (id: string) =>
    things.find((one) => one.id === id)?.name ?? stopName(store, { kind, id });
  const said = (view: View<"comes_before">): [string, string] => [
    name(view.values.first ?? ""),
    name(view.values.then ?? ""),
  ];
  const remove = (view: View<"comes_before">) => {
    const [first, then] = said(view);
    void editor.save([], {
      said: kitWords.said.unpaired(first, then),
      remove: [{ type: "comes_before", id: view.id }],
    });
  };
  // Those of the ring, wherever they stand: one of them has to go.
  const onRing = ring
    ? store.where("comes_before", "kit", editor.kit).filter(({ values }) =>
        ring.some((stop, i) => {
          const next = ring[(i + 1) % ring.length]!;
          return stop.id === values.first && next.id === values.then;
        }),
      )
    : [];
  return (
    <>
      <p class="soft">{text.lead}</p>
      {ring && (
        <Notice title={text.ringTitle}>
          <p>{text.ring(ring.map((stop) => stopName(store, stop)))}</p>
          <p>{text.ringHelp}</p>
          <Row>
            {onRing.map((view) => {
              const of = view.values.kind === "step" ? "step" : "operation";
              const [first, then] = [view.values.first ?? "", view.values.then ?? ""].map((id) =>
                stopName(store, { kind: of, id }),
              );
              return (
                <QuietButton key={view.id} onTap={() => remove(view)}>
                  {text.remove(first ?? "", then ?? "")}
                </QuietButton>
              );
            })}
          </Row>
        </Notice>
      )}
      {pairs.length === 0 && <p>{text.none}</p>}
      {pairs.length > 0 && (
        <>
          <Chart things={things} pairs={pairs.map(({ values }) => pairOf(values))} />
          <ul class="kit-list" role="list" aria-label={kitWords.order}>
            {pairs.map((view) => (
              <PairRow
                key={view.id}
                editor={editor}
                view={view}
                said={said(view)}
                onRemove={() => remove(view)}
              />
            ))}
          </ul>
        </>
      )}
      <AddPair {...props} order={order} />
    </>
  );
}

function PairRow(props: {
  editor: Editor;
  view: View<"comes_before">;
  said: [string, string];
  onRemove: () => void;
}) {
  const { view } = props;
  const [open, setOpen] = useState(false);
  const [first, then] = props.said;
  return (
    <li class={open ? "kit-row is-open" : "kit-row"}>
      <button
        type="button"
        class="kit-row-head"
        aria-expanded={open}
        onClick={() => setOpen(!open)}
      >
        <span class="kit-row-words">
          <span>{text.before(first, then)}</span>
          {view.values.reason && <span class="soft">{view.values.reason}</span>}
          {isAsked(view) && (
            <span class="kit-warn">
              <Mark sign="two_tags" /> {kitWords.askedHere}
            </span>
          )}
        </span>
      </button>
      {open && (
        <div class="kit-row-body">
          <RecordClashes view={view} />
          <Kept editor={props.editor} view={view} field="reason" label={text.why} />
          <Row>
            <QuietButton onTap={props.onRemove} label={text.remove(first, then)}>
              {kitWords.remove}
            </QuietButton>
          </Row>
        </div>
      )}
    </li>
  );
}

/** More than so many to choose from are found by typing. */
const MANY = 24;

function AddPair(props: {
  editor: Editor;
  kind: Pair["kind"];
  things: readonly Thing[];
  pairs: readonly View<"comes_before">[];
  order: KitOrder;
}) {
  const { store } = useBench();
  const { editor, kind, things, pairs, order } = props;
  const [open, setOpen] = useState(false);
  const [first, setFirst] = useState<string | null>(null);
  const [then, setThen] = useState<string | null>(null);
  const [refused, setRefused] = useState<string | null>(null);
  const [search, setSearch] = useState("");
  const reason = useJotting(`kit/pair/${editor.kit}/${kind}`);
  const asks = useRef<HTMLParagraphElement>(null);
  const once = useOnce();
  useEffect(() => {
    if (open) asks.current?.focus();
  }, [open, first, then, refused]);
  const name = (id: string) => things.find((one) => one.id === id)?.name ?? "";

  if (things.length < 2) return <p class="soft">{text.few}</p>;
  if (!open) {
    return (
      <Row>
        <QuietButton onTap={() => setOpen(true)}>{text.add}</QuietButton>
      </Row>
    );
  }
  const begin = () => {
    setFirst(null);
    setThen(null);
    setRefused(null);
  };
  const tap = (id: string) => {
    setRefused(null);
    if (first === null) return setFirst(id);
    if (id === first) return setRefused(text.itself(name(id)));
    if (pairs.some(({ values }) => values.first === first && values.then === id)) {
      return setRefused(text.twice(name(first), name(id)));
    }
    const way = order.closes({ kind, first, then: id });
    if (way) {
      const names = way.map((stop) => (stop.kind === kind ? name(stop.id) : "") || stopName(store, stop));
      return setRefused(text.closes(name(first), name(id), names));
    }
    setThen(id);
  };
  const keep = async () => {
    if (first === null || then === null) return;
    const typed = parseField("comes_before", "reason", reason.text);
    const set = {
      kit: editor.kit,
      kind,
      first,
      then,
      reason: "value" in typed ? typed.value : null,
    };
    const saved = await editor.save([{ type: "comes_before", id: newId(), set } as Draft], {
      said: kitWords.said.paired(name(first), name(then)),
    });
    if (!saved) return;
    reason.drop();
    begin();
    setOpen(false);
  };
  const shown = things.filter(({ name: of, short }) => `${of} ${short}`.toLowerCase().includes(search.toLowerCase()));
  return (
    <section class="kit-pair" aria-label={text.add}>
      <p ref={asks} tabIndex={-1}>
        <strong>
          {first === null
            ? text.first
            : then === null
              ? text.then(name(first))
              : text.reason(name(first), name(then))}
        </strong>
      </p>
      <div class="error" role="alert">
        {refused}
      </div>
      {then === null ? (
        <>
          {things.length > MANY && (
            <Field label={text.search} value={search} onInput={setSearch} />
          )}
          <div class={kind === "step" ? "kit-choices is-short" : "kit-choices"}>
            {shown.map((one) => (
              <QuietButton
                key={one.id}
                pressed={one.id === first ? true : undefined}
                label={one.label ?? one.name}
                onTap={() => tap(one.id)}
              >
                {one.button}
              </QuietButton>
            ))}
          </div>
        </>
      ) : (
        <Field
          label={text.why}
          value={reason.text}
          maxLength={300}
          onInput={reason.set}
          onEnter={() => once(keep)}
        />
      )}
      <Row>
        {then !== null && <QuietButton onTap={() => once(keep)}>{text.keep}</QuietButton>}
        {first !== null && <QuietButton onTap={begin}>{text.again}</QuietButton>}
        <QuietButton
          onTap={() => {
            begin();
            setOpen(false);
          }}
        >
          {text.stop}
        </QuietButton>
      </Row>
    </section>
  );
}
