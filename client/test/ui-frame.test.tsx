// @vitest-environment happy-dom
/** Frames over a page: by pointer and by keys. */
import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import axe from "axe-core";
import type { Frame } from "../src/core/frames";
import { FrameBoard } from "../src/ui/frame";

const FRAMES = [
  { id: "step", frame: [0.1, 0.1, 0.8, 0.5] as Frame, label: "Step 2.1", stamp: "2.1" },
  { id: "line", frame: [0.2, 0.2, 0.3, 0.1] as Frame, label: "4 screws" },
];
const TEXTS = {
  move: (label: string) => `${label}: move`,
  start: (label: string) => `${label}: top left corner`,
  end: (label: string) => `${label}: bottom right corner`,
  draw: "Draw a frame",
};
let root: HTMLElement;
let chosen: string[];
let changed: [string, Frame][];
let drawn: (Frame | null)[];

beforeEach(() => {
  root = document.createElement("main");
  document.body.append(root);
  [chosen, changed, drawn] = [[], [], []];
});
afterEach(() => {
  render(null, root);
  root.remove();
});

function show(more: { chosen?: string; drawing?: boolean }): void {
  render(
    <FrameBoard
      ratio={1}
      frames={FRAMES}
      chosen={more.chosen ?? null}
      drawing={more.drawing}
      texts={TEXTS}
      onChoose={(id) => chosen.push(id)}
      onChange={(id, frame) => changed.push([id, frame])}
      onDrawn={(frame) => drawn.push(frame)}
    >
      <img alt="Page 1" />
    </FrameBoard>,
    root,
  );
  // A page of 1000 x 1000 px.
  const board = root.querySelector<HTMLElement>(".frame-board")!;
  board.getBoundingClientRect = () => new DOMRect(0, 0, 1000, 1000);
}

const named = (name: string): HTMLElement => root.querySelector<HTMLElement>(`[aria-label="${name}"]`)!;
const at = (x: number, y: number, detail = 1) => ({
  bubbles: true, clientX: x, clientY: y, detail, button: 0, pointerId: 1,
});
function drag(on: HTMLElement, from: [number, number], to: [number, number]): void {
  on.dispatchEvent(new PointerEvent("pointerdown", at(...from)));
  on.dispatchEvent(new PointerEvent("pointermove", at(...to)));
  on.dispatchEvent(new PointerEvent("pointerup", at(...to)));
  on.dispatchEvent(new MouseEvent("click", at(...to)));
}
const press = (on: HTMLElement, key: string, shiftKey = false) =>
  on.dispatchEvent(new KeyboardEvent("keydown", { key, shiftKey, bubbles: true }));

describe("a page with frames", () => {
  it("tells which frame is tapped, and on the chosen one what lies under it", () => {
    show({});
    const board = root.querySelector(".frame-board")!;
    board.dispatchEvent(new MouseEvent("click", at(300, 250)));
    board.dispatchEvent(new MouseEvent("click", at(700, 500)));
    board.dispatchEvent(new MouseEvent("click", at(950, 950)));
    expect(chosen).toEqual(["line", "step"]);
    show({ chosen: "line" });
    named("4 screws: move").dispatchEvent(new MouseEvent("click", at(300, 250)));
    expect(chosen.at(-1)).toBe("step");
  });

  it("has its chosen frame moved and resized by pointer, and takes no drag for a tap", () => {
    show({ chosen: "step" });
    drag(named("Step 2.1: move"), [500, 300], [550, 350]);
    drag(named("Step 2.1: top left corner"), [100, 100], [200, 150]);
    drag(named("Step 2.1: bottom right corner"), [900, 600], [800, 700]);
    expect(changed).toEqual([
      ["step", [0.15, 0.15, 0.8, 0.5]],
      ["step", [0.2, 0.15, 0.7, 0.45]],
      ["step", [0.1, 0.1, 0.7, 0.6]],
    ]);
    expect(chosen).toEqual([]);
  });

  it("has it moved and resized by arrow keys", () => {
    show({ chosen: "step" });
    press(named("Step 2.1: move"), "ArrowRight");
    press(named("Step 2.1: move"), "ArrowUp", true);
    press(named("Step 2.1: bottom right corner"), "ArrowDown", true);
    press(named("Step 2.1: move"), "a");
    expect(changed.map(([, frame]) => frame)).toEqual([
      [0.105, 0.1, 0.8, 0.5],
      [0.1, 0.075, 0.8, 0.5],
      [0.1, 0.1, 0.8, 0.525],
    ]);
  });

  it("has a frame drawn by pointer, by a tap, by a key, or none", () => {
    show({ drawing: true });
    const canvas = named("Draw a frame");
    drag(canvas, [600, 400], [200, 100]);
    drag(canvas, [500, 500], [502, 501]);
    canvas.dispatchEvent(new MouseEvent("click", at(0, 0, 0)));
    press(canvas, "Escape");
    expect(drawn).toEqual([[0.2, 0.1, 0.4, 0.3], [0.25, 0.375, 0.5, 0.25], [0.25, 0.375, 0.5, 0.25], null]);
    expect(document.activeElement).toBe(canvas);
  });

  it("meets the rules of accessibility (WCAG 2.2 A and AA as axe-core checks them)", async () => {
    for (const state of [{}, { chosen: "step" }, { drawing: true }]) {
      show(state);
      const { violations } = await axe.run(root, { rules: { "color-contrast": { enabled: false } } });
      expect(violations.map((one) => one.id)).toEqual([]);
    }
  });
});
