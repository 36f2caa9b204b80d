/** Who may import whom in the client; DEVELOPERS.md draws it. */
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { describe, expect, test } from "vitest";

const src = join(__dirname, "..", "src");

/** From the bottom up. A folder imports from itself and from lines above its own. */
const layers = [["core"], ["db", "net"], ["sync"], ["ui", "scan"], ["screens"]];
const rank = new Map(layers.flatMap((names, at) => names.map((name) => [name, at] as const)));

const files = readdirSync(src, { recursive: true, encoding: "utf8" })
  .map((name) => name.replaceAll("\\", "/"))
  .filter((name) => /\.tsx?$/.test(name));

interface Import {
  from: string;
  to: string;
  typeOnly: boolean;
}

const imports: Import[] = files.flatMap((from) => {
  const code = readFileSync(join(src, from), "utf8");
  const found = /(?:import|export)(\s+type)?\s[^;"']*?from\s*"([^"]+)"|import\(\s*"([^"]+)"\s*\)|import\s+"([^"]+)"/g;
  return [...code.matchAll(found)].map((hit) => ({
    from,
    to: hit[2] ?? hit[3] ?? hit[4] ?? "",
    typeOnly: hit[1] !== undefined,
  }));
});

const folder = (path: string): string => (path.includes("/") ? (path.split("/")[0] ?? "") : "");

/** Path below src of a relative import. */
const target = ({ from, to }: Import): string =>
  normalize(join(dirname(from), to)).replaceAll("\\", "/");

describe("imports of the client run one way", () => {
  test("the list of files is not empty, so that the rest means something", () => {
    expect(files).toContain("sw.ts");
    expect(imports.length).toBeGreaterThan(20);
  });

  test("a folder imports only what stands below it", () => {
    const wrong = imports
      .filter((one) => one.to.startsWith("."))
      .filter((one) => {
        const mine = rank.get(folder(one.from));
        const theirs = folder(target(one));
        if (mine === undefined || theirs === folder(one.from)) return false;
        // What the screens may ask is said in one place, and whoever does it has to see it.
        if (one.typeOnly && /^(sync\/types|update)$/.test(target(one))) return mine === 0;
        // Of the files of the top, screens know the addresses.
        if (theirs === "") return target(one) !== "routes" || mine < 3;
        return (rank.get(theirs) ?? 99) >= mine;
      })
      .map((one) => `${one.from} -> ${one.to}`);
    expect(wrong).toEqual([]);
  });

  test("nobody but main and app imports them", () => {
    const wrong = imports
      .filter((one) => one.to.startsWith(".") && /^(main|app|sw)$/.test(target(one)))
      .filter((one) => one.from !== "main.tsx");
    expect(wrong).toEqual([]);
  });

  const doors: [string, RegExp, RegExp][] = [
    ["IndexedDB", /\bindexedDB\b|from "idb"/, /^db\//],
    ["local storage", /\b(localStorage|sessionStorage)\b/, /^db\//],
    // sync/app puts the parts together, and hands fetch to the door.
    ["the network", /(?<![\w.#])fetch\((?!\))|\bXMLHttpRequest\b|new EventSource\(/, /^(net\/|sync\/app\.ts$)/],
    ["WebAssembly", /from "zxing-wasm/, /^scan\//],
  ];
  test.each(doors)("there is one door to %s", (_, use, door) => {
    const wrong = files
      .filter((name) => !door.test(name))
      .filter((name) => use.test(withoutComments(readFileSync(join(src, name), "utf8"))));
    expect(wrong).toEqual([]);
  });

  test("core takes time and randomness as arguments", () => {
    const wrong = files
      .filter((name) => name.startsWith("core/"))
      .filter((name) =>
        /\bDate\.now\(|new Date\(\)|Math\.random\(|\bperformance\./.test(
          withoutComments(readFileSync(join(src, name), "utf8")),
        ),
      );
    expect(wrong).toEqual([]);
  });
});

function withoutComments(code: string): string {
  return code.replace(/\/\*[\s\S]*?\*\//g, "").replace(/^\s*\/\/.*$/gm, "");
}
