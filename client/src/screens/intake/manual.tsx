/** A manual page by page: its picture with what was found on it, each to be said right or wrong. */
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Frame } from "../../core/frames";
import { byPlace, stepDrawn, unsure, type Finding, type Intake, type ManualPage } from "../../core/intakes";
import type { Intakes } from "../../sync/types";
import { Cutout, FrameBoard, type FrameOnPage } from "../../ui/frame";
import { Choose, Loading, Mark, Notice, Picture, QuietButton, Row, useBench } from "../../ui/parts";
import { findingSays, intakeWords } from "../../ui/words-intake";
import { useCorrections, withHeard, type Correcting } from "./corrections";
import { FindingPanel, FindingRow } from "./finding";

const text = intakeWords.manual;
/** A frame that is moved by keys is sent when they have rested for so long; ms. */
const REST_MS = 600;
const SIZES = [1, 1.75, 2.5] as const;

const asksStill = (one: Finding): boolean => one.asks.length > 0 && !one.leftOut;

/** What the screen around has to know: how to go to what asks next. */
export interface ManualDesk {
  readonly pages: readonly ManualPage[] | null;
  readonly page: ManualPage | null;
  readonly items: readonly Finding[] | null;
  readonly chosen: number | null;
  readonly correcting: Correcting;
  readonly frames: ReadonlyMap<number, Frame>;
  /** The next press on the page draws the frame of a step. */
  readonly drawing: boolean;
  setDrawing(drawing: boolean): void;
  choose(finding: number | null): void;
  turnTo(page: number): void;
  nextAsking(): void;
  setFrame(finding: Finding, frame: Frame): void;
  draw(page: number, frame: Frame): Promise<void>;
  addPart(step: Finding): Promise<void>;
}

export function useManual(intakes: Intakes | null, intake: Intake | null, onMoved: () => void): ManualDesk {
  const { jotter } = useBench();
  const id = intake?.id ?? "";
  const readable = intake?.kind === "manual" && (intake.state === "ready" || intake.state === "stopped");
  const [pages, setPages] = useState<readonly ManualPage[] | null>(null);
  const [number, setNumber] = useState(0);
  const [found, setFound] = useState<{ page: number; items: readonly Finding[] } | null>(null);
  const [chosen, setChosen] = useState<number | null>(null);
  const [frames, setFrames] = useState<ReadonlyMap<number, Frame>>(new Map());
  const [drawing, setDrawing] = useState(false);
  /** Where to stand when the page has been turned. */
  const [seek, setSeek] = useState(false);
  const rest = useRef<{ timer: ReturnType<typeof setTimeout>; send: () => void } | null>(null);

  const askPages = async (): Promise<readonly ManualPage[] | null> => {
    if (!intakes || !readable) return null;
    const answer = await intakes.pages(id);
    if (answer.kind !== "ok") return null;
    setPages(answer.value);
    return answer.value;
  };
  const correcting = useCorrections(intakes, id, (heard) => {
    setFound((now) => {
      if (!now) return now;
      const here = heard.filter((one) => one.page === now.page || now.items.some(({ id: known }) => known === one.id));
      return { ...now, items: withHeard(now.items, here) };
    });
    void askPages();
    onMoved();
  });

  useEffect(() => {
    void askPages().then((all) => {
      if (!all) return;
      const before = Number(jotter.read(`intake.page.${id}`));
      const first =
        all.find((one) => one.number === before) ??
        all.find((one) => one.asking > 0) ??
        all.find((one) => one.steps > 0) ??
        all[0];
      setNumber((now) => now || (first?.number ?? 0));
    });
  }, [intakes, id, readable, intake?.done]);

  useEffect(() => {
    if (!intakes || !readable || number === 0) return;
    let gone = false;
    void intakes.allFindings(id, { page: number }).then((answer) => {
      if (gone || answer.kind !== "ok") return;
      setFound({ page: number, items: answer.value });
    });
    return () => {
      gone = true;
    };
  }, [intakes, id, readable, number]);
  useEffect(() => {
    if (!seek || !found || found.page !== number) return;
    setSeek(false);
    setChosen([...found.items].filter(asksStill).sort(byPlace)[0]?.id ?? null);
  }, [seek, found, number]);

  const flush = () => {
    const waits = rest.current;
    if (!waits) return;
    clearTimeout(waits.timer);
    rest.current = null;
    waits.send();
  };
  useEffect(() => flush, []);

  const turnTo = (page: number) => {
    flush();
    setDrawing(false);
    setChosen(null);
    setNumber(page);
    jotter.write(`intake.page.${id}`, String(page));
  };
  const items = found?.page === number ? found.items : null;
  return {
    pages,
    page: pages?.find((one) => one.number === number) ?? null,
    items,
    chosen,
    correcting,
    frames,
    drawing,
    setDrawing,
    choose(finding) {
      flush();
      setChosen(finding);
    },
    turnTo,
    nextAsking() {
      flush();
      const here = [...(items ?? [])].filter(asksStill).sort(byPlace);
      const at = here.findIndex((one) => one.id === chosen);
      const next = here[at + 1];
      if (next) {
        setChosen(next.id);
        return;
      }
      const asking = (pages ?? []).filter((one) => one.asking > 0);
      const page = asking.find((one) => one.number > number) ?? asking[0];
      if (!page || page.number === number) setChosen(here[0]?.id ?? null);
      else {
        turnTo(page.number);
        setSeek(true);
      }
    },
    setFrame(finding, frame) {
      if (rest.current) clearTimeout(rest.current.timer);
      setFrames((all) => new Map(all).set(finding.id, frame));
      const send = () => {
        void correcting.correct(finding, { frame }).then(() =>
          setFrames((all) => {
            const left = new Map(all);
            left.delete(finding.id);
            return left;
          }),
        );
      };
      rest.current = { send, timer: setTimeout(flush, REST_MS) };
    },
    async draw(page, frame) {
      if (!intakes) return;
      const steps = await intakes.allFindings(id, { what: "step" });
      if (steps.kind !== "ok") return;
      const made = await correcting.add(stepDrawn(steps.value, page, frame));
      if (made) setChosen(made.id);
    },
    async addPart(step) {
      const made = await correcting.add({
        what: "part_line",
        ...(step.page === null ? {} : { page: step.page }),
        values: { quantity: 1, step: step.values["number"] },
      });
      if (made) setChosen(made.id);
    },
  };
}

