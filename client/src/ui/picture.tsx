/** A picture of the workshop, wherever its bytes are; gives its URL back when it leaves. */
import { useEffect, useRef, useState } from "preact/hooks";
import { useBench } from "./bench-context";
import { words } from "./words";

type Shown = { kind: "loading" } | { kind: "here"; url: string } | { kind: "elsewhere" };

/**
 * `stored`: the photo record's field; when it turns true the picture is tried again.
 * `from`: name of the device that took it. `ratio`: width / height, to keep the place free.
 */
export function Picture(props: {
  blob: string;
  size: "thumb" | "preview" | "full";
  alt: string;
  stored?: boolean | null | undefined;
  from?: string | null | undefined;
  ratio?: number | undefined;
}) {
  const { photos } = useBench();
  const [shown, setShown] = useState<Shown>({ kind: "loading" });
  const [tries, setTries] = useState(0);
  const triedWith = useRef(props.stored);
  useEffect(() => {
    let gone = false;
    let release: (() => void) | null = null;
    triedWith.current = props.stored;
    setShown({ kind: "loading" });
    photos.show(props.blob, props.size).then(
      (found) => {
        if (gone) found?.release();
        else if (found) {
          release = found.release;
          setShown({ kind: "here", url: found.url });
        } else setShown({ kind: "elsewhere" });
      },
      () => !gone && setShown({ kind: "elsewhere" }),
    );
    return () => {
      gone = true;
      release?.();
    };
  }, [photos, props.blob, props.size, tries]);
  useEffect(() => {
    // A picture that is here already does not blink when the server says that it has it, too.
    if (shown.kind === "elsewhere" && triedWith.current !== props.stored) setTries(tries + 1);
  }, [shown.kind, props.stored]);
  const style = props.ratio ? { aspectRatio: String(props.ratio) } : undefined;
  if (shown.kind === "here") {
    return (
      <img
        class={`picture picture-${props.size}`}
        src={shown.url}
        alt={props.alt}
        style={style}
        onError={() => setShown({ kind: "elsewhere" })}
      />
    );
  }
  const why =
    shown.kind === "loading"
      ? words.picture.loading
      : props.stored
        ? words.picture.none
        : props.from
          ? words.picture.elsewhere(props.from)
          : words.picture.elsewhereUnknown;
  return (
    <div class={`picture picture-${props.size} picture-absent`} style={style}>
      <span>
        {props.alt}
        <br />
        <em>{why}</em>
      </span>
    </div>
  );
}
