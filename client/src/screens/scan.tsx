/** Scan: a bag's label before the camera, in a picture, or typed; what it means comes up at once. */
import { useLocation } from "preact-iso";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { keepPreference, readPreference } from "../db/preferences";
import { to } from "../routes";
import { browserCameraWorld, makeCamera } from "../scan/camera";
import { DecoderFailure, makeDecoder } from "../scan/decoder";
import { NotAPicture, readPicture } from "../scan/picture";
import type { Answer, Text } from "../scan/resolve";
import { grouped, typedSlip } from "../scan/typed";
import type { Hint } from "../scan/watch";
import {
  BigButton,
  Field,
  FilePick,
  Notice,
  Page,
  QuietButton,
  sayTrouble,
  Sheet,
  Trouble,
  useBench,
  words,
} from "../ui/parts";
import { AnswerBody, slipText, titleOf } from "./scan/answer";
import { askFor, askForBag, exchangeBriefly, workshopOf } from "./scan/ask";
import { Finder, StartButton } from "./scan/finder";
import "./scan.css";

const text = words.scan;

/** One camera and one decoder for the app: they outlive the screen, so five scans ask once. */
const camera = makeCamera(
  browserCameraWorld({
    read: () => readPreference("camera"),
    write: (id) => keepPreference("camera", id),
  }),
);
const decoder = makeDecoder();

/** Where the typed code is kept while it is typed. */
const JOT = "scan.code";

/** A short tick in the hand, where the phone can: eyes are on the bag. */
function tick(): void {
  if (typeof navigator.vibrate === "function") navigator.vibrate(30);
}

/** Whether a tap has just brought us here; without one the camera is not to start by itself. */
function tapped(): boolean {
  return "userActivation" in navigator && navigator.userActivation.isActive;
}

export default function Scan() {
  const bench = useBench();
  const { route } = useLocation();
  const workshop = workshopOf(bench.membership.standing.value);
  const [shown, setShown] = useState<{ answer: Answer; asked: Text } | null>(null);
  const [asking, setAsking] = useState(false);
  const [hint, setHint] = useState<Hint>(null);
  const [readerLost, setReaderLost] = useState(false);
  const newest = useRef(0);

  // Before the first paint: the button to start it must not flash where it is not wanted.
  useLayoutEffect(() => {
    if (workshop === null) return;
    const { kind } = camera.state.peek();
    // A resting stream is taken up again; else the camera starts only by the tap that led here.
    if (kind === "live" || tapped()) void camera.start();
    return () => camera.rest();
  }, [workshop]);

  /** Shows an answer, unless a newer one has been asked for meanwhile. */
  async function show(asked: Text, ask: () => Promise<Answer>): Promise<void> {
    const mine = ++newest.current;
    setAsking(true);
    try {
      const answer = await ask();
      if (mine !== newest.current) return;
      if ("bag" in answer || answer.kind === "bags") {
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

  const look = (asked: Text): void => {
    if (workshop !== null) void show(asked, () => askFor(bench, workshop, asked));
  };

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

  const { kind: seeing } = camera.state.value;
  const canStart = !readerLost && (seeing === "off" || seeing === "asleep");
  return (
    <Page title={text.title} actions={canStart ? <StartButton camera={camera} /> : undefined}>
      {readerLost ? (
        <Trouble title={text.readerLost} detail={text.typeInstead} onRetry={() => setReaderLost(false)} />
      ) : (
        <Finder
          camera={camera}
          decoder={decoder}
          paused={shown !== null || asking}
          hint={hint}
          onHint={setHint}
          onText={(found) => look({ how: "scanned", text: found })}
          onFailure={() => setReaderLost(true)}
        />
      )}
      <PictureButton
        onText={(found) => look({ how: "scanned", text: found })}
        onFailure={() => setReaderLost(true)}
      />
      <TypedCode busy={asking} onCode={(typed) => look({ how: "typed", text: typed })} />
      <Sheet
        open={shown !== null}
        title={shown ? titleOf(shown.answer) : ""}
        onClose={() => setShown(null)}
      >
        {shown && (
          <AnswerBody
            answer={shown.answer}
            onBag={(bag) => void show(shown.asked, () => askForBag(bench, bag))}
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

/** A label photographed before: from the gallery, or sent by somebody. */
function PictureButton(props: { onText: (text: string) => void; onFailure: () => void }) {
  const [busy, setBusy] = useState(false);

  async function read(file: File): Promise<void> {
    setBusy(true);
    try {
      const found = await readPicture(file, decoder);
      if (found === null) sayTrouble(text.nothingInPicture);
      else props.onText(found);
    } catch (error) {
      if (error instanceof DecoderFailure) props.onFailure();
      else sayTrouble(error instanceof NotAPicture ? text.notAPicture : text.nothingInPicture);
    } finally {
      setBusy(false);
    }
  }

  return (
    <FilePick
      label={text.fromPicture}
      accept="image/jpeg,image/png,image/webp"
      busy={busy}
      onFile={(file) => void read(file)}
    />
  );
}

/** The code typed in, for torn labels and refused cameras. Slips are said as they are made. */
function TypedCode({ busy, onCode }: { busy: boolean; onCode: (code: string) => void }) {
  const { jotter } = useBench();
  const [code, setCode] = useState(() => jotter.read(JOT) ?? "");
  const [sent, setSent] = useState(false);
  const slip = code.includes("/") ? null : typedSlip(code);
  // Too short is no slip while typing goes on.
  const short = slip?.reason === "length" && slip.has < slip.needs;
  const error = slip && code !== "" && (!short || sent) ? slipText(slip) : null;

  const send = (): void => {
    setSent(true);
    // A code that fails its check is looked up all the same: the answer knows what was meant.
    if (code !== "" && (slip === null || slip.reason === "check")) onCode(code);
  };
  return (
    <form
      class="block"
      onSubmit={(event) => {
        event.preventDefault();
        send();
      }}
    >
      <Field
        label={text.codeLabel}
        hint={text.codeHint}
        code
        value={code}
        error={error}
        maxLength={200}
        onInput={(now) => {
          const next = grouped(code, now);
          setCode(next);
          setSent(false);
          if (next === "") jotter.drop(JOT);
          else jotter.write(JOT, next);
        }}
        onEnter={send}
      />
      <QuietButton type="submit" busy={busy}>
        {text.find}
      </QuietButton>
    </form>
  );
}
