/** The scanner without the app around it: what it sees is left in `window.seen` for the test. */
import { browserCameraWorld, makeCamera } from "../../../client/src/scan/camera";
import { makeDecoder } from "../../../client/src/scan/decoder";
import { readPicture } from "../../../client/src/scan/picture";
import { watch, type Watch } from "../../../client/src/scan/watch";

const seen = {
  texts: [] as string[],
  frameMs: [] as number[],
  hints: [] as (string | null)[],
  failures: [] as string[],
  pictures: [] as (string | null)[],
  state: "off",
  detail: "",
  lenses: 0,
  torch: "",
  startedAt: 0,
  firstTextAt: 0,
};
declare global {
  interface Window {
    seen: typeof seen;
  }
}
window.seen = seen;

const video = document.querySelector("video");
const start = document.getElementById("start");
const rest = document.getElementById("rest");
const file = document.getElementById("file");
if (!video || !start || !rest || !(file instanceof HTMLInputElement)) throw new Error("page");

const KEY = "lens";
const camera = makeCamera(
  browserCameraWorld({
    read: () => localStorage.getItem(KEY),
    write: (id) => localStorage.setItem(KEY, id),
  }),
);
const decoder = makeDecoder();
let looking: Watch | null = null;

camera.state.subscribe((state) => {
  seen.state = state.kind;
  seen.detail = state.kind === "failed" ? state.failure : "";
  looking?.end();
  looking = null;
  if (state.kind !== "live") return;
  seen.lenses = state.lenses.length;
  seen.torch = state.torch;
  video.srcObject = state.stream;
  void video.play();
  looking = watch(video, decoder, {
    onText({ text }) {
      if (seen.texts.length === 0) seen.firstTextAt = performance.now();
      seen.texts.push(text);
    },
    onHint: (hint) => seen.hints.push(hint),
    onFailure: (failure) => seen.failures.push(failure.message),
    onFrame: (ms) => seen.frameMs.push(ms),
  });
});
start.addEventListener("click", () => {
  seen.startedAt = performance.now();
  void camera.start();
});
rest.addEventListener("click", () => camera.rest());
file.addEventListener("change", () => {
  const picture = file.files?.[0];
  if (!picture) return;
  readPicture(picture, decoder).then(
    (found) => seen.pictures.push(found?.text ?? null),
    (error: Error) => seen.failures.push(error.name),
  );
});
