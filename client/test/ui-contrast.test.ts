/**
 * Contrast of the colour pairs that carry text or signs, by day and by night.
 *
 * Source of formula and limits: W3C, Web Content Accessibility Guidelines 2.2, 'relative luminance',
 * 'contrast ratio', success criteria 1.4.3 (text 4.5:1, large text 3:1) and 1.4.11 (3:1).
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";

const src = join(__dirname, "..", "src");
const tokens = readFileSync(join(src, "ui", "tokens.css"), "utf8");

type Palette = ReadonlyMap<string, string>;

/** Tokens of the block that follows `selector`. */
function palette(selector: string): Palette {
  const from = tokens.indexOf(`${selector} {`);
  expect(from, selector).toBeGreaterThanOrEqual(0);
  const block = tokens.slice(from, tokens.indexOf("}", from));
  return new Map([...block.matchAll(/(--[\w-]+): (#[0-9a-f]{6});/g)].map((m) => [m[1]!, m[2]!]));
}

function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5]
    .map((at) => Number.parseInt(colour.slice(at, at + 2), 16) / 255)
    .map((value) => (value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4));
  return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
}

export function contrast(one: string, other: string): number {
  const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a);
  return (light! + 0.05) / (dark! + 0.05);
}

const day = palette(":root");
const nightByDevice = palette(':root:not([data-light="day"])');
const night = palette(':root[data-light="night"]');

/** Text on ground, at any size. */
const texts: [string, string][] = [
  ["--ink", "--bench"],
  ["--ink", "--tag"],
  ["--ink", "--tag-worn"],
  ["--ink-soft", "--bench"],
  ["--ink-soft", "--tag"],
  ["--ink-soft", "--tag-worn"],
  ["--here", "--bench"],
  ["--here", "--tag"],
  ["--here", "--tag-worn"],
  ["--on-here", "--here"],
  ["--on-slab", "--slab"],
  ["--on-slab-soft", "--slab"],
  ["--on-rail", "--rail"],
  ["--on-rail-soft", "--rail"],
];

/** Edges of what can be tapped, and signs. */
const edges: [string, string][] = [
  ["--line", "--bench"],
  ["--line", "--tag"],
  ["--line", "--tag-worn"],
  ["--here", "--bench"],
  ["--slab", "--bench"],
  ["--string", "--tag"],
  ["--tag", "--slab"],
];

describe.each([
  ["day", day],
  ["night", night],
])("%s", (_, colours) => {
  const ratio = ([one, other]: [string, string]) => contrast(colours.get(one)!, colours.get(other)!);
  test.each(texts)("%s on %s reads: 4.5 to 1", (...pair) => {
    expect(ratio(pair)).toBeGreaterThanOrEqual(4.5);
  });
  test.each(edges)("%s against %s is seen: 3 to 1", (...pair) => {
    expect(ratio(pair)).toBeGreaterThanOrEqual(3);
  });
});

test("the formula gives the ratios that WCAG names: 21 for black on white, 1 for equal", () => {
  expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 5);
  expect(contrast("#777777", "#777777")).toBe(1);
});

test("what is drawn over printed matter reads on it", () => {
  for (const name of ["--on-paper", "--on-paper-soft", "--on-paper-here"]) {
    expect(contrast(day.get(name)!, day.get("--paper")!)).toBeGreaterThanOrEqual(4.5);
  }
});

test("night by the device and night by the switch are the same night, and leave out no colour", () => {
  expect([...nightByDevice]).toEqual([...night]);
  const alwaysSame = new Set(["--paper", "--on-paper", "--on-paper-soft", "--on-paper-here"]);
  expect([...day.keys()].filter((name) => !night.has(name) && !alwaysSame.has(name))).toEqual([]);
});

test("raw colours stand in tokens.css and nowhere else", () => {
  const raw = /#[0-9a-f]{3,8}\b(?=[\s;,")}])|\b(?:rgb|hsl|oklch|lab)a?\(/i;
  const files = readdirSync(src, { recursive: true, encoding: "utf8" })
    .filter((name) => /\.(?:css|tsx)$/.test(name))
    .filter((name) => !name.endsWith("tokens.css"));
  expect(files.length).toBeGreaterThan(10);
  const found = files.filter((name) => raw.test(readFileSync(join(src, name), "utf8")));
  expect(found).toEqual([]);
});

test("every token that a stylesheet uses is defined", () => {
  const css = readdirSync(src, { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".css"))
    .map((name) => readFileSync(join(src, name), "utf8"))
    .join("\n");
  const defined = new Set([...css.matchAll(/(--[\w-]+):/g)].map((m) => m[1]));
  defined.add("--foot-h"); // set by the shell
  const used = [...css.matchAll(/var\((--[\w-]+)/g)].map((m) => m[1]);
  expect(used.filter((name) => !defined.has(name))).toEqual([]);
});
