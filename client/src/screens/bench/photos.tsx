/** Photos of a step: from the camera or the gallery, seen at once, captioned and deleted here. */
import { useEffect, useState } from "preact/hooks";
import type { View } from "../../sync/types";
import {
  Clashes,
  Field,
  Notice,
  Picture,
  QuietButton,
  Row,
  Sheet,
  moment,
  say,
  sayTrouble,
  useBench,
  words,
} from "../../ui/parts";
import { afterCamera, beforeCamera, lostBehindCamera } from "./pending";
import { type Unkept, unkept } from "./unkept";
import { type Work, deviceName, useJotting } from "./work";

/** Pitfall 31: only what the device can turn upright and the server takes. */
const PICTURES = "image/jpeg,image/png,image/webp";

/** Two ways to a picture. The camera's is the large one with `first`. */
export function PhotoButtons(props: { work: Work; step: string | null; first?: boolean }) {
  const { photos, jotter } = useBench();
  const { work } = props;
  const [busy, setBusy] = useState(false);
  const about = { build: work.build, step: props.step };
  const ofHere = (one: Unkept) => one.build === about.build && one.step === about.step;
  const waiting = unkept.value.filter(ofHere);
  const letGo = () => (unkept.value = unkept.value.filter((one) => !ofHere(one)));
  const chosen = (input: HTMLInputElement) => {
    afterCamera(jotter);
    const files = [...(input.files ?? [])];
    input.value = "";
    if (files.length > 0) void add(files);
  };
  const add = async (files: readonly File[]) => {
    if (busy) return;
    setBusy(true);
    let kept = 0;
    // One at a time: a phone has no memory for several large pictures.
    for (const file of files) {
      try {
        await photos.add(file, about);
        kept += 1;
      } catch (error) {
        // Whatever is no picture will not become one; for the others there may be room later.
        const refused = error instanceof Error && error.name === "PictureRefused";
        if (!refused) unkept.value = [...unkept.value, { file, ...about }];
        sayTrouble(
          error instanceof Error && error.message ? error.message : words.step.photoRefused,
        );
      }
    }
    setBusy(false);
    if (kept === 0) return;
    await work.save([]);
    if (kept === files.length) say(words.step.photoKept(kept));
  };
  const button = (label: string, camera: boolean) => (
    <label
      class={camera && props.first ? "file-button is-first" : "file-button"}
      aria-busy={busy || undefined}
    >
      <input
        type="file"
        accept={PICTURES}
        {...(camera ? { capture: "environment" as const } : { multiple: true })}
        disabled={busy}
        onClick={() => beforeCamera(jotter, location.pathname, Date.now())}
        onCancel={() => afterCamera(jotter)}
        onChange={(event) => chosen(event.currentTarget)}
      />
      <span>{label}</span>
    </label>
  );
  const again = () => {
    letGo();
    void add(waiting.map(({ file }) => file));
  };
  return (
    <>
      {waiting.length > 0 && !busy && (
        <Notice title={words.step.photoUnkept(waiting.length)}>
          <p>{words.step.photoUnkeptHelp}</p>
          <Row>
            <QuietButton onTap={again}>{words.shared.tryAgain}</QuietButton>
            <QuietButton onTap={letGo}>{words.step.photoUnkeptDrop}</QuietButton>
          </Row>
        </Notice>
      )}
      <Row>
        {button(words.step.takePhoto, true)}
        {button(words.step.gallery, false)}
        {busy && <span role="status">{words.step.photoBusy}</span>}
      </Row>
    </>
  );
}

export function Photos({ work, step, number }: { work: Work; step: string; number: string }) {
  const bench = useBench();
  const [open, setOpen] = useState<string | null>(null);
  const [lost, setLost] = useState(false);
  useEffect(() => {
    if (lostBehindCamera(bench.jotter, Date.now()) === location.pathname) {
      afterCamera(bench.jotter);
      setLost(true);
    }
  }, [bench]);
  const photos = bench.store
    .where("photo", "step", step)
    .filter(({ values }) => values.build === work.build)
    .sort((a, b) => ((a.values.taken_at ?? "") < (b.values.taken_at ?? "") ? -1 : 1));
  const shown = photos.find((photo) => photo.id === open);
  const name = (photo: View<"photo">) =>
    photo.values.caption || words.step.photoOf(number, moment(photo.values.taken_at ?? ""));
  const remove = (photo: View<"photo">) => {
    setOpen(null);
    void work.remove(photo, words.step.photoDeleted);
  };
  return (
    <section class="block" aria-labelledby="photos">
      <h2 id="photos">{words.step.photos}</h2>
      {lost && (
        <Notice>
          <p>{words.step.cameraLost}</p>
        </Notice>
      )}
      {photos.length > 0 && (
        <ul class="photos" role="list">
          {photos.map((photo) => (
            <li key={photo.id}>
              <button type="button" class="photo-tap" onClick={() => setOpen(photo.id)}>
                <Picture
                  blob={photo.values.blob ?? ""}
                  size="thumb"
                  alt={name(photo)}
                  stored={photo.values.stored}
                  from={deviceName(bench, photo.values.device)}
                />
              </button>
            </li>
          ))}
        </ul>
      )}
      {photos.map((photo) => (
        <Clashes key={photo.id} view={photo} labels={words.step.fields} />
      ))}
      <PhotoButtons work={work} step={step} />
      <Sheet
        open={shown !== undefined}
        title={shown ? name(shown) : words.step.photos}
        onClose={() => setOpen(null)}
      >
        {shown && (
          <>
            <Picture
              blob={shown.values.blob ?? ""}
              size="preview"
              alt={name(shown)}
              stored={shown.values.stored}
              from={deviceName(bench, shown.values.device)}
            />
            <Caption work={work} photo={shown} />
            <Row>
              <QuietButton onTap={() => remove(shown)}>{words.step.deletePhoto}</QuietButton>
            </Row>
          </>
        )}
      </Sheet>
    </section>
  );
}

function Caption({ work, photo }: { work: Work; photo: View<"photo"> }) {
  const jot = useJotting(`caption/${photo.id}`, photo.values.caption ?? "");
  const keep = () => {
    const caption = jot.text.trim() || null;
    if (caption === (photo.values.caption ?? null)) return;
    void work
      .keep([{ type: "photo", id: photo.id, set: { caption } }])
      .then((saved) => saved && jot.drop());
  };
  return (
    <Field
      label={words.step.caption}
      hint={words.shared.optional}
      value={jot.text}
      maxLength={500}
      onInput={jot.set}
      onLeave={keep}
      onEnter={keep}
    />
  );
}
