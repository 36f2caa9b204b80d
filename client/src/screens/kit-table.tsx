/** Kit table: one list of a kit as rows and columns, for the desk and its keyboard. */
import { useMemo } from "preact/hooks";
import { to } from "../routes";
import type { View } from "../sync/types";
import { Loading, Page, QuietButton, Row, useBench, useSession } from "../ui/parts";
import { kitWords } from "../ui/words-kit";
import { useArriving } from "./bench/work";
import { tableOf } from "./kit/columns";
import { Grid } from "./kit/grid";
import { TABLES, type TableName } from "./kit/tables";
import { useEditor, useKit } from "./kit/use-editor";
import "./kit.css";

const text = kitWords.table;

export default function KitTable(props: { kit: string; what: string }) {
  const { store } = useBench();
  const loaded = useKit(props.kit);
  const arriving = useArriving();
  const kit = store.get("kit", props.kit);
  const what = TABLES.find((one) => one === props.what);
  if (!kit || !loaded || !what) {
    const waits = Boolean(what) && (arriving || Boolean(kit));
    return (
      <Page
        title={waits ? kitWords.asTable : kitWords.none}
        back={to.kit(props.kit)}
        backLabel={kitWords.back}
      >
        {waits ? <Loading what={kitWords.loading} /> : <p>{kitWords.noneHelp}</p>}
      </Page>
    );
  }
  return <Loaded kit={kit} what={what} />;
}

function Loaded({ kit, what }: { kit: View<"kit">; what: TableName }) {
  const { store } = useBench();
  const editor = useEditor(kit.id);
  const workshop = useSession()?.workshop.id ?? null;
  const table = useMemo(
    () => tableOf(store, kit.id, what, workshop),
    [store, kit.id, what, workshop],
  );
  const name = kit.values.name ?? "";
  const title = text.title(kitWords.tables[what], name);
  return (
    <Grid
      key={what}
      editor={editor}
      table={table}
      label={title}
      jot={`${kit.id}/${what}`}
      back={to.kit(kit.id)}
      backLabel={name}
    >
      <section class="block">
        <h2>{text.others}</h2>
        <Row>
          {TABLES.filter((one) => one !== what).map((one) => (
            <QuietButton key={one} href={to.kitTable(kit.id, one)}>
              {kitWords.tables[one]}
            </QuietButton>
          ))}
        </Row>
      </section>
    </Grid>
  );
}
