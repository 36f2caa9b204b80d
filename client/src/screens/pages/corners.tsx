/** A photographed page with its four corners, to be dragged or moved by keys, seen larger meanwhile. */
import { useRef, useState } from "preact/hooks";
import type { Spot } from "../../core/frames";
import type { Quad } from "../../core/quad";
import { pagesWords } from "../../ui/words-pages";

const text = pagesWords;

/** One press of an arrow key; with Shift ten times as much. Fraction of the picture. */
const NUDGE = 0.002;
/** How much larger the picture is under the glass. */
const GLASS = 3;
const ARROWS: Readonly<Record<string, Spot>> = {
  ArrowLeft: { x: -1, y: 0 },
  ArrowRight: { x: 1, y: 0 },
  ArrowUp: { x: 0, y: -1 },
  ArrowDown: { x: 0, y: 1 },
};

const within = (value: number): number => Math.min(1, Math.max(0, value));
const percent = (value: number): string => `${(value * 100).toFixed(3)}%`;

/** `ratio`: width / height of the picture. Corners are fractions of it. */
export function Corners(props: {
  url: string;
  ratio: number;
  corners: Quad;
  /** They cannot be those of a page. */
  wrong: boolean;
  onChange: (corners: Quad) => void;
}) {
  const { corners } = props;
  const board = useRef<HTMLDivElement>(null);
  const grip = useRef<{ at: number; from: Spot; corner: Spot } | null>(null);
  const [held, setHeld] = useState<number | null>(null);

  const move = (at: number, { x, y }: Spot) => {
    const next = corners.map((one, i) => (i === at ? { x: within(x), y: within(y) } : one));
    props.onChange(next as unknown as Quad);
  };
  const place = (event: PointerEvent): Spot => {
    const { width, height } = board.current!.getBoundingClientRect();
    return { x: event.clientX / (width || 1), y: event.clientY / (height || 1) };
  };
  const press = (at: number) => (event: PointerEvent) => {
    if (event.button !== 0) return;
    grip.current = { at, from: place(event), corner: corners[at]! };
    setHeld(at);
    // Not every pointer can be held on to; then the corner follows only while it is under it.
    try {
      (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    } catch {
      // Nothing to mend.
    }
  };
  const drag = (event: PointerEvent) => {
    const now = grip.current;
    if (!now) return;
    const at = place(event);
    move(now.at, { x: now.corner.x + at.x - now.from.x, y: now.corner.y + at.y - now.from.y });
  };
  const release = () => {
    grip.current = null;
    setHeld(null);
  };
  const key = (at: number) => (event: KeyboardEvent) => {
    const by = ARROWS[event.key];
    if (!by) return;
    event.preventDefault();
    const far = event.shiftKey ? 10 * NUDGE : NUDGE;
    // As far down as across, whatever the picture's shape.
    const { x, y } = corners[at]!;
    move(at, { x: x + by.x * far, y: y + by.y * far * props.ratio });
  };

  const shown = held === null ? null : corners[held]!;
  return (
    <div
      class="corner-board"
      ref={board}
      style={{ aspectRatio: String(props.ratio), "--ratio": String(props.ratio) }}
    >
      <img class="picture" src={props.url} alt="" draggable={false} />
      <svg viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">
        <polygon
          class={props.wrong ? "is-wrong" : undefined}
          points={corners.map(({ x, y }) => `${x},${y}`).join(" ")}
        />
      </svg>
      {corners.map(({ x, y }, at) => (
        <button
          key={at}
          type="button"
          class="corner-handle"
          aria-label={text.corners[at]}
          style={{ left: percent(x), top: percent(y) }}
          onPointerDown={press(at)}
          onPointerMove={drag}
          onPointerUp={release}
          onPointerCancel={release}
          onLostPointerCapture={release}
          onKeyDown={key(at)}
          onFocus={(event) => event.currentTarget.matches(":focus-visible") && setHeld(at)}
          onBlur={release}
        />
      ))}
      {shown && <Glass url={props.url} at={shown} board={board.current} />}
    </div>
  );
}

/** What lies under the thumb, larger, on the other side of the picture. */
function Glass(props: { url: string; at: Spot; board: HTMLElement | null }) {
  const { width, height } = props.board?.getBoundingClientRect() ?? { width: 0, height: 0 };
  const { x, y } = props.at;
  return (
    <div
      class="corner-glass"
      aria-hidden="true"
      style={{
        backgroundImage: `url("${props.url}")`,
        backgroundSize: `${width * GLASS}px ${height * GLASS}px`,
        // The corner comes to lie in the middle of the glass.
        backgroundPosition: `calc(var(--glass) / 2 - ${x * width * GLASS}px) calc(var(--glass) / 2 - ${y * height * GLASS}px)`,
        ...(x < 0.5 ? { right: "0" } : { left: "0" }),
        ...(y < 0.5 ? { bottom: "0" } : { top: "0" }),
      }}
    />
  );
}
