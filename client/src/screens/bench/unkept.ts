/** Pictures for which the storage had no room: here until they are kept or thrown away. */
import { signal } from "@preact/signals";

export interface Unkept {
  readonly file: File;
  readonly build: string;
  readonly step: string | null;
}

export const unkept = signal<readonly Unkept[]>([]);
