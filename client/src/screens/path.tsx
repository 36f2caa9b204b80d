/** Path: the bags and steps of a build in order, where everybody is, and the next step. */
import type { ComponentType } from "preact";
import { useState } from "preact/hooks";
import { to } from "../routes";
import type { View } from "../sync/types";
import {
  BigButton,
  Clashes,
  Empty,
  Loading,
  Notice,
  Page,
  QuietButton,
  Row,
  Rule,
  Tag,
  sayTrouble,
  useBench,
  words,
} from "../ui/parts";
import { ago } from "../ui/words";
import { questionsOf } from "./bench/asked";
import { Cautions } from "./bench/cautions";
import { type Seen, seenFrom } from "./bench/here";
import { type Outlooks, useOutlooks } from "./bench/outlook";
import { PathList } from "./bench/path-list";
import { type Filter, OVER, makeRuns, nextStep } from "./bench/path-model";
import { SittingBar } from "./bench/sitting-bar";
import { hurtsFirst, inOrder } from "./bench/step-model";
import { type Work, deviceName, useArriving, useLoaded, useNow, useWork } from "./bench/work";
import type { DeleteWholeProps } from "./kit/delete-whole";
import "./bench/bench.css";

const FILTERS: readonly (readonly [Filter, string])[] = [
  ["all", words.path.showAll],
  ["ready", words.path.showReady],
  ["open", words.path.showOpen],
];

export default function Path(props: { build: string }) {
  const { store } = useBench();
  const build = store.get("build", props.build);
  const kit = build?.values.kit;
  const loaded = useLoaded(props.build, kit);
  const arriving = useArriving();
  if (!build || !kit) {
    return (
      <Page
        title={arriving ? words.nav.path : words.path.noBuild}
        back={to.builds()}
        backLabel={words.path.builds}
      >
        {arriving ? <Loading what={words.path.arriving} /> : <p>{words.path.noBuildHelp}</p>}
      </Page>
    );
  }
  if (!loaded) {
    return (
      <Page title={build.values.name ?? ""} back={to.builds()} backLabel={words.path.builds}>
        <Loading />
      </Page>
    );
  }
  return <Loaded build={build} kit={kit} />;
}

function Loaded({ build, kit }: { build: View<"build">; kit: string }) {
  const { store } = useBench();
  const bench = useBench();
  const work = useWork(build.id);
  const outlooks = useOutlooks(build.id, kit);
  const [filter, setFilter] = useState<Filter>("all");
  const now = useNow();
  const { steps } = outlooks;
  const seen = seenFrom(store.where("place", "build", build.id), work.device, now);
  const here = seen.mine?.step ?? null;
  const nextId = nextStep(outlooks.standing, here);
  const next = steps.find(({ id }) => id === nextId) ?? null;
  const over = steps.filter(({ id }) => OVER.has(outlooks.of(id).state)).length;
  const numbers = new Map(steps.map(({ id, values }) => [id, values.number ?? ""]));
  const bags = new Map(store.where("bag", "kit", kit).map((bag) => [bag.id, bag]));
  const titles = new Map(
    store
      .where("section", "kit", kit)
      .map(({ id, values }) => [id, words.path.section(values.mark ?? "", values.title ?? "")]),
  );
  const runs = makeRuns(steps, bags, outlooks.of, (id) => titles.get(id) ?? "", filter);
  const named = new Set(steps.flatMap(({ values }) => values.bags ?? []));
  const others = inOrder([...bags.values()]).filter(({ id }) => !named.has(id));
  const cautions = hurtsFirst(
    store.where("caution", "kit", kit).filter(({ values }) => !values.step),
  );
  const othersAt = (step: string) =>
    [seen.ahead, ...seen.others]
      .filter((one) => one !== null && one.step === step && one.present)
      .map((one) => words.shared.someoneIsHere(deviceName(bench, one?.device)))
      .join(", ");
  const hereAt = steps.findIndex(({ id }) => id === here);

  if (steps.length === 0) {
    return (
      <Page title={build.values.name ?? ""} back={to.builds()} backLabel={words.path.builds}>
        <Empty title={words.path.empty}>
          <p>{words.path.emptyHelp}</p>
        </Empty>
        <EndOfBuild build={build} />
      </Page>
    );
  }
  const number = next?.values.number ?? "";
  const label =
    next && (next.id === here || outlooks.of(next.id).state === "under_way")
      ? words.path.goOn(number)
      : over === 0
        ? words.path.begin(number)
        : words.path.nextReady(number);
  return (
    <Page
      title={build.values.name ?? ""}
      above={store.get("kit", kit)?.values.name ?? ""}
      back={to.builds()}
      backLabel={words.path.builds}
      actions={
        next ? (
          <BigButton
            href={
              next.id === here && seen.mine?.operation
                ? to.operation(build.id, next.id, seen.mine.operation)
                : to.step(build.id, next.id)
            }
          >
            {label}
          </BigButton>
        ) : (
          <p>{over === steps.length ? words.path.allDone : words.path.noneReady}</p>
        )
      }
    >
      <Clashes view={build} labels={words.builds.fields} />
      <Questions build={build.id} />
      {seen.ahead && (
        <Elsewhere work={work} at={seen.ahead} outlooks={outlooks} now={now} large />
      )}
      <SittingBar work={work} time />
      <Rule done={over} total={steps.length} here={hereAt >= 0 ? hereAt : null} />
      {seen.others.length > 0 && (
        <section class="block" aria-label={words.path.otherDevices}>
          {seen.others.map((one) => (
            <Elsewhere key={one.device} work={work} at={one} outlooks={outlooks} now={now} />
          ))}
        </section>
      )}
      {cautions.length > 0 && (
        <details class="fold">
          <summary>{words.path.kitCautions(cautions.length)}</summary>
          <Cautions cautions={cautions} />
        </details>
      )}
      <fieldset class="show">
        <legend>{words.path.show}</legend>
        {FILTERS.map(([value, text]) => (
          <label key={value}>
            <input
              type="radio"
              name="show"
              checked={filter === value}
              onChange={() => setFilter(value)}
            />
            <span>{text}</span>
          </label>
        ))}
      </fieldset>
      {runs.length === 0 && <p>{words.path.noneOfThese}</p>}
      <PathList
        key={filter}
        build={build.id}
        runs={runs}
        here={here}
        after={(step) => [
          ...new Set(outlooks.of(step).waitsFor.map((wait) => numbers.get(wait.step) ?? "")),
        ]}
        othersAt={othersAt}
        scrollTo={seen.ahead ? null : here}
      />
      {filter === "all" && others.length > 0 && (
        <section class="block">
          <h2>{words.path.otherBags}</h2>
          {others.map(({ id, values }) => (
            <a key={id} class="path-bag" href={to.bag(build.id, id)}>
              <strong>{words.path.bagTitle(values.number ?? "", values.title)}</strong>
            </a>
          ))}
        </section>
      )}
      <EndOfBuild build={build} />
    </Page>
  );
}

