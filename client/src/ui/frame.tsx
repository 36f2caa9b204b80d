/**
 * A page's picture with frames drawn over it. A tap chooses one; the chosen one can be moved and
 * resized by pointer and by keys, and a new one can be drawn. All frames are fractions of the page.
 *
 * Frames on the picture are for the eye and the pointer: whoever uses this puts a list of the same
 * things beside it, by which each can be chosen without one.
 */
import type { ComponentChildren } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { about, between, frameAt, moved, resized, type Corner, type Frame, type Spot } from "../core/frames";
import "./frame.css";

export interface FrameOnPage {
  readonly id: string;
  readonly frame: Frame;
  /** Names it where it can be moved: "Step 2.1". */
  readonly label: string;
  /** Stamped at its corner: a number, a sign. */
  readonly stamp?: ComponentChildren;
  /** `thin`: a line within another. `faint`: left out. `strong`: asks for a person. */
  readonly look?: "thin" | "faint" | "strong" | undefined;
}

/** What is said of moving; texts come from the words of the screen. */
export interface FrameTexts {
  /** Of the frame: how keys move it. */
  move: (label: string) => string;
  /** Of its first and last corner. */
  start: (label: string) => string;
  end: (label: string) => string;
  /** Of the page while a frame is to be drawn. */
  draw: string;
}

/** Greater than this, a press that moves is no tap; px. */
const SLIP_PX = 6;
/** How far beside a frame a thumb may tap, px. */
const REACH_PX = 20;
/** One press of an arrow key; with Shift five times as much. Fraction of the page. */
const NUDGE = 0.005;

interface Grip {
  readonly part: "body" | Corner | "new";
  readonly from: Spot;
  readonly fromPx: Spot;
  moving: boolean;
}

/**
 * `ratio`: width / height of the page. `onChange`: the chosen frame was moved or resized; without
 * it frames can only be chosen. `drawing`: the next press draws a frame, told by `onDrawn`;
 * `onDrawn(null)`: given up with Escape.
 */
