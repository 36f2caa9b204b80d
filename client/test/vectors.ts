/** Reads tests/contract/*.json as the wire would: an import would make `__proto__` a prototype. */
import { readFileSync } from "node:fs";

export function vectors<T>(name: string): T {
  const path = new URL(`../../tests/contract/${name}.json`, import.meta.url);
  return JSON.parse(readFileSync(path, "utf8")) as T;
}
