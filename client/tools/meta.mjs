/**
 * Writes src/core/meta.gen.ts from the record schemas of the OpenAPI document: scope, quiet and
 * derived fields, collection, required fields, references. Run by `npm run types`.
 *
 *     node tools/meta.mjs [openapi.json [meta.gen.ts]]
 */
import { readFileSync, writeFileSync } from "node:fs";

const [source = "openapi.json", target = "src/core/meta.gen.ts"] = process.argv.slice(2);
const schemas = JSON.parse(readFileSync(source, "utf8")).components.schemas;

const typeOf = (name) => name.replace(/(?<=[a-z0-9])(?=[A-Z])/g, "_").toLowerCase();
const list = (names) => `[${[...(names ?? [])].map((name) => JSON.stringify(name)).join(", ")}]`;
const refs = (properties) =>
  Object.entries(properties)
    .map(([field, schema]) => [field, schema["x-ref"] ?? schema.items?.["x-ref"]])
    .filter(([, kind]) => kind)
    .map(([field, kind]) => `${field}: ${JSON.stringify(kind)}`);

const entries = Object.entries(schemas)
  .filter(([, schema]) => schema["x-collection"])
  .map(
    ([name, schema]) => `  ${typeOf(name)}: {
    scope: ${JSON.stringify(schema["x-scope"] ?? null)},
    quiet: new Set<string>(${list([...(schema["x-quiet"] ?? [])].sort())}),
    derived: ${list(schema["x-derived"])},
    collection: ${JSON.stringify(schema["x-collection"])},
    required: ${list(schema["x-required"] ?? schema.required)},
    refs: { ${refs(schema.properties).join(", ")} },
  },`,
  );
if (entries.length === 0) throw new Error(`${source} describes no records (x-collection)`);

writeFileSync(
  target,
  `/** Made by tools/meta.mjs from the OpenAPI document. Do not edit. */
export const RECORD_META = {
${entries.join("\n")}
} as const;
`.replaceAll("{  }", "{}"),
);
