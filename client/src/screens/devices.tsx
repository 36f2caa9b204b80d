/** Devices: whose are in, what of this one is unsent, and what this one promises to keep. */
import { useEffect, useState } from "preact/hooks";
import { useBench, useSession } from "../ui/bench-context";
import { BigButton, QuietButton, Row } from "../ui/buttons";
import { Clashes } from "../ui/clash";
import { light, setLight, type Light } from "../ui/light";
import { Mark } from "../ui/marks";
import { Page } from "../ui/page";
import { Rename } from "../ui/rename";
import { say, sayTrouble } from "../ui/say";
import { Sheet } from "../ui/sheet";
import { Loading, Notice, Offline, Trouble } from "../ui/states";
import { stripText } from "../ui/status-strip";
import { Tag, TagList } from "../ui/tag";
import { countdown, date, moment, words } from "../ui/words";
import type { Answer, Invitation, Parked, Store, View } from "../sync/types";
import { Claim } from "./firstrun";
import { codeInAddress, PairForm, takeCodeFromAddress } from "./pair";

/** Last place of a device in any build, in words; empty if it was nowhere. */
function lastPlace(store: Store, device: string): string {
  const places = store
    .where("place", "device", device)
    .filter((place) => place.values.step)
    .sort((a, b) => ((a.values.at ?? "") < (b.values.at ?? "") ? 1 : -1));
  const last = places[0];
  if (!last) return "";
  const step = store.get("step", last.values.step ?? "")?.values.number;
  const build = store.get("build", last.values.build ?? "")?.values.name;
  if (!step || !build) return "";
  return words.devices.lastAt(build, step, moment(last.values.at ?? ""));
}

function DeviceTag({ device, mine }: { device: View<"device">; mine: boolean }) {
  const { store, membership } = useBench();
  const [asked, setAsked] = useState(false);
  const [busy, setBusy] = useState(false);
  const [refused, setRefused] = useState<Exclude<Answer<null>, { kind: "ok" }> | null>(null);
  const called = device.values.name ?? "";
  const { kind, paired_at: paired, revoked_at: revoked } = device.values;

  const revoke = async () => {
    setBusy(true);
    const answer = await membership.revoke(device.id);
    setBusy(false);
    if (answer.kind === "ok") {
      setAsked(false);
      say(words.devices.revokedSaid(called));
    } else setRefused(answer);
  };

  const note = [
    kind ? words.devices.kinds[kind] : null,
    revoked ? words.devices.revoked(date(revoked)) : paired && words.devices.paired(date(paired)),
    lastPlace(store, device.id),
  ];
  return (
    <Tag title={called} level={3} note={note.filter(Boolean).join(" · ")} worn={Boolean(revoked)}>
      <Clashes view={device} labels={words.devices.fields} />
      {!revoked && (
        <Rename view={device} most={60}>
          {!mine && (
            <QuietButton onTap={() => setAsked(true)} label={`${words.devices.revoke}: ${called}`}>
              {words.devices.revoke}
            </QuietButton>
          )}
        </Rename>
      )}
      {/* The one thing here that cannot be undone, so it is asked. */}
      <Sheet
        open={asked}
        title={words.devices.revokeTitle(called)}
        onClose={() => {
          setAsked(false);
          setRefused(null);
        }}
      >
        <p>{words.devices.revokeHelp}</p>
        {refused?.kind === "offline" && <Offline />}
        {refused?.kind === "problem" && (
          <Trouble title={refused.problem.title} detail={refused.problem.detail} />
        )}
        <BigButton onTap={() => void revoke()} busy={busy}>
          {words.devices.revokeDo}
        </BigButton>
      </Sheet>
    </Tag>
  );
}