export function FrameBoard(props: {
  ratio: number;
  frames: readonly FrameOnPage[];
  chosen: string | null;
  texts: FrameTexts;
  onChoose: (id: string) => void;
  onChange?: ((id: string, frame: Frame) => void) | undefined;
  drawing?: boolean | undefined;
  onDrawn?: ((frame: Frame | null) => void) | undefined;
  /** The picture, as wide as the board. */
  children: ComponentChildren;
}) {
  const { frames, texts, onChange } = props;
  const board = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLButtonElement>(null);
  const grip = useRef<Grip | null>(null);
  const dragged = useRef(false);
  const [live, setLive] = useState<Frame | null>(null);
  const chosen = frames.find((one) => one.id === props.chosen);
  // Brings it into sight, too.
  useLayoutEffect(() => canvas.current?.focus(), [props.drawing]);

  /** Where on the page an event is, and how large the page is, px. */
  const place = (event: MouseEvent): { at: Spot; size: Spot; px: Spot } => {
    const { left, top, width, height } = board.current!.getBoundingClientRect();
    const size = { x: width || 1, y: height || 1 };
    const px = { x: event.clientX, y: event.clientY };
    return { at: { x: (px.x - left) / size.x, y: (px.y - top) / size.y }, size, px };
  };

  const press = (part: Grip["part"]) => (event: PointerEvent) => {
    if (event.button !== 0) return;
    const { at, px } = place(event);
    grip.current = { part, from: at, fromPx: px, moving: false };
    // Not every pointer can be held on to; then the frame follows only while it is under it.
    try {
      (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    } catch {
      // Nothing to mend.
    }
  };
  const shape = (event: PointerEvent): Frame | null => {
    const held = grip.current;
    if (!held) return null;
    const { at, px } = place(event);
    held.moving ||= Math.hypot(px.x - held.fromPx.x, px.y - held.fromPx.y) > SLIP_PX;
    if (!held.moving) return null;
    if (held.part === "new") return between(held.from, at);
    if (!chosen) return null;
    const by = { x: at.x - held.from.x, y: at.y - held.from.y };
    return held.part === "body" ? moved(chosen.frame, by) : resized(chosen.frame, held.part, by);
  };
  const drag = (event: PointerEvent) => {
    const next = shape(event);
    if (next) setLive(next);
  };
  const release = (event: PointerEvent) => {
    const held = grip.current;
    const next = shape(event);
    grip.current = null;
    setLive(null);
    dragged.current = next !== null;
    if (held?.part === "new") props.onDrawn?.(next ?? about(held.from));
    else if (next && chosen) onChange?.(chosen.id, next);
  };
  const giveUp = () => {
    grip.current = null;
    setLive(null);
  };
  const holding = (part: Grip["part"]) => ({
    onPointerDown: press(part),
    onPointerMove: drag,
    onPointerUp: release,
    onPointerCancel: giveUp,
  });

  const keys = (part: "body" | Corner) => (event: KeyboardEvent) => {
    const by = arrow(event);
    if (!by || !chosen || !onChange) return;
    event.preventDefault();
    onChange(chosen.id, part === "body" ? moved(chosen.frame, by) : resized(chosen.frame, part, by));
  };

  /** A tap: the smallest frame there; on the chosen one, what lies under it. */
  const choose = (event: MouseEvent) => {
    if (dragged.current || event.detail === 0) {
      dragged.current = false;
      return;
    }
    const { at, size } = place(event);
    const reach = { x: REACH_PX / size.x, y: REACH_PX / size.y };
    const found = frameAt(frames, at, reach, chosen) ?? frameAt(frames, at, reach);
    if (found) props.onChoose(found.id);
  };

  const shown = live ?? chosen?.frame ?? null;
  return (
    <div
      class="frame-board"
      ref={board}
      style={{ aspectRatio: String(props.ratio) }}
      onPointerDown={() => (dragged.current = false)}
      onClick={props.drawing ? undefined : choose}
    >
      {props.children}
      {frames.map(
        (one) =>
          one.id !== props.chosen && (
            <div
              key={one.id}
              class={`frame ${one.look ? `is-${one.look}` : ""}`}
              style={box(one.frame)}
              aria-hidden="true"
            >
              {stamp(one, one.frame)}
            </div>
          ),
      )}
      {chosen && shown && !props.drawing && (
        <>
          {onChange ? (
            <button
              type="button"
              class="frame is-chosen"
              style={box(shown)}
              aria-label={texts.move(chosen.label)}
              onKeyDown={keys("body")}
              {...holding("body")}
            >
              {stamp(chosen, shown)}
            </button>
          ) : (
            <div class="frame is-chosen" style={box(shown)} aria-hidden="true">
              {stamp(chosen, shown)}
            </div>
          )}
          {onChange &&
            (["start", "end"] as const).map((corner) => (
              <button
                key={corner}
                type="button"
                class={`frame-handle is-${corner}`}
                style={corner === "start" ? spot(shown[0], shown[1]) : spot(shown[0] + shown[2], shown[1] + shown[3])}
                aria-label={texts[corner](chosen.label)}
                onKeyDown={keys(corner)}
                onClick={(event) => event.stopPropagation()}
                {...holding(corner)}
              />
            ))}
        </>
      )}
      {props.drawing && (
        <button
          type="button"
          class="frame-canvas"
          aria-label={texts.draw}
          ref={canvas}
          onKeyDown={(event) => {
            if (event.key === "Escape") props.onDrawn?.(null);
          }}
          // By a key: about the middle, to be moved from there.
          onClick={(event) => event.detail === 0 && props.onDrawn?.(about({ x: 0.5, y: 0.5 }))}
          {...holding("new")}
        >
          {live && <span class="frame is-chosen" style={box(live)} />}
        </button>
      )}
    </div>
  );
}

/** Above its frame, or within it where the page ends. */
function stamp(one: FrameOnPage, [, top]: Frame): ComponentChildren {
  if (one.stamp === undefined) return null;
  return <span class={top < 0.03 ? "frame-stamp is-inside" : "frame-stamp"}>{one.stamp}</span>;
}

function arrow(event: KeyboardEvent): Spot | null {
  const by = event.shiftKey ? 5 * NUDGE : NUDGE;
  switch (event.key) {
    case "ArrowLeft":
      return { x: -by, y: 0 };
    case "ArrowRight":
      return { x: by, y: 0 };
    case "ArrowUp":
      return { x: 0, y: -by };
    case "ArrowDown":
      return { x: 0, y: by };
    default:
      return null;
  }
}

const percent = (value: number): string => `${(value * 100).toFixed(2)}%`;

function box([left, top, width, height]: Frame) {
  return {
    left: percent(left),
    top: percent(top),
    inlineSize: percent(width),
    blockSize: percent(height),
  };
}

function spot(x: number, y: number) {
  return { "--at-x": percent(x), "--at-y": percent(y) };
}

/** A page cut to a frame. `ratio`: of the whole page; children: its picture. */
export function Cutout(props: { frame: Frame; ratio: number; children: ComponentChildren }) {
  const [left, top, width, height] = props.frame;
  const own = (width * props.ratio) / height;
  return (
    <div
      class="cutout"
      // Whole, and not higher than leaves room for what is said of it.
      style={{ aspectRatio: String(own), inlineSize: `min(100%, ${(own * 14).toFixed(2)}rem)` }}
    >
      <div
        style={{
          inlineSize: percent(1 / width),
          aspectRatio: String(props.ratio),
          left: percent(-left / width),
          top: percent(-top / height),
        }}
      >
        {props.children}
      </div>
    </div>
  );
}
