/** Photographs a page of a paper manual, makes it straight, and says which steps it shows. */
import { useLocation } from "preact-iso";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { between } from "../core/order";
import { isSheet, turned, wholeOf, type Quad } from "../core/quad";
import type { Look } from "../core/readable";
import { to } from "../routes";
import type { Draft, StraightPage, View } from "../sync/types";
import { FrameBoard } from "../ui/frame";
import {
  BigButton,
  Choose,
  Field,
  Loading,
  Notice,
  Page,
  QuietButton,
  Row,
  say,
  sayTrouble,
  useBench,
  words,
} from "../ui/parts";
import { pagesWords } from "../ui/words-pages";
import { afterCamera, lostBehindCamera } from "./bench/pending";
import { useArriving, useLoaded } from "./bench/work";
import { Frames, Steps } from "./pages/attach";
import { Corners } from "./pages/corners";
import { jotDown, jotted, newPlan, type Plan, withCorners, withFrame, workName } from "./pages/plan";
import { makeStraightener, type Straightener } from "./pages/straightener";
import { TakePicture } from "./pages/take";
import "./bench/bench.css";
import "./pages/pages.css";

const text = pagesWords;

interface Picture {
  readonly url: string;
  readonly ratio: number;
  readonly found: boolean;
}
interface Straight {
  readonly page: StraightPage;
  readonly url: string;
}

/** URLs of pictures in memory, given back when they are replaced or the screen is left. */
function useUrls(): (name: "picture" | "straight", blob: Blob) => string {
  const urls = useRef(new Map<string, string>());
  useEffect(() => () => urls.current.forEach((url) => URL.revokeObjectURL(url)), []);
  return (name, blob) => {
    const old = urls.current.get(name);
    const url = URL.createObjectURL(blob);
    urls.current.set(name, url);
    // What shows the old one is drawn anew first.
    if (old) setTimeout(() => URL.revokeObjectURL(old), 1_000);
    return url;
  };
}

export default function NewPage(props: {
  kit: string;
  query: Readonly<Record<string, string>>;
  /** For tests: stands in for the worker. */
  straightener?: () => Straightener;
}) {
  const { store } = useBench();
  const kit = store.get("kit", props.kit);
  const { step = "", build = "" } = props.query;
  const loaded = useLoaded(props.kit, build || null);
  const arriving = useArriving();
  const number = loaded ? store.get("step", step)?.values.number : undefined;
  const back = step && build ? to.step(build, step) : to.kit(props.kit);
  const backLabel = number ? text.backToStep(number) : text.back;
  if (!kit || !loaded) {
    const missing = !kit && !arriving;
    return (
      <Page title={missing ? text.noKit : text.title} back={back} backLabel={backLabel}>
        {missing ? <p>{text.noKitHelp}</p> : <Loading />}
      </Page>
    );
  }
  return (
    <Photographing
      kit={kit}
      step={number === undefined ? null : step}
      back={back}
      backLabel={backLabel}
      goBack={Boolean(step && build)}
      straightener={props.straightener ?? makeStraightener}
    />
  );
}

