/** The one camera and decoder of the app, and the ways by which a symbol comes to it. */
import { useLayoutEffect, useState } from "preact/hooks";
import { keepPreference, readPreference } from "../../db/preferences";
import { browserCameraWorld, makeCamera } from "../../scan/camera";
import { DecoderFailure, makeDecoder, type Seen } from "../../scan/decoder";
import { NotAPicture, readPicture } from "../../scan/picture";
import type { Hint } from "../../scan/watch";
import { FilePick, sayTrouble, Trouble } from "../../ui/parts";
import { scanWords } from "../../ui/words-scan";
import { Finder, StartButton } from "./finder";

const text = scanWords;

/** They outlive the screen, so five scans ask once. */
const camera = makeCamera(
  browserCameraWorld({
    read: () => readPreference("camera"),
    write: (id) => keepPreference("camera", id),
  }),
);
const decoder = makeDecoder();

/** Whether a tap has just brought us here; without one the camera is not to start by itself. */
function tapped(): boolean {
  return "userActivation" in navigator && navigator.userActivation.isActive;
}

export interface Eye {
  /** Starts the camera, where that is what is missing. */
  start: preact.JSX.Element | undefined;
  /** What the camera sees, and a picture to read instead. */
  view: preact.JSX.Element;
}

/**
 * Looks for symbols while `wanted`. `paused`: an answer is being shown, and the stream stays.
 * `aim`: what to hold where.
 */
export function useEye(props: {
  wanted: boolean;
  paused: boolean;
  aim?: string | undefined;
  intro?: string | undefined;
  onSeen: (seen: Seen) => void;
}): Eye {
  const { wanted, onSeen } = props;
  const [hint, setHint] = useState<Hint>(null);
  const [readerLost, setReaderLost] = useState(false);

  // Before the first paint: the button to start it must not flash where it is not wanted.
  useLayoutEffect(() => {
    if (!wanted) return;
    const { kind } = camera.state.peek();
    // A resting stream is taken up again; else the camera starts only by the tap that led here.
    if (kind === "live" || tapped()) void camera.start();
    return () => camera.rest();
  }, [wanted]);

  const { kind: seeing } = camera.state.value;
  const canStart = !readerLost && (seeing === "off" || seeing === "asleep");
  return {
    start: canStart ? <StartButton camera={camera} /> : undefined,
    view: (
      <>
        {readerLost ? (
          <Trouble
            title={text.readerLost}
            detail={text.typeInstead}
            onRetry={() => setReaderLost(false)}
          />
        ) : (
          <Finder
            camera={camera}
            decoder={decoder}
            paused={props.paused}
            hint={hint}
            aim={props.aim}
            intro={props.intro}
            onHint={setHint}
            onText={onSeen}
            onFailure={() => setReaderLost(true)}
          />
        )}
        <PictureButton onSeen={onSeen} onFailure={() => setReaderLost(true)} />
      </>
    ),
  };
}

/** A label or barcode photographed before: from the gallery, or sent by somebody. */
function PictureButton(props: { onSeen: (seen: Seen) => void; onFailure: () => void }) {
  const [busy, setBusy] = useState(false);

  async function read(file: File): Promise<void> {
    setBusy(true);
    try {
      const found = await readPicture(file, decoder);
      if (found === null) sayTrouble(text.nothingInPicture);
      else props.onSeen(found);
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
