/** Where fasteners go: how many, through and into what, thread-locking, snug, torque. */
import type { ComponentChildren } from "preact";
import type { View } from "../../sync/types";
import { number, words } from "../../ui/parts";

type ThreadLock = "use" | "never" | "unsaid";

/* A length of thread, 24 x 24 units: with a drop, crossed, or alone on a broken line. */
const signs: Record<ThreadLock, ComponentChildren> = {
  use: (
    <>
      <path d="M3 4h8M3 8h8M3 12h8M3 16h8M3 20h8" />
      <path class="ink" d="M18 6c2.500 3.500 4 5.500 4 8a4 4 0 0 1-8 0c0-2.500 1.500-4.500 4-8z" />
    </>
  ),
  never: (
    <>
      <path d="M8 4h8M8 8h8M8 12h8M8 16h8M8 20h8" />
      <path d="M3 3 21 21" stroke-width="3.500" />
    </>
  ),
  unsaid: <path d="M8 4h8M8 8h8M8 12h8M8 16h8M8 20h8" stroke-dasharray="2.5 3" />,
};

function ThreadLockMark({ word }: { word: ThreadLock }) {
  return (
    <svg class="mark" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      {signs[word]}
    </svg>
  );
}

/** Joints that are treated alike, so that it is said once for all of them; first come, first. */
export function alike(joints: readonly View<"joint">[]): View<"joint">[][] {
  const groups = new Map<string, View<"joint">[]>();
  for (const joint of joints) {
    const { thread_lock, snug, torque_nm } = joint.values;
    const key = JSON.stringify([thread_lock ?? "unsaid", Boolean(snug), torque_nm || null]);
    const group = groups.get(key);
    if (group) group.push(joint);
    else groups.set(key, [joint]);
  }
  return [...groups.values()];
}

/** `joints`: one group of `alike`. */
export function Joints(props: {
  joints: readonly View<"joint">[];
  partOf: (joint: View<"joint">) => View<"part"> | undefined;
}) {
  const { thread_lock, snug, torque_nm } = props.joints[0]?.values ?? {};
  const word = thread_lock ?? "unsaid";
  return (
    <div class="joint">
      {props.joints.map((joint) => (
        <Where key={joint.id} joint={joint} part={props.partOf(joint)} />
      ))}
      <p class="joint-marks">
        <span class={`joint-word joint-${word}`}>
          <ThreadLockMark word={word} /> {words.step.threadLock[word]}
        </span>
        {snug && <span class="joint-word">{words.step.snug}</span>}
        {typeof torque_nm === "number" && torque_nm > 0 && (
          <span class="joint-word">{words.step.torque(number(torque_nm))}</span>
        )}
      </p>
    </div>
  );
}

function Where({ joint, part }: { joint: View<"joint">; part: View<"part"> | undefined }) {
  const { fastener, count, through, into, text } = joint.values;
  const what = fastener ?? part?.values.designation ?? part?.values.name ?? words.step.fastener;
  const sides = words.step.goesInto(
    through ? words.step.material[through] : null,
    into ? words.step.material[into] : null,
  );
  return (
    <p>
      <strong>{words.step.count(count ?? 1, what)}</strong>
      {sides && <span> {sides}</span>}
      {text && <span class="soft"> · {text}</span>}
    </p>
  );
}
