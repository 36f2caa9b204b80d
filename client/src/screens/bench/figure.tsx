/** The step's figure: its frame cut out of the manual's page, larger with a tap. */
import { useState } from "preact/hooks";
import type { View } from "../../sync/types";
import { Picture, QuietButton, Row, Sheet, useBench, words } from "../../ui/parts";
import { deviceName } from "./work";

type Frame = readonly [left: number, top: number, width: number, height: number];
const WHOLE: Frame = [0, 0, 1, 1];
const SIZES = [1, 1.75, 3] as const;

/** The frame of a step on its page, as fractions; the whole page when it has none. */
export function frameOf(step: View<"step">): Frame {
  const [left, top, width, height] = step.values.frame ?? [];
  return left === undefined || top === undefined || !width || !height
    ? WHOLE
    : [left, top, width, height];
}

/** Width / height of a frame in pixels of its page; A4 upright when the page's size is unknown. */
export function ratioOf(frame: Frame, page: View<"page">): number {
  const { width_px, height_px } = page.values;
  return (frame[2] * (width_px || 210)) / (frame[3] * (height_px || 297));
}

/**
 * A page cut to a frame: the picture is made larger than its window and moved. Always the full
 * picture: it is the one kept for use without a network. `low`: not higher than the screen.
 */
function Cut(props: { page: View<"page">; frame: Frame; alt: string; low?: boolean }) {
  const { frame, page } = props;
  const bench = useBench();
  const ratio = ratioOf(frame, page);
  const [left, top, width, height] = frame;
  const percent = (value: number) => `${(value * 100).toFixed(3)}%`;
  return (
    <div
      class="figure-cut"
      style={{
        aspectRatio: String(ratio),
        inlineSize: props.low ? `min(100%, ${(ratio * 70).toFixed(2)}vh)` : "100%",
      }}
    >
      <div
        style={{
          inlineSize: percent(1 / width),
          left: percent(-left / width),
          top: percent(-top / height),
        }}
      >
        <Picture
          blob={page.values.blob ?? ""}
          size="full"
          alt={props.alt}
          // A page that came with the kit has no device, and is on the server from the beginning.
          stored={page.values.device ? page.values.stored : true}
          from={page.values.device ? deviceName(bench, page.values.device) : null}
          ratio={ratioOf(WHOLE, page)}
        />
      </div>
    </div>
  );
}

export function Figure({ step, page }: { step: View<"step">; page: View<"page"> }) {
  const [open, setOpen] = useState(false);
  const [whole, setWhole] = useState(false);
  const [size, setSize] = useState(0);
  const frame = frameOf(step);
  const name = words.step.figureOf(step.values.number ?? "");
  const cut = frame[2] < 1 || frame[3] < 1;
  return (
    <figure class="figure">
      <button type="button" class="figure-tap" onClick={() => setOpen(true)}>
        <Cut page={page} frame={frame} alt={name} low />
        <span class="figure-hint">
          {page.values.number ? `${words.step.manualPage(page.values.number)} · ` : ""}
          {words.step.enlarge}
        </span>
      </button>
      <Sheet open={open} title={name} onClose={() => setOpen(false)}>
        <Row>
          {size < SIZES.length - 1 && (
            <QuietButton onTap={() => setSize(size + 1)}>{words.step.larger}</QuietButton>
          )}
          {size > 0 && (
            <QuietButton onTap={() => setSize(size - 1)}>{words.step.smaller}</QuietButton>
          )}
          {cut && (
            <QuietButton onTap={() => setWhole(!whole)}>
              {whole ? words.step.onlyFrame : words.step.wholePage}
            </QuietButton>
          )}
        </Row>
        {/* Scrolls by itself when the figure is larger than the panel; reachable by keyboard. */}
        <div class="figure-large" tabIndex={0} role="region" aria-label={name}>
          <div style={{ inlineSize: `${(SIZES[size] ?? 1) * 100}%` }}>
            <Cut page={page} frame={whole ? WHOLE : frame} alt="" />
          </div>
        </div>
      </Sheet>
    </figure>
  );
}
