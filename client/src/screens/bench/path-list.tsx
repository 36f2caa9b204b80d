/**
 * The path as tags on a string, in chunks: those far from the view are not made until they come
 * near, so that 2,000 steps open as quickly as 20. Every chunk can also be unfolded by keyboard.
 */
import { Component, type ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { StepState } from "../../core/progress";
import { to } from "../../routes";
import { Tag, words } from "../../ui/parts";
import { OVER, type Item, type Run } from "./path-model";

const CHUNK = 30;
/** A path with no more items than this is made whole at once: its heights are then all true. */
const FEW = 150;
/** Height of one tag for a chunk that is not made yet; CSS pixels. */
const ROW_PX = 112;
/** Chunks nearer than this to the view are made; CSS pixels. */
const NEAR = "1500px";

interface RowProps {
  build: string;
  number: string;
  title: string;
  id: string;
  state: StepState;
  note: string;
  here: boolean;
}

/** Made again only when something of it has changed. */
class StepRow extends Component<RowProps> {
  override shouldComponentUpdate(next: RowProps): boolean {
    return (Object.keys(next) as (keyof RowProps)[]).some((key) => next[key] !== this.props[key]);
  }
  override render(props: RowProps): ComponentChildren {
    return (
      <Tag
        id={`at-${props.id}`}
        href={to.step(props.build, props.id)}
        number={props.number}
        title={props.title}
        {...(props.note ? { note: props.note } : {})}
        state={props.state}
        here={props.here}
        worn={OVER.has(props.state)}
      />
    );
  }
}

export interface PathListProps {
  build: string;
  runs: readonly Run[];
  /** Step where this device is. */
  here: string | null;
  /** Numbers of the steps that a step waits for. */
  after: (step: string) => string[];
  /** Who else is at a step, in words. */
  othersAt: (step: string) => string;
}

function noteOf(item: Item & { kind: "step" }, list: PathListProps): string {
  const { at } = item;
  const after = at.state === "waiting" ? list.after(item.step.id) : [];
  return [
    item.bags.length > 0 && words.path.bag(item.bags),
    at.state === "under_way" &&
      at.operations.length > 0 &&
      words.path.opsDone(at.operationsDone, at.operations.length),
    after.length > 0 && words.path.after(after.slice(0, 3), Math.max(0, after.length - 3)),
    at.state === "held" && at.heldFor,
    list.othersAt(item.step.id),
  ]
    .filter(Boolean)
    .join(" · ");
}

function Row({ item, list }: { item: Item; list: PathListProps }) {
  if (item.kind === "bag") {
    const { number, title } = item.bag.values;
    return (
      <a
        class={item.done ? "path-bag is-worn" : "path-bag"}
        href={to.bag(list.build, item.bag.id)}
      >
        <strong>{words.path.bagTitle(number ?? "", title)}</strong>
        <span class="soft">{item.begun ? words.path.openedBefore : words.path.openHere}</span>
      </a>
    );
  }
  const { number, title } = item.step.values;
  return (
    <StepRow
      build={list.build}
      id={item.step.id}
      number={number ?? ""}
      title={title ?? ""}
      state={item.at.state}
      note={noteOf(item, list)}
      here={item.step.id === list.here}
    />
  );
}

function Chunk(props: {
  items: readonly Item[];
  list: PathListProps;
  made: boolean;
  few: boolean;
}) {
  const [made, setMade] = useState(props.made);
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const element = box.current;
    if (made || !element) return;
    if (typeof IntersectionObserver === "undefined") {
      setMade(true);
      return;
    }
    const watch = new IntersectionObserver(
      (seen) => seen.some((one) => one.isIntersecting) && setMade(true),
      { rootMargin: NEAR },
    );
    watch.observe(element);
    return () => watch.disconnect();
  }, [made]);
  if (!made) {
    const steps = props.items.filter((item) => item.kind === "step");
    const name = (item: Item | undefined) =>
      item?.kind === "step" ? (item.step.values.number ?? "") : "";
    return (
      <div
        ref={box}
        class="path-fold"
        style={{ minBlockSize: `${props.items.length * ROW_PX}px` }}
      >
        <button type="button" class="quiet-button" onClick={() => setMade(true)}>
          {words.path.unfold(name(steps[0]), name(steps.at(-1)))}
        </button>
      </div>
    );
  }
  return (
    <ol
      class={props.few ? "tag-list path-chunk" : "tag-list path-chunk is-many"}
      role="list"
      style={
        props.few ? {} : { containIntrinsicBlockSize: `auto ${props.items.length * ROW_PX}px` }
      }
    >
      {props.items.map((item) => (
        <li key={`${item.kind}-${item.id}`}>
          <Row item={item} list={props.list} />
        </li>
      ))}
    </ol>
  );
}

function chunksOf(items: readonly Item[]): Item[][] {
  const chunks: Item[][] = [];
  for (let at = 0; at < items.length; at += CHUNK) chunks.push(items.slice(at, at + CHUNK));
  return chunks;
}

export function PathList(props: PathListProps & { scrollTo: string | null }) {
  const wanted = props.scrollTo;
  const shown = useRef(false);
  useLayoutEffect(() => {
    if (shown.current || !wanted) return;
    const element = document.getElementById(`at-${wanted}`);
    if (!element) return;
    shown.current = true;
    element.scrollIntoView({ block: "center" });
  }, [wanted]);
  const few = props.runs.reduce((sum, { items }) => sum + items.length, 0) <= FEW;
  let made = 0;
  return (
    <>
      {props.runs.map((run) => (
        <section key={run.id} class="path-run" aria-label={run.title || words.path.rest}>
          {run.title && <h2>{run.title}</h2>}
          {chunksOf(run.items).map((items) => {
            // The first few are made at once, and the one with the step to show.
            const first = made < 2;
            made += 1;
            return (
              <Chunk
                key={items[0]?.id}
                items={items}
                list={props}
                few={few}
                made={few || first || items.some((item) => item.id === wanted)}
              />
            );
          })}
        </section>
      ))}
    </>
  );
}
