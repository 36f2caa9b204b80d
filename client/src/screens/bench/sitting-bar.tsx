/** Time at the bench, and the one question about it. */
import { QuietButton, Row, moment, say, useBench, words } from "../../ui/parts";
import { ago, stretch } from "../../ui/words";
import { benchMs, seat, standUp, stoodUpThen, wentOn } from "../../sync/sitting";
import { useState } from "preact/hooks";
import { type Work, useNow } from "./work";

/** Pauses that a builder has said do not count; asked again only after a restart of the app. */
const letGo = new Set<string>();

/** `time`: also shows how long it has been. */
export function SittingBar({ work, time }: { work: Work; time?: boolean }) {
  const { store } = useBench();
  const now = useNow();
  const [, renew] = useState(0);
  const sittings = store.where("sitting", "build", work.build);
  const at = seat(sittings, work.device, now);
  const total = benchMs(sittings, now);

  if (at.kind === "asks") {
    return (
      <section class="ask" role="status">
        <h2>{words.path.stillThere}</h2>
        <p>{words.path.stillWhy(moment(at.lastMs, now), ago(now - at.lastMs))}</p>
        <Row>
          <QuietButton onTap={() => void work.keep(wentOn(at, Date.now()))}>
            {words.path.wentOn}
          </QuietButton>
          <QuietButton onTap={() => void work.keep(stoodUpThen(at))}>
            {words.path.stopped(moment(at.lastMs, now))}
          </QuietButton>
        </Row>
      </section>
    );
  }
  if (at.kind === "paused" && !letGo.has(at.sitting.id)) {
    return (
      <section class="ask" role="status">
        <h2>{words.path.pause(moment(at.fromMs, now), moment(at.toMs, now))}</h2>
        <p>{words.path.pauseWhy}</p>
        <Row>
          <QuietButton
            onTap={() =>
              void work.keep(wentOn(at, Date.now())).then((kept) => {
                if (kept) say(words.path.counted);
              })
            }
          >
            {words.path.pauseCounts}
          </QuietButton>
          <QuietButton
            onTap={() => {
              letGo.add(at.sitting.id);
              renew((n) => n + 1);
              say(words.path.notCounted);
            }}
          >
            {words.path.pauseNot}
          </QuietButton>
        </Row>
      </section>
    );
  }
  if (!time) return null;
  const began =
    at.kind === "sitting"
      ? at.beganMs
      : at.kind === "paused"
        ? Date.parse(at.sitting.values.began_at ?? "")
        : null;
  if (began === null && total === 0) return null;
  return (
    <Row>
      <p class="sitting-time">
        {total > 0 && words.path.atBench(stretch(total))}
        {total > 0 && began !== null && " · "}
        {began !== null && words.path.thisSitting(stretch(now - began))}
      </p>
      {began !== null && (
        <QuietButton
          onTap={() =>
            void work.keep(standUp(at, Date.now())).then((kept) => {
              if (kept) say(words.path.stoodUp);
            })
          }
        >
          {words.path.standUp}
        </QuietButton>
      )}
    </Row>
  );
}
