/** Undo and redo under the thumb, each saying what it would do. */
import type { ComponentChildren } from "preact";
import { QuietButton } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { useUndoKeys, type Editor } from "./use-editor";

/** `many`: more buttons beside them than stand in one line of a phone. */
export function UndoBar({
  editor,
  many,
  children,
}: {
  editor: Editor;
  many?: boolean;
  children?: ComponentChildren;
}) {
  useUndoKeys(editor);
  const { done, undone } = editor.editing.stack.value;
  const [last, next] = [done.at(-1), undone.at(-1)];
  return (
    <div class={many ? "kit-reach is-many" : "kit-reach"}>
      <QuietButton
        off={!last}
        onTap={() => void editor.undo()}
        label={last ? kitWords.undoOf(last.said) : kitWords.nothingToUndo}
      >
        {kitWords.undo}
      </QuietButton>
      <QuietButton
        off={!next}
        onTap={() => void editor.redo()}
        label={next ? kitWords.redoOf(next.said) : kitWords.nothingToRedo}
      >
        {kitWords.redo}
      </QuietButton>
      {children}
    </div>
  );
}
