/** Kit step: one figure of the manual with all that hangs on it, to be put right. */
import { useState } from "preact/hooks";
import { behind } from "../core/placing";
import { parseField } from "../core/typed";
import { to } from "../routes";
import type { Draft, View } from "../sync/types";
import {
  Choose,
  Field,
  Loading,
  Page,
  QuietButton,
  Row,
  useBench,
  useOnce,
  words,
} from "../ui/parts";
import { kitWords } from "../ui/words-kit";
import { inOrder } from "./bench/step-model";
import { newId, useArriving, useJotting } from "./bench/work";
import { AddLines, wholeLine } from "./kit/add-lines";
import { Cautions } from "./kit/cautions";
import { Fold } from "./kit/fold";
import { PageAndFrame } from "./kit/page-and-frame";
import { Kept, KeptChoose, KeptSwitch, slipWords } from "./kit/kept";
import { EditList, RecordClashes, placed } from "./kit/list";
import { nameOf, partName, twice, typedText } from "./kit/names";
import { OrderPairs } from "./kit/pairs";
import { UndoBar } from "./kit/undo-bar";
import { unitOf, useEditor, useKit, type Editor } from "./kit/use-editor";
import { partsInOrder } from "./kit/parts-order";
import "./kit.css";

const text = kitWords.step;
type Options = readonly (readonly [value: string, label: string])[];

const pick = (from: Readonly<Record<string, string>>, ...keys: string[]): Options =>
  keys.map((key) => [key, from[key] ?? key]);
const THROUGH = pick(kitWords.materials, "metal", "plastic", "rubber", "wood");
const INTO = pick(kitWords.materials, "metal", "plastic", "rubber", "wood", "lock_nut");
const THREAD_LOCK = pick(kitWords.threadLocks, "use", "never", "unsaid");

export default function KitStep(props: { kit: string; step: string }) {
  const { store } = useBench();
  const loaded = useKit(props.kit);
  const arriving = useArriving();
  const step = store.get("step", props.step);
  if (!step || !loaded || step.values.kit !== props.kit) {
    const waits = arriving || !loaded;
    return (
      <Page
        title={waits ? words.step.figure : kitWords.noneStep}
        back={to.kit(props.kit)}
        backLabel={kitWords.back}
      >
        {waits ? <Loading what={kitWords.loading} /> : <p>{kitWords.noneHelp}</p>}
      </Page>
    );
  }
  return <Loaded key={step.id} kit={props.kit} step={step} />;
}

interface Part {
  editor: Editor;
  step: View<"step">;
}

function Loaded({ kit, step }: { kit: string; step: View<"step"> }) {
  const { store } = useBench();
  const editor = useEditor(kit);
  const steps = inOrder(store.where("step", "kit", kit));
  const at = steps.findIndex(({ id }) => id === step.id);
  const [before, after] = [steps[at - 1], steps[at + 1]];
  const number = step.values.number ?? "";
  const part = { editor, step };
  return (
    <Page
      title={text.title(number)}
      above={step.values.title ?? undefined}
      back={to.kit(kit)}
      backLabel={store.get("kit", kit)?.values.name ?? kitWords.back}
      actions={
        <UndoBar editor={editor}>
          {before && (
            <QuietButton
              href={to.kitStep(kit, before.id)}
              label={text.previous(before.values.number ?? "")}
            >
              <span aria-hidden="true">‹ {before.values.number}</span>
            </QuietButton>
          )}
          {after && (
            <QuietButton
              href={to.kitStep(kit, after.id)}
              label={text.next(after.values.number ?? "")}
            >
              <span aria-hidden="true">{after.values.number} ›</span>
            </QuietButton>
          )}
        </UndoBar>
      }
    >
      <RecordClashes view={step} />
      <Own {...part} steps={steps} />
      <div class="kit-folds">
        <Operations {...part} />
        <Lines {...part} />
        <Joints {...part} />
        <Dimensions {...part} />
        <Choices {...part} />
        <OwnCautions {...part} />
        <OperationOrder {...part} />
        <Fold id={`${step.id}/figure`} title={text.figure}>
          <PageAndFrame editor={editor} step={step} />
        </Fold>
      </div>
    </Page>
  );
}

