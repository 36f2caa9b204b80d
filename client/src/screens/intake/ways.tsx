/** The ways by which a kit, or more of it, gets in; three of them are read by the server. */
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { HEAD_BYTES, kindOfFile, type IntakeKind } from "../../core/intakes";
import { BigButton, Field, FilePick, Notice, useBench, useSession } from "../../ui/parts";
import { Reach } from "../../ui/page";
import { intakeWords } from "../../ui/words-intake";
import "../intake.css";
import { SendingState, useSending, type Sending } from "./sending";

const text = intakeWords.ways;
const TEXT_MAX_BYTES = 1_000_000;

export type Way = "outline" | IntakeKind;

const ABOUT: Readonly<Record<Way, readonly [name: string, help: string]>> = {
  outline: [text.outline, text.outlineHelp],
  table: [text.table, text.tableHelp],
  text: [text.text, text.textHelp],
  manual: [text.manual, text.manualHelp],
};

/** The way that was chosen last for this kit; outlives a reload. */
export function useWay(key: string, ways: readonly Way[]): [Way, (way: Way) => void] {
  const { jotter } = useBench();
  const [way, setWay] = useState<Way>(() => {
    const before = jotter.read(`intake.way.${key}`);
    return ways.find((one) => one === before) ?? ways[0] ?? "manual";
  });
  return [
    way,
    (next) => {
      setWay(next);
      jotter.write(`intake.way.${key}`, next);
    },
  ];
}

export function Ways(props: {
  legend: string;
  ways: readonly Way[];
  way: Way;
  onWay: (way: Way) => void;
}) {
  const id = useId();
  return (
    <fieldset class="ways">
      <legend>{props.legend}</legend>
      {props.ways.map((way) => (
        <label key={way} class={way === props.way ? "is-chosen" : ""}>
          <input
            type="radio"
            name={id}
            value={way}
            checked={way === props.way}
            aria-describedby={`${id}-${way}`}
            onChange={() => props.onWay(way)}
          />
          <span class="ways-name">{ABOUT[way][0]}</span>
          <span class="soft" id={`${id}-${way}`} aria-hidden="true">
            {ABOUT[way][1]}
          </span>
        </label>
      ))}
    </fieldset>
  );
}

/** What is sent from a page of ways: by its forms, or dropped anywhere on it. */
export function useSentWays(
  kit: string | null,
  way: Way,
  onWay: (way: IntakeKind) => void,
): { sending: Sending; dropping: boolean } {
  const { jotter } = useBench();
  const sending = useSending(kit, (kind) => {
    if (kind === "text") jotter.drop(listKey(kit));
  });
  // What was said of another way's file is of no use here; what is being sent goes on.
  useEffect(() => {
    if (!sending.busy) sending.clear();
  }, [way]);
  const dropping = useDrop((file) => {
    void (async () => {
      const head = new Uint8Array(await file.slice(0, HEAD_BYTES).arrayBuffer());
      // What it plainly is, or else what was asked for: then it is told what is wrong with it.
      const kind = kindOfFile(file.name, head) ?? (way === "manual" ? "manual" : "table");
      if (kind !== way) onWay(kind);
      sending.send({ kind, body: file, name: file.name });
    })();
  });
  return { sending, dropping };
}

const listKey = (kit: string | null): string => `intake.text.${kit ?? "new"}`;

/** The form of one way that the server reads. */
export function SentWay(props: {
  way: IntakeKind;
  /** The kit it is for; null: a new one. */
  kit: string | null;
  sending: Sending;
  onWay: (way: IntakeKind) => void;
}) {
  const { way, kit, sending, onWay } = props;
  const { courier } = useBench();
  const session = useSession();
  const offline = courier.state.value.server === "unreachable";
  return (
    <>
      {!session && (
        <Notice sign="cut">
          <p>{text.unpaired}</p>
        </Notice>
      )}
      {offline && sending.state.kind === "idle" && (
        <Notice sign="cut">
          <p>{text.needsServer}</p>
        </Notice>
      )}
      <SendingState sending={sending} onOther={onWay} />
      {way === "text" ? (
        <ListForm storeKey={listKey(kit)} sending={sending} off={!session} />
      ) : (
        <FileForm way={way} sending={sending} off={!session} />
      )}
    </>
  );
}

/** Says, while a file hangs over the page, that it can be let go. */
export function DropHint({ dropping }: { dropping: boolean }) {
  return dropping ? <p class="drop-here">{text.dropHere}</p> : null;
}

function FileForm({ way, sending, off }: { way: "table" | "manual"; sending: Sending; off: boolean }) {
  const before = sending.state.kind === "idle" ? sending.lastFile(way) : undefined;
  return (
    <>
      <p>{way === "table" ? text.tableAbout : text.manualAbout}</p>
      {before !== undefined && <p>{text.lastFile(before)}</p>}
      <p class="soft only-wide">{text.drop}</p>
      <Reach>
        <FilePick
          big
          label={way === "table" ? text.chooseTable : text.chooseManual}
          accept={
            way === "table"
              ? ".csv,.tsv,.txt,.xlsx,text/csv,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
              : ".pdf,application/pdf"
          }
          busy={sending.busy}
          off={off}
          onFile={(file) => sending.send({ kind: way, body: file, name: file.name })}
        />
      </Reach>
    </>
  );
}

function ListForm({ storeKey, sending, off }: { storeKey: string; sending: Sending; off: boolean }) {
  const { jotter } = useBench();
  const [typed, setTyped] = useState(() => jotter.read(storeKey) ?? "");
  const [tried, setTried] = useState(false);
  const body = new Blob([typed], { type: "text/plain; charset=utf-8" });
  const error = !tried
    ? null
    : typed.trim() === ""
      ? text.pasteMissing
      : body.size > TEXT_MAX_BYTES
        ? text.pasteLarge
        : null;
  const read = () => {
    setTried(true);
    if (typed.trim() === "" || body.size > TEXT_MAX_BYTES) return;
    sending.send({ kind: "text", body, name: text.pastedName });
  };
  return (
    <>
      <Field
        label={text.paste}
        hint={
          <>
            {text.pasteHint} <span class="code">{text.pasteExample}</span>
          </>
        }
        value={typed}
        lines={10}
        error={error}
        onInput={(value) => {
          setTyped(value);
          jotter.write(storeKey, value);
        }}
      />
      <Reach>
        <BigButton onTap={read} busy={sending.busy} off={off}>
          {text.readIt}
        </BigButton>
      </Reach>
    </>
  );
}

/** Files dropped anywhere on the page; true while one hangs over it. */
function useDrop(onFile: (file: File) => void): boolean {
  const [over, setOver] = useState(false);
  const take = useRef(onFile);
  take.current = onFile;
  useEffect(() => {
    const isFile = (event: DragEvent): boolean => event.dataTransfer?.types.includes("Files") ?? false;
    const hover = (event: DragEvent) => {
      if (!isFile(event)) return;
      event.preventDefault();
      setOver(true);
    };
    const leave = (event: DragEvent) => {
      if (event.relatedTarget === null) setOver(false);
    };
    const drop = (event: DragEvent) => {
      if (!isFile(event)) return;
      // Or else the browser leaves the app and shows the file.
      event.preventDefault();
      setOver(false);
      const file = event.dataTransfer?.files[0];
      if (file) take.current(file);
    };
    addEventListener("dragover", hover);
    addEventListener("dragleave", leave);
    addEventListener("drop", drop);
    return () => {
      removeEventListener("dragover", hover);
      removeEventListener("dragleave", leave);
      removeEventListener("drop", drop);
    };
  }, []);
  return over;
}

