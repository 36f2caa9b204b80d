/** Scan: a bag's label before the camera, in a picture, or typed; what it means comes up at once. */
import { useLocation } from "preact-iso";
import { useRef, useState } from "preact/hooks";
import type { Barcode } from "../core/gtin";
import { to } from "../routes";
import type { Answer, Text } from "../scan/resolve";
import type { View } from "../sync/types";
import { BigButton, Notice, Page, say, sayTrouble, Sheet, useBench, words } from "../ui/parts";
import { codesWords } from "../ui/words-codes";
import { scanWords } from "../ui/words-scan";
import { AnswerBody, titleOf } from "./scan/answer";
import { askFor, askForBag, exchangeBriefly, workshopOf } from "./scan/ask";
import { useEye } from "./scan/eye";
import { teach } from "./scan/teach";
import { Teaching } from "./scan/teaching";
import { TypedCode } from "./scan/typed-code";
import { WhichBag } from "./scan/which-bag";
import "./scan.css";

const text = scanWords;

/** Where the typed code is kept while it is typed. */
const JOT = "scan.code";

/** A short tick in the hand, where the phone can: eyes are on the bag. */
function tick(): void {
  if (typeof navigator.vibrate === "function") navigator.vibrate(30);
}

interface Shown {
  answer: Answer;
  asked: Text;
  /** The bag is being asked for to which this is to be taught. */
  teaching?: Barcode;
}

export default function Scan({ query }: { query: Readonly<Record<string, string>> }) {
  const bench = useBench();
  const workshop = workshopOf(bench.membership.standing.value);
  if (workshop === null) {
    return (
      <Page title={text.title}>
        <Notice title={text.notPairedTitle}>
          <p>{text.notPaired}</p>
          <BigButton href={to.pair()}>{text.pair}</BigButton>
        </Notice>
      </Page>
    );
  }
  const { teach: bag, build } = query;
  if (bag && build) return <Teaching key={bag} workshop={workshop} build={build} bag={bag} />;
  return <Looking workshop={workshop} />;
}

function Looking({ workshop }: { workshop: string }) {
  const bench = useBench();
  const { route } = useLocation();
  const [shown, setShown] = useState<Shown | null>(null);
  const [asking, setAsking] = useState(false);
  const newest = useRef(0);

  /** Shows an answer, unless a newer one has been asked for meanwhile. */
  async function show(asked: Text, ask: () => Promise<Answer>): Promise<void> {
    const mine = ++newest.current;
    setAsking(true);
    try {
      const answer = await ask();
      if (mine !== newest.current) return;
      if ("bag" in answer || "bags" in answer) {
        tick();
        bench.jotter.drop(JOT);
      }
      if (answer.kind === "step") route(to.step(answer.inBuild.build.id, answer.step.id));
      else setShown({ answer, asked });
    } catch {
      if (mine === newest.current) sayTrouble(text.notLooked);
    } finally {
      if (mine === newest.current) setAsking(false);
    }
  }

  const look = (asked: Text): void => void show(asked, () => askFor(bench, workshop, asked));

  /** Teaches a barcode to the bag in hand, then goes on as if its label had been scanned. */
  async function teachTo(bag: View<"bag">, barcode: Barcode, asked: Text): Promise<void> {
    try {
      const { said, undo } = await teach(bench, bag, barcode);
      await show(asked, () => askForBag(bench, bag));
      say(said, undo);
    } catch {
      sayTrouble(words.shared.notSaved);
    }
  }

  const eye = useEye({
    wanted: true,
    paused: shown !== null || asking,
    onSeen: (seen) => look({ how: "scanned", ...seen }),
  });
  return (
    <Page title={text.title} actions={eye.start}>
      {eye.view}
      <TypedCode
        label={text.codeLabel}
        hint={text.codeHint}
        button={text.find}
        jot={JOT}
        busy={asking}
        onCode={(typed) => look({ how: "typed", text: typed })}
      />
      <Sheet
        open={shown !== null}
        title={shown ? (shown.teaching ? codesWords.teachIt : titleOf(shown.answer)) : ""}
        onClose={() => setShown(null)}
      >
        {shown?.teaching && (
          <WhichBag onBag={(bag) => void teachTo(bag, shown.teaching!, shown.asked)} />
        )}
        {shown && !shown.teaching && (
          <AnswerBody
            answer={shown.answer}
            onBag={(bag) => void show(shown.asked, () => askForBag(bench, bag))}
            onTeach={(teaching) => setShown({ ...shown, teaching })}
            onAskAgain={async () => {
              await exchangeBriefly(bench);
              await show(shown.asked, () => askFor(bench, workshop, shown.asked));
            }}
          />
        )}
      </Sheet>
    </Page>
  );
}
