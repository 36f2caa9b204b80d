/** Undo and redo of edits: any sequence taken back gives the beginning; others' words stay. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  EDITS_MAX,
  NO_EDITS,
  again,
  backwards,
  deedsOf,
  forwards,
  pushed,
  redone,
  undone,
  type Edit,
  type Look,
  type Stack,
  type Writing,
} from "../src/core/undo";

type Values = Record<string, unknown>;

/** A store as small as can be: records that stand, and those that are deleted. */
class Shelf {
  readonly all = new Map<string, Values>();
  readonly gone = new Set<string>();

  readonly look: Look = (type, id) => {
    const key = `${type}:${id}`;
    return this.gone.has(key) ? undefined : this.all.get(key);
  };

  write({ drafts, remove }: Writing): void {
    for (const { type, id, set } of drafts) {
      const key = `${type}:${id}`;
      this.all.set(key, { ...this.all.get(key), ...set });
      if ("deleted" in set && set.deleted === null) this.gone.delete(key);
    }
    for (const { type, id } of remove) this.gone.add(`${type}:${id}`);
  }

  /** What stands, with fields that are empty left out. */
  seen(): Record<string, Values> {
    return Object.fromEntries(
      [...this.all]
        .filter(([key]) => !this.gone.has(key))
        .map(([key, values]) => [
          key,
          Object.fromEntries(
            Object.entries(values).filter(([k, v]) => k !== "deleted" && v !== null),
          ),
        ]),
    );
  }
}

const id = fc.constantFrom("a", "b", "c", "d");
const value = fc.constantFrom(null, 1, 2, "x", ["a", "b"]);
const fields = fc.dictionary(fc.constantFrom("name", "order", "bags"), value, { minKeys: 1 });
const writing: fc.Arbitrary<Writing> = fc.record({
  drafts: fc.array(fc.record({ type: fc.constant("bag"), id, set: fields }), { maxLength: 3 }),
  remove: fc.array(fc.record({ type: fc.constant("bag"), id }), { maxLength: 2 }),
});
/** As the screens ask: nothing is changed and deleted at once, and what is deleted is not written. */
const sensible = (asked: Writing, shelf: Shelf): Writing => {
  const known = (one: { type: string; id: string }) => !shelf.gone.has(`${one.type}:${one.id}`);
  const drafts = asked.drafts.filter(known);
  const drawn = new Set(drafts.map((one) => one.id));
  const remove = asked.remove.filter((one, i, all) => {
    const first = all.findIndex((other) => other.id === one.id) === i;
    return first && !drawn.has(one.id);
  });
  return { drafts, remove };
};

function edit(shelf: Shelf, asked: Writing): Edit | null {
  const deeds = deedsOf(sensible(asked, shelf), shelf.look);
  if (deeds.length === 0) return null;
  shelf.write(forwards(deeds));
  return { said: "an edit", deeds, together: false };
}

const beginning = fc.dictionary(id, fields, { maxKeys: 3 });
const shelfOf = (records: Record<string, Values>): Shelf => {
  const shelf = new Shelf();
  for (const [key, values] of Object.entries(records)) shelf.all.set(`bag:${key}`, values);
  return shelf;
};