function Own({ editor, step, steps }: Part & { steps: readonly View<"step">[] }) {
  const { store } = useBench();
  const { kit } = editor;
  const sections = inOrder(store.where("section", "kit", kit));
  const bags = inOrder(store.where("bag", "kit", kit));
  const own = step.values.bags ?? [];
  const toggle = (bag: string) => {
    const next = own.includes(bag) ? own.filter((one) => one !== bag) : [...own, bag];
    const sorted = bags.map(({ id }) => id).filter((id) => next.includes(id));
    void editor.save([{ type: "step", id: step.id, set: { bags: sorted } }], {
      said: kitWords.said.changed(
        kitWords.fields.bags ?? "",
        nameOf(store, "step", step.id),
      ),
    });
  };
  return (
    <section class="block" aria-labelledby="own">
      <h2 id="own">{text.own}</h2>
      <div class="kit-pair-of-fields">
        <Kept editor={editor} view={step} field="number" />
        <Kept editor={editor} view={step} field="minutes" />
      </div>
      {twice(steps).has(step.id) && <p class="kit-warn">{kitWords.twice.step}</p>}
      <Kept editor={editor} view={step} field="title" />
      <Kept editor={editor} view={step} field="text" lines={4} hint={kitWords.hints.text} />
      {sections.length > 0 && (
        <KeptChoose
          editor={editor}
          view={step}
          field="section"
          none={kitWords.noSection}
          options={sections.map(({ id, values }) => [
            id,
            kitWords.sectionName(values.mark ?? "", values.title ?? ""),
          ])}
        />
      )}
      <details class="kit-bags">
        <summary>
          {text.bags(
            bags.filter(({ id }) => own.includes(id)).map(({ values }) => values.number ?? ""),
          )}
        </summary>
        {bags.length === 0 && <p>{text.noBags}</p>}
        <div class="kit-choices is-short">
          {bags.map(({ id, values }) => (
            <QuietButton
              key={id}
              pressed={own.includes(id)}
              label={words.path.bagTitle(values.number ?? "", values.title)}
              onTap={() => toggle(id)}
            >
              {values.number}
            </QuietButton>
          ))}
        </div>
      </details>
    </section>
  );
}

/** What is set along with each new record of a list in a step. */
function along(step: View<"step">, siblings: readonly View[], n: number) {
  const { kit } = step.values;
  return behind(siblings.map(placed), n).map((order) => ({ kit, step: step.id, order }));
}

function Operations({ editor, step }: Part) {
  const { store } = useBench();
  const operations = inOrder(store.where("operation", "step", step.id));
  return (
    <Fold id={`${step.id}/operations`} title={text.operations} views={operations} open>
      <EditList
        editor={editor}
        label={text.operations}
        views={operations}
        row={(view) => ({
          number: String(operations.indexOf(view) + 1),
          title: view.values.text ?? "",
        })}
      >
        {(view) => <Kept editor={editor} view={view} field="text" lines={3} />}
      </EditList>
      <AddLines
        editor={editor}
        type="operation"
        jot={`${step.id}/operation`}
        read={wholeLine("text")}
        rest={(n) => along(step, operations, n)}
        called={(set) => kitWords.quoted(String(set.text ?? ""))}
      />
    </Fold>
  );
}

