// After `vite build`: packs the files for the wire and holds them to their budgets.
// Packing once here costs nothing at run time; the server sends what stands beside a file.
import { readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const dist = join(dirname(fileURLToPath(import.meta.url)), "..", "dist");
const packable = /\.(css|html|js|json|svg|wasm|webmanifest)$/;

const files = readdirSync(dist, { recursive: true, withFileTypes: true })
  .filter((entry) => entry.isFile() && packable.test(entry.name))
  .map((entry) => relative(dist, join(entry.parentPath ?? entry.path, entry.name)))
  .map((name) => name.replaceAll("\\", "/"));

const packed = new Map();
for (const name of files) {
  const body = readFileSync(join(dist, name));
  const gzip = gzipSync(body, { level: 9 });
  packed.set(name, gzip.length);
  if (body.length < 1024) continue;
  writeFileSync(join(dist, `${name}.gz`), gzip);
  writeFileSync(
    join(dist, `${name}.br`),
    brotliCompressSync(body, { params: { [constants.BROTLI_PARAM_QUALITY]: 11 } }),
  );
}

/** Screens of a first visit: they are loaded by and by, but before anything can be done. */
const FIRST_SCREENS = /^assets\/(builds|firstrun)-[^/]+\.js$/;

/** Scripts that a first visit loads: the entry, the first screens, and all that they import. */
function firstLoad() {
  const html = readFileSync(join(dist, "index.html"), "utf8");
  const found = new Set();
  const queue = [...html.matchAll(/(?:src|href)="\/(assets\/[^"]+\.js)"/g)].map((hit) => hit[1]);
  queue.push(...files.filter((name) => FIRST_SCREENS.test(name)));
  while (queue.length > 0) {
    const name = queue.pop();
    if (found.has(name)) continue;
    found.add(name);
    const code = readFileSync(join(dist, name), "utf8");
    for (const hit of code.matchAll(/(?:from|import)\s*"\.\/([^"]+\.js)"/g)) {
      queue.push(`assets/${hit[1]}`);
    }
  }
  return [...found];
}

const kilobytes = (names) => names.reduce((sum, name) => sum + (packed.get(name) ?? 0), 0) / 1024;
const called = (pattern) => files.filter((name) => pattern.test(name));
const precached = (readFileSync(join(dist, "sw.js"), "utf8").match(/assets\/[^"'`]+/g) ?? [])
  .concat("index.html")
  .filter((name) => files.includes(name))
  .reduce((sum, name) => sum + statSync(join(dist, name)).size, 0);

// Kilobytes of 1024 bytes after gzip -9; the last one unpacked.
const budgets = [
  ["JavaScript of the first load", kilobytes(firstLoad()), 60],
  ["style sheets", kilobytes(called(/\.css$/)), 15],
  ["decoder's worker", kilobytes(called(/worker.*\.js$/)), 20],
  ["service worker", kilobytes(["sw.js"]), 10],
  ["decoder", kilobytes(called(/\.wasm$/)), 430],
  ["everything kept offline, unpacked", precached / 1024, 2048],
];
let over = 0;
for (const [what, size, most] of budgets) {
  const late = size > most;
  if (late) over += 1;
  console.log(`${late ? "OVER " : "     "}${size.toFixed(1).padStart(8)} of ${most} kB  ${what}`);
}
if (over > 0) {
  console.error("The app has grown over its budget: see the lines marked OVER.");
  process.exit(1);
}
