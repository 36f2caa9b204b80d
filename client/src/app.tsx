/** The app around its bench: addresses to screens. `main.tsx` gives it the real bench. */
import { Component, type ComponentChildren, type ComponentType } from "preact";
import { lazy, LocationProvider, Route, Router, useLocation } from "preact-iso";
import { useEffect } from "preact/hooks";
import { keepPreference } from "./db/preferences";
import { patterns } from "./routes";
import { BenchContext } from "./ui/bench-context";
import { Page } from "./ui/page";
import { Shell } from "./ui/shell";
import { Trouble } from "./ui/states";
import { words } from "./ui/words";
import type { Bench } from "./sync/types";

/** What the router hands a screen; its own parameters beside. */
export interface ScreenProps {
  path: string;
  query: Record<string, string>;
}

type Screen<P> = ComponentType<P & ScreenProps>;

/** Each screen is loaded when first opened, and begins anew at each address. */
function screen<P>(load: () => Promise<{ default: Screen<P> }>): Screen<P> {
  const Lazy = lazy(load) as Screen<P>;
  return (props: P & ScreenProps) => <Lazy key={props.path} {...props} />;
}

const Builds = screen(() => import("./screens/builds"));
const NewKit = screen(() => import("./screens/kit-new"));
const AddToKit = screen<{ kit: string }>(() => import("./screens/kit-add"));
const Intake = screen<{ intake: string }>(() => import("./screens/intake"));
const Labels = screen<{ kit: string }>(() => import("./screens/labels"));
const Kit = screen<{ kit: string }>(() => import("./screens/kit"));
const KitStep = screen<{ kit: string; step: string }>(() => import("./screens/kit-step"));
const KitTable = screen<{ kit: string; what: string }>(() => import("./screens/kit-table"));
const NewPage = screen<{ kit: string }>(() => import("./screens/page-new"));
const Devices = screen(() => import("./screens/devices"));
const Archives = screen(() => import("./screens/archives"));
const Pair = screen(() => import("./screens/pair"));
const Path = screen<{ build: string }>(() => import("./screens/path"));
const Step = screen<{ build: string; step: string }>(() => import("./screens/step"));
const Bag = screen<{ build: string; bag: string }>(() => import("./screens/bag"));
const Scan = screen(() => import("./screens/scan"));
const Label = screen<{ code: string }>(() => import("./screens/label"));

function Nowhere() {
  return (
    <Page title={words.shared.nowhere} back="/">
      <p>{words.shared.nowhereWhy}</p>
    </Page>
  );
}

function rememberBuild(url: string): void {
  const build = /^\/builds\/([^/?#]+)/.exec(url)?.[1];
  if (build) keepPreference("lastBuild", build);
}

interface Stopped {
  path: string;
  why: string;
}

/** Stands in for a screen that has stopped, and in the way of no other. */
class Boundary extends Component<{ path: string; children: ComponentChildren }, Stopped> {
  override componentDidCatch(error: unknown): void {
    console.error(error);
    const why = error instanceof Error ? error.message : String(error);
    this.setState({ path: this.props.path, why });
  }

  override componentDidUpdate(): void {
    const { path } = this.state;
    // Gone on elsewhere: whoever comes back tries it again.
    if (path && path !== this.props.path) this.setState({ path: "" });
  }

  override render(): ComponentChildren {
    if (this.state.path !== this.props.path) return this.props.children;
    return (
      <Page title={words.shared.stopped}>
        {/* All anew, for a part of the app that did not come is asked for only once. */}
        <Trouble
          title={words.shared.stoppedWhy}
          detail={this.state.why}
          onRetry={() => window.location.reload()}
        />
      </Page>
    );
  }
}

function Screens() {
  return (
    <Boundary path={useLocation().path}>
      <Router onRouteChange={rememberBuild}>
        <Route path={patterns.builds} component={Builds} />
        <Route path={patterns.newKit} component={NewKit} />
        <Route path={patterns.addToKit} component={AddToKit} />
        <Route path={patterns.intake} component={Intake} />
        <Route path={patterns.labels} component={Labels} />
        <Route path={patterns.kit} component={Kit} />
        <Route path={patterns.kitStep} component={KitStep} />
        <Route path={patterns.kitTable} component={KitTable} />
        <Route path={patterns.newPage} component={NewPage} />
        <Route path={patterns.path} component={Path} />
        <Route path={patterns.step} component={Step} />
        <Route path={patterns.bag} component={Bag} />
        <Route path={patterns.scan} component={Scan} />
        <Route path={patterns.label} component={Label} />
        <Route path={patterns.labelLower} component={Label} />
        <Route path={patterns.devices} component={Devices} />
        <Route path={patterns.pair} component={Pair} />
        <Route path={patterns.archives} component={Archives} />
        <Route default component={Nowhere} />
      </Router>
    </Boundary>
  );
}

export function App({ bench }: { bench: Bench }) {
  useEffect(() => rememberBuild(location.pathname), []);
  return (
    <BenchContext.Provider value={bench}>
      <LocationProvider scope={/^\/(?!api\/|labels\/|ca\b)/}>
        <Shell>
          <Screens />
        </Shell>
      </LocationProvider>
    </BenchContext.Provider>
  );
}