function Lines({ editor, step }: Part) {
  const { store } = useBench();
  const { kit } = editor;
  const lines = inOrder(store.where("part_line", "step", step.id));
  const parts = partsInOrder(store, kit).map((part): [string, string] => [
    part.id,
    partName(part),
  ]);
  const bags = inOrder(store.where("bag", "kit", kit)).map(({ id, values }): [string, string] => [
    id,
    words.path.bagTitle(values.number ?? "", values.title),
  ]);
  const alternatives = store
    .where("choice", "step", step.id)
    .flatMap((choice) => inOrder(store.where("alternative", "choice", choice.id)))
    .map(({ id, values }): [string, string] => [id, values.title ?? ""]);
  const [part, setPart] = useState("");
  const [error, setError] = useState<string | null>(null);
  const [added, setAdded] = useState<string | null>(null);
  const once = useOnce();
  const add = async () => {
    if (!part) return setError(kitWords.pickPart);
    const id = newId();
    const [rest] = along(step, lines, 1);
    // Where one bag serves the step, the part is most likely in it.
    const own = step.values.bags ?? [];
    const bag = own.length === 1 ? own[0] : null;
    const set = { ...rest, part, quantity: 1, bag };
    const said = kitWords.said.added("part_line", 1, partName(store.get("part", part)));
    if (!(await editor.save([{ type: "part_line", id, set } as Draft], { said }))) return;
    setPart("");
    setAdded(id);
  };
  return (
    <Fold id={`${step.id}/lines`} title={text.lines} views={lines}>
      <EditList
        editor={editor}
        label={text.lines}
        views={lines}
        open={added}
        row={({ values }) => {
          const bag = values.bag ? store.get("bag", values.bag) : undefined;
          return {
            title: kitWords.lineName(
              values.quantity ?? 0,
              partName(store.get("part", values.part ?? "")),
            ),
            note: bag && kitWords.bagName(bag.values.number ?? ""),
          };
        }}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="quantity" />
            <KeptChoose editor={editor} view={view} field="part" options={parts} required />
            <KeptChoose
              editor={editor}
              view={view}
              field="bag"
              options={bags}
              none={kitWords.none_}
            />
            {alternatives.length > 0 && (
              <KeptChoose
                editor={editor}
                view={view}
                field="alternative"
                options={alternatives}
                none={kitWords.none_}
              />
            )}
          </>
        )}
      </EditList>
      {parts.length === 0 ? (
        <p>{kitWords.noPartsYet}</p>
      ) : (
        <div class="kit-add">
          <Choose
            label={kitWords.fields.part ?? ""}
            value={part}
            options={[["", ""], ...parts]}
            onChange={(next) => {
              setError(null);
              setPart(next);
            }}
          />
          <div class="error" role="alert">
            {error}
          </div>
          <Row>
            <QuietButton onTap={() => once(add)}>{kitWords.addLine}</QuietButton>
          </Row>
        </div>
      )}
    </Fold>
  );
}

/** At which operation of the step something stands. */
function AtOperation({ editor, view, step }: Part & { view: View<"joint"> | View<"dimension"> }) {
  const { store } = useBench();
  const operations = inOrder(store.where("operation", "step", step.id));
  if (operations.length === 0) return null;
  return (
    <KeptChoose
      editor={editor}
      view={view as View<"joint">}
      field="operation"
      label={text.underOperation}
      none={text.wholeStep}
      options={operations.map(({ id, values }, at) => [id, `${at + 1} ${values.text ?? ""}`])}
    />
  );
}

