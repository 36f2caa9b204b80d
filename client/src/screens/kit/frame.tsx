/** A step's page of the manual, and the frame on it: drawn with a finger, a mouse or the keys. */
import { useEffect, useId, useRef, useState } from "preact/hooks";
import {
  WHOLE,
  drawn,
  frameFrom,
  movedBy,
  resized,
  type Corner,
  type Frame,
  type Point,
} from "../../core/frame";
import { sameJson } from "../../core/merge";
import type { View } from "../../sync/types";
import { Choose, Picture, QuietButton, Row, useBench } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { ratioOf } from "../bench/figure";
import { inOrder } from "../bench/step-model";
import { nameOf } from "./names";
import type { Editor } from "./use-editor";

const text = kitWords.frame;
const CORNERS: readonly Corner[] = ["nw", "ne", "sw", "se"];
/** How far a key goes, in fractions of the page. */
const STRIDE = 0.02;
const SMALL = 0.002;
/** A frame that keys have changed is kept when they have rested so long; ms. */
const REST_MS = 700;

interface Drag {
  kind: "draw" | "move" | Corner;
  from: Point;
  was: Frame;
}

export function PageAndFrame({ editor, step }: { editor: Editor; step: View<"step"> }) {
  const { store } = useBench();
  const pages = inOrder(store.where("page", "kit", editor.kit));
  const page = pages.find(({ id }) => id === step.values.page);
  const called = (one: View<"page">) =>
    text.pageAlt(
      kitWords.pageName(
        one.values.number ?? null,
        one.values.title ?? null,
        pages.indexOf(one) + 1,
      ),
    );
  if (pages.length === 0) return <p>{text.noPages}</p>;
  const of = nameOf(store, "step", step.id);
  return (
    <>
      <Choose
        label={text.page}
        value={step.values.page ?? ""}
        options={[
          ["", text.noPage],
          ...pages.map((one, at): [string, string] => [
            one.id,
            kitWords.pageName(one.values.number ?? null, one.values.title ?? null, at + 1),
          ]),
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
        <FrameOnPage
          key={page.id}
          page={page}
          alt={called(page)}
          label={text.name(step.values.number ?? "")}
          value={frameFrom(step.values.frame)}
          onKeep={(frame) =>
            void editor.save(
              [
                {
                  type: "step",
                  id: step.id,
                  set: { frame: sameJson(frame, WHOLE) ? null : [...frame] },
                },
              ],
              { said: kitWords.said.frame(of) },
            )
          }
        />
      )}
    </>
  );
}

function FrameOnPage(props: {
  page: View<"page">;
  alt: string;
  label: string;
  value: Frame;
  onKeep: (frame: Frame) => void;
}) {
  const { value } = props;
  const [drawing, setDrawing] = useState(false);
  const [frame, setFrame] = useState<Frame | null>(null);
  const shown = frame ?? value;
  const paper = useRef<HTMLDivElement>(null);
  const drag = useRef<Drag | null>(null);
  const latest = useRef<Frame | null>(null);
  const timer = useRef(0);
  const helpId = useId();

  const change = (next: Frame) => {
    latest.current = next;
    setFrame(next);
  };
  const keep = useRef(() => undefined as void);
  keep.current = () => {
    clearTimeout(timer.current);
    const next = latest.current;
    latest.current = null;
    if (next && !sameJson(next, value)) props.onKeep(next);
  };
  // What was written, or what somebody else writes later, is shown as it stands.
  useEffect(() => {
    if (!latest.current) setFrame(null);
  }, [value.join(" ")]);
  useEffect(() => () => keep.current(), []);

  const point = (event: PointerEvent): Point => {
    const box = paper.current?.getBoundingClientRect();
    if (!box?.width || !box.height) return { x: 0, y: 0 };
    return { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height };
  };
  const begin = (kind: Drag["kind"]) => (event: PointerEvent) => {
    if (!drawing || event.button !== 0) return;
    event.preventDefault();
    event.stopPropagation();
    paper.current?.setPointerCapture(event.pointerId);
    drag.current = { kind, from: point(event), was: shown };
  };
  const onMove = (event: PointerEvent) => {
    const at = drag.current;
    if (!at) return;
    const to = point(event);
    const by = { x: to.x - at.from.x, y: to.y - at.from.y };
    if (at.kind === "draw") {
      // A finger that only touched the page has drawn nothing.
      if (Math.hypot(by.x, by.y) > 0.02) change(drawn(at.from, to));
    } else if (at.kind === "move") change(movedBy(at.was, by));
    else change(resized(at.was, at.kind, by));
  };
  const onEnd = () => {
    if (!drag.current) return;
    drag.current = null;
    keep.current();
  };
  const onKey = (event: KeyboardEvent) => {
    const way = {
      ArrowLeft: { x: -1, y: 0 },
      ArrowRight: { x: 1, y: 0 },
      ArrowUp: { x: 0, y: -1 },
      ArrowDown: { x: 0, y: 1 },
    }[event.key];
    if (!way || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    const stride = event.altKey ? SMALL : STRIDE;
    const by = { x: way.x * stride, y: way.y * stride };
    change(event.shiftKey ? resized(shown, "se", by) : movedBy(shown, by));
    clearTimeout(timer.current);
    timer.current = window.setTimeout(() => keep.current(), REST_MS);
  };
  const [left, top, width, height] = shown;
  const percent = (part: number) => `${(part * 100).toFixed(3)}%`;
  return (
    <>
      <Row>
        <QuietButton pressed={drawing} onTap={() => setDrawing(!drawing)}>
          {drawing ? text.ready : text.set}
        </QuietButton>
        {!sameJson(shown, WHOLE) && (
          <QuietButton onTap={() => props.onKeep(WHOLE)}>{text.whole}</QuietButton>
        )}
      </Row>
      {drawing && (
        <p class="soft" id={helpId}>
          {text.help} {text.keys}
        </p>
      )}
      <div
        ref={paper}
        class={drawing ? "kit-page is-drawing" : "kit-page"}
        onPointerDown={begin("draw")}
        onPointerMove={onMove}
        onPointerUp={onEnd}
        onPointerCancel={onEnd}
      >
        <Picture
          blob={props.page.values.blob ?? ""}
          size="full"
          alt={props.alt}
          stored={props.page.values.stored ?? true}
          ratio={ratioOf(WHOLE, props.page)}
        />
        <div
          class="kit-frame"
          role="group"
          aria-label={`${props.label}: ${text.at(shown)}`}
          aria-describedby={drawing ? helpId : undefined}
          tabIndex={0}
          style={{
            left: percent(left),
            top: percent(top),
            inlineSize: percent(width),
            blockSize: percent(height),
          }}
          onPointerDown={begin(sameJson(shown, WHOLE) ? "draw" : "move")}
          onKeyDown={onKey}
          onBlur={() => keep.current()}
        >
          {drawing &&
            CORNERS.map((corner) => (
              <span
                key={corner}
                class={`kit-corner kit-corner-${corner}`}
                onPointerDown={begin(corner)}
              />
            ))}
        </div>
      </div>
      <p class="soft" role="status">
        {text.at(shown)}
      </p>
    </>
  );
}
