/** The hooks with which the editor's screens read a kit and write to it. */
import { useEffect } from "preact/hooks";
import { newCode } from "../../core/codes";
import type { LengthUnit } from "../../core/numbers";
import type { Left } from "../../core/undo";
import type { RecordType } from "../../core/records";
import { editingOf, type Editing, type EditOptions } from "../../sync/editing";
import type { Draft, Store } from "../../sync/types";
import { say, sayTrouble, useBench, words } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { useLoaded } from "../bench/work";
import { nameOf } from "./names";

export interface Editor {
  readonly kit: string;
  readonly editing: Editing;
  /** Saves an edit and says so with the way back; whether it is saved. */
  save(drafts: readonly Draft[], options: EditOptions): Promise<boolean>;
  undo(): Promise<void>;
  redo(): Promise<void>;
}

/** What was left as it is, in words. */
function leftWords(store: Store, left: readonly Left[]): string[] {
  const texts = left.map(({ type, id, field }) => {
    const of = nameOf(store, type as RecordType, id);
    return field === null ? of : kitWords.leftField(kitWords.fields[field] ?? field, of);
  });
  return [...new Set(texts)];
}

export function useEditor(kit: string): Editor {
  const { store } = useBench();
  const editing = editingOf(store, kit);
  const back = async (way: "undo" | "redo"): Promise<void> => {
    try {
      const done = await editing[way]();
      if (!done) return;
      const said =
        way === "undo" ? kitWords.undone(done.edit.said) : kitWords.redone(done.edit.said);
      if (done.left.length > 0) sayTrouble(kitWords.left(said, leftWords(store, done.left)));
      else say(said);
    } catch {
      sayTrouble(words.shared.notSaved);
    }
  };
  return {
    kit,
    editing,
    undo: () => back("undo"),
    redo: () => back("redo"),
    async save(drafts, options) {
      try {
        const edit = await editing.edit(drafts, options);
        if (edit) say(options.said, () => back("undo"));
        return true;
      } catch {
        sayTrouble(words.shared.notSaved);
        return false;
      }
    },
  };
}

/** Reads a kit and, for what hangs on it there, its builds; false until the kit is here. */
export function useKit(kit: string): boolean {
  const { store } = useBench();
  const builds = store.all("build").filter(({ values }) => values.kit === kit);
  const loaded = useLoaded(kit);
  const ids = builds.map(({ id }) => id).join(" ");
  useEffect(() => {
    for (const id of ids.split(" ").filter(Boolean)) void store.load(id).catch(() => undefined);
  }, [store, ids]);
  return loaded;
}

/** Ctrl+Z and Ctrl+Shift+Z or Ctrl+Y, wherever no text is being typed. */
export function useUndoKeys(editor: Editor): void {
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const at = event.target;
      if (at instanceof HTMLElement && at.matches("input, textarea, select")) return;
      const key = event.key.toLowerCase();
      if (key !== "z" && key !== "y") return;
      event.preventDefault();
      void (key === "y" || event.shiftKey ? editor.redo() : editor.undo());
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  });
}

/** What lengths are typed and shown in. */
export function unitOf(store: Store): LengthUnit {
  return store.all("workshop")[0]?.values.units === "inch" ? "inch" : "mm";
}

/** `n` codes that no other bag has. Throws RangeError if the workshop is full. */
export function freshCodes(store: Store, workshop: string, n: number): string[] {
  const taken = new Set(store.all("bag").map(({ values }) => values.code ?? ""));
  const draw = () => crypto.getRandomValues(new Uint32Array(1))[0] ?? 0;
  return Array.from({ length: n }, () => {
    const code = newCode(workshop, draw, taken);
    taken.add(code);
    return code;
  });
}