function Joints({ editor, step }: Part) {
  const { store } = useBench();
  const joints = [...store.where("joint", "step", step.id)].sort((a, b) =>
    a.id < b.id ? -1 : 1,
  );
  const parts = partsInOrder(store, editor.kit).map((part): [string, string] => [
    part.id,
    partName(part),
  ]);
  const [added, setAdded] = useState<string | null>(null);
  const once = useOnce();
  const add = async () => {
    const id = newId();
    const set = { kit: editor.kit, step: step.id, count: 1 };
    const said = kitWords.said.added("joint", 1, kitWords.someFastener);
    if (await editor.save([{ type: "joint", id, set }], { said })) setAdded(id);
  };
  return (
    <Fold id={`${step.id}/joints`} title={text.joints} views={joints}>
      <EditList
        editor={editor}
        label={text.joints}
        views={joints}
        still
        open={added}
        row={({ values }) => ({
          title: text.jointsSay(
            values.count ?? 1,
            values.fastener ||
              (values.part ? partName(store.get("part", values.part)) : kitWords.someFastener),
          ),
          note:
            words.step.goesInto(
              values.through ? words.step.material[values.through] : null,
              values.into ? words.step.material[values.into] : null,
            ) || undefined,
        })}
      >
        {(view) => (
          <>
            <Kept
              editor={editor}
              view={view}
              field="fastener"
              hint={kitWords.hints.designation}
            />
            {parts.length > 0 && (
              <KeptChoose
                editor={editor}
                view={view}
                field="part"
                options={parts}
                none={kitWords.none_}
              />
            )}
            <Kept editor={editor} view={view} field="count" />
            <KeptChoose editor={editor} view={view} field="through" options={THROUGH} />
            <KeptChoose editor={editor} view={view} field="into" options={INTO} />
            <KeptChoose editor={editor} view={view} field="thread_lock" options={THREAD_LOCK} />
            <Row>
              <KeptSwitch editor={editor} view={view} field="snug" label={words.step.snug} />
            </Row>
            <Kept
              editor={editor}
              view={view}
              field="torque_nm"
              unit={kitWords.newtonMetres}
              hint={kitWords.hints.torque}
            />
            <Kept editor={editor} view={view} field="text" lines={2} />
            <AtOperation editor={editor} step={step} view={view} />
          </>
        )}
      </EditList>
      <Row>
        <QuietButton onTap={() => once(add)}>{kitWords.addJoint}</QuietButton>
      </Row>
    </Fold>
  );
}

