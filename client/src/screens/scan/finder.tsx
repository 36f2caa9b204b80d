/** The camera's picture with the outline of a tag, its switches, and advice on how to hold it. */
import { useEffect, useRef } from "preact/hooks";
import type { Camera, CameraState } from "../../scan/camera";
import type { Decoder, DecoderFailure, Seen } from "../../scan/decoder";
import { watch, type Hint, type Watch } from "../../scan/watch";
import { BigButton, Notice, QuietButton, Row, words } from "../../ui/parts";
import { scanWords } from "../../ui/words-scan";

const text = scanWords;

export interface FinderProps {
  camera: Camera;
  decoder: Decoder;
  /** An answer is being shown: the stream stays, nothing is read. */
  paused: boolean;
  hint: Hint;
  /** What to hold where, and what to do while the camera is off; by default of a bag's label. */
  aim?: string | undefined;
  intro?: string | undefined;
  onHint: (hint: Hint) => void;
  onText: (seen: Seen) => void;
  onFailure: (failure: DecoderFailure) => void;
}

function Picture(props: FinderProps & { stream: MediaStream }) {
  const video = useRef<HTMLVideoElement>(null);
  const watching = useRef<Watch | null>(null);
  const events = useRef(props);
  events.current = props;

  useEffect(() => {
    const element = video.current;
    if (!element) return;
    element.srcObject = props.stream;
    // Muted and inline, so it may play; where it may not, the next frame never comes and the
    // builder can still type.
    element.play().catch(() => undefined);
    const it = watch(element, props.decoder, {
      onText: (found) => events.current.onText(found),
      onHint: (hint) => events.current.onHint(hint),
      onFailure: (failure) => events.current.onFailure(failure),
    });
    watching.current = it;
    if (events.current.paused) it.pause();
    return () => {
      it.end();
      watching.current = null;
      element.srcObject = null;
    };
  }, [props.stream, props.decoder]);

  useEffect(() => {
    if (props.paused) watching.current?.pause();
    else watching.current?.resume();
  }, [props.paused]);

  return (
    <div class="finder">
      <video ref={video} playsInline muted autoPlay aria-label={text.cameraPicture} />
      <svg class="finder-tag" viewBox="0 0 100 75" aria-hidden="true">
        <path d="M34 10h46v55H20V24z" />
        <circle cx="33" cy="23" r="2.600" />
      </svg>
    </div>
  );
}

function Switches({ camera, live }: { camera: Camera; live: CameraState & { kind: "live" } }) {
  const { torch, closer, lenses } = live;
  if (torch === "absent" && closer === "absent" && lenses.length < 2) return null;
  return (
    <Row>
      {torch !== "absent" && (
        <QuietButton pressed={torch === "on"} onTap={() => void camera.setTorch(torch === "off")}>
          {text.torch}
        </QuietButton>
      )}
      {closer !== "absent" && (
        <QuietButton pressed={closer === "on"} onTap={() => void camera.setCloser(closer === "off")}>
          {text.closer}
        </QuietButton>
      )}
      {lenses.length > 1 && (
        <QuietButton onTap={() => void camera.nextLens()}>{text.otherLens}</QuietButton>
      )}
    </Row>
  );
}

/** Starts the camera, where the thumb is. */
export function StartButton({ camera }: { camera: Camera }) {
  return <BigButton onTap={() => void camera.start()}>{text.start}</BigButton>;
}

export function Finder(props: FinderProps) {
  const { camera, hint } = props;
  const state = camera.state.value;
  switch (state.kind) {
    case "off":
      return <p>{props.intro ?? text.intro}</p>;
    case "starting":
      return (
        <p class="finder-note" role="status">
          {text.starting}
        </p>
      );
    case "asleep":
      return <p>{text.asleep}</p>;
    case "failed": {
      const why = text.failures[state.failure];
      return (
        <Notice title={why.title}>
          <p>{why.mend}</p>
          {state.failure !== "insecure" && (
            <BigButton onTap={() => void camera.start()}>{words.shared.tryAgain}</BigButton>
          )}
        </Notice>
      );
    }
    case "live":
      return (
        <section class="block">
          <Picture {...props} stream={state.stream} />
          <p class="finder-hint" role="status">
            {hint === "distance"
              ? state.closer === "off"
                ? text.hintDistanceCloser
                : text.hintDistance
              : hint === "tilt"
                ? text.hintTilt
                : (props.aim ?? text.aim)}
          </p>
          <Switches camera={camera} live={state} />
        </section>
      );
  }
}
