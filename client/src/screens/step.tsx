/** Step: one figure of the manual, to lay out, do, measure, choose, photograph and call done. */
import { useEffect, useRef, useState } from "preact/hooks";
import { nextAfter } from "../core/progress";
import { to } from "../routes";
import type { View } from "../sync/types";
import {
  BigButton,
  Clashes,
  Loading,
  Notice,
  Page,
  QuietButton,
  Row,
  StateMark,
  Tag,
  useBench,
  words,
} from "../ui/parts";
import { pagesWords } from "../ui/words-pages";
import { placeId, sayState } from "./bench/actions";
import { useAwake } from "./bench/awake";
import { Cautions } from "./bench/cautions";
import { Choice } from "./bench/choice";
import { AskReading, Dimension, readingsOf } from "./bench/dimension";
import { Figure } from "./bench/figure";
import { AfterDone, EditStep, Otherwise, type Way, Word } from "./bench/finish";
import { moveTo } from "./bench/here";
import { Joints, alike } from "./bench/joint";
import { LayOut } from "./bench/lay-out";
import { Notes } from "./bench/notes";
import { type Before, Operations, useTicking } from "./bench/operations";
import { useOutlooks } from "./bench/outlook";
import { Photos } from "./bench/photos";
import { ReportShortage, type ShortOf, Shortages } from "./bench/shortage";
import { SittingBar } from "./bench/sitting-bar";
import { type StepView, isTicked, readStep } from "./bench/step-model";
import { type Work, deviceName, useArriving, useLoaded, useWork } from "./bench/work";
import "./bench/bench.css";

/** How long the builder looks at a step before it counts as being there; ms. */
const DWELL_MS = 2_000;

export default function Step(props: { build: string; step: string }) {
  const { store } = useBench();
  const build = store.get("build", props.build);
  const kit = build?.values.kit;
  const loaded = useLoaded(props.build, kit);
  const arriving = useArriving();
  const view = loaded ? readStep(store, props.build, props.step) : undefined;
  if (!loaded && kit) {
    return (
      <Page title={words.step.figure} back={to.path(props.build)} backLabel={words.step.path}>
        <Loading />
      </Page>
    );
  }
  if (!kit || !view) {
    return (
      <Page
        title={arriving ? words.step.figure : words.step.none}
        back={to.path(props.build)}
        backLabel={words.step.path}
      >
        {arriving ? <Loading what={words.path.arriving} /> : <p>{words.step.noneHelp}</p>}
      </Page>
    );
  }
  return <Loaded key={view.step.id} build={props.build} kit={kit} view={view} />;
}

/** Brings an element to the middle of the screen, if it is not in sight; at once, without motion. */
function intoSight(element: HTMLElement): void {
  const before = scrollY;
  element.scrollIntoView({ block: "nearest", behavior: "instant" });
  if (scrollY !== before) element.scrollIntoView({ block: "center", behavior: "instant" });
}

/**
 * The operation to stand at: asked for by the address, else the last place, else the one to do next.
 * Says so in this device's place once the builder has stayed.
 */
function useHere(
  work: Work,
  view: StepView,
  ordered: readonly View<"operation">[],
  next: string | null,
  /** Work goes on here, so that the screen opens at the operation and not at its top. */
  goesOn: boolean,
): { operation: string | null; asked: boolean } {
  const { store } = useBench();
  const [asked] = useState(() => location.hash.slice(1));
  const place = work.look("place", placeId(work.build, work.device))?.values;
  const kept = (place?.step === view.step.id ? place.operation : null) ?? null;
  const [first] = useState(kept);
  const open = ordered.filter(({ id }) => !isTicked(store, work.build, id)).map(({ id }) => id);
  // The address counts until the builder has moved on from where this screen began.
  const wishes = kept === first ? [asked, kept, next] : [kept, next];
  const operation = wishes.find((id) => id !== null && open.includes(id)) ?? open[0] ?? null;

  useEffect(() => {
    const timer = setTimeout(
      () => work.noteDown(moveTo(work.look, work.hand(), view.step.id, operation)),
      DWELL_MS,
    );
    return () => clearTimeout(timer);
  }, [work, view.step.id, operation]);

  useEffect(() => {
    if (asked) document.getElementById(asked)?.scrollIntoView({ block: "center" });
    else if (goesOn && operation) {
      const element = document.getElementById(operation);
      if (element) intoSight(element);
    }
    // Only as the screen opens: later on builders stay where they scrolled to.
  }, [asked]);
  return { operation, asked: operation !== null && operation === asked };
}