describe("undo", () => {
  it("of any sequence of edits gives the beginning, and redo of all of them the end", () => {
    fc.assert(
      fc.property(beginning, fc.array(writing, { maxLength: 8 }), (records, asked) => {
        const shelf = shelfOf(records);
        const before = shelf.seen();
        let stack: Stack = NO_EDITS;
        for (const one of asked) {
          const made = edit(shelf, one);
          if (made) stack = pushed(stack, made);
        }
        const after = shelf.seen();
        for (let last = stack.done.at(-1); last; last = stack.done.at(-1)) {
          const { left, ...back } = backwards(last, shelf.look);
          expect(left).toEqual([]);
          shelf.write(back);
          stack = undone(stack);
        }
        expect(shelf.seen()).toEqual(before);
        for (let next = stack.undone.at(-1); next; next = stack.undone.at(-1)) {
          const { left, ...on } = again(next, shelf.look);
          expect(left).toEqual([]);
          shelf.write(on);
          stack = redone(stack);
        }
        expect(shelf.seen()).toEqual(after);
      }),
    );
  });

  it("leaves what somebody else has written since, and names it", () => {
    const shelf = shelfOf({ a: { name: "Axle", order: 1 } });
    const mine = edit(shelf, {
      drafts: [{ type: "bag", id: "a", set: { name: "Hub", order: 2 } }],
      remove: [],
    });
    shelf.write({ drafts: [{ type: "bag", id: "a", set: { name: "Wheel" } }], remove: [] });
    const { left, ...back } = backwards(mine!, shelf.look);
    shelf.write(back);
    expect(left).toEqual([{ type: "bag", id: "a", field: "name" }]);
    expect(shelf.seen()["bag:a"]).toEqual({ name: "Wheel", order: 1 });
  });

  it("does not delete what was added once somebody else has worked on it", () => {
    const shelf = shelfOf({});
    const mine = edit(shelf, {
      drafts: [{ type: "bag", id: "a", set: { name: "Axle" } }],
      remove: [],
    });
    shelf.write({ drafts: [{ type: "bag", id: "a", set: { bags: ["b"] } }], remove: [] });
    const step = backwards(mine!, shelf.look);
    expect(step.remove).toEqual([]);
    expect(step.left).toEqual([{ type: "bag", id: "a", field: null }]);
  });

  it("brings back what was deleted, and what went along, in the same write", () => {
    const shelf = shelfOf({ a: { name: "Axle" }, b: { name: "Hub", bags: ["a"] } });
    const mine = edit(shelf, {
      drafts: [{ type: "bag", id: "b", set: { bags: [] } }],
      remove: [{ type: "bag", id: "a" }],
    });
    expect(shelf.seen()).toEqual({ "bag:b": { name: "Hub", bags: [] } });
    const { drafts, remove } = backwards(mine!, shelf.look);
    expect(remove).toEqual([]);
    shelf.write({ drafts, remove });
    expect(shelf.seen()).toEqual({ "bag:a": { name: "Axle" }, "bag:b": { name: "Hub", bags: ["a"] } });
  });

  it("says so where the record is gone", () => {
    const shelf = shelfOf({ a: { name: "Axle" } });
    const mine = edit(shelf, {
      drafts: [{ type: "bag", id: "a", set: { name: "Hub" } }],
      remove: [],
    });
    shelf.write({ drafts: [], remove: [{ type: "bag", id: "a" }] });
    expect(backwards(mine!, shelf.look)).toEqual({
      drafts: [],
      remove: [],
      left: [{ type: "bag", id: "a", field: null }],
    });
  });
});

describe("the stack", () => {
  const one = (said: string): Edit => ({ said, deeds: [], together: false });
  it("forgets what was taken back once something new is done, and the oldest of very many", () => {
    let stack = pushed(pushed(NO_EDITS, one("a")), one("b"));
    stack = undone(stack);
    expect(stack.undone.map(({ said }) => said)).toEqual(["b"]);
    stack = pushed(stack, one("c"));
    expect(stack.done.map(({ said }) => said)).toEqual(["a", "c"]);
    expect(stack.undone).toEqual([]);
    for (let i = 0; i < EDITS_MAX; i += 1) stack = pushed(stack, one(String(i)));
    expect(stack.done).toHaveLength(EDITS_MAX);
    expect(undone(NO_EDITS)).toEqual(NO_EDITS);
    expect(redone(NO_EDITS)).toEqual(NO_EDITS);
  });

  it("takes nothing for an edit that stands already; an empty field is as one never set", () => {
    const shelf = shelfOf({ a: { name: "Axle" } });
    const asked = { drafts: [{ type: "bag", id: "a", set: { name: "Axle", bags: null } }], remove: [] };
    expect(edit(shelf, asked)).toBe(null);
  });
});
