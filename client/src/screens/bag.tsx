/** Bag: its code in clear, the steps it serves, what is in it, and what is short. */
import { useState } from "preact/hooks";
import { to } from "../routes";
import {
  BigButton,
  Loading,
  Page,
  QuietButton,
  Tag,
  TagList,
  useBench,
  words,
} from "../ui/parts";
import { useAwake } from "./bench/awake";
import { Barcodes } from "./bench/barcodes";
import { LayOut } from "./bench/lay-out";
import { useOutlooks } from "./bench/outlook";
import { OVER } from "./bench/path-model";
import { ReportShortage, type ShortOf, Shortages } from "./bench/shortage";
import { SittingBar } from "./bench/sitting-bar";
import { linesFor } from "./bench/step-model";
import { useArriving, useLoaded, useWork } from "./bench/work";
import type { View } from "../sync/types";
import { inClear } from "../core/codes";
import "./bench/bench.css";

export default function Bag(props: { build: string; bag: string }) {
  const { store } = useBench();
  const build = store.get("build", props.build);
  const kit = build?.values.kit;
  const loaded = useLoaded(props.build, kit);
  const arriving = useArriving();
  const bag = loaded ? store.get("bag", props.bag) : undefined;
  if (!loaded && kit) {
    return (
      <Page title={words.path.bagTitle("", null)} back={to.path(props.build)} backLabel={words.step.path}>
        <Loading />
      </Page>
    );
  }
  if (!kit || !bag) {
    return (
      <Page
        title={arriving ? words.path.bagTitle("", null) : words.bag.none}
        back={to.path(props.build)}
        backLabel={words.step.path}
      >
        {arriving ? <Loading what={words.path.arriving} /> : <p>{words.bag.noneHelp}</p>}
      </Page>
    );
  }
  return <Loaded build={props.build} kit={kit} bag={bag} />;
}

function Loaded({ build, kit, bag }: { build: string; kit: string; bag: View<"bag"> }) {
  const { store } = useBench();
  const work = useWork(build);
  const outlooks = useOutlooks(build, kit);
  const [short, setShort] = useState<ShortOf | null>(null);
  useAwake();

  const at = outlooks.standing.bags.get(bag.id);
  const steps = (at?.steps ?? []).map((id) => store.get("step", id)).filter((s) => s !== undefined);
  const next = at?.nextStep ? store.get("step", at.nextStep) : undefined;
  const over = next ? OVER.has(outlooks.of(next.id).state) : false;
  // In the order in which the steps take them; what no step takes comes last.
  const place = new Map(outlooks.standing.path.map((id, index) => [id, index]));
  const placeOf = (step: string | null | undefined) => place.get(step ?? "") ?? Number.MAX_SAFE_INTEGER;
  const lines = linesFor(store, build, store.where("part_line", "bag", bag.id)).sort(
    (a, b) => placeOf(a.line.values.step) - placeOf(b.line.values.step),
  );
  const laidOut = lines.filter(({ tick }) => tick?.values.laid_out).length;
  const pieces = lines.reduce((sum, { line }) => sum + (line.values.quantity ?? 0), 0);
  const shortages = store.where("shortage", "bag", bag.id);
  const numberOf = (step: string | null | undefined) =>
    step ? (store.get("step", step)?.values.number ?? null) : null;
  const stepOf = (step: string | null | undefined) => {
    const id = step ?? next?.id;
    const number = numberOf(id);
    return id && number ? { id, number } : null;
  };

  return (
    <Page
      title={words.path.bagTitle(bag.values.number ?? "", bag.values.title)}
      back={to.path(build)}
      backLabel={words.step.path}
      {...(next
        ? {
            actions: (
              <BigButton href={to.step(build, next.id)}>
                {words.bag.openStep(next.values.number ?? "")}
              </BigButton>
            ),
          }
        : {})}
    >
      {bag.values.code && (
        <p class="bag-code">
          <span class="soft">{words.bag.code}</span> <code>{inClear(bag.values.code)}</code>
        </p>
      )}
      <SittingBar work={work} />
      <section class="block" aria-labelledby="bag-steps">
        <h2 id="bag-steps">{words.bag.steps}</h2>
        {steps.length === 0 && <p>{words.bag.noSteps}</p>}
        {over && <p>{words.bag.allDone}</p>}
        <TagList ordered label={words.bag.steps}>
          {steps.map((step) => {
            const { state } = outlooks.of(step.id);
            return (
              <Tag
                key={step.id}
                href={to.step(build, step.id)}
                number={step.values.number ?? ""}
                title={step.values.title ?? ""}
                state={state}
                worn={OVER.has(state)}
              />
            );
          })}
        </TagList>
      </section>
      <section class="block" aria-labelledby="bag-parts">
        <h2 id="bag-parts">
          {words.bag.parts}{" "}
          {lines.length > 0 && (
            <span class="soft">
              {words.bag.pieces(pieces)} · {words.step.laidOut(laidOut, lines.length)}
            </span>
          )}
        </h2>
        {lines.length === 0 && <p>{words.bag.noParts}</p>}
        <LayOut
          work={work}
          lines={lines}
          step={null}
          where={({ line }) => {
            const number = numberOf(line.values.step);
            return number ? words.bag.forStep(number) : words.bag.spare;
          }}
          onShort={(line) => setShort({ line, bag: bag.id, step: stepOf(line.line.values.step) })}
        />
      </section>
      <section class="block" aria-labelledby="bag-short">
        <h2 id="bag-short">{words.bag.shortages}</h2>
        <Shortages work={work} list={shortages} />
        <QuietButton onTap={() => setShort({ line: null, bag: bag.id, step: stepOf(null) })}>
          {words.bag.report}
        </QuietButton>
      </section>
      <Barcodes work={work} bag={bag} />
      <ReportShortage work={work} about={short} onClose={() => setShort(null)} />
    </Page>
  );
}
