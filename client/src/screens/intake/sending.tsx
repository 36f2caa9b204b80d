/** A file or a pasted text on its way to the server, and what came of it. */
import { useEffect, useRef, useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import { fileSlip, HEAD_BYTES, type FileSlip, type IntakeKind } from "../../core/intakes";
import { to } from "../../routes";
import type { Refusal } from "../../sync/types";
import { BigButton, moment, Notice, QuietButton, Row, Trouble, useBench } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";
import { useIntakes } from "./use-intakes";

const text = intakeWords.ways;

/** What is to be read: a file, or a text as it was pasted. */
export interface Sent {
  readonly kind: IntakeKind;
  readonly body: Blob;
  readonly name: string;
}

type State =
  | { readonly kind: "idle" }
  | { readonly kind: "sending"; readonly sent: Sent; readonly since: number }
  | { readonly kind: "slip"; readonly sent: Sent; readonly slip: FileSlip }
  | { readonly kind: "offline"; readonly sent: Sent }
  | { readonly kind: "stopped" }
  | { readonly kind: "problem"; readonly problem: Refusal; readonly sent: Sent };

export interface Sending {
  readonly state: State;
  readonly busy: boolean;
  /** Name of a file that was chosen before this page was loaded anew, and not sent. */
  readonly lastFile: (kind: IntakeKind) => string | undefined;
  send(sent: Sent): void;
  stop(): void;
  clear(): void;
}

/** Sends for `kit`, or for a new one; then goes to where it is looked through. */
export function useSending(kit: string | null, sentWell: (kind: IntakeKind) => void): Sending {
  const { jotter } = useBench();
  const intakes = useIntakes();
  const { route } = useLocation();
  const [state, setState] = useState<State>({ kind: "idle" });
  const under = useRef<AbortController | null>(null);
  const key = (kind: IntakeKind): string => `intake.file.${kit ?? "new"}.${kind}`;
  // Whoever leaves the page does not wait for it any more.
  useEffect(() => () => under.current?.abort(), []);

  const send = async (sent: Sent): Promise<void> => {
    if (!intakes || under.current) return;
    const giveUp = new AbortController();
    under.current = giveUp;
    setState({ kind: "sending", sent, since: Date.now() });
    const head = new Uint8Array(await sent.body.slice(0, HEAD_BYTES).arrayBuffer());
    const slip = fileSlip(sent.kind, sent.name, sent.body.size, head);
    if (slip) {
      under.current = null;
      setState({ kind: "slip", sent, slip });
      return;
    }
    if (sent.kind !== "text") jotter.write(key(sent.kind), sent.name);
    const answer = await intakes.start(sent.body, { kind: sent.kind, name: sent.name, kit }, giveUp.signal);
    under.current = null;
    if (giveUp.signal.aborted) return;
    if (answer.kind === "offline") setState({ kind: "offline", sent });
    else if (answer.kind === "problem") setState({ kind: "problem", problem: answer.problem, sent });
    else {
      jotter.drop(key(sent.kind));
      sentWell(sent.kind);
      route(to.intake(answer.value.id));
    }
  };
  return {
    state,
    busy: state.kind === "sending",
    lastFile: (kind) => jotter.read(key(kind)),
    send: (sent) => void send(sent),
    stop: () => {
      under.current?.abort();
      under.current = null;
      setState({ kind: "stopped" });
    },
    clear: () => setState({ kind: "idle" }),
  };
}

/** What became of it; `onOther`: go on with the same file as another kind. */
export function SendingState({ sending, onOther }: { sending: Sending; onOther: (kind: IntakeKind) => void }) {
  const { state } = sending;
  switch (state.kind) {
    case "idle":
      return null;
    case "sending":
      return (
        <Notice sign="string" loud>
          <p aria-busy="true">{text.sending(state.sent.name, state.sent.body.size)}</p>
          <p class="soft">{text.sendingFor(moment(state.since))}</p>
          <Row>
            <QuietButton onTap={sending.stop}>{text.stopSending}</QuietButton>
          </Row>
        </Notice>
      );
    case "stopped":
      return (
        <Notice sign="left_out" loud>
          <p>{text.sendingStopped}</p>
        </Notice>
      );
    case "slip": {
      const { slip, sent } = state;
      const other = slip.kind;
      return (
        <Notice loud>
          <p>{text.slip(slip, sent.name, sent.kind)}</p>
          {other && (
            <BigButton
              onTap={() => {
                onOther(other);
                sending.send({ ...sent, kind: other });
              }}
            >
              {other === "manual" ? text.asManual : text.asTable}
            </BigButton>
          )}
        </Notice>
      );
    }
    case "offline":
      return (
        <Notice sign="cut" loud>
          <p>{state.sent.kind === "text" ? text.offlineText : text.offline(state.sent.name)}</p>
          <BigButton onTap={() => sending.send(state.sent)}>{text.again(state.sent.name)}</BigButton>
        </Notice>
      );
    case "problem":
      return (
        <Trouble
          title={state.problem.title}
          detail={state.problem.detail}
          onRetry={() => sending.send(state.sent)}
        />
      );
  }
}
