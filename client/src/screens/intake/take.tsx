/** Taking it in: what for, under which name, and what came of it. */
import { useState } from "preact/hooks";
import { nameFromFile, type Intake, type Taken, type Taking } from "../../core/intakes";
import { to } from "../../routes";
import type { Intakes, Store, View } from "../../sync/types";
import {
  BigButton,
  Field,
  Mark,
  Notice,
  QuietButton,
  Row,
  Sheet,
  Trouble,
  useBench,
  useOnce,
} from "../../ui/parts";
import { intakeWords, tally } from "../../ui/words-intake";

const text = intakeWords.take;

export function TakeSheet(props: {
  intakes: Intakes;
  intake: Intake;
  open: boolean;
  onClose: () => void;
  onTaken: (taken: Taken) => void;
}) {
  const { intakes, intake } = props;
  const { store, jotter } = useBench();
  const key = `intake.name.${intake.id}`;
  const [name, setName] = useState(
    () => jotter.read(key) ?? ((intake.kind !== "text" && nameFromFile(intake.name)) || text.nameDefault),
  );
  const [pages, setPages] = useState(true);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<{ title: string; detail?: string | undefined } | null>(null);
  const once = useOnce();
  const kit = intake.kit === null ? null : store.get("kit", intake.kit);
  const called = name.trim();

  const take = async (): Promise<void> => {
    if (intake.kit === null && !called) return;
    setBusy(true);
    setTrouble(null);
    const taking: Taking = {
      ...(intake.kit === null ? { name: called } : { kit: intake.kit }),
      ...(intake.kind === "manual" ? { pages } : {}),
    };
    const answer = await intakes.take(intake.id, taking);
    setBusy(false);
    if (answer.kind === "ok") {
      jotter.drop(key);
      props.onTaken(answer.value);
    } else if (answer.kind === "offline") setTrouble({ title: text.offline });
    else setTrouble(answer.problem);
  };
  return (
    <Sheet
      open={props.open}
      title={text.title}
      onClose={props.onClose}
      main={
        <BigButton busy={busy} onTap={() => once(take)}>
          {text.take}
        </BigButton>
      }
    >
      <p>
        <strong>{tally(intake.counts)}</strong>
      </p>
      {intake.kit === null ? (
        <Field
          label={text.name}
          hint={text.nameHint}
          value={name}
          maxLength={120}
          error={called ? null : text.nameMissing}
          onInput={(value) => {
            setName(value);
            jotter.write(key, value);
          }}
        />
      ) : (
        <p>{text.into(kit?.values.name ?? "")}</p>
      )}
      {intake.kind === "manual" && (
        <label class="intake-tick">
          <input type="checkbox" checked={pages} onChange={(event) => setPages(event.currentTarget.checked)} />
          <span>{text.pages}</span>
        </label>
      )}
      {(intake.asking > 0 || intake.unfit > 0) && (
        <Notice>
          {intake.asking > 0 && <p>{text.asking(intake.asking)}</p>}
          {intake.unfit > 0 && <p>{text.unfit(intake.unfit)}</p>}
        </Notice>
      )}
      <p class="soft">{text.again}</p>
      {trouble && <Trouble title={trouble.title} detail={trouble.detail} />}
    </Sheet>
  );
}

/** After it: what became of it, and the ways on. */
export function TakenIn({ kit, taken }: { kit: string; taken: Taken | null }) {
  const { store } = useBench();
  const view = store.get("kit", kit);
  const build = taken?.build ?? newestBuild(store, kit);
  const bags = store.where("bag", "kit", kit).length;
  const made = taken && tally(taken.made);
  const changed = taken && tally(taken.changed);
  return (
    <>
      <p class="state">
        <Mark sign="done" /> {view ? text.doneInto(view.values.name ?? "") : text.done}
      </p>
      {made && <p>{text.made(made)}</p>}
      {changed && <p>{text.changed(changed)}</p>}
      {taken && !made && !changed && <p>{text.same}</p>}
      {taken && (taken.left > 0 || taken.clashes > 0) && (
        <Notice sign={taken.clashes > 0 ? "two_tags" : "left_out"}>
          {taken.left > 0 && <p>{text.left(taken.left)}</p>}
          {taken.clashes > 0 && <p>{text.clashes(taken.clashes)}</p>}
        </Notice>
      )}
      {!view && (
        <Notice sign="cut">
          <p>{taken ? text.notHere : text.notHereNow}</p>
        </Notice>
      )}
      <Row>
        {build && bags > 0 && <QuietButton href={to.path(build)}>{text.path}</QuietButton>}
        {view && <QuietButton href={to.kit(kit)}>{text.kit}</QuietButton>}
        {!view && !build && <QuietButton href={to.builds()}>{text.builds}</QuietButton>}
      </Row>
    </>
  );
}

/** The one thing to do next when it is taken in. */
export function AfterTaken({ kit, taken }: { kit: string; taken: Taken | null }) {
  const { store } = useBench();
  const build = taken?.build ?? newestBuild(store, kit);
  const bags = store.where("bag", "kit", kit).length > 0 || (taken?.made["bag"] ?? 0) > 0;
  if (bags) return <BigButton href={to.labels(kit)}>{text.labels}</BigButton>;
  return <BigButton href={build ? to.path(build) : to.builds()}>{build ? text.path : text.builds}</BigButton>;
}

function newestBuild(store: Store, kit: string): string | undefined {
  const begun = (one: View<"build">): string => one.values.started_at ?? "";
  return [...store.where("build", "kit", kit)].sort((a, b) => (begun(a) < begun(b) ? 1 : -1))[0]?.id;
}