function Dimensions({ editor, step }: Part) {
  const { store } = useBench();
  const unit = unitOf(store);
  const dimensions = inOrder(store.where("dimension", "step", step.id));
  const length = (field: string, value: unknown) =>
    `${typedText("dimension", field, value, unit)} ${words.step[unit]}`;
  return (
    <Fold id={`${step.id}/dimensions`} title={text.dimensions} views={dimensions}>
      <EditList
        editor={editor}
        label={text.dimensions}
        views={dimensions}
        row={({ values }) => ({
          title: values.name ?? "",
          note: [
            length("target", values.target ?? 0),
            typeof values.plus === "number" && `+${length("plus", values.plus)}`,
            typeof values.minus === "number" && `−${length("minus", values.minus)}`,
          ]
            .filter(Boolean)
            .join(" "),
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="name" />
            <Kept editor={editor} view={view} field="measured" hint={kitWords.hints.measured} />
            <Kept editor={editor} view={view} field="target" />
            <div class="kit-pair-of-fields">
              <Kept editor={editor} view={view} field="plus" />
              <Kept editor={editor} view={view} field="minus" />
            </div>
            <AtOperation editor={editor} step={step} view={view} />
          </>
        )}
      </EditList>
      <AddDimension editor={editor} step={step} siblings={dimensions} />
    </Fold>
  );
}

/** A dimension is nothing without its name and target, so both are asked for first. */
function AddDimension({ editor, step, siblings }: Part & { siblings: readonly View[] }) {
  const { store } = useBench();
  const unit = unitOf(store);
  const name = useJotting(`kit/add/${step.id}/dimension/name`);
  const target = useJotting(`kit/add/${step.id}/dimension/target`);
  const [told, setTold] = useState(false);
  const once = useOnce();
  const read = {
    name: parseField("dimension", "name", name.text),
    target: parseField("dimension", "target", target.text, unit),
  };
  const why = (field: keyof typeof read) => {
    const typed = read[field];
    return told && "slip" in typed ? slipWords("dimension", field, typed) : null;
  };
  const add = async () => {
    if ("slip" in read.name || "slip" in read.target) return setTold(true);
    const [rest] = along(step, siblings, 1);
    const set = { ...rest, name: read.name.value, target: read.target.value };
    const said = kitWords.said.added("dimension", 1, kitWords.quoted(name.text));
    const draft = { type: "dimension", id: newId(), set } as Draft;
    if (!(await editor.save([draft], { said }))) return;
    name.drop();
    target.drop();
    setTold(false);
  };
  return (
    <section class="kit-add" aria-label={kitWords.addDimensionTitle}>
      <h3>{kitWords.addDimensionTitle}</h3>
      <Field
        label={kitWords.fields.name ?? ""}
        value={name.text}
        maxLength={160}
        error={why("name")}
        onInput={name.set}
      />
      <Field
        label={kitWords.fields.target ?? ""}
        unit={words.step[unit]}
        value={target.text}
        inputMode="decimal"
        maxLength={40}
        error={why("target")}
        onInput={target.set}
        onEnter={() => once(add)}
      />
      <Row>
        <QuietButton onTap={() => once(add)}>{kitWords.addDimension}</QuietButton>
      </Row>
    </section>
  );
}

function Choices({ editor, step }: Part) {
  const { store } = useBench();
  const choices = inOrder(store.where("choice", "step", step.id));
  return (
    <Fold id={`${step.id}/choices`} title={text.choices} views={choices}>
      <EditList
        editor={editor}
        label={text.choices}
        views={choices}
        row={({ id, values }) => ({
          title: values.title ?? "",
          note: inOrder(store.where("alternative", "choice", id))
            .map((one) => one.values.title)
            .join(", "),
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="title" />
            <Kept editor={editor} view={view} field="text" lines={2} />
            <Alternatives editor={editor} choice={view} />
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="choice"
        jot={`${step.id}/choice`}
        read={wholeLine("title")}
        rest={(n) => along(step, choices, n)}
        called={(set) => kitWords.quoted(String(set.title ?? ""))}
      />
    </Fold>
  );
}

function Alternatives({ editor, choice }: { editor: Editor; choice: View<"choice"> }) {
  const { store } = useBench();
  const alternatives = inOrder(store.where("alternative", "choice", choice.id));
  return (
    <section class="kit-inner" aria-label={text.alternatives}>
      <h3>{text.alternatives}</h3>
      <EditList
        editor={editor}
        label={text.alternatives}
        views={alternatives}
        row={({ values }) => ({
          title: values.title ?? "",
          note: values.in_manual ? words.step.inManual : undefined,
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="title" />
            <Kept editor={editor} view={view} field="changes" lines={2} />
            <Row>
              <KeptSwitch
                editor={editor}
                view={view}
                field="in_manual"
                label={kitWords.fields.in_manual ?? ""}
              />
            </Row>
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="alternative"
        jot={`${choice.id}/alternative`}
        read={wholeLine("title")}
        rest={(n) =>
          behind(alternatives.map(placed), n).map((order) => ({
            kit: editor.kit,
            choice: choice.id,
            order,
          }))
        }
        called={(set) => kitWords.quoted(String(set.title ?? ""))}
      />
    </section>
  );
}

function OwnCautions({ editor, step }: Part) {
  const { store } = useBench();
  const cautions = inOrder(store.where("caution", "step", step.id));
  return (
    <Fold id={`${step.id}/cautions`} title={text.cautions} views={cautions}>
      <Cautions
        editor={editor}
        label={text.cautions}
        cautions={cautions}
        jot={`${step.id}/caution`}
        along={{ kit: editor.kit, step: step.id }}
      />
    </Fold>
  );
}

function OperationOrder({ editor, step }: Part) {
  const { store } = useBench();
  const operations = inOrder(store.where("operation", "step", step.id));
  const own = new Set(operations.map(({ id }) => id));
  const pairs = store
    .where("comes_before", "kit", editor.kit)
    .filter(({ values }) => values.kind === "operation")
    .filter(({ values }) => own.has(values.first ?? "") || own.has(values.then ?? ""))
    .filter(
      ({ values }) =>
        store.get("operation", values.first ?? "") && store.get("operation", values.then ?? ""),
    );
  return (
    <Fold id={`${step.id}/order`} title={text.order} views={pairs}>
      <OrderPairs
        editor={editor}
        kind="operation"
        pairs={pairs}
        things={operations.map(({ id, values }, at) => ({
          id,
          order: values.order ?? null,
          name: `${at + 1} ${kitWords.quoted(values.text ?? "")}`,
          label: `${at + 1} ${values.text ?? ""}`,
          short: `${at + 1} ${values.text ?? ""}`,
          button: `${at + 1} ${values.text ?? ""}`,
        }))}
      />
    </Fold>
  );
}