/** The way to delete the build; what says what goes with it is loaded at the first tap. */
function EndOfBuild({ build }: { build: View<"build"> }) {
  const [Delete, setDelete] = useState<ComponentType<DeleteWholeProps> | null>(null);
  const [open, setOpen] = useState(false);
  const ask = () => {
    setOpen(true);
    import("./kit/delete-whole").then(
      (part) => setDelete(() => part.default),
      () => sayTrouble(words.shared.needsServer),
    );
  };
  return (
    <Row>
      <QuietButton onTap={ask}>{words.path.deleteBuild}</QuietButton>
      {Delete && <Delete of={build} open={open} onClose={() => setOpen(false)} />}
    </Row>
  );
}

/** The pages on which two devices' different words wait to be settled. */
function Questions({ build }: { build: string }) {
  const questions = questionsOf(useBench().store, build);
  if (questions.length === 0) return null;
  return (
    <Notice sign="two_tags" title={words.path.asked}>
      <Row>
        {questions.map(({ href, step, bag }) => (
          <QuietButton key={href} href={href}>
            {step === null ? words.path.bagTitle(bag ?? "", null) : words.step.title(step)}
          </QuietButton>
        ))}
      </Row>
    </Notice>
  );
}

/** Where another device is, and the way there with one tap. */
function Elsewhere(props: {
  work: Work;
  at: Seen;
  outlooks: Outlooks;
  now: number;
  large?: boolean;
}) {
  const bench = useBench();
  const { at, work } = props;
  const step = bench.store.get("step", at.step)?.values.number;
  if (!step) return null;
  const name = deviceName(bench, at.device);
  const place = at.operation ? props.outlooks.placeOf(at.operation) : null;
  const operation = place === null ? null : String(place);
  const text = at.present
    ? words.path.isAt(name, step, operation)
    : words.path.wasAt(name, step, operation);
  const href = at.operation
    ? to.operation(work.build, at.step, at.operation)
    : to.step(work.build, at.step);
  const since = ago(Math.max(0, props.now - at.atMs));
  return props.large ? (
    <Tag level={2} title={text} note={since}>
      <BigButton href={href}>{words.path.goThere}</BigButton>
    </Tag>
  ) : (
    <p class="elsewhere">
      <span>
        {text}, {since}
      </span>
      <QuietButton href={href} label={`${words.path.goThere}: ${step}`}>
        {words.path.goThere}
      </QuietButton>
    </p>
  );
}
