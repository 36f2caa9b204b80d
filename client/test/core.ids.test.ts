/** Ids: derived ones as the server derives them, random ones as RFC 9562 has them. */
import { describe, expect, it, test } from "vitest";
import { DERIVED_NAMESPACE, derivedId, randomClock, randomId } from "../src/core/ids";
import { vectors } from "./vectors";

interface Vectors {
  namespace: string;
  derived: { type: string; parts: string[]; id: string }[];
}

const known = vectors<Vectors>("ids");

describe("ids", () => {
  it("are derived in one namespace on both sides", () => {
    expect(DERIVED_NAMESPACE).toBe(known.namespace);
  });
  test.each(known.derived)("$type $id", ({ type, parts, id }) => {
    expect(derivedId(type, ...parts)).toBe(id);
  });
  it("are of version 4, variant 10, from the bytes given (RFC 9562, 5.4)", () => {
    expect(randomId(new Uint8Array(16))).toBe("00000000-0000-4000-8000-000000000000");
    expect(randomId(new Uint8Array(16).fill(255))).toBe("ffffffff-ffff-4fff-bfff-ffffffffffff");
    const bytes = new Uint8Array(16).fill(7);
    randomId(bytes);
    expect(bytes).toEqual(new Uint8Array(16).fill(7));
    expect(() => randomId(new Uint8Array(15))).toThrow(RangeError);
  });
  it("of a clock are 16 hex digits", () => {
    expect(randomClock(Uint8Array.from([0, 1, 2, 3, 252, 253, 254, 255]))).toBe("00010203fcfdfeff");
    expect(() => randomClock(new Uint8Array(7))).toThrow(RangeError);
  });
});
