/** Cautions, of a step or for the whole kit: added, changed, moved and deleted. */
import { behind } from "../../core/placing";
import type { View } from "../../sync/types";
import { kitWords } from "../../ui/words-kit";
import { AddLines, wholeLine } from "./add-lines";
import { Kept, KeptChoose } from "./kept";
import { EditList, placed } from "./list";
import type { Editor } from "./use-editor";

const KINDS = (["hurts", "spoils"] as const).map(
  (kind) => [kind, kitWords.kinds[kind] ?? kind] as const,
);

/** `along`: what is set along with each new one. */
export function Cautions(props: {
  editor: Editor;
  label: string;
  cautions: readonly View<"caution">[];
  jot: string;
  along: { kit: string; step: string | null };
}) {
  const { editor, cautions } = props;
  return (
    <>
      <EditList
        editor={editor}
        label={props.label}
        views={cautions}
        row={({ values }) => ({
          title: values.text ?? "",
          note: kitWords.kinds[values.kind ?? ""],
        })}
      >
        {(view) => (
          <>
            <Kept editor={editor} view={view} field="text" lines={3} />
            <KeptChoose editor={editor} view={view} field="kind" options={KINDS} required />
          </>
        )}
      </EditList>
      <AddLines
        editor={editor}
        type="caution"
        jot={props.jot}
        read={wholeLine("text")}
        rest={(n) => behind(cautions.map(placed), n).map((order) => ({ ...props.along, order }))}
        ways={[
          [kitWords.addHurts, { kind: "hurts" }],
          [kitWords.addSpoils, { kind: "spoils" }],
        ]}
        called={(set) => kitWords.quoted(String(set.text ?? ""))}
      />
    </>
  );
}
