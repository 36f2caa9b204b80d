/** Label codes: the vectors that the server runs too, and what they cannot show. */
import { describe, expect, it, test } from "vitest";
import vectors from "../../tests/contract/codes.json";
import {
  ALPHABET, codeFrom, codeOf, inClear, newCode, normalise, sameWorkshop, SEPARATORS, workshopTag,
} from "../src/core/codes";

const WORKSHOP = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5e";

describe("vectors of codes.json", () => {
  it("use one alphabet and forgive the same separators", () => {
    expect(ALPHABET).toBe(vectors.alphabet);
    expect(SEPARATORS).toBe(vectors.separators);
  });
  test.each(vectors.tags)("tag of $workshop", ({ workshop, tag }) => {
    expect(workshopTag(workshop)).toBe(tag);
  });
  test.each(vectors.issued)("code from $random", ({ workshop, random, code }) => {
    expect(codeFrom(workshop, random)).toBe(code);
  });
  test.each(vectors.valid)("$code is taken and printed as $clear", ({ code, clear }) => {
    expect(normalise(code)).toEqual({ code });
    expect(inClear(code)).toBe(clear);
  });
  test.each(vectors.forgiven)("$text is forgiven", ({ text, code }) => {
    expect(normalise(text)).toEqual({ code });
  });
  test.each(vectors.slips)("slip of $text: $reason", ({ text, reason }) => {
    expect(normalise(text)).toMatchObject({ slip: { reason } });
  });
  test.each(vectors.scanned)("pitfall 15: $text is read from any host", ({ text, code }) => {
    expect(codeOf(text)).toEqual({ code });
  });
  test.each(vectors.foreign.map((text) => [text]))("pitfall 15: %j is foreign", (text) => {
    expect(codeOf(text)).toEqual({ slip: { reason: "foreign" } });
  });
  test.each(vectors.same_workshop)("$code of $workshop: $same", ({ code, workshop, same }) => {
    expect(sameWorkshop(code, workshop)).toBe(same);
  });
});

describe("new codes", () => {
  it("skip unusable check characters and codes that are taken", () => {
    let next = 0;
    const taken = new Set<string>();
    for (let i = 0; i < 200; i += 1) {
      const code = newCode(WORKSHOP, () => next++, taken);
      expect(taken.has(code)).toBe(false);
      expect(normalise(code)).toEqual({ code });
      taken.add(code);
    }
    expect(next).toBeGreaterThan(200);
  });
  it("take any 32-bit random number", () => {
    expect(normalise(newCode(WORKSHOP, () => 0xffff_fff0))).toHaveProperty("code");
  });
  it("give up when nothing new is drawn", () => {
    const code = newCode(WORKSHOP, () => 32);
    expect(() => newCode(WORKSHOP, () => 32, new Set([code]))).toThrow(RangeError);
  });
});
