/**
 * What a label opens when any phone's own camera reads it: the bag's next open step, at once.
 *
 * On a device that is not paired yet the code is kept, and gone on with once it is.
 */
import { useLocation } from "preact-iso";
import { useEffect, useState } from "preact/hooks";
import { keepPreference } from "../db/preferences";
import { to } from "../routes";
import type { Answer, Text } from "../scan/resolve";
import type { View } from "../sync/types";
import { BigButton, Loading, Notice, Page, QuietButton, Trouble, useBench } from "../ui/parts";
import { scanWords } from "../ui/words-scan";
import { AnswerBody, titleOf } from "./scan/answer";
import { askFor, askForBag, exchangeBriefly, workshopOf } from "./scan/ask";
import "./scan.css";

const text = scanWords;

/** Where an answer leads without asking; null where a person has to choose. */
function placeOf(answer: Answer): string | null {
  if (answer.kind === "step") return to.step(answer.inBuild.build.id, answer.step.id);
  if (answer.kind !== "steps" || answer.others.length > 0 || !answer.inBuild.next) return null;
  return to.step(answer.inBuild.build.id, answer.inBuild.next.step.id);
}

export default function Label({ code }: { code: string }) {
  const bench = useBench();
  const { route } = useLocation();
  const standing = bench.membership.standing.value;
  const workshop = workshopOf(standing);
  const [answer, setAnswer] = useState<Answer | "trouble" | null>(null);
  const asked: Text = { how: "typed", text: code };

  async function show(ask: () => Promise<Answer>, still: () => boolean = () => true): Promise<void> {
    try {
      const found = await ask();
      if (!still()) return;
      const place = placeOf(found);
      // The label's address gives way to the step's, so that Back does not come here again.
      if (place) route(place, true);
      else setAnswer(found);
    } catch {
      if (still()) setAnswer("trouble");
    }
  }
  const ask = (still?: () => boolean): void => {
    if (workshop !== null) void show(() => askFor(bench, workshop, asked), still);
  };

  useEffect(() => {
    if (workshop === null) return;
    keepPreference("label", null);
    let here = true;
    ask(() => here);
    return () => {
      here = false;
    };
  }, [workshop, code]);

  useEffect(() => {
    if (standing.kind === "unpaired" && workshop === null) keepPreference("label", code);
  }, [standing.kind, workshop, code]);

  if (workshop === null) {
    if (standing.kind === "starting") {
      return (
        <Page title={text.title}>
          <Loading />
        </Page>
      );
    }
    return (
      <Page title={text.notPairedTitle}>
        <Notice>
          <p>{standing.kind === "claimable" ? text.labelClaimable : text.labelNotPaired}</p>
        </Notice>
        <BigButton href={standing.kind === "claimable" ? to.builds() : to.pair()}>
          {standing.kind === "claimable" ? text.toBuilds : text.pair}
        </BigButton>
      </Page>
    );
  }
  if (answer === null) {
    return (
      <Page title={text.title}>
        <Loading what={text.looking} />
      </Page>
    );
  }
  if (answer === "trouble") {
    return (
      <Page title={text.title}>
        <Trouble title={text.notLooked} onRetry={() => ask()} />
      </Page>
    );
  }
  return (
    <Page title={titleOf(answer)}>
      <AnswerBody
        answer={answer}
        onBag={(bag: View<"bag">) => void show(() => askForBag(bench, bag))}
        onAskAgain={async () => {
          await exchangeBriefly(bench);
          await show(() => askFor(bench, workshop, asked));
        }}
      />
      <QuietButton href={to.scan()}>{text.scanAnother}</QuietButton>
    </Page>
  );
}
