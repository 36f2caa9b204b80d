/** Builds: what is being made, how far it is, and who is where. */
import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import { readPreference } from "../db/preferences";
import { randomId } from "../core/ids";
import { whereabouts } from "../core/progress";
import { to } from "../routes";
import { useBench, useSession } from "../ui/bench-context";
import { BigButton, QuietButton, Row } from "../ui/buttons";
import { Clashes } from "../ui/clash";
import { useOnce } from "../ui/once";
import { Page } from "../ui/page";
import { Rename } from "../ui/rename";
import { Rule } from "../ui/rule";
import { say, sayTrouble } from "../ui/say";
import { Loading, Notice } from "../ui/states";
import { Tag, TagList } from "../ui/tag";
import { date, moment, words } from "../ui/words";
import type { Store, View } from "../sync/types";
import { useOutlooks } from "./bench/outlook";
import { nextStep } from "./bench/path-model";
import { Claim, TwoWays } from "./firstrun";
import { PairForm } from "./pair";

interface Whereabouts {
  mine: boolean;
  device: string;
  step: string;
  at: string;
}

/** Where devices are in a build, latest first, in words. */
function placesIn(store: Store, build: string, mine: string): Whereabouts[] {
  const found = whereabouts(store.where("place", "build", build), mine);
  const all = found.mine ? [found.mine, ...found.others] : found.others;
  return all
    .filter((place) => place.step !== null)
    .map((place) => ({
      mine: place.device === mine,
      device: store.get("device", place.device)?.values.name ?? words.shared.unknownDevice,
      step: store.get("step", place.step ?? "")?.values.number ?? "?",
      at: moment(place.at),
    }));
}

/** A build and its kit, read into memory. */
function useLoaded(build: View<"build"> | undefined): void {
  const { store } = useBench();
  useEffect(() => {
    if (!build) return;
    // A store that cannot read says so in the strip.
    void store.load(build.id).catch(() => undefined);
    if (build.values.kit) void store.load(build.values.kit).catch(() => undefined);
  }, [store, build?.id, build?.values.kit]);
}

function BuildTag({ build, here }: { build: View<"build">; here: boolean }) {
  const { store } = useBench();
  const session = useSession();
  const kit = store.get("kit", build.values.kit ?? "");
  useLoaded(build);
  const { counts } = useOutlooks(build.id, build.values.kit ?? "").standing;
  const total = counts.stepsTotal - counts.steps.left_out;
  const places = placesIn(store, build.id, session?.device.id ?? "");
  const { finished_at: finished, started_at: started } = build.values;
  const about = [
    kit && kit.values.name !== build.values.name ? kit.values.name : null,
    kit?.values.maker,
    kit?.values.scale,
    finished ? words.builds.finished(date(finished)) : null,
    !finished && started ? words.builds.began(date(started)) : null,
  ];
  return (
    <Tag
      href={to.path(build.id)}
      level={2}
      title={build.values.name ?? ""}
      note={about.filter(Boolean).join(" · ")}
      here={here}
      worn={Boolean(finished)}
    >
      <Clashes view={build} labels={words.builds.fields} />
      {total > 0 ? (
        <Rule done={counts.steps.done} total={total} />
      ) : (
        <p class="soft">{words.builds.noSteps}</p>
      )}
      {places.length > 0 && (
        <ul role="list" class="soft">
          {places.map((place, index) => (
            <li key={index}>
              {place.mine
                ? words.builds.here(place.step, place.at)
                : words.builds.isAt(place.device, place.step, place.at)}
            </li>
          ))}
        </ul>
      )}
      <Rename view={build} most={120} />
    </Tag>
  );
}

/** Under the thumb: on with the build that was open last. */
function GoOn({ build }: { build: View<"build"> }) {
  const { store } = useBench();
  const session = useSession();
  const { standing } = useOutlooks(build.id, build.values.kit ?? "");
  const { mine } = whereabouts(store.where("place", "build", build.id), session?.device.id ?? "");
  const next = nextStep(standing, mine?.step ?? null);
  const number = next ? store.get("step", next)?.values.number : undefined;
  if (!next || !number) {
    return <BigButton href={to.path(build.id)}>{words.builds.open(build.values.name ?? "")}</BigButton>;
  }
  const same = mine && mine.step === next && mine.operation;
  return (
    <BigButton
      href={same ? to.operation(build.id, next, same) : to.step(build.id, next)}
    >
      {standing.counts.stepsTotal === standing.counts.steps.ready + standing.counts.steps.waiting
        ? words.builds.begin(number)
        : words.builds.goOn(number)}
    </BigButton>
  );
}

