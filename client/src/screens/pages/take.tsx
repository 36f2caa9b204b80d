/** Two ways to the picture of a page: the phone's camera, or a picture there is already. */
import { Row, useBench } from "../../ui/parts";
import { pagesWords } from "../../ui/words-pages";
import { afterCamera, beforeCamera } from "../bench/pending";

const text = pagesWords;
/** Pitfall 31: only what the device can turn upright. */
const PICTURES = "image/jpeg,image/png,image/webp";

/** `again`: there is one already, which the next takes the place of. */
export function TakePicture(props: {
  again?: boolean;
  busy: boolean;
  onFile: (file: File) => void;
}) {
  const { jotter } = useBench();
  const input = (label: string, camera: boolean) => (
    <label class={camera && !props.again ? "file-button is-first" : "file-button"}>
      <input
        type="file"
        accept={PICTURES}
        {...(camera ? { capture: "environment" as const } : {})}
        disabled={props.busy}
        // A phone may kill the page behind its camera (pitfall 30): it comes back here.
        onClick={() => beforeCamera(jotter, location.pathname + location.search, Date.now())}
        onCancel={() => afterCamera(jotter)}
        onChange={(event) => {
          afterCamera(jotter);
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = ""; // the same file can be chosen again
          if (file) props.onFile(file);
        }}
      />
      <span>{label}</span>
    </label>
  );
  return (
    <Row>
      {input(props.again ? text.retake : text.take, true)}
      {input(text.choose, false)}
    </Row>
  );
}
