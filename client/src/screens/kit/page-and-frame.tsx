/** A step's page of the manual, and the frame on it. */
import { useEffect, useRef, useState } from "preact/hooks";
import { WHOLE, asFrame, type Frame } from "../../core/frames";
import { sameJson } from "../../core/merge";
import type { View } from "../../sync/types";
import { FrameBoard } from "../../ui/frame";
import { Choose, Picture, QuietButton, Row, useBench } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { pagesWords } from "../../ui/words-pages";
import { ratioOf } from "../bench/figure";
import { inOrder } from "../bench/step-model";
import { nameOf, pageName } from "./names";
import type { Editor } from "./use-editor";

const text = kitWords.frame;
/** A frame that was moved is kept when it has rested so long; ms. */
const REST_MS = 700;

export function PageAndFrame({ editor, step }: { editor: Editor; step: View<"step"> }) {
  const { store } = useBench();
  const pages = inOrder(store.where("page", "kit", editor.kit));
  const page = pages.find(({ id }) => id === step.values.page);
  if (pages.length === 0) return <p>{text.noPages}</p>;
  const of = nameOf(store, "step", step.id);
  return (
    <>
      <Choose
        label={text.page}
        value={step.values.page ?? ""}
        options={[
          ["", text.noPage],
          ...pages.map((one, at): [string, string] => [one.id, pageName(one, at + 1)]),
        ]}
        onChange={(id) =>
          void editor.save(
            // Another page has its figure elsewhere.
            [{ type: "step", id: step.id, set: { page: id || null, frame: null } }],
            { said: kitWords.said.page(of) },
          )
        }
      />
      {page && (
        <FrameOfStep
          key={page.id}
          page={page}
          alt={text.pageAlt(pageName(page, pages.indexOf(page) + 1))}
          label={text.name(step.values.number ?? "")}
          value={asFrame(step.values.frame)}
          onKeep={(frame) =>
            void editor.save(
              [{ type: "step", id: step.id, set: { frame: frame && [...frame] } }],
              { said: kitWords.said.frame(of) },
            )
          }
        />
      )}
    </>
  );
}

/** `value` null: the whole page. */
function FrameOfStep(props: {
  page: View<"page">;
  alt: string;
  label: string;
  value: Frame | null;
  onKeep: (frame: Frame | null) => void;
}) {
  const { page, value } = props;
  const [drawing, setDrawing] = useState(false);
  const [moved, setMoved] = useState<Frame | null>(null);
  const shown = moved ?? value;
  const latest = useRef<Frame | null>(null);
  const timer = useRef(0);
  const keep = useRef(() => undefined as void);
  keep.current = () => {
    clearTimeout(timer.current);
    const next = latest.current;
    latest.current = null;
    if (next && !sameJson(next, value)) props.onKeep(next);
  };
  // What was written, or what somebody else writes later, is shown as it stands.
  useEffect(() => {
    if (!latest.current) setMoved(null);
  }, [value?.join(" ")]);
  useEffect(() => () => keep.current(), []);
  const drop = () => {
    clearTimeout(timer.current);
    latest.current = null;
    setMoved(null);
  };
  const ratio = ratioOf(WHOLE, page);
  return (
    <>
      <Row>
        <QuietButton pressed={drawing || undefined} onTap={() => setDrawing(!drawing)}>
          {drawing ? text.stop : shown ? text.again : text.set}
        </QuietButton>
        {shown && !drawing && (
          <QuietButton
            onTap={() => {
              drop();
              props.onKeep(null);
            }}
          >
            {text.whole}
          </QuietButton>
        )}
      </Row>
      {(drawing || shown) && <p class="soft">{drawing ? text.drawHelp : text.moveHelp}</p>}
      {/* Not higher than the screen, so that a frame can be drawn in one go. */}
      <div style={{ inlineSize: `min(100%, ${(ratio * 70).toFixed(2)}vh)` }}>
        <FrameBoard
          ratio={ratio}
          frames={shown ? [{ id: page.id, frame: shown, label: props.label }] : []}
          chosen={page.id}
          texts={pagesWords.frame}
          onChoose={() => undefined}
          onChange={(_, frame) => {
            latest.current = frame;
            setMoved(frame);
            clearTimeout(timer.current);
            timer.current = window.setTimeout(() => keep.current(), REST_MS);
          }}
          drawing={drawing}
          onDrawn={(frame) => {
            setDrawing(false);
            if (!frame) return;
            drop();
            props.onKeep(frame);
          }}
        >
          <Picture
            blob={page.values.blob ?? ""}
            size="full"
            alt={props.alt}
            // A page that came with the kit has no device, and is on the server from the beginning.
            stored={page.values.device ? page.values.stored : true}
            ratio={ratio}
          />
        </FrameBoard>
      </div>
      <p class="soft" role="status">
        {shown ? text.at(shown) : text.isWhole}
      </p>
    </>
  );
}