export function ManualPages({ desk }: { desk: ManualDesk }) {
  const { pages, page, items } = desk;
  const { drawing, setDrawing } = desk;
  const [size, setSize] = useState(0);
  const view = useRef<HTMLDivElement>(null);
  // What is chosen in the list is brought into sight on the page, and nothing else is moved.
  useEffect(() => {
    const [, top, , height] = items?.find((one) => one.id === desk.chosen)?.frame ?? [];
    const pane = view.current;
    if (!pane || top === undefined || height === undefined) return;
    const whole = pane.scrollHeight;
    const above = top * whole < pane.scrollTop;
    const below = (top + height) * whole > pane.scrollTop + pane.clientHeight;
    if (above || below) {
      pane.scrollTop = Math.min(
        top * whole - 16,
        (top + height / 2) * whole - pane.clientHeight / 2,
      );
    }
  }, [desk.chosen, items === null]);
  const list = useMemo(() => (items ? [...items].sort(grouped) : null), [items]);
  if (!pages) return <Loading what={intakeWords.intake.loading} />;
  if (!page) return null;
  const at = pages.findIndex((one) => one.number === page.number);
  const before = pages[at - 1];
  const after = pages[at + 1];
  const ratio = (page.widthPx || 210) / (page.heightPx || 297);
  const picture = page.blob !== null && (
    <Picture blob={page.blob} size="full" alt={text.alt(page.number)} stored ratio={ratio} />
  );
  const onPage: FrameOnPage[] = (items ?? []).flatMap((one) => {
    const frame = desk.frames.get(one.id) ?? one.frame;
    if (!frame) return [];
    const step = one.what === "step";
    return [
      {
        id: String(one.id),
        frame,
        label: findingSays(one),
        ...(step || asksStill(one)
          ? {
              stamp: (
                <>
                  {step && String(one.values["number"] ?? "")}
                  {asksStill(one) && <Mark sign="caution" />}
                </>
              ),
            }
          : {}),
        look: one.leftOut
          ? ("faint" as const)
          : asksStill(one)
            ? ("strong" as const)
            : step
              ? undefined
              : ("thin" as const),
      },
    ];
  });
  const toCallRight = (items ?? []).filter(unsure);
  const chosen = items?.find((one) => one.id === desk.chosen);
  return (
    <div class="intake-manual">
      <div class="intake-page">
        <Row>
          <QuietButton off={!before} label={text.before} onTap={() => before && desk.turnTo(before.number)}>
            ‹
          </QuietButton>
          <div class="intake-turn">
            <Choose
              label={text.pageOf(page.number, pages.length)}
              value={String(page.number)}
              options={pages.map(
                (one) =>
                  [
                    String(one.number),
                    text.pageOption(one.number, one.steps, one.asking, one.problem !== null),
                  ] as const,
              )}
              onChange={(value) => desk.turnTo(Number(value))}
            />
          </div>
          <QuietButton off={!after} label={text.after} onTap={() => after && desk.turnTo(after.number)}>
            ›
          </QuietButton>
        </Row>
        {picture ? (
          <div class="intake-view" ref={view} tabIndex={0} role="region" aria-label={text.region}>
            <div style={{ inlineSize: `${(SIZES[size] ?? 1) * 100}%` }}>
              <FrameBoard
                key={page.number}
                ratio={ratio}
                frames={onPage}
                chosen={desk.chosen === null ? null : String(desk.chosen)}
                texts={text.frames}
                drawing={drawing}
                onChoose={(id) => desk.choose(Number(id))}
                onChange={chosen && !chosen.leftOut ? (_, frame) => desk.setFrame(chosen, frame) : undefined}
                onDrawn={(frame) => {
                  setDrawing(false);
                  if (frame) void desk.draw(page.number, frame);
                }}
              >
                {picture}
              </FrameBoard>
            </div>
          </div>
        ) : (
          <p>{text.noPicture}</p>
        )}
        {picture && (
          <Row>
            <QuietButton pressed={drawing || undefined} onTap={() => setDrawing(!drawing)}>
              {drawing ? text.drawEnd : text.addStep}
            </QuietButton>
            {size < SIZES.length - 1 && (
              <QuietButton onTap={() => setSize(size + 1)}>{text.larger}</QuietButton>
            )}
            {size > 0 && <QuietButton onTap={() => setSize(size - 1)}>{text.smaller}</QuietButton>}
          </Row>
        )}
        {drawing && <p role="status">{text.drawHelp}</p>}
      </div>
      <section class="block intake-found" aria-labelledby="found">
        <h2 id="found">{text.findings(page.number)}</h2>
        {page.problem && (
          <Notice title={page.problem.title}>{page.problem.detail && <p>{page.problem.detail}</p>}</Notice>
        )}
        {!page.problem && !page.hasText && picture && (
          <Notice sign="photo">
            <p>{text.noText}</p>
          </Notice>
        )}
        {(desk.correcting.undo || toCallRight.length > 0) && (
          <Row>
            {toCallRight.length > 0 && (
              <QuietButton
                busy={desk.correcting.busy}
                onTap={() => void desk.correcting.allRight(toCallRight)}
              >
                {text.allRight(toCallRight.length)}
              </QuietButton>
            )}
            {desk.correcting.undo && (
              <QuietButton busy={desk.correcting.busy} onTap={desk.correcting.undo}>
                {intakeWords.findings.undo}
              </QuietButton>
            )}
          </Row>
        )}
        {list === null ? (
          <Loading what={intakeWords.intake.loading} />
        ) : list.length === 0 ? (
          <p class="soft">{text.none}</p>
        ) : (
          <ul role="list" class="findings" aria-label={text.findings(page.number)}>
            {list.map((one) => (
              <FindingRow
                key={one.id}
                finding={one}
                open={one.id === desk.chosen}
                reveal
                onTap={() => desk.choose(one.id === desk.chosen ? null : one.id)}
              >
                <FindingPanel
                  key={one.id}
                  finding={one}
                  correcting={desk.correcting}
                  picture={
                    one.frame && picture ? (
                      <Cutout frame={desk.frames.get(one.id) ?? one.frame} ratio={ratio}>
                        <Picture blob={page.blob ?? ""} size="full" alt="" stored ratio={ratio} />
                      </Cutout>
                    ) : undefined
                  }
                  deeds={
                    one.what === "step" && !one.leftOut ? (
                      <QuietButton busy={desk.correcting.busy} onTap={() => void desk.addPart(one)}>
                        {text.addPart}
                      </QuietButton>
                    ) : undefined
                  }
                />
              </FindingRow>
            ))}
          </ul>
        )}
      </section>
    </div>
  );

  /** What belongs to a step stands below it; steps by their place on the page. */
  function grouped(a: Finding, b: Finding): number {
    const [headA, headB] = [headOf(a), headOf(b)];
    if (headA === headB) return a.what === "step" ? -1 : b.what === "step" ? 1 : byPlace(a, b);
    return byPlace(headA, headB);
  }
  function headOf(one: Finding): Finding {
    if (one.what !== "part_line" && one.what !== "operation") return one;
    const step = one.values["step"];
    const head = items?.find((other) => other.what === "step" && other.values["number"] === step);
    return head ?? one;
  }
}
