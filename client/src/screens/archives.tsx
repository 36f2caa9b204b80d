/** Save and bring back: kits and builds as files, out and in. The server does it. */
import { useState } from "preact/hooks";
import { archivePath, bringArchive, tablesPath, type Brought, type Kind } from "../sync/archives";
import { to } from "../routes";
import { useBench, useSession } from "../ui/bench-context";
import { QuietButton, Row } from "../ui/buttons";
import { FilePick } from "../ui/file-pick";
import { Page } from "../ui/page";
import { Loading, Notice, Offline, Trouble } from "../ui/states";
import { Tag, TagList } from "../ui/tag";
import { words } from "../ui/words";
import { archiveWords as text } from "../ui/words-archive";
import type { Answer, View } from "../sync/types";
import "./archives.css";

interface FileTagProps {
  kind: Kind;
  id: string;
  name: string;
  note?: string | undefined;
  off: boolean;
}

function FileTag(props: FileTagProps) {
  const { kind, id, name, off } = props;
  return (
    <Tag title={name} note={props.note} level={3}>
      <Row>
        <QuietButton
          href={archivePath(kind, id)}
          download
          off={off}
          label={text.saveLabel(name)}
        >
          {text.save}
        </QuietButton>
        <QuietButton href={tablesPath(kind, id)} download off={off} label={text.tablesLabel(name)}>
          {text.tables}
        </QuietButton>
      </Row>
    </Tag>
  );
}

/** What is only on this device would not be in an archive. */
function Unsent() {
  const { courier } = useBench();
  const [busy, setBusy] = useState(false);
  const { unsentChanges, unsentPhotos } = courier.state.value;
  if (unsentChanges + unsentPhotos === 0) return null;
  const exchange = async () => {
    setBusy(true);
    await courier.exchange();
    setBusy(false);
  };
  return (
    <Notice sign="string">
      <p>{text.unsent(unsentChanges, unsentPhotos)}</p>
      <QuietButton onTap={() => void exchange()} busy={busy}>
        {busy ? text.exchanging : text.exchange}
      </QuietButton>
    </Notice>
  );
}

interface Sending {
  name: string;
  /** How much of it is sent, 0 to 1. */
  share: number;
}

interface Outcome {
  name: string;
  answer: Answer<Brought>;
}

function CameIn({ brought }: { brought: Brought }) {
  const { name, builds, kit, records, changes, photos } = brought;
  const build = builds[0];
  const fresh = records + changes + photos > 0;
  return (
    <Notice sign="done" title={fresh ? text.here(name) : text.known(name)} loud>
      {fresh && <p>{text.came(records, changes, photos)}</p>}
      {brought.copied && fresh && <p>{text.copied}</p>}
      {brought.cleared > 0 && <p>{text.cleared(brought.cleared)}</p>}
      <Row>
        {build ? (
          <QuietButton href={to.path(build)}>{text.open(name)}</QuietButton>
        ) : (
          <QuietButton href={to.builds()}>{words.nav.builds}</QuietButton>
        )}
        {kit && <QuietButton href={to.labels(kit)}>{text.labels}</QuietButton>}
      </Row>
    </Notice>
  );
}

function Bring() {
  const { courier, store } = useBench();
  const session = useSession();
  const [sending, setSending] = useState<Sending | null>(null);
  const [outcome, setOutcome] = useState<Outcome | null>(null);
  const bring = async (workshop: string, file: File) => {
    setOutcome(null);
    setSending({ name: file.name, share: 0 });
    const answer = await bringArchive(
      workshop,
      file,
      (share) => setSending({ name: file.name, share }),
      text.tooLarge,
    );
    if (answer.kind === "ok") {
      await courier.exchange();
      const { kit, builds } = answer.value;
      for (const scope of [...builds, kit]) {
        // What cannot be read says so in the strip.
        if (scope !== null) await store.load(scope).catch(() => undefined);
      }
    }
    setSending(null);
    setOutcome({ name: file.name, answer });
  };
  const answer = outcome?.answer;
  return (
    <section class="block">
      <h2>{text.bring}</h2>
      <p>{text.bringHelp}</p>
      {sending && (
        <>
          <p role="status">{sending.share < 1 ? text.sending(sending.name) : text.looking}</p>
          <progress
            aria-label={text.bring}
            {...(sending.share < 1 ? { value: sending.share } : {})}
          />
          {/* Not in the status: nobody wants every one of these read out. */}
          {sending.share < 1 && <p>{text.sent(sending.share)}</p>}
        </>
      )}
      {answer?.kind === "ok" && <CameIn brought={answer.value} />}
      {answer?.kind === "problem" && (
        <Notice title={text.refused(outcome?.name ?? "")} loud>
          <p>{answer.problem.title}.</p>
          {answer.problem.detail && <p>{answer.problem.detail}</p>}
        </Notice>
      )}
      {answer?.kind === "offline" && <Trouble title={text.lost} />}
      {session ? (
        <Row>
          <FilePick
            label={text.choose}
            accept=".zip,application/zip"
            busy={sending !== null}
            onFile={(file) => void bring(session.workshop.id, file)}
          />
        </Row>
      ) : (
        <Notice sign="cut">
          <p>{text.notPaired}</p>
        </Notice>
      )}
    </section>
  );
}

const byName = <T extends View<"kit"> | View<"build">>(views: readonly T[]): T[] =>
  [...views].sort((a, b) => (a.values.name ?? "").localeCompare(b.values.name ?? ""));

export default function Archives() {
  const { store, courier, membership } = useBench();
  const session = useSession();
  const { server } = courier.state.value;
  const off = server !== "reached";
  const builds = byName(store.all("build"));
  const kits = byName(store.all("kit"));
  const kitOf = (build: View<"build">) => store.get("kit", build.values.kit ?? "")?.values.name;
  return (
    <Page
      title={text.title}
      above={session?.workshop.name}
      back={to.builds()}
      backLabel={words.nav.builds}
    >
      <p>{text.lead}</p>
      {server === "starting" && membership.standing.value.kind !== "unpaired" && <Loading />}
      {server === "unreachable" && <Offline onRetry={() => void courier.exchange()} />}
      <Unsent />
      {builds.length + kits.length === 0 && <p>{text.none}</p>}
      {builds.length > 0 && (
        <section class="block">
          <h2>{text.builds}</h2>
          <TagList label={text.builds}>
            {builds.map((build) => (
              <FileTag
                key={build.id}
                kind="build"
                id={build.id}
                name={build.values.name ?? ""}
                note={kitOf(build)}
                off={off}
              />
            ))}
          </TagList>
        </section>
      )}
      {kits.length > 0 && (
        <section class="block">
          <h2>{text.kits}</h2>
          <TagList label={text.kits}>
            {kits.map((kit) => (
              <FileTag
                key={kit.id}
                kind="kit"
                id={kit.id}
                name={kit.values.name ?? ""}
                off={off}
              />
            ))}
          </TagList>
        </section>
      )}
      {kits.length > 0 && <p class="soft">{text.tablesHelp}</p>}
      <Bring />
    </Page>
  );
}
