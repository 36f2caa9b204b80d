/** The editor's small sums: typed values, order keys, tables, what a delete takes along. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import { GROUP_MAX, inGroups, takings, wholeOf, type Where } from "../src/core/belongs";
import { KIT_FIELDS } from "../src/core/kit-fields";
import { byOrder } from "../src/core/order";
import { RECORD_META } from "../src/core/meta";
import { behind, moved } from "../src/core/placing";
import { parseTable, planPaste, tableText, type Column } from "../src/core/sheet";
import { parseField, parseNumber, parseText } from "../src/core/typed";

interface Schema {
  properties: Record<
    string,
    { maxLength?: number; minLength?: number; minimum?: number; maximum?: number; type?: unknown }
  >;
  required?: string[];
  "x-required"?: string[];
}
const wire = JSON.parse(
  readFileSync(new URL("../openapi.json", import.meta.url), "utf8"),
) as { components: { schemas: Record<string, Schema> } };
const schemaOf = (type: string): Schema =>
  wire.components.schemas[type.replace(/(^|_)([a-z])/g, (_, __, c: string) => c.toUpperCase())]!;

describe("bounds of what is typed", () => {
  const all = Object.entries(KIT_FIELDS).flatMap(([type, fields]) =>
    Object.entries(fields).map(([field, kind]) => ({ type, field, kind, name: `${type}.${field}` })),
  );
  test.each(all)("are the wire's, by the OpenAPI document: $name", ({ type, field, kind }) => {
    const schema = schemaOf(type);
    const wire = schema.properties[field]!;
    if (kind.kind === "text") {
      expect(kind.most).toBe(wire.maxLength);
    } else {
      expect([kind.least, kind.most]).toEqual([wire.minimum, wire.maximum]);
      const whole = JSON.stringify(wire.type).includes("integer");
      expect(kind.kind === "number" && Boolean(kind.whole)).toBe(whole);
    }
    const required = schema["x-required"] ?? schema.required ?? [];
    expect(Boolean(kind.required)).toBe(required.includes(field));
  });
});

describe("numbers as typed", () => {
  it("take a comma or a point, and blanks between digits", () => {
    expect(parseNumber("4,5", 0, 10, false)).toEqual({ value: 4.5 });
    expect(parseNumber(" 1\u202f200 ", 0, 6000, false)).toEqual({ value: 1200 });
    expect(parseNumber("", 0, 10, false)).toEqual({ value: null });
    expect(parseNumber("-0", -1, 1, true)).toEqual({ value: 0 });
    expect(parseNumber("2,0", 0, 10, true)).toEqual({ value: 2 });
  });
  it("say why they are none", () => {
    expect(parseNumber("1.200,5", 0, 9999, false)).toEqual({ slip: "marks" });
    expect(parseNumber("four", 0, 10, false)).toEqual({ slip: "characters" });
    expect(parseNumber("1e3", 0, 9999, false)).toEqual({ slip: "characters" });
    expect(parseNumber("2,5", 0, 10, true)).toEqual({ slip: "whole" });
    expect(parseNumber("11", 0, 10, true)).toEqual({ slip: "range", least: 0, most: 10 });
  });
  it("lengths go by the workshop's unit; 1 inch = 25.4 mm (international inch, 1959)", () => {
    expect(parseField("dimension", "target", "1", "inch")).toEqual({ value: 25.4 });
    expect(parseField("dimension", "target", "112,3 mm", "inch")).toEqual({ value: 112.3 });
    expect(parseField("dimension", "plus", "-1")).toMatchObject({ slip: "range" });
    expect(parseField("dimension", "plus", "")).toEqual({ value: null });
    expect(parseField("dimension", "target", "")).toEqual({ slip: "missing" });
  });
  it("text loses what cannot be kept, and is counted by character", () => {
    expect(parseText(" a\u0000b\r\nc ", 10)).toEqual({ value: "ab\nc" });
    expect(parseText("😀😀", 2)).toEqual({ value: "😀😀" });
    expect(parseText("abc", 2)).toEqual({ slip: "long", most: 2 });
    expect(parseText("\ud800x", 9)).toEqual({ value: "\ufffdx" });
    expect(parseField("bag", "number", "  ")).toEqual({ slip: "missing" });
  });
});

describe("places in a list", () => {
  const keys = fc.array(
    fc.record({ order: fc.option(fc.constantFrom("1", "A", "V", "Vz", "z", "zzzz"), { nil: null }) }),
    { minLength: 1, maxLength: 12 },
  );
  it("anything can be moved anywhere, whatever keys there are", () => {
    fc.assert(
      fc.property(keys, fc.nat(), fc.nat(), (some, which, to) => {
        const siblings = some.map((one, i) => ({ id: `t${i}`, ...one }));
        const before = [...siblings].sort(byOrder).map(({ id }) => id);
        const id = before[which % before.length]!;
        const at = to % before.length;
        const rest = before.filter((one) => one !== id);
        const wanted = [...rest.slice(0, at), id, ...rest.slice(at)];
        const changed = new Map(moved(siblings, id, at).map((one) => [one.id, one.order]));
        const after = siblings
          .map((one) => ({ ...one, order: changed.get(one.id) ?? one.order }))
          .sort(byOrder)
          .map((one) => one.id);
        expect(after).toEqual(wanted);
      }),
    );
  });
  it("one key is enough where there is room", () => {
    const siblings = ["1", "5", "9"].map((order) => ({ id: order, order }));
    expect(moved(siblings, "9", 0)).toHaveLength(1);
  });
  it("what is added stands behind, in its order", () => {
    const keys = behind([{ id: "a", order: "V" }, { id: "b", order: null }], 3);
    expect([...keys].sort()).toEqual(keys);
    expect(keys[0]! > "V").toBe(true);
  });
});

describe("tab separated text", () => {
  it("is read as spreadsheets write it (RFC 4180, section 2, with tabs)", () => {
    expect(parseTable("1\tAxle\r\n2\tHub\r\n")).toEqual([
      ["1", "Axle"],
      ["2", "Hub"],
    ]);
    expect(parseTable('a\t"two\nlines, ""quoted"""\tb')).toEqual([
      ["a", 'two\nlines, "quoted"', "b"],
    ]);
    expect(parseTable('3" pipe\tx')).toEqual([['3" pipe', "x"]]);
    expect(parseTable('"open\tx')).toEqual([['"open', "x"]]);
    expect(parseTable("a\t\n\tb")).toEqual([
      ["a", ""],
      ["", "b"],
    ]);
  });
  it("what is written is read again as it was", () => {
    const cell = fc.string({ unit: fc.constantFrom("a", '"', "\t", "\n", " ", ",", "é"), maxLength: 5 });
    const wide = fc.integer({ min: 1, max: 4 });
    const tables = wide.chain((n) =>
      fc.array(fc.array(cell, { minLength: n, maxLength: n }), { minLength: 1, maxLength: 5 }),
    );
    fc.assert(
      fc.property(tables, (rows) => {
        // A last row of one empty cell is no more than a line end.
        fc.pre(!(rows.length > 1 && rows.at(-1)!.length === 1 && rows.at(-1)![0] === ""));
        expect(parseTable(tableText(rows))).toEqual(rows);
      }),
    );
  });
});

describe("a paste", () => {
  const number = (text: string) => {
    const typed = parseNumber(text, 0, 100, true);
    return "slip" in typed ? { why: typed.slip } : typed;
  };
  const columns: Column<string>[] = [
    { field: "name", required: true, read: (text) => (text ? { value: text } : { why: "missing" }) },
    { field: "count", read: number },
    { field: "code", fixed: true, read: () => ({ value: null }) },
  ];
  const at = (row: number, column = 0, rows = 2) => ({ row, column, rows });
  it("changes rows that are there and adds the rest", () => {
    const plan = planPaste([["a", "1"], ["b", "2"], ["c", ""], ["", ""]], at(1), columns);
    expect(plan.unfit).toEqual([]);
    expect(plan.changes).toEqual([{ row: 1, set: { name: "a", count: 1 } }]);
    expect(plan.added).toEqual([
      { name: "b", count: 2 },
      { name: "c", count: null },
    ]);
  });
  it("tells what does not fit by row and column of the paste", () => {
    const cells = [["a", "x"], ["", "2"], ["c", "3", "K7", "more"]];
    expect(planPaste(cells, at(2), columns).unfit).toEqual([
      { row: 0, column: 1, text: "x", why: "characters" },
      { row: 1, column: 0, text: "", why: "missing" },
      { row: 2, column: 2, text: "K7", why: "fixed" },
      { row: 2, column: 3, text: "more", why: "beyond" },
    ]);
    expect(planPaste(cells, at(2), columns, new Set([0, 1, 2])).unfit).toEqual([]);
    // A new row without what it needs, because the paste begins further right.
    expect(planPaste([["7"]], at(2, 1), columns).unfit).toEqual([
      { row: 0, column: -1, text: "", why: "missing" },
    ]);
  });
  it("lets what was copied be pasted over itself", () => {
    const standing = () => "K7";
    expect(planPaste([["a", "1", "K7"]], at(0), columns, new Set(), standing).unfit).toEqual([]);
  });
});

describe("what a delete takes along", () => {
  const records = [
    { type: "operation", id: "o1", values: { step: "s1" } },
    { type: "comes_before", id: "p1", values: { first: "o1", then: "o2" } },
    { type: "joint", id: "j1", values: { step: "s1", operation: "o1", part: "a" } },
    { type: "choice", id: "c1", values: { step: "s1" } },
    { type: "alternative", id: "v1", values: { choice: "c1" } },
    { type: "part_line", id: "l1", values: { step: "s1", part: "a" } },
    { type: "part_line", id: "l2", values: { step: "s1", bag: "b1", part: "a" } },
    { type: "step", id: "s1", values: { bags: ["b1", "b2"], section: "x" } },
    { type: "note", id: "n1", values: { step: "s1" } },
  ];
  const where: Where = (type, field, id) =>
    records.filter((one) => {
      const value = (one.values as Record<string, unknown>)[field];
      return one.type === type && (Array.isArray(value) ? value.includes(id) : value === id);
    });
  const ids = (of: readonly { id: string }[]) => of.map(({ id }) => id).sort();

  it("of a step: all that only lives in it; a part that lies in a bag stays there", () => {
    const of = takings([{ type: "step", id: "s1" }], where);
    expect(ids(of.gone)).toEqual(["c1", "j1", "l1", "o1", "p1", "s1", "v1"]);
    expect(of.cleared).toEqual([{ type: "part_line", id: "l2", set: { step: null } }]);
    expect(Object.fromEntries(of.stays)).toEqual({ note: 1 });
    expect(of.along.get("step")).toBe(undefined);
  });
  it("of a bag: steps name it no more, lines of steps stay", () => {
    const of = takings([{ type: "bag", id: "b1" }], where);
    expect(ids(of.gone)).toEqual(["b1"]);
    expect(of.cleared).toEqual(
      expect.arrayContaining([
        { type: "part_line", id: "l2", set: { bag: null } },
        { type: "step", id: "s1", set: { bags: ["b2"] } },
      ]),
    );
  });
  it("of a bag and a step at once: the line that was in both goes", () => {
    const of = takings([{ type: "bag", id: "b1" }, { type: "step", id: "s1" }], where);
    expect(ids(of.gone)).toContain("l2");
    expect(of.cleared).toEqual([]);
  });
  it("of a part: its lines go, joints name it no more", () => {
    const of = takings([{ type: "part", id: "a" }], where);
    expect(ids(of.gone)).toEqual(["a", "l1", "l2"]);
    expect(of.cleared).toEqual([{ type: "joint", id: "j1", set: { part: null } }]);
  });
  it("of a page: steps point at none, and their frames on it mean nothing any more", () => {
    const steps = [
      { type: "step", id: "s1", values: { page: "g1", frame: [0, 0, 1, 0.5] } },
      { type: "step", id: "s2", values: { page: "g1" } },
    ];
    const of = takings([{ type: "page", id: "g1" }], (type, field, id) =>
      steps.filter(({ type: kind, values }) => kind === type && field === "page" && values.page === id),
    );
    expect(ids(of.gone)).toEqual(["g1"]);
    expect(of.cleared).toEqual([
      { type: "step", id: "s1", set: { page: null, frame: null } },
      { type: "step", id: "s2", set: { page: null } },
    ]);
    expect(Object.fromEntries(of.loses)).toEqual({ step: 2 });
  });
});

describe("a kit or a build as a whole", () => {
  // One record of every type of the wire, in a kit with two builds, and all of it once more.
  const scoped = (scope: string) =>
    Object.entries(RECORD_META).flatMap(([type, meta]) => (meta.scope === scope ? [type] : []));
  const records = ["k1", "k2"].flatMap((kit) => [
    { type: "kit", id: kit, values: {} },
    ...scoped("kit").map((type) => ({ type, id: `${kit}-${type}`, values: { kit } })),
    ...["a", "b"].flatMap((nth) => {
      const build = `${kit}/${nth}`;
      return [
        { type: "build", id: build, values: { kit } },
        ...scoped("build").map((type) => ({ type, id: `${build}-${type}`, values: { build } })),
      ];
    }),
  ]);
  const where: Where = (type, field, id) =>
    records.filter((one) => one.type === type && (one.values as Record<string, string>)[field] === id);
  const named = (of: readonly { id: string }[]) => of.map(({ id }) => id).sort();

  it("a kit is all that names it, with its builds and what names those; no other kit's", () => {
    const of = wholeOf({ type: "kit", id: "k1" }, where);
    expect(of.heads).toEqual([
      { type: "kit", id: "k1" },
      { type: "build", id: "k1/a" },
      { type: "build", id: "k1/b" },
    ]);
    expect(named([...of.heads, ...of.contents])).toEqual(
      named(records.filter(({ id }) => id.startsWith("k1"))),
    );
    expect(of.inKit.get("step")).toBe(1);
    expect(of.inBuilds.get("photo")).toBe(2);
    expect([...of.inKit.keys()]).toEqual(scoped("kit"));
  });
  it("a build is what names it, and nothing of its kit or of another build", () => {
    const of = wholeOf({ type: "build", id: "k1/a" }, where);
    expect(named([...of.heads, ...of.contents])).toEqual(
      named(records.filter(({ id }) => id.startsWith("k1/a"))),
    );
    expect(of.inKit.size).toBe(0);
  });
  it("is one group up to what the server takes as one (wire/packing.py: 20,000), else several", () => {
    const all = Array.from({ length: 20_001 }, (_, at) => at);
    expect(inGroups(all.slice(1)).map((part) => part.length)).toEqual([20_000]);
    expect(inGroups(all).map((part) => part.length)).toEqual([20_000, 1]);
    expect(inGroups(all, 7_000).flat()).toEqual(all);
    expect(GROUP_MAX).toBe(20_000);
  });
});
