/** The two beginnings: a server without an owner, and a workshop without a kit. */
import { useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import { to } from "../routes";
import { useBench } from "../ui/bench-context";
import { BigButton } from "../ui/buttons";
import { Field } from "../ui/field";
import { Page } from "../ui/page";
import { say } from "../ui/say";
import { Offline, Trouble } from "../ui/states";
import { Tag, TagList } from "../ui/tag";
import { guessKind } from "../ui/this-device";
import { words } from "../ui/words";
import type { Refusal } from "../sync/types";

type Outcome = { kind: "idle" | "busy" | "offline" } | { kind: "problem"; problem: Refusal };

/** What came of asking the server, at the place where it was asked. */
function OutcomeNote({ outcome }: { outcome: Outcome }) {
  if (outcome.kind === "offline") return <Offline />;
  if (outcome.kind !== "problem") return null;
  return <Trouble title={outcome.problem.title} detail={outcome.problem.detail} />;
}

/** A browser on the server's own machine takes the new server with one tap. */
export function Claim() {
  const { membership } = useBench();
  const [workshop, setWorkshop] = useState<string>(words.first.workshopDefault);
  const [name, setName] = useState<string>(words.pair.deviceNames[guessKind()]);
  const [outcome, setOutcome] = useState<Outcome>({ kind: "idle" });
  const take = async () => {
    setOutcome({ kind: "busy" });
    const answer = await membership.claim(
      workshop.trim() || words.first.workshopDefault,
      name.trim() || words.pair.deviceNames[guessKind()],
      guessKind(),
    );
    if (answer.kind === "ok") say(words.first.taken(answer.value.workshop.name));
    else setOutcome(answer);
  };
  return (
    <Page
      title={words.first.title}
      actions={
        <BigButton onTap={() => void take()} busy={outcome.kind === "busy"}>
          {words.first.take}
        </BigButton>
      }
    >
      <p>{words.first.lead}</p>
      <Field
        label={words.first.workshop}
        value={workshop}
        onInput={setWorkshop}
        maxLength={80}
        onEnter={() => void take()}
      />
      <Field
        label={words.first.device}
        value={name}
        onInput={setName}
        maxLength={60}
        onEnter={() => void take()}
      />
      <OutcomeNote outcome={outcome} />
    </Page>
  );
}

/** An empty workshop: exactly two ways on. */
export function TwoWays() {
  const { membership } = useBench();
  const { route } = useLocation();
  const [outcome, setOutcome] = useState<Outcome>({ kind: "idle" });
  const addDemo = async () => {
    if (outcome.kind === "busy") return;
    setOutcome({ kind: "busy" });
    const answer = await membership.addDemo();
    if (answer.kind !== "ok") return setOutcome(answer);
    setOutcome({ kind: "idle" });
    say(words.builds.demoDone);
    route(to.path(answer.value.build));
  };
  const busy = outcome.kind === "busy";
  return (
    <>
      <h2>{words.builds.empty}</h2>
      <p>{words.builds.emptyHelp}</p>
      <TagList>
        {[
          <Tag
            key="demo"
            title={words.builds.tryDemo}
            note={busy ? words.builds.demoBusy : words.builds.tryDemoHelp}
            onTap={() => void addDemo()}
          />,
          <Tag
            key="kit"
            title={words.builds.startKit}
            note={words.builds.startKitHelp}
            href={to.newKit()}
          />,
        ]}
      </TagList>
      <OutcomeNote outcome={outcome} />
    </>
  );
}
