/** Start of the app. */
import { render } from "preact";
import { App } from "./app";
import { start } from "./sync/app";
import { applyLight } from "./ui/light";
import "./ui/tokens.css";
import "./ui/base.css";

applyLight();

const root = document.getElementById("app");
if (!root) throw new Error("index.html has no #app");
const bench = await start();
render(<App bench={bench} />, root);