function KitTag({ kit, builds }: { kit: View<"kit">; builds: number }) {
  const { store } = useBench();
  const { route } = useLocation();
  useEffect(() => {
    void store.load(kit.id).catch(() => undefined);
  }, [store, kit.id]);
  const bags = store.where("bag", "kit", kit.id).length;
  const steps = store.where("step", "kit", kit.id).length;
  const name = kit.values.name ?? "";
  const once = useOnce();
  const begin = async () => {
    const id = randomId(crypto.getRandomValues(new Uint8Array(16)));
    const called = builds === 0 ? name : words.builds.secondBuild(name, builds + 1);
    try {
      await store.write([
        {
          type: "build",
          id,
          set: { kit: kit.id, name: called, started_at: new Date().toISOString() },
        },
      ]);
      route(to.path(id));
      say(words.builds.buildStarted(called), async () => {
        const made = store.get("build", id);
        if (made) await store.remove([made]);
        route(to.builds());
      });
    } catch {
      sayTrouble(words.shared.notSaved);
    }
  };
  return (
    <Tag title={name} level={3} note={words.builds.counts(bags, steps)}>
      <Clashes view={kit} labels={words.builds.fields} />
      <Rename view={kit} most={120}>
        <QuietButton href={to.kit(kit.id)} label={`${words.builds.edit}: ${name}`}>
          {words.builds.edit}
        </QuietButton>
        <QuietButton href={to.labels(kit.id)} label={`${words.builds.labels}: ${name}`}>
          {words.builds.labels}
        </QuietButton>
        <QuietButton href={to.addToKit(kit.id)} label={`${words.builds.addTo}: ${name}`}>
          {words.builds.addTo}
        </QuietButton>
        <QuietButton onTap={() => once(begin)}>
          {builds === 0 ? words.builds.buildIt : words.builds.buildAgain}
        </QuietButton>
      </Rename>
    </Tag>
  );
}

/** Intakes under way; loaded when the screen stands, so that it stands soon. */
function OnItsWayIn() {
  const [Waiting, setWaiting] = useState<ComponentType | null>(null);
  useEffect(() => {
    import("./intake/waiting").then(
      (part) => setWaiting(() => part.default),
      () => undefined,
    );
  }, []);
  return Waiting && <Waiting />;
}

function Workshop() {
  const { store, courier, membership } = useBench();
  const standing = membership.standing.value;
  const builds = store.all("build");
  const kits = store.all("kit");
  const { lastExchangeAt, server } = courier.state.value;
  const name = standing.kind === "paired" ? standing.session.workshop.name : undefined;
  if (builds.length === 0 && kits.length === 0) {
    const fetched = lastExchangeAt !== null;
    return (
      <Page title={words.builds.title} above={name}>
        {fetched ? (
          <>
            <TwoWays />
            <OnItsWayIn />
          </>
        ) : server === "unreachable" ? (
          <Notice sign="cut">
            <p>{words.builds.notFetched}</p>
          </Notice>
        ) : (
          <Loading what={words.builds.firstPull} />
        )}
      </Page>
    );
  }
  const last = readPreference("lastBuild");
  const sorted = [...builds].sort((a, b) => {
    const one = Number(Boolean(a.values.finished_at)) - Number(Boolean(b.values.finished_at));
    if (one !== 0) return one;
    if (a.id === last || b.id === last) return a.id === last ? -1 : 1;
    return (a.values.started_at ?? "") < (b.values.started_at ?? "") ? 1 : -1;
  });
  const current = sorted.find((build) => !build.values.finished_at);
  return (
    <Page
      title={words.builds.title}
      above={name}
      actions={current && <GoOn build={current} />}
    >
      {sorted.length > 0 && (
        <TagList label={words.builds.title}>
          {sorted.map((build) => (
            <BuildTag key={build.id} build={build} here={build.id === last} />
          ))}
        </TagList>
      )}
      <section class="block">
        <h2>{words.builds.kits}</h2>
        <TagList label={words.builds.kits}>
          {kits.map((kit) => (
            <KitTag
              key={kit.id}
              kit={kit}
              builds={builds.filter((build) => build.values.kit === kit.id).length}
            />
          ))}
        </TagList>
        <Row>
          <QuietButton href={to.newKit()}>{words.builds.startKit}</QuietButton>
          <QuietButton href={to.archives()}>{words.builds.archives}</QuietButton>
        </Row>
        <OnItsWayIn />
      </section>
    </Page>
  );
}

export default function Builds() {
  const { membership, store } = useBench();
  const standing = membership.standing.value;
  if (standing.kind === "claimable") return <Claim />;
  // A device that was paired before keeps showing what it has.
  const hasWork = store.all("build").length > 0;
  if (standing.kind === "unpaired" && !hasWork) return <PairForm />;
  if (standing.kind === "starting" && !hasWork) {
    return (
      <Page title={words.builds.title}>
        <Loading what={words.pair.starting} />
      </Page>
    );
  }
  return <Workshop />;
}
