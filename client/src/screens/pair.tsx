/** How a device gets into a workshop: by the code that a paired device shows. */
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import { readPreference } from "../db/preferences";
import { to } from "../routes";
import { useBench } from "../ui/bench-context";
import { BigButton } from "../ui/buttons";
import { Field } from "../ui/field";
import { Page } from "../ui/page";
import { say } from "../ui/say";
import { Loading, Notice, Trouble } from "../ui/states";
import { guessKind } from "../ui/this-device";
import { words } from "../ui/words";
import type { Refusal } from "../sync/types";

/** The code in the address that the QR symbol holds, `#pair=CODE`; empty if there is none. */
export function codeInAddress(hash: string): string {
  return new URLSearchParams(hash.replace(/^#/, "")).get("pair")?.trim() ?? "";
}

/** Takes the code out of the address bar, so that it stays in no history and no screenshot. */
export function takeCodeFromAddress(): string {
  const code = codeInAddress(location.hash);
  if (code) history.replaceState(history.state, "", location.pathname + location.search);
  return code;
}

/** `children`: what the Devices screen has to say beside it. */
export function PairForm({ children }: { children?: ComponentChildren }) {
  const { membership, store } = useBench();
  const { route } = useLocation();
  const standing = membership.standing.value;
  const last = standing.kind === "unpaired" ? standing.last : null;
  const [scanned] = useState(takeCodeFromAddress);
  const [code, setCode] = useState(scanned);
  const [name, setName] = useState<string>(
    // It may have been renamed since it was paired.
    (last && store.get("device", last.device.id)?.values.name) ??
      last?.device.name ??
      words.pair.deviceNames[guessKind()],
  );
  const [tried, setTried] = useState(false);
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<Refusal | "offline" | null>(null);

  useEffect(() => {
    // The same page may be open already when the camera app brings the address again.
    const onHash = () => {
      const brought = takeCodeFromAddress();
      if (brought) setCode(brought);
    };
    addEventListener("hashchange", onHash);
    return () => removeEventListener("hashchange", onHash);
  }, []);

  const pair = async () => {
    setTried(true);
    if (!code.trim() || !name.trim() || busy) return;
    setBusy(true);
    setProblem(null);
    const answer = await membership.redeem(code.trim(), name.trim(), guessKind());
    setBusy(false);
    if (answer.kind === "ok") {
      say(words.pair.paired(answer.value.workshop.name));
      // A label that was read before there was a workshop to look in.
      const label = readPreference("label");
      route(label === null ? to.builds() : to.label(label));
    } else setProblem(answer.kind === "offline" ? "offline" : answer.problem);
  };

  return (
    <Page
      title={words.pair.title}
      actions={
        <BigButton onTap={() => void pair()} busy={busy}>
          {words.pair.pair}
        </BigButton>
      }
    >
      <p>{last ? words.pair.wasPaired(last.workshop.name) : words.pair.lead}</p>
      {problem === "offline" && (
        <Notice sign="cut" loud>
          <p>{words.pair.offline}</p>
        </Notice>
      )}
      {problem && problem !== "offline" && (
        <Trouble title={problem.title} detail={problem.detail} />
      )}
      <Field
        label={words.pair.code}
        hint={scanned && code === scanned ? words.pair.codeFromLink : words.pair.codeHint}
        value={code}
        onInput={setCode}
        error={tried && !code.trim() ? words.pair.codeMissing : null}
        code
        maxLength={20}
        autoComplete="one-time-code"
        onEnter={() => void pair()}
      />
      <Field
        label={words.pair.name}
        value={name}
        onInput={setName}
        error={tried && !name.trim() ? words.pair.nameMissing : null}
        maxLength={60}
        onEnter={() => void pair()}
      />
      <section class="block">
        <h2>{words.pair.how}</h2>
        <ol class="how">
          {words.pair.steps.map((step) => (
            <li key={step}>{step}</li>
          ))}
        </ol>
      </section>
      {children}
    </Page>
  );
}

export default function Pair() {
  const { membership } = useBench();
  const { route } = useLocation();
  const paired = membership.standing.value.kind === "paired";
  useEffect(() => {
    if (paired) route(to.devices(), true);
  }, [paired]);
  return paired ? <Loading /> : <PairForm />;
}
