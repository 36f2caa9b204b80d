/** Kit: everything that came in the box, to be added to, changed, moved and taken away. */
import { useState } from "preact/hooks";
import { typesIn } from "../core/belongs";
import { behind } from "../core/placing";
import { to } from "../routes";
import type { Store, View } from "../sync/types";
import {
  Choose,
  Loading,
  Mark,
  Page,
  Picture,
  QuietButton,
  Row,
  number,
  useBench,
  useSession,
} from "../ui/parts";
import { codesWords } from "../ui/words-codes";
import { count, kitWords, list } from "../ui/words-kit";
import { pagesWords } from "../ui/words-pages";
import { useArriving } from "./bench/work";
import { inOrder } from "./bench/step-model";
import { AddLines, markAndTitle, numberAndTitle, partOfLine } from "./kit/add-lines";
import { Cautions } from "./kit/cautions";
import DeleteWhole from "./kit/delete-whole";
import { Fold } from "./kit/fold";
import { Kept, KeptChoose } from "./kit/kept";
import { EditList, RecordClashes, isAsked, placed } from "./kit/list";
import { barcodeName, nameOf, pageName, partName, twice } from "./kit/names";
import { OrderPairs } from "./kit/pairs";
import { partsInOrder } from "./kit/parts-order";
import { TABLES } from "./kit/tables";
import { UndoBar } from "./kit/undo-bar";
import { freshCodes, useEditor, useKit, type Editor } from "./kit/use-editor";
import "./kit.css";

const KIT_TYPES = typesIn("kit");

/** Everything of a kit that a person has to be asked about. */
function askedOf(store: Store, kit: string): View[] {
  const own = store.get("kit", kit) as View | undefined;
  const all = KIT_TYPES.flatMap(
    (type) => store.where(type, "kit" as never, kit) as readonly View[],
  );
  return [...(own ? [own] : []), ...all].filter(isAsked);
}

export default function Kit(props: { kit: string }) {
  const { store } = useBench();
  const loaded = useKit(props.kit);
  const arriving = useArriving();
  const kit = store.get("kit", props.kit);
  if (!kit || !loaded) {
    const waits = arriving || Boolean(kit);
    return (
      <Page
        title={waits ? kitWords.back : kitWords.none}
        back={to.builds()}
        backLabel={kitWords.toBuilds}
      >
        {waits ? <Loading what={kitWords.loading} /> : <p>{kitWords.noneHelp}</p>}
      </Page>
    );
  }
  return <Loaded kit={kit} />;
}

function Loaded({ kit }: { kit: View<"kit"> }) {
  const { store } = useBench();
  const editor = useEditor(kit.id);
  const asked = askedOf(store, kit.id);
  const steps = inOrder(store.where("step", "kit", kit.id));
  return (
    <Page
      title={kit.values.name ?? ""}
      above={kitWords.back}
      back={to.builds()}
      backLabel={kitWords.toBuilds}
      actions={<UndoBar editor={editor} />}
    >
      <p class="soft">{kitWords.lead}</p>
      {asked.length > 0 && (
        <section class="block" aria-label={kitWords.asked}>
          <h2>
            <Mark sign="two_tags" /> {kitWords.asked} ({number(asked.length)})
          </h2>
          {asked.map((view) => (
            <div key={view.id} class="kit-asked">
              <p>
                <strong>{nameOf(store, view.type, view.id)}</strong>
              </p>
              <RecordClashes view={view} />
            </div>
          ))}
        </section>
      )}
      <div class="kit-folds">
        <Fold id={`${kit.id}/about`} title={kitWords.about}>
          <Kept editor={editor} view={kit} field="name" />
          <Kept editor={editor} view={kit} field="maker" />
          <Kept editor={editor} view={kit} field="scale" hint={kitWords.hints.scale} />
          <Kept editor={editor} view={kit} field="currency" hint={kitWords.hints.currency} />
          <Kept editor={editor} view={kit} field="about" lines={4} />
        </Fold>
        <Sections editor={editor} />
        <Bags editor={editor} />
        <Steps editor={editor} steps={steps} />
        <Parts editor={editor} />
        <StepOrder editor={editor} steps={steps} />
        <KitCautions editor={editor} />
        <Pages editor={editor} steps={steps} />
      </div>
      <section class="block">
        <h2>{kitWords.allTables}</h2>
        <Row>
          {TABLES.map((what) => (
            <QuietButton key={what} href={to.kitTable(kit.id, what)}>
              {kitWords.tables[what]}
            </QuietButton>
          ))}
        </Row>
      </section>
      <End kit={kit} />
    </Page>
  );
}

