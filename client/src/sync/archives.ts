/** Archives: where the server hands them out, and how one is brought in. */
import { upload } from "../net/upload";
import type { Answer } from "./types";

/** What came of an archive that was brought in. */
export interface Brought {
  readonly name: string;
  readonly kit: string | null;
  readonly builds: readonly string[];
  /** New records, changes and pictures. All 0: it was here already. */
  readonly records: number;
  readonly changes: number;
  readonly photos: number;
  /** Records that had been deleted and cleared away here, and stay so. */
  readonly cleared: number;
  /** It got ids and labels of its own. */
  readonly copied: boolean;
}

export type Kind = "kit" | "build";

/** Path of the archive of a kit or build, for a link. */
export const archivePath = (kind: Kind, id: string): string => `/api/${kind}s/${id}/archive.zip`;

/** Path of its tables. */
export const tablesPath = (kind: Kind, id: string): string => `/api/${kind}s/${id}/tables.zip`;

/**
 * Sends an archive to the server of this workshop. `tooLarge`: what to say where something on the way
 * lets so large a file not pass. Never rejects.
 */
export async function bringArchive(
  workshop: string,
  file: Blob,
  onSent: (share: number) => void,
  tooLarge: { readonly title: string; readonly detail: string },
): Promise<Answer<Brought>> {
  const reply = await upload({
    path: "/api/archives",
    file,
    headers: { "Bagtrail-Workshop": workshop },
    read: broughtOf,
    onSent,
  });
  switch (reply.kind) {
    case "ok":
      return { kind: "ok", value: reply.value };
    case "problem":
      return { kind: "problem", problem: reply.problem };
    case "notOurs":
      if (reply.status !== 413) return { kind: "offline" };
      return { kind: "problem", problem: { type: "about:blank", status: 413, ...tooLarge } };
    case "offline":
      return { kind: "offline" };
  }
}

/** Throws if it is not what was agreed. */
export function broughtOf(body: unknown): Brought {
  const said = body as Partial<Record<string, unknown>> | null;
  const { name, kit, builds, made, added, photos, cleared, copied } = said ?? {};
  const right =
    typeof name === "string" &&
    (kit === null || typeof kit === "string") &&
    Array.isArray(builds) &&
    builds.every((one): one is string => typeof one === "string") &&
    typeof made === "object" &&
    made !== null &&
    typeof added === "number" &&
    typeof photos === "number" &&
    typeof cleared === "number" &&
    typeof copied === "boolean";
  if (!right) throw new Error("a reply about an archive was agreed");
  const records = Object.values(made).reduce<number>((sum, one) => sum + Number(one), 0);
  return { name, kit, builds, records, changes: added, photos, cleared, copied };
}
