/** Record metadata is what the OpenAPI document says, and covers every type. */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { metaOf, RECORD_META } from "../src/core/meta";

describe("record metadata", () => {
  it("is fresh: as made now from openapi.json", () => {
    const folder = mkdtempSync(join(tmpdir(), "meta-"));
    const target = join(folder, "meta.gen.ts");
    const client = new URL("..", import.meta.url).pathname;
    execFileSync(process.execPath, ["tools/meta.mjs", "openapi.json", target], { cwd: client });
    expect(readFileSync(target, "utf8")).toBe(
      readFileSync(new URL("../src/core/meta.gen.ts", import.meta.url), "utf8"),
    );
    rmSync(folder, { recursive: true });
  });
  it("names only types and fields that there are", () => {
    for (const [type, meta] of Object.entries(RECORD_META)) {
      expect(metaOf(type)).toBe(meta);
      if (meta.scope) expect(meta.refs).toHaveProperty(meta.scope, meta.scope);
      for (const field of meta.derived) expect(meta.required).toContain(field);
      for (const kinds of Object.values(meta.refs)) {
        for (const kind of kinds.split(" or ")) expect(metaOf(kind)).toBeDefined();
      }
    }
  });
  it("says of a step's progress what the wire says", () => {
    expect(metaOf("step_progress")).toEqual({
      scope: "build",
      quiet: new Set(["at", "device"]),
      derived: ["build", "step"],
      collection: "step_progress",
      required: ["build", "step"],
      refs: { build: "build", step: "step", device: "device" },
    });
  });
  it("is silent about what only a newer server knows", () => {
    expect(metaOf("hologram")).toBeUndefined();
    expect(metaOf("constructor")).toBeUndefined();
  });
});