function End({ kit }: { kit: View<"kit"> }) {
  const [open, setOpen] = useState(false);
  return (
    <Row>
      <QuietButton onTap={() => setOpen(true)}>{kitWords.whole.kit}</QuietButton>
      <DeleteWhole of={kit} open={open} onClose={() => setOpen(false)} />
    </Row>
  );
}

function Sections({ editor }: { editor: Editor }) {
  const { store } = useBench();
  const { kit } = editor;
  const sections = inOrder(store.where("section", "kit", kit));
  return (
    <Fold id={`${kit}/sections`} title={kitWords.sections} views={sections}>
      <EditList
        editor={editor}
        label={kitWords.sections}
        views={sections}
        row={({ id, values }) => ({
          number: values.mark ?? undefined,
          title: values.title || (values.mark ? "" : kitWords.nameless),
          note: count("step", store.where("step", "section", id).length),
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="mark" />
            <Kept editor={editor} view={view} field="title" />
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="section"
        jot={`${kit}/section`}
        read={markAndTitle}
        rest={(n) => behind(sections.map(placed), n).map((order) => ({ kit, order }))}
        called={({ mark, title }) =>
          kitWords.sectionOf(kitWords.sectionName(String(mark ?? ""), String(title ?? "")))
        }
      />
    </Fold>
  );
}

function Bags({ editor }: { editor: Editor }) {
  const { store } = useBench();
  const session = useSession();
  const { kit } = editor;
  const bags = inOrder(store.where("bag", "kit", kit));
  const doubled = twice(bags);
  return (
    <Fold id={`${kit}/bags`} title={kitWords.bags} views={bags}>
      <EditList
        editor={editor}
        label={kitWords.bags}
        views={bags}
        row={({ id, values }) => ({
          number: values.number ?? "",
          title: values.title ?? "",
          warn: doubled.has(id) ? kitWords.twice.bag : undefined,
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="number" />
            <Kept editor={editor} view={view} field="title" />
            <Barcodes editor={editor} bag={view.id} />
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="bag"
        jot={`${kit}/bag`}
        read={numberAndTitle}
        rest={(n) => {
          if (!session) return kitWords.notPaired;
          const codes = freshCodes(store, session.workshop.id, n);
          return behind(bags.map(placed), n).map((order, at) => ({ kit, order, code: codes[at] }));
        }}
        called={(set) => kitWords.bagName(String(set.number ?? ""))}
      />
    </Fold>
  );
}

/** The makers' barcodes that were taught to a bag; more are taught by scanning. */
function Barcodes({ editor, bag }: { editor: Editor; bag: string }) {
  const { store } = useBench();
  const taught = store.where("barcode", "bag", bag);
  if (taught.length === 0) return null;
  return (
    <section class="kit-inner" aria-label={kitWords.barcodes}>
      <h3>{kitWords.barcodes}</h3>
      <EditList
        editor={editor}
        label={kitWords.barcodes}
        views={taught}
        still
        row={({ values }) => ({
          title: barcodeName(values),
          note: codesWords.kind(values.symbology ?? null),
        })}
      >
        {() => null}
      </EditList>
    </section>
  );
}

function KitCautions({ editor }: { editor: Editor }) {
  const { store } = useBench();
  const { kit } = editor;
  const cautions = inOrder(store.where("caution", "kit", kit).filter(({ values }) => !values.step));
  return (
    <Fold id={`${kit}/cautions`} title={kitWords.cautions} views={cautions}>
      <p class="soft">{kitWords.cautionsHelp}</p>
      <Cautions
        editor={editor}
        label={kitWords.cautions}
        cautions={cautions}
        jot={`${kit}/caution`}
        along={{ kit, step: null }}
      />
    </Fold>
  );
}

/** A line of step numbers is enough to say where a page is shown. */
function Pages({ editor, steps }: { editor: Editor; steps: readonly View<"step">[] }) {
  const { store } = useBench();
  const { kit } = editor;
  const pages = inOrder(store.where("page", "kit", kit));
  const shown = new Map<string, string[]>();
  for (const { values } of steps) {
    if (values.page) shown.set(values.page, [...(shown.get(values.page) ?? []), values.number ?? ""]);
  }
  return (
    <Fold id={`${kit}/pages`} title={kitWords.pages} views={pages}>
      {pages.length === 0 && <p>{kitWords.pagesNone}</p>}
      <EditList
        editor={editor}
        label={kitWords.pages}
        views={pages}
        row={(view) => ({
          number: (view.values.title && view.values.number) || undefined,
          title: view.values.title || pageName(view, pages.indexOf(view) + 1),
          note: kitWords.pageSteps(shown.get(view.id) ?? []),
          picture: (
            <Picture
              blob={view.values.blob ?? ""}
              size="thumb"
              alt=""
              stored={view.values.device ? view.values.stored : true}
            />
          ),
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="number" />
            <Kept editor={editor} view={view} field="title" />
          </>
        )}
      </EditList>
      <Row>
        <QuietButton href={to.newPage(kit)}>{pagesWords.title}</QuietButton>
      </Row>
    </Fold>
  );
}

function Steps({ editor, steps }: { editor: Editor; steps: readonly View<"step">[] }) {
  const { store } = useBench();
  const { kit } = editor;
  const sections = inOrder(store.where("section", "kit", kit));
  const [section, setSection] = useState<string | null>(null);
  // The last step's section is the likely one for the next.
  const into = section ?? steps.at(-1)?.values.section ?? "";
  const doubled = twice(steps);
  const options = sections.map(({ id, values }): [string, string] => [
    id,
    kitWords.sectionName(values.mark ?? "", values.title ?? ""),
  ]);
  return (
    <Fold id={`${kit}/steps`} title={kitWords.steps} views={steps}>
      <EditList
        editor={editor}
        label={kitWords.steps}
        views={steps}
        href={({ id }) => to.kitStep(kit, id)}
        row={({ id, values }) => ({
          number: values.number ?? "",
          title: values.title ?? "",
          note: values.section
            ? options.find(([of]) => of === values.section)?.[1]
            : undefined,
          warn: doubled.has(id) ? kitWords.twice.step : undefined,
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="number" />
            <Kept editor={editor} view={view} field="title" />
            {options.length > 0 && (
              <KeptChoose
                editor={editor}
                view={view}
                field="section"
                options={options}
                none={kitWords.noSection}
              />
            )}
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="step"
        jot={`${kit}/step`}
        read={numberAndTitle}
        rest={(n) =>
          behind(steps.map(placed), n).map((order) => ({ kit, order, section: into || null }))
        }
        called={(set) => kitWords.stepName(String(set.number ?? ""))}
      >
        {options.length > 0 && (
          <Choose
            label={kitWords.addHere}
            value={into}
            options={[["", kitWords.noSection], ...options]}
            onChange={setSection}
          />
        )}
      </AddLines>
    </Fold>
  );
}

function Parts({ editor }: { editor: Editor }) {
  const { store } = useBench();
  const { kit } = editor;
  const parts = partsInOrder(store, kit);
  const doubled = twice(parts);
  return (
    <Fold id={`${kit}/parts`} title={kitWords.parts} views={parts}>
      <EditList
        editor={editor}
        label={kitWords.parts}
        views={parts}
        still
        row={(view) => ({
          title: partName(view),
          note: list([view.values.designation, view.values.material].filter((one) => !!one) as string[]) || undefined,
          warn: doubled.has(view.id) ? kitWords.twice.part : undefined,
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="number" />
            <Kept editor={editor} view={view} field="name" />
            <Kept
              editor={editor}
              view={view}
              field="designation"
              hint={kitWords.hints.designation}
            />
            <Kept editor={editor} view={view} field="material" />
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="part"
        jot={`${kit}/part`}
        read={partOfLine}
        rest={(n) => Array.from({ length: n }, () => ({ kit }))}
        called={(set) => [set.number, set.name].filter(Boolean).join(" ")}
      />
    </Fold>
  );
}

function StepOrder({ editor, steps }: { editor: Editor; steps: readonly View<"step">[] }) {
  const { store } = useBench();
  const { kit } = editor;
  const known = new Set(steps.map(({ id }) => id));
  const pairs = store
    .where("comes_before", "kit", kit)
    .filter(
      ({ values }) =>
        values.kind === "step" && known.has(values.first ?? "") && known.has(values.then ?? ""),
    );
  return (
    <Fold id={`${kit}/order`} title={kitWords.order} views={pairs}>
      <OrderPairs
        editor={editor}
        kind="step"
        pairs={pairs}
        things={steps.map(({ id, values }) => ({
          id,
          order: values.order ?? null,
          name: kitWords.stepName(values.number ?? ""),
          short: [values.number, values.title].filter(Boolean).join(" "),
          button: values.number ?? "",
          label: [kitWords.stepName(values.number ?? ""), values.title].filter(Boolean).join(": "),
        }))}
      />
    </Fold>
  );
}
