/** Start of the app. */
import { render } from "preact";
import { version } from "../package.json";
import { App } from "./app";
import { lostBehindCamera } from "./screens/bench/pending";
import { unkept } from "./screens/bench/unkept";
import { start } from "./sync/app";
import { Insecure, NoStorage } from "./ui/cannot-start";
import { applyLight } from "./ui/light";
import { watchForUpdates } from "./update";
import "./ui/tokens.css";
import "./ui/base.css";

async function begin(root: Element): Promise<void> {
  if (!window.isSecureContext) return render(<Insecure address={location.origin} />, root);
  // Whatever is being kept or sent shows a busy button; words being typed are kept as typed. What
  // found no room is nowhere but in this page.
  const updates = watchForUpdates(
    () => unkept.peek().length > 0 || document.querySelector('[aria-busy="true"]') !== null,
  );
  try {
    const bench = await start();
    // A phone may have killed the page behind its camera: back to where the builder was.
    const lost = location.pathname === "/" ? lostBehindCamera(bench.jotter, Date.now()) : null;
    if (lost) history.replaceState(null, "", lost);
    render(<App bench={{ ...bench, files: { ...updates, version } }} />, root);
  } catch (error) {
    console.error(error);
    render(<NoStorage detail={error instanceof Error ? error.message : String(error)} />, root);
  }
}

applyLight();
const root = document.getElementById("app");
if (!root) throw new Error("index.html has no #app");
void begin(root);
