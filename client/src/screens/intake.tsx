/** Intake: where a table, a list or a manual stands on its way into a kit, and what was found. */
import { useEffect, useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import type { Intake, Taken } from "../core/intakes";
import { to } from "../routes";
import type { Answer } from "../sync/types";
import {
  BigButton,
  Loading,
  Notice,
  Offline,
  Page,
  QuietButton,
  Row,
  Rule,
  say,
  sayTrouble,
  Sheet,
  Trouble,
  useBench,
  words,
} from "../ui/parts";
import { intakeWords, tally } from "../ui/words-intake";
import "./intake.css";
import { Lines } from "./intake/lines";
import { ManualPages, useManual } from "./intake/manual";
import { PagesSoFar } from "./intake/reading";
import { Columns, useLayoutDraft } from "./intake/table";
import { AfterTaken, TakenIn, TakeSheet } from "./intake/take";
import { UnfitList } from "./intake/unfit";
import { useIntakes } from "./intake/use-intakes";

const text = intakeWords.intake;
const FIRST_ROWS = 20;

export default function IntakeScreen({ intake: id }: { intake: string }) {
  const { store, courier } = useBench();
  const { route } = useLocation();
  const intakes = useIntakes();
  const [intake, setIntake] = useState<Intake | null>(null);
  const [trouble, setTrouble] = useState<Exclude<Answer<Intake>, { kind: "ok" }> | null>(null);
  const [round, setRound] = useState(0);
  const [busy, setBusy] = useState(false);
  const [taking, setTaking] = useState(false);
  const [throwing, setThrowing] = useState(false);
  const [taken, setTaken] = useState<Taken | null>(null);
  const hear = (answer: Answer<Intake>) => {
    if (answer.kind === "ok") {
      setIntake(answer.value);
      setTrouble(null);
    } else setTrouble(answer);
  };
  // Begins anew when it is to be read on, and when somebody tries again.
  useEffect(() => intakes?.watch(id, hear), [intakes, id, round]);
  const kitId = taken?.kit ?? intake?.kit ?? null;
  useEffect(() => {
    if (kitId) void store.load(kitId).catch(() => undefined);
  }, [store, kitId]);
  const moved = () => {
    if (intakes) void intakes.look(id).then(hear);
  };
  const desk = useManual(intakes, intake, moved);
  const draft = useLayoutDraft();

  const page = { back: to.builds(), backLabel: words.nav.builds };
  const again = () => setRound(round + 1);
  const gone = trouble?.kind === "problem" && trouble.problem.status === 404 && !taken;
  if (!intake || !intakes || gone) {
    return (
      <Page title={words.builds.kits} {...page}>
        {trouble?.kind === "offline" ? (
          <Offline onRetry={again} />
        ) : gone ? (
          <Notice title={text.gone} loud>
            <p>{text.goneWhy}</p>
          </Notice>
        ) : trouble?.kind === "problem" ? (
          <Trouble title={trouble.problem.title} detail={trouble.problem.detail} onRetry={again} />
        ) : (
          <Loading what={text.loading} />
        )}
      </Page>
    );
  }

  /** Whether it was done. */
  const doing = async (deed: Promise<Answer<Intake>>): Promise<boolean> => {
    setBusy(true);
    const answer = await deed;
    setBusy(false);
    if (answer.kind === "ok") {
      hear(answer);
      // It may be under way now.
      again();
    } else if (answer.kind === "offline") sayTrouble(words.shared.needsServer);
    else sayTrouble([answer.problem.title, answer.problem.detail].filter(Boolean).join(": "));
    return answer.kind === "ok";
  };
  const throwAway = async (): Promise<void> => {
    setBusy(true);
    const answer = await intakes.throwAway(id);
    setBusy(false);
    setThrowing(false);
    if (answer.kind === "offline") return sayTrouble(words.shared.needsServer);
    if (answer.kind === "problem" && answer.problem.status !== 404) return sayTrouble(answer.problem.title);
    route(intake.kit ? to.addToKit(intake.kit) : to.newKit());
    say(text.thrown);
  };
  const kitName = store.get("kit", intake.kit ?? "")?.values.name ?? "";
  const head = {
    ...page,
    title: intake.name || text.title[intake.kind],
    above: intake.kit ? text.forKit(kitName) : text.newKit,
  };
  const toThrow = (
    <>
      <QuietButton busy={busy} onTap={() => setThrowing(true)}>
        {text.throwAway}
      </QuietButton>
      <Sheet
        open={throwing}
        title={text.throwTitle}
        onClose={() => setThrowing(false)}
        main={
          <BigButton busy={busy} onTap={() => void throwAway()}>
            {text.throwDo}
          </BigButton>
        }
      >
        <p>{text.throwHelp}</p>
      </Sheet>
    </>
  );
  const old = trouble?.kind === "offline" && (
    <Notice sign="cut">
      <p>{text.offlineNow}</p>
    </Notice>
  );

  if (taken || intake.state === "taken") {
    const kit = taken?.kit ?? intake.kit;
    return (
      <Page {...page} title={intakeWords.take.done} actions={kit && <AfterTaken kit={kit} taken={taken} />}>
        {kit ? <TakenIn kit={kit} taken={taken} /> : <p>{text.goneWhy}</p>}
      </Page>
    );
  }

  if (intake.state === "reading") {
    return (
      <Page
        {...head}
        actions={
          <BigButton busy={busy} onTap={() => void doing(intakes.stop(id))}>
            {text.stop}
          </BigButton>
        }
      >
        {old}
        <p>{text.reading[intake.kind]}</p>
        <Rule done={intake.done} total={intake.total} label={text.progress(intake)} />
        {intake.kind === "manual" && <PagesSoFar intakes={intakes} intake={intake} />}
        <p class="soft">{text.readingHelp}</p>
        <Row>{toThrow}</Row>
      </Page>
    );
  }

  if (intake.state === "failed") {
    return (
      <Page
        {...head}
        actions={
          <BigButton href={intake.kit ? to.addToKit(intake.kit) : to.newKit()}>{text.otherFile}</BigButton>
        }
      >
        {old}
        <Notice title={intake.problem?.title ?? text.failed} loud>
          {intake.problem?.detail && <p>{intake.problem.detail}</p>}
          <p>{text.failedHelp}</p>
        </Notice>
        <Row>
          <QuietButton busy={busy} onTap={() => void doing(intakes.resume(id))}>
            {text.tryAgain}
          </QuietButton>
          {toThrow}
        </Row>
      </Page>
    );
  }

  const counts = tally(intake.counts);
  const layout = intake.kind === "table" ? intake.layout : null;
  const offline = courier.state.value.server === "unreachable" || trouble?.kind === "offline";
  const readAnew = async (): Promise<void> => {
    if (await doing(intakes.layout(id, draft.change))) draft.reset();
  };
  const actions =
    layout && draft.touched ? (
      <BigButton busy={busy} off={draft.wrong} onTap={() => void readAnew()}>
        {intakeWords.table.again}
      </BigButton>
    ) : (
      <>
        {intake.asking > 0 && (
          <QuietButton
            onTap={() => {
              if (intake.kind === "manual") desk.nextAsking();
              else document.getElementById("questions")?.scrollIntoView({ block: "start" });
            }}
          >
            {intakeWords.manual.nextAsk(intake.asking)}
          </QuietButton>
        )}
        {!counts && desk.page?.blob ? (
          // Scanned: nothing is there to be taken in until it is drawn.
          <BigButton off={desk.drawing} onTap={() => desk.setDrawing(true)}>
            {intakeWords.manual.addStep}
          </BigButton>
        ) : (
          <BigButton off={!counts || offline} onTap={() => setTaking(true)}>
            <span class="take-words">
              {intakeWords.take.take}
              {counts && intake.asking === 0 && <small>{counts}</small>}
            </span>
          </BigButton>
        )}
      </>
    );
  return (
    <Page {...head} actions={actions}>
      {old}
      {intake.state === "stopped" && (
        <Notice sign="held">
          <p>{text.stopped(intake)}</p>
          <Row>
            <QuietButton busy={busy} onTap={() => void doing(intakes.resume(id))}>
              {text.goOn}
            </QuietButton>
          </Row>
        </Notice>
      )}
      <p>
        <strong>{text.found(counts)}</strong>
        {intake.asking > 0 && ` · ${text.asking(intake.asking)}`}
        {intake.unfit > 0 && ` · ${text.unfit(intake.unfit)}`}
      </p>
      {!counts && <p>{text.nothingHelp[intake.kind]}</p>}
      {layout && <Columns layout={layout} draft={draft} />}
      {intake.kind === "manual" ? (
        <ManualPages desk={desk} />
      ) : (
        <Lines
          intakes={intakes}
          intake={intake}
          title={intake.kind === "table" ? intakeWords.findings.firstRows : intakeWords.findings.lines}
          {...(intake.kind === "table" ? { few: FIRST_ROWS } : {})}
          onMoved={moved}
        />
      )}
      <UnfitList intakes={intakes} intake={intake} />
      <Row>{toThrow}</Row>
      <TakeSheet
        intakes={intakes}
        intake={intake}
        open={taking}
        onClose={() => setTaking(false)}
        onTaken={(what) => {
          setTaking(false);
          setTaken(what);
        }}
      />
    </Page>
  );
}
