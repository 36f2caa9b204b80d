/** Devices: whose are in, what of this one is unsent, and what this one promises to keep. */
import { useEffect, useState } from "preact/hooks";
import { useBench, useSession } from "../ui/bench-context";
import { BigButton, QuietButton, Row } from "../ui/buttons";
import { Clashes, plain } from "../ui/clash";
import { FilePick } from "../ui/file-pick";
import { light, setLight, type Light } from "../ui/light";
import { Mark } from "../ui/marks";
import { Page } from "../ui/page";
import { Picture } from "../ui/picture";
import { Rename } from "../ui/rename";
import { say, sayTrouble } from "../ui/say";
import { Sheet } from "../ui/sheet";
import { Loading, Notice, Offline, Trouble } from "../ui/states";
import { stripText } from "../ui/status-strip";
import { Tag, TagList } from "../ui/tag";
import { countdown, date, moment, words } from "../ui/words";
import { deskWords } from "../ui/words-desk";
import type { Answer, Invitation, Parked, Store, View } from "../sync/types";
import { Claim } from "./firstrun";
import { to } from "../routes";
import { codeInAddress, PairForm, takeCodeFromAddress } from "./pair";

const text = deskWords.devices;

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
  return text.lastAt(build, step, moment(last.values.at ?? ""));
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
      say(text.revokedSaid(called));
    } else setRefused(answer);
  };

  const note = [
    kind ? text.kinds[kind] : null,
    revoked ? text.revoked(date(revoked)) : paired && text.paired(date(paired)),
    lastPlace(store, device.id),
  ];
  return (
    <Tag title={called} level={3} note={note.filter(Boolean).join(" · ")} worn={Boolean(revoked)}>
      <Clashes view={device} labels={text.fields} />
      {!revoked && (
        <Rename view={device} most={60}>
          {!mine && (
            <QuietButton onTap={() => setAsked(true)} label={`${text.revoke}: ${called}`}>
              {text.revoke}
            </QuietButton>
          )}
        </Rename>
      )}
      {/* It cannot be undone, so it is asked. */}
      <Sheet
        open={asked}
        title={text.revokeTitle(called)}
        onClose={() => {
          setAsked(false);
          setRefused(null);
        }}
        main={
          <BigButton onTap={() => void revoke()} busy={busy}>
            {text.revokeDo}
          </BigButton>
        }
      >
        <p>{text.revokeHelp}</p>
        {refused?.kind === "offline" && <Offline />}
        {refused?.kind === "problem" && (
          <Trouble title={refused.problem.title} detail={refused.problem.detail} />
        )}
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
        <p>{text.pairGone}</p>
        <BigButton onTap={onNew}>{text.pairNew}</BigButton>
      </>
    );
  }
  const address = shown.url.replace(/#.*$/, "");
  return (
    <>
      <p>{text.pairHelp}</p>
      <img
        class="symbol"
        src={`data:image/svg+xml;charset=utf-8,${encodeURIComponent(shown.svg)}`}
        alt={text.qrAlt(address)}
      />
      <p class="address">{address}</p>
      <p class="big-code">
        <span class="unseen">{text.pairCode}: </span>
        {shown.code}
      </p>
      <p class="soft">{text.pairLeft(countdown(left))}</p>
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
      <BigButton onTap={() => void invite()}>{text.pairAnother}</BigButton>
      <Sheet open={open} title={text.pairAnother} onClose={() => setOpen(false)}>
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

/** A field of a step's state, a choice, or anything else, as a builder says it. */
function factOf(store: Store, field: string, value: unknown): string {
  if (field === "alternative" && typeof value === "string") {
    return store.get("alternative", value)?.values.title ?? plain(value);
  }
  const states: Readonly<Record<string, string>> = words.states;
  if (field === "state" && typeof value === "string") return states[value] ?? value;
  return field === "deleted" ? words.shared.yes : plain(value);
}

/**
 * What was entered, without ids and the moments that the app notes by itself. Of a field that only
 * a newer app knows, whatever a person can read.
 */
function factsOf(store: Store, { set }: Parked): string[] {
  const own = /^[0-9a-f]{8}-[0-9a-f-]{27}$|^[0-9a-f]{64}$|^\d{4}-\d{2}-\d{2}T/;
  return Object.entries(set).flatMap(([field, value]) => {
    const label = text.facts[field];
    if (value === null || value === undefined) return [];
    if (label) return [`${label}: ${factOf(store, field, value)}`];
    if (typeof value === "string" ? own.test(value) : typeof value !== "number") return [];
    return /_(px|bytes)$|^order$|^media_type$|^value$/.test(field)
      ? []
      : [`${field.replaceAll("_", " ")}: ${plain(value)}`];
  });
}

/** The build and step that a change is about, as far as they are known here. */
function placeOf(store: Store, { type, record, set }: Parked) {
  const known = store.get(type as View["type"], record)?.values as
    | Readonly<Record<string, unknown>>
    | undefined;
  const id = (field: string): string => String(set[field] ?? known?.[field] ?? "");
  const buildId = type === "build" ? record : id("build");
  const stepId = id("step") || (store.get("operation", id("operation"))?.values.step ?? "");
  const build = store.get("build", buildId);
  const step = store.get("step", stepId);
  return { build, step };
}

function ParkedTag({ parked }: { parked: Parked }) {
  const { courier, store } = useBench();
  const [asked, setAsked] = useState(false);
  const { build, step } = placeOf(store, parked);
  const number = step?.values.number ?? null;
  const place = text.parkedPlace(number, build?.values.name ?? null);
  const thing = text.things[parked.type] ?? parked.type.replaceAll("_", " ");
  const { blob } = parked.set;
  return (
    <Tag
      title={place ? `${thing}: ${place}` : thing}
      level={3}
      state="held"
      note={[parked.problem.title, parked.problem.detail].filter(Boolean).join(". ")}
    >
      {typeof blob === "string" && <Picture blob={blob} size="thumb" alt={thing} />}
      <ul role="list">
        {factsOf(store, parked).map((fact) => (
          <li key={fact}>{fact}</li>
        ))}
      </ul>
      {parked.along > 0 && <p>{text.parkedAlong(parked.along)}</p>}
      <Row>
        {build && step && (
          <QuietButton href={to.step(build.id, step.id)}>{text.openStep(number ?? "")}</QuietButton>
        )}
        <QuietButton onTap={() => void courier.retryParked(parked.change)}>
          {text.sendAgain}
        </QuietButton>
        <QuietButton onTap={() => setAsked(true)}>{text.letGo}</QuietButton>
      </Row>
      {/* It is nowhere else: so it is asked. */}
      <Sheet
        open={asked}
        title={text.letGoTitle}
        onClose={() => setAsked(false)}
        main={
          <BigButton
            onTap={() => {
              setAsked(false);
              void courier.dropParked(parked.change);
            }}
          >
            {text.letGoDo}
          </BigButton>
        }
      >
        <p>{text.letGoHelp}</p>
      </Sheet>
    </Tag>
  );
}

function Exchange() {
  const { courier, files, membership } = useBench();
  const state = courier.state.value;
  const standing = membership.standing.value;
  const [busy, setBusy] = useState(false);
  const strip = stripText(state, standing, false);
  const unsaved = state.unsentChanges + state.unsentPhotos + state.parked.length + state.quarantined > 0;
  const exchange = async () => {
    setBusy(true);
    await courier.exchange();
    setBusy(false);
  };
  const trouble = {
    full: text.storageFull,
    blocked: text.storageBlocked,
    lost: text.storageLost,
  };
  return (
    <section class="block">
      <h2>{text.sync}</h2>
      <p>
        <Mark sign={strip.sign} /> {strip.text}
      </p>
      {state.storage && (
        <Notice>
          <p>{trouble[state.storage]}</p>
          {state.storage === "lost" && (
            <QuietButton onTap={() => location.reload()}>{text.reload}</QuietButton>
          )}
        </Notice>
      )}
      {state.refusal && (
        <Notice title={text.refusalTitle}>
          <p>{[state.refusal.title, state.refusal.detail].filter(Boolean).join(". ")}</p>
        </Notice>
      )}
      {state.quarantined > 0 && (
        <Notice>
          <p>{text.quarantined(state.quarantined)}</p>
        </Notice>
      )}
      {state.server === "tooOld" && (
        <Notice>
          <p>{text.tooOld}</p>
          <QuietButton onTap={() => !files.apply() && say(text.updateBusy)}>
            {text.update}
          </QuietButton>
        </Notice>
      )}
      <p class="soft">
        {state.lastExchangeAt === null
          ? text.neverExchanged
          : text.exchanged(moment(state.lastExchangeAt))}
      </p>
      <Row>
        {standing.kind === "paired" && (
          <QuietButton onTap={() => void exchange()} busy={busy}>
            {busy ? text.exchanging : text.exchangeNow}
          </QuietButton>
        )}
        {standing.kind === "paired" && (
          <QuietButton href={to.archives()}>{words.builds.archives}</QuietButton>
        )}
        {unsaved && <SaveCopy />}
        {(standing.kind === "paired" || (standing.kind === "unpaired" && standing.last)) && (
          <TakeCopy />
        )}
      </Row>
      {state.parked.length > 0 && (
        <>
          <h3>{text.parkedTitle}</h3>
          <p>{text.parkedHelp}</p>
          <TagList label={text.parkedTitle}>
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
      say(text.copySaved);
    } catch {
      sayTrouble(text.copyFailed);
    }
    setBusy(false);
  };
  return (
    <QuietButton onTap={() => void save()} busy={busy}>
      {text.saveCopy}
    </QuietButton>
  );
}

/** A copy of unsent work, saved here or on a device that is gone. */
function TakeCopy() {
  const { keeping } = useBench();
  const [busy, setBusy] = useState(false);
  const take = async (file: File) => {
    setBusy(true);
    try {
      say(text.copyTaken(await keeping.loadCopy(file)));
    } catch (error) {
      sayTrouble(error instanceof Error && error.message ? error.message : text.copyRefused);
    }
    setBusy(false);
  };
  return (
    <FilePick
      label={text.takeCopy}
      accept="application/json,.json"
      busy={busy}
      onFile={(file) => void take(file)}
    />
  );
}

function Promises() {
  const { files, keeping } = useBench();
  const offline = files.offline.value;
  const persisted = keeping.persisted.value;
  const insecure = typeof isSecureContext !== "undefined" && !isSecureContext;
  const never = {
    insecure: text.offlineInsecure,
    unsupported: text.offlineUnsupported,
    refused: text.offlineRefused,
  };
  const ask = async () => {
    if (!(await keeping.askToPersist())) say(text.askedNo);
  };
  return (
    <section class="block">
      <h2>{text.offline}</h2>
      {offline.kind === "never" || insecure ? (
        <Notice>
          <p>
            {insecure || offline.kind !== "never"
              ? text.offlineInsecure
              : never[offline.why]}
          </p>
          {offline.kind === "never" && offline.detail && (
            <p class="soft">{text.offlineDetail(offline.detail)}</p>
          )}
        </Notice>
      ) : (
        <p>
          <Mark sign={offline.kind === "ready" ? "done" : "waiting"} />{" "}
          {offline.kind === "ready" ? text.offlineReady : text.offlinePreparing}
        </p>
      )}
      <p>
        <Mark sign={persisted ? "done" : "waiting"} />{" "}
        {persisted === null
          ? text.keptUnknown
          : persisted
            ? text.kept
            : text.notKept}
      </p>
      {persisted === false && (
        <Row>
          <QuietButton onTap={() => void ask()}>{text.askKeep}</QuietButton>
        </Row>
      )}
    </section>
  );
}

function LightSwitch() {
  const options: Light[] = ["device", "day", "night"];
  return (
    <fieldset class="switch">
      <legend>{text.light}</legend>
      <Row>
        {options.map((option) => (
          <QuietButton
            key={option}
            pressed={light.value === option}
            onTap={() => setLight(option)}
          >
            {text.lights[option]}
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
      <h2>{text.app}</h2>
      <p>{text.version(files.version)}</p>
      {waits && (
        <Notice sign="ready">
          <p>{text.updateWaits}</p>
          <BigButton onTap={() => !files.apply() && say(text.updateBusy)}>
            {text.update}
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
      // A store that cannot read says so in the strip.
      for (const scope of [build.id, build.values.kit ?? build.id]) {
        void store.load(scope).catch(() => undefined);
      }
    }
  }, [store, builds.length]);
  useEffect(() => {
    // Its own picture was read by a device that is in already.
    if (standing.kind === "paired" && takeCodeFromAddress()) say(text.already);
  }, [standing.kind]);
  const mine = session?.device.id;
  const devices = [...store.all("device")].sort(
    (a, b) => Number(Boolean(a.values.revoked_at)) - Number(Boolean(b.values.revoked_at)),
  );
  const here = devices.find((device) => device.id === mine);
  const others = devices.filter((device) => device.id !== mine);
  return (
    <Page
      title={text.title}
      above={session ? text.workshop(session.workshop.name) : undefined}
      actions={standing.kind === "paired" ? <PairAnother /> : undefined}
    >
      <Exchange />
      {store.all("workshop").map((workshop) => (
        <Clashes key={workshop.id} view={workshop} labels={text.workshopFields} />
      ))}
      {here && (
        <section class="block">
          <h2>{text.thisOne}</h2>
          <TagList>{[<DeviceTag key={here.id} device={here} mine />]}</TagList>
        </section>
      )}
      {standing.kind === "paired" && (
        <section class="block">
          <h2>{text.others}</h2>
          {others.length === 0 ? (
            <p>{text.noOthers}</p>
          ) : (
            <TagList label={text.others}>
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