function Photographing(props: {
  kit: View<"kit">;
  /** The step from which the builder came. */
  step: string | null;
  back: string;
  backLabel: string;
  /** Back to where the builder came from once the page is kept; else the next page follows. */
  goBack: boolean;
  straightener: () => Straightener;
}) {
  const bench = useBench();
  const { photos, jotter, store } = bench;
  const { route } = useLocation();
  const { kit, step } = props;
  const name = workName(kit.id);
  const [worker] = useState(props.straightener);
  const urlOf = useUrls();
  const [picture, setPicture] = useState<Picture | null>(null);
  const [plan, setPlan] = useState<Plan>(() => newPlan(null, step));
  const [straight, setStraight] = useState<Straight | null>(null);
  const [marking, setMarking] = useState<string | null>(null);
  const [busy, setBusy] = useState<string | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const [note, setNote] = useState<string | null>(null);
  const newest = useRef(0);
  const board = useRef<HTMLDivElement>(null);

  useEffect(() => () => worker.close(), [worker]);
  useLayoutEffect(() => {
    // The page is far above the list of steps on a phone.
    if (marking) board.current?.scrollIntoView({ block: "center", behavior: "instant" });
  }, [marking]);
  useEffect(() => {
    let gone = false;
    if (lostBehindCamera(jotter, Date.now()) === location.pathname + location.search) {
      afterCamera(jotter);
      setNote(words.step.cameraLost);
    }
    void photos.held(name).then(async (file) => {
      if (!file || gone) return;
      setNote(text.stillHere);
      await open(file, jotted(jotter, kit.id));
    });
    return () => {
      gone = true;
    };
    // Once, as the screen opens.
  }, []);

  const keepPlan = (next: Plan): void => {
    setPlan(next);
    jotDown(jotter, kit.id, next);
  };

  /** Opens a picture; `before`: what was made of it before the page was closed. */
  async function open(file: Blob, before: Plan | null): Promise<void> {
    const mine = ++newest.current;
    setBusy(text.opening);
    setWrong(null);
    setStraight(null);
    setMarking(null);
    const told = await worker.ask({ kind: "open", file });
    if (mine !== newest.current) return;
    setBusy(null);
    if (told.kind !== "opened") {
      setWrong(told.kind === "unreadable" ? text.unreadable : text.lost);
      return;
    }
    const { width, height, guess } = told;
    setPicture({ url: urlOf("picture", file), ratio: width / height, found: guess !== null });
    const next = before ?? newPlan(guess, step);
    if (step && !next.steps.includes(step)) keepPlan({ ...next, steps: [step, ...next.steps] });
    else keepPlan(next);
    if (next.straight) await make(next);
  }

  async function take(file: File): Promise<void> {
    setNote(null);
    // First of all it is kept as it is: whatever happens then, it need not be taken again.
    const holding = photos.hold(name, file).catch(() => setNote(text.notHeld));
    jotter.drop(name);
    await open(file, null);
    await holding;
  }

  /** Makes the page of a plan; a newer wish takes its place. */
  async function make(next: Plan): Promise<void> {
    const mine = ++newest.current;
    setBusy(text.straightening);
    setWrong(null);
    const { corners, look } = next;
    const told = await worker.ask({ kind: "make", corners, look });
    if (mine !== newest.current) return;
    setBusy(null);
    if (told.kind === "made") {
      const { page } = told;
      setStraight({ page, url: urlOf("straight", new Blob([page.bytes], { type: page.type })) });
      keepPlan({ ...next, straight: true });
    } else setWrong(told.kind === "noSheet" ? text.crossed : text.lost);
  }

  async function keep(): Promise<void> {
    if (!straight || busy) return;
    setBusy(text.keeping);
    setWrong(null);
    const number = plan.number.trim() || null;
    const steps = plan.steps.filter((id) => store.get("step", id));
    const before = steps.map((id) => {
      const { page = null, frame = null } = store.get("step", id)?.values ?? {};
      return { type: "step", id, set: { page, frame } } as Draft;
    });
    try {
      const id = await photos.addPage(straight.page, {
        kit: kit.id,
        number,
        order: orderAfter(store.where("page", "kit", kit.id)),
        steps: steps.map((one) => ({ id: one, frame: plan.frames[one] ?? null })),
      });
      await photos.letGo(name);
      jotter.drop(name);
      if (props.goBack) route(props.back);
      else startAnew();
      say(text.kept(number, steps.length), async () => {
        if (before.length > 0) await store.write(before);
        const page = store.get("page", id);
        if (page) await store.remove([page as View]);
        say(text.takenBack);
      });
    } catch (error) {
      setBusy(null);
      sayTrouble(error instanceof Error && error.message ? error.message : words.shared.notSaved);
    }
  }

  function startAnew(): void {
    newest.current += 1;
    setBusy(null);
    setNote(null);
    setPicture(null);
    setStraight(null);
    setPlan(newPlan(null, step));
    scrollTo(0, 0);
  }

  const crossed = !isSheet(plan.corners);
  const placed = (corners: Quad): void => keepPlan(withCorners(plan, corners));
  const page = (actions: preact.ComponentChildren, content: preact.ComponentChildren) => (
    <Page
      title={text.title}
      above={kit.values.name ?? undefined}
      back={props.back}
      backLabel={props.backLabel}
      actions={actions}
    >
      {note && (
        <Notice>
          <p>{note}</p>
        </Notice>
      )}
      {wrong && (
        <Notice loud>
          <p>{wrong}</p>
        </Notice>
      )}
      {content}
    </Page>
  );
  const retake = <TakePicture again busy={busy !== null} onFile={(file) => void take(file)} />;

  if (!picture) {
    return page(
      <TakePicture busy={busy !== null} onFile={(file) => void take(file)} />,
      <>
        <p>{text.intro}</p>
        {busy && <p role="status">{busy}</p>}
      </>,
    );
  }
  if (!straight) {
    return page(
      <BigButton off={crossed} busy={busy !== null} onTap={() => void make(plan)}>
        {text.straighten}
      </BigButton>,
      <>
        <p role="status">
          {busy ?? (crossed ? text.crossed : picture.found ? text.cornersFound : text.cornersNotFound)}
        </p>
        <div role="group" aria-label={text.cornersTitle}>
          <Corners
            url={picture.url}
            ratio={picture.ratio}
            corners={plan.corners}
            wrong={crossed}
            onChange={placed}
          />
        </div>
        <Row>
          <QuietButton onTap={() => placed(wholeOf(1, 1))}>{text.wholePicture}</QuietButton>
        </Row>
        {retake}
      </>,
    );
  }
  const { widthPx, heightPx } = straight.page;
  const stepNumber = (id: string): string => store.get("step", id)?.values.number ?? "";
  const [only] = plan.steps;
  return page(
    <BigButton busy={busy !== null} onTap={() => void keep()}>
      {plan.steps.length === 1 && only
        ? text.keepFor(stepNumber(only))
        : text.keep(plan.steps.length)}
    </BigButton>,
    <div class="page-cols">
      <div class="block">
        <div
          class="straight"
          ref={board}
          style={{ "--ratio": String(widthPx / heightPx) }}
          aria-busy={busy !== null || undefined}
        >
          <FrameBoard
            ratio={widthPx / heightPx}
            frames={plan.steps.flatMap((id) => {
              const frame = plan.frames[id];
              const label = text.step(stepNumber(id), null);
              return frame ? [{ id, frame, label, stamp: stepNumber(id) }] : [];
            })}
            chosen={marking}
            texts={text.frame}
            onChoose={setMarking}
            onChange={(id, frame) => keepPlan(withFrame(plan, id, frame))}
            drawing={marking !== null && !plan.frames[marking]}
            onDrawn={(frame) => {
              if (frame && marking) keepPlan(withFrame(plan, marking, frame));
              else setMarking(null);
            }}
          >
            <img class="picture" src={straight.url} alt={text.picture} draggable={false} />
          </FrameBoard>
        </div>
        {busy && <p role="status">{busy}</p>}
        <Row>
          <QuietButton busy={busy !== null} onTap={() => void make(withCorners(plan, turned(plan.corners)))}>
            {text.turn}
          </QuietButton>
          <QuietButton
            onTap={() => {
              newest.current += 1;
              setBusy(null);
              setStraight(null);
              setMarking(null);
              keepPlan({ ...plan, straight: false });
            }}
          >
            {text.cornersAgain}
          </QuietButton>
        </Row>
        <Choose
          label={text.look}
          value={plan.look}
          options={(["bright", "grey", "plain"] as const).map((look) => [look, text.looks[look]])}
          onChange={(look) => void make({ ...plan, look: look as Look })}
        />
      </div>
      <div class="block">
        <Field
          label={text.number}
          hint={text.numberHint}
          value={plan.number}
          maxLength={20}
          onInput={(number) => keepPlan({ ...plan, number })}
        />
        <Steps kit={kit.id} from={step} plan={plan} onPlan={keepPlan} />
        <Frames plan={plan} marking={marking} onMark={setMarking} onPlan={keepPlan} />
        {retake}
      </div>
    </div>,
  );
}

/** After all pages that the kit has. */
function orderAfter(pages: readonly View<"page">[]): string {
  const keys = pages.flatMap(({ values }) => values.order ?? []).sort();
  return between(keys.at(-1) ?? null, null);
}