function Loaded({ build, kit, view }: { build: string; kit: string; view: StepView }) {
  const { store } = useBench();
  const bench = useBench();
  const work = useWork(build);
  const outlooks = useOutlooks(build, kit);
  const [finished, setFinished] = useState(false);
  const [short, setShort] = useState<ShortOf | null>(null);
  useAwake();

  const { step, progress } = view;
  const number = step.values.number ?? "";
  const { state } = outlooks.of(step.id);
  const inStep = outlooks.of(step.id).operations;
  const ordered = [...view.operations].sort((a, b) => inStep.indexOf(a.id) - inStep.indexOf(b.id));
  const circle = outlooks.standing.cycle?.some((id) => inStep.includes(id)) ?? false;
  const { operation: here, asked } = useHere(
    work,
    view,
    ordered,
    outlooks.of(step.id).nextOperation,
    state === "under_way",
  );
  const closed = state === "done" || state === "left_out";
  const begun = asked || state === "under_way" || state === "held";
  /** Dimensions of the operation just ticked that nobody has measured. */
  const [unread, setUnread] = useState<readonly View<"dimension">[]>([]);
  const ticking = useTicking(work, step.id, ordered, outlooks.before, (operation) =>
    setUnread(
      view.dimensions.filter(
        ({ id, values }) =>
          values.operation === operation && readingsOf(store, build, id).length === 0,
      ),
    ),
  );
  const waits = outlooks.waitsFor(step.id);
  // Ticked from below, the next operation comes into sight by itself.
  const fromBelow = useRef(false);
  const mainButton = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (!fromBelow.current) return;
    fromBelow.current = false;
    if (here) document.getElementById(here)?.scrollIntoView({ block: "nearest" });
    // The button that had the focus is gone; where it was, there is Done now.
    else mainButton.current?.querySelector("button")?.focus({ preventScroll: true });
  }, [here]);

  const at = outlooks.steps.findIndex(({ id }) => id === step.id);
  const way = (to_: View<"step"> | null | undefined): Way | null =>
    to_ ? { number: to_.values.number ?? "", href: to.step(build, to_.id) } : null;
  const previous = way(outlooks.steps[at - 1]);
  const following = way(outlooks.steps[at + 1]);
  const after = nextAfter(outlooks.standing, step.id);
  const next = way(after ? store.get("step", after) : null) ?? following;

  const reopen = (said: string) =>
    void work.save(sayState(work.look, work.hand(), step.id, "under_way"), {
      said,
      at: { step: step.id, operation: here },
    });
  const finish = () =>
    void work
      .save(sayState(work.look, work.hand(), step.id, "done"), {
        said: words.step.doneSaid(number),
        at: { step: step.id, operation: null },
      })
      .then((saved) => setFinished(saved));

  const main =
    state === "held" ? (
      <BigButton onTap={() => reopen(words.step.tookUp(number))}>{words.step.takeUp}</BigButton>
    ) : state === "left_out" ? (
      <BigButton onTap={() => reopen(words.step.tookUp(number))}>{words.step.takeIn}</BigButton>
    ) : state === "done" ? (
      next ? (
        <BigButton href={next.href}>{words.step.next(next.number)}</BigButton>
      ) : (
        <BigButton href={to.path(build)}>{words.step.toPath}</BigButton>
      )
    ) : (
      <BigButton onTap={() => ticking.once(finish)}>{words.step.done}</BigButton>
    );
  // While something is to be ticked, that is the next thing, and Done stands above it.
  const inHand = closed || state === "held" ? undefined : ordered.find(({ id }) => id === here);
  // What another step has to do first is the truer next thing; the boxes can be ticked all the same.
  const first = inHand
    ? outlooks.before(inHand.id).find(({ id }) => !inStep.includes(id))
    : state === "waiting"
      ? waits[0]
      : undefined;
  const tickInHand = ({ id }: View<"operation">) =>
    ticking.once(() => {
      fromBelow.current = true;
      ticking.tick(id, true);
    });

  const asksFor = (dimension: string) => unread.some(({ id }) => id === dimension);
  const underOperation = (operation: string | null) => {
    const of = operation ?? null;
    return [
      ...alike(view.joints.filter(({ values }) => (values.operation ?? null) === of)).map(
        (joints) => (
          <Joints
            key={joints[0]?.id}
            joints={joints}
            partOf={({ values }) => (values.part ? store.get("part", values.part) : undefined)}
          />
        ),
      ),
      // While one is asked for in a panel, its field is there.
      ...view.dimensions
        .filter(({ id, values }) => (values.operation ?? null) === of && !asksFor(id))
        .map((dimension) => (
          <Dimension key={dimension.id} work={work} step={step.id} dimension={dimension} />
        )),
    ];
  };
  const loose = underOperation(null);
  const section = step.values.section ? store.get("section", step.values.section)?.values : null;
  const laidOut = view.lines.filter(({ tick }) => tick?.values.laid_out).length;
  const shortages = store.where("shortage", "step", step.id);
  const wordsFor = store
    .where("step_progress", "step", step.id)
    .filter(({ values }) => values.word);

  return (
    <Page
      title={step.values.title ? `${number} ${step.values.title}` : words.step.title(number)}
      above={words.path.section(section?.mark ?? "", section?.title ?? "") || undefined}
      back={to.path(build)}
      backLabel={words.step.path}
      actions={
        <nav class="step-reach" aria-label={words.step.neighbours}>
          {previous && (
            <QuietButton href={previous.href} label={words.step.previousStep(previous.number)}>
              <span aria-hidden="true">‹ {previous.number}</span>
            </QuietButton>
          )}
          <div class="step-main" ref={mainButton}>
            {inHand || first ? <QuietButton onTap={finish}>{words.step.done}</QuietButton> : main}
          </div>
          {following && !(state === "done" && next?.href === following.href) && (
            <QuietButton href={following.href} label={words.step.nextStep(following.number)}>
              <span aria-hidden="true">{following.number} ›</span>
            </QuietButton>
          )}
          {first && (
            <div class="step-tick">
              <BigButton href={first.href}>
                <span class="step-tick-words">
                  {words.step.goFirst(first.number)} <span>{first.reason}</span>
                </span>
              </BigButton>
            </div>
          )}
          {inHand && !first && (
            <div class="step-tick">
              <BigButton onTap={() => tickInHand(inHand)}>
                <span class="step-tick-words">
                  {words.step.tick(ordered.indexOf(inHand) + 1)}{" "}
                  <span>{inHand.values.text}</span>
                </span>
              </BigButton>
            </div>
          )}
        </nav>
      }
    >
      <p class="step-state">
        <StateMark state={state} />
        {state === "done" && progress?.values.at && (
          <span class="soft">{deviceName(bench, progress.values.device)}</span>
        )}
        {typeof step.values.minutes === "number" && step.values.minutes > 0 && (
          <span class="soft">{words.path.minutes(step.values.minutes)}</span>
        )}
      </p>
      {progress && (
        <Clashes
          view={progress}
          labels={words.step.fields}
          format={(value, field) =>
            field === "state" ? stateWord(value) : String(value ?? words.clash.empty)
          }
        />
      )}
      <Cautions cautions={view.cautions} />
      {wordsFor.map(({ id, values }) => (
        <p key={id} class="watch">
          <strong>{words.step.wordBy}:</strong> {values.word}
        </p>
      ))}
      {state === "held" && (
        <Notice sign="held" title={words.step.heldFor}>
          <p>{progress?.values.held_for ?? words.step.heldNoReason}</p>
        </Notice>
      )}
      <Waits waits={waits} />
      <Shortages work={work} list={shortages} />
      <SittingBar work={work} />

      <div class={view.page ? "step-cols" : "step-col"}>
        <div class="step-look">
          {view.page && <Figure step={step} page={view.page} />}
          {/* What came with the kit needs no photograph. */}
          {(!view.page || view.page.values.device) && (
            <Row>
              <QuietButton href={to.newPage(kit, { build, step: step.id })}>
                {view.page ? pagesWords.photographAgain : pagesWords.photographIt}
              </QuietButton>
            </Row>
          )}
          {step.values.text && <p class="step-text">{step.values.text}</p>}
        </div>
        <div class="step-work">
          {view.bags.length > 0 && (
            <section class="block" aria-labelledby="bags">
              <h2 id="bags">{words.step.openBags}</h2>
              {view.bags.map(({ id, values }) => (
                <Tag
                  key={id}
                  href={to.bag(build, id)}
                  title={words.path.bagTitle(values.number ?? "", values.title)}
                />
              ))}
            </section>
          )}
          {view.choices.map((choice) => (
            <Choice key={choice.choice.id} work={work} view={choice} />
          ))}
          {view.lines.length > 0 && (
            <section class="block" aria-labelledby="parts">
              <h2 id="parts">
                {words.step.layOut}{" "}
                <span class="soft">{words.step.laidOut(laidOut, view.lines.length)}</span>
              </h2>
              <LayOut
                work={work}
                lines={view.lines}
                step={step.id}
                where={({ bag }) =>
                  bag && view.bags.length > 1 ? words.step.fromBag(bag.values.number ?? "") : null
                }
                onShort={(line) => setShort({ line, bag: null, step: { id: step.id, number } })}
              />
            </section>
          )}
          {(ordered.length > 0 || loose.length > 0) && (
            <section class="block" aria-labelledby="operations">
              <h2 id="operations">{words.step.operations}</h2>
              {circle && <p>{words.step.cycle}</p>}
              <Operations
                work={work}
                ticking={ticking}
                operations={ordered}
                before={outlooks.before}
                said={new Set(waits.map(({ id }) => id))}
                placeOf={(operation) => ordered.findIndex(({ id }) => id === operation) + 1}
                here={closed || (state === "waiting" && !begun) ? null : here}
                begun={begun}
                under={underOperation}
              />
              {loose}
            </section>
          )}
          <Photos work={work} step={step.id} number={number} />
          <Notes work={work} step={step.id} />
          {state === "done" ? (
            <section class="block">
              {!finished && <Word work={work} view={view} />}
              <Row>
                <QuietButton onTap={() => reopen(words.step.reopened(number))}>
                  {words.step.notDone}
                </QuietButton>
                <EditStep view={view} />
              </Row>
            </section>
          ) : state === "left_out" ? (
            <Row>
              <EditStep view={view} />
            </Row>
          ) : (
            <Otherwise work={work} view={view} />
          )}
        </div>
      </div>
      <AfterDone
        work={work}
        view={view}
        open={finished}
        next={next}
        onClose={() => setFinished(false)}
      />
      <AskReading
        work={work}
        step={step.id}
        dimensions={unread}
        onClose={() => setUnread([])}
      />
      <ReportShortage work={work} about={short} onClose={() => setShort(null)} />
    </Page>
  );
}

function stateWord(value: unknown): string {
  if (value === "open" || value === null || value === undefined) return words.step.open;
  return value === "under_way" || value === "done" || value === "held" || value === "left_out"
    ? words.states[value]
    : String(value);
}

/** What has to be done before this step, each with the way there. */
function Waits({ waits }: { waits: readonly Before[] }) {
  if (waits.length === 0) return null;
  return (
    <Notice sign="waiting" title={words.step.waitsFor}>
      <ul class="befores" role="list">
        {waits.map((one) => (
          <li key={one.id}>
            <QuietButton href={one.href}>{one.what}</QuietButton>
            {one.reason && <span> {one.reason}</span>}
          </li>
        ))}
      </ul>
      <p class="soft">{words.step.waitsHelp}</p>
    </Notice>
  );
}
