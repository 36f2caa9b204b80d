/** Start of the app. */
import { render } from "preact";
import { version } from "../package.json";
import { App } from "./app";
import { start } from "./sync/app";
import { applyLight } from "./ui/light";
import { watchForUpdates } from "./update";
import "./ui/tokens.css";
import "./ui/base.css";

applyLight();

const root = document.getElementById("app");
if (!root) throw new Error("index.html has no #app");

// Whatever is being kept or sent shows a busy button; words being typed are kept as typed.
const updates = watchForUpdates(() => document.querySelector('[aria-busy="true"]') !== null);
const bench = await start();
render(<App bench={{ ...bench, files: { ...updates, version } }} />, root);