/** The QR symbol and the code, with the time they are good for. */
function InvitationPanel({ shown, onNew }: { shown: Invitation; onNew: () => void }) {
  const [left, setLeft] = useState(() => (shown.expiresAt - Date.now()) / 1000);
  useEffect(() => {
    const tick = () => setLeft((shown.expiresAt - Date.now()) / 1000);
    tick();
    const timer = setInterval(tick, 1000);
    return () => clearInterval(timer);
  }, [shown]);
  if (left <= 0) {
    return (
      <>
        <p>{words.devices.pairGone}</p>
        <BigButton onTap={onNew}>{words.devices.pairNew}</BigButton>
      </>
    );
  }
  const address = shown.url.replace(/#.*$/, "");
  return (
    <>
      <p>{words.devices.pairHelp}</p>
      <img
        class="symbol"
        src={`data:image/svg+xml;charset=utf-8,${encodeURIComponent(shown.svg)}`}
        alt={words.devices.qrAlt(address)}
      />
      <p class="address">{address}</p>
      <p class="big-code">
        <span class="unseen">{words.devices.pairCode}: </span>
        {shown.code}
      </p>
      <p class="soft">{words.devices.pairLeft(countdown(left))}</p>
    </>
  );
}

function PairAnother() {
  const { membership } = useBench();
  const [open, setOpen] = useState(false);
  const [answer, setAnswer] = useState<Answer<Invitation> | null>(null);
  const invite = async () => {
    setOpen(true);
    setAnswer(null);
    setAnswer(await membership.invite());
  };
  return (
    <>
      <BigButton onTap={() => void invite()}>{words.devices.pairAnother}</BigButton>
      <Sheet open={open} title={words.devices.pairAnother} onClose={() => setOpen(false)}>
        {answer === null ? (
          <Loading />
        ) : answer.kind === "ok" ? (
          <InvitationPanel shown={answer.value} onNew={() => void invite()} />
        ) : answer.kind === "offline" ? (
          <Offline onRetry={() => void invite()} />
        ) : (
          <Trouble title={answer.problem.title} detail={answer.problem.detail} />
        )}
      </Sheet>
    </>
  );
}

function ParkedTag({ parked }: { parked: Parked }) {
  const { courier } = useBench();
  const said = Object.entries(parked.set)
    .filter(([, value]) => typeof value === "string" || typeof value === "number")
    .map(([field, value]) => `${field.replaceAll("_", " ")}: ${String(value)}`);
  const what = parked.type.replaceAll("_", " ");
  return (
    <Tag title={parked.problem.title} level={3} state="held" note={parked.problem.detail}>
      <p>
        {words.devices.parkedOf(what)}
        {said.join(", ")}
      </p>
      <Row>
        <QuietButton onTap={() => void courier.retryParked(parked.change)}>
          {words.devices.sendAgain}
        </QuietButton>
        <QuietButton onTap={() => void courier.dropParked(parked.change)}>
          {words.devices.letGo}
        </QuietButton>
      </Row>
    </Tag>
  );
}

function Exchange() {
  const { courier, files, membership } = useBench();
  const state = courier.state.value;
  const standing = membership.standing.value;
  const [busy, setBusy] = useState(false);
  const { sign, text } = stripText(state, standing, false);
  const unsaved = state.unsentChanges + state.unsentPhotos + state.parked.length + state.quarantined > 0;
  const exchange = async () => {
    setBusy(true);
    await courier.exchange();
    setBusy(false);
  };
  const trouble = {
    full: words.devices.storageFull,
    blocked: words.devices.storageBlocked,
    lost: words.devices.storageLost,
  };
  return (
    <section class="block">
      <h2>{words.devices.sync}</h2>
      <p>
        <Mark sign={sign} /> {text}
      </p>
      {state.storage && (
        <Notice>
          <p>{trouble[state.storage]}</p>
          {state.storage === "lost" && (
            <QuietButton onTap={() => location.reload()}>{words.devices.reload}</QuietButton>
          )}
        </Notice>
      )}
      {state.refusal && (
        <Notice title={words.devices.refusalTitle}>
          <p>{[state.refusal.title, state.refusal.detail].filter(Boolean).join(". ")}</p>
        </Notice>
      )}
      {state.quarantined > 0 && (
        <Notice>
          <p>{words.devices.quarantined(state.quarantined)}</p>
        </Notice>
      )}
      {state.server === "tooOld" && (
        <Notice>
          <p>{words.devices.tooOld}</p>
          <QuietButton onTap={() => files.apply()}>{words.devices.update}</QuietButton>
        </Notice>
      )}
      <p class="soft">
        {state.lastExchangeAt === null
          ? words.devices.neverExchanged
          : words.devices.exchanged(moment(state.lastExchangeAt))}
      </p>
      <Row>
        {standing.kind === "paired" && (
          <QuietButton onTap={() => void exchange()} busy={busy}>
            {busy ? words.devices.exchanging : words.devices.exchangeNow}
          </QuietButton>
        )}
        {unsaved && <SaveCopy />}
      </Row>
      {state.parked.length > 0 && (
        <>
          <h3>{words.devices.parkedTitle}</h3>
          <p>{words.devices.parkedHelp}</p>
          <TagList label={words.devices.parkedTitle}>
            {state.parked.map((parked) => (
              <ParkedTag key={parked.change} parked={parked} />
            ))}
          </TagList>
        </>
      )}
    </section>
  );
}

function SaveCopy() {
  const { keeping } = useBench();
  const [busy, setBusy] = useState(false);
  const save = async () => {
    setBusy(true);
    try {
      const url = URL.createObjectURL(await keeping.copyUnsent());
      const link = document.createElement("a");
      link.href = url;
      link.download = `bagtrail-unsent-${new Date().toISOString().slice(0, 10)}.json`;
      link.click();
      // The download has begun by then; a browser that is slower keeps its own reference.
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      say(words.devices.copySaved);
    } catch {
      sayTrouble(words.devices.copyFailed);
    }
    setBusy(false);
  };
  return (
    <QuietButton onTap={() => void save()} busy={busy}>
      {words.devices.saveCopy}
    </QuietButton>
  );
}

function Promises() {
  const { files, keeping } = useBench();
  const offline = files.offline.value;
  const persisted = keeping.persisted.value;
  const insecure = typeof isSecureContext !== "undefined" && !isSecureContext;
  const never = {
    insecure: words.devices.offlineInsecure,
    unsupported: words.devices.offlineUnsupported,
    refused: words.devices.offlineRefused,
  };
  const ask = async () => {
    if (!(await keeping.askToPersist())) say(words.devices.askedNo);
  };
  return (
    <section class="block">
      <h2>{words.devices.offline}</h2>
      {offline.kind === "never" || insecure ? (
        <Notice>
          <p>
            {insecure || offline.kind !== "never"
              ? words.devices.offlineInsecure
              : never[offline.why]}
          </p>
          {offline.kind === "never" && offline.detail && (
            <p class="soft">{words.devices.offlineDetail(offline.detail)}</p>
          )}
        </Notice>
      ) : (
        <p>
          <Mark sign={offline.kind === "ready" ? "done" : "waiting"} />{" "}
          {offline.kind === "ready" ? words.devices.offlineReady : words.devices.offlinePreparing}
        </p>
      )}
      <p>
        <Mark sign={persisted ? "done" : "waiting"} />{" "}
        {persisted === null
          ? words.devices.keptUnknown
          : persisted
            ? words.devices.kept
            : words.devices.notKept}
      </p>
      {persisted === false && (
        <Row>
          <QuietButton onTap={() => void ask()}>{words.devices.askKeep}</QuietButton>
        </Row>
      )}
    </section>
  );
}

function LightSwitch() {
  const options: Light[] = ["device", "day", "night"];
  return (
    <fieldset class="switch">
      <legend>{words.devices.light}</legend>
      <Row>
        {options.map((option) => (
          <QuietButton
            key={option}
            pressed={light.value === option}
            onTap={() => setLight(option)}
          >
            {words.devices.lights[option]}
          </QuietButton>
        ))}
      </Row>
    </fieldset>
  );
}

function TheApp() {
  const { files } = useBench();
  const waits = files.waiting.value;
  return (
    <section class="block">
      <h2>{words.devices.app}</h2>
      <p>{words.devices.version(files.version)}</p>
      {waits && (
        <Notice sign="ready">
          <p>{words.devices.updateWaits}</p>
          <BigButton onTap={() => !files.apply() && say(words.devices.updateBusy)}>
            {words.devices.update}
          </BigButton>
        </Notice>
      )}
      <LightSwitch />
    </section>
  );
}

function Everything() {
  const { store, membership } = useBench();
  const session = useSession();
  const standing = membership.standing.value;
  const builds = store.all("build");
  useEffect(() => {
    // Places belong to builds and say steps of their kits.
    for (const build of builds) {
      void store.load(build.id);
      if (build.values.kit) void store.load(build.values.kit);
    }
  }, [store, builds.length]);
  useEffect(() => {
    // Its own picture was read by a device that is in already.
    if (standing.kind === "paired" && takeCodeFromAddress()) say(words.devices.already);
  }, [standing.kind]);
  const mine = session?.device.id;
  const devices = [...store.all("device")].sort(
    (a, b) => Number(Boolean(a.values.revoked_at)) - Number(Boolean(b.values.revoked_at)),
  );
  const here = devices.find((device) => device.id === mine);
  const others = devices.filter((device) => device.id !== mine);
  return (
    <Page
      title={words.devices.title}
      above={session ? words.devices.workshop(session.workshop.name) : undefined}
      actions={standing.kind === "paired" ? <PairAnother /> : undefined}
    >
      <Exchange />
      {here && (
        <section class="block">
          <h2>{words.devices.thisOne}</h2>
          <TagList>{[<DeviceTag key={here.id} device={here} mine />]}</TagList>
        </section>
      )}
      {standing.kind === "paired" && (
        <section class="block">
          <h2>{words.devices.others}</h2>
          {others.length === 0 ? (
            <p>{words.devices.noOthers}</p>
          ) : (
            <TagList label={words.devices.others}>
              {others.map((device) => (
                <DeviceTag key={device.id} device={device} mine={false} />
              ))}
            </TagList>
          )}
        </section>
      )}
      <Promises />
      <TheApp />
    </Page>
  );
}

export default function Devices() {
  const { membership } = useBench();
  const standing = membership.standing.value;
  // The QR symbol of another device brings here with a code; keep it while standing is asked for.
  const [invited] = useState(() => codeInAddress(location.hash) !== "");
  if (standing.kind === "claimable") return <Claim />;
  if (standing.kind === "starting" && invited) return <Loading what={words.pair.starting} />;
  if (standing.kind === "unpaired") {
    return (
      <PairForm>
        <Exchange />
        <Promises />
        <TheApp />
      </PairForm>
    );
  }
  return <Everything />;
}
