/** Intakes that are under way or wait for somebody; nothing if there are none. */
import { useEffect, useState } from "preact/hooks";
import type { Intake } from "../../core/intakes";
import { to } from "../../routes";
import { Tag, TagList, useBench } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";
import "../intake.css";
import { useIntakes } from "./use-intakes";

const text = intakeWords.waiting;

/** `kit`: only those for it. */
export default function Waiting({ kit }: { kit?: string | undefined }) {
  const { store, membership } = useBench();
  const intakes = useIntakes();
  const paired = membership.standing.value.kind === "paired";
  const [all, setAll] = useState<readonly Intake[]>([]);
  useEffect(() => {
    if (!intakes || !paired) return;
    // Out of reach, what was told last stays: it is still so, or the screen behind it says more.
    return intakes.watchList((answer) => answer.kind === "ok" && setAll(answer.value));
  }, [intakes, paired]);
  const shown = all.filter((one) => kit === undefined || one.kit === kit);
  if (shown.length === 0) return null;
  return (
    <section class="block">
      <h2>{text.title}</h2>
      <TagList label={text.title}>
        {shown.map((one) => {
          const forKit = one.kit === null ? undefined : store.get("kit", one.kit)?.values.name;
          return (
            <Tag
              key={one.id}
              href={to.intake(one.id)}
              title={<span class="waiting-name">{text.line(one.name, text.state(one))}</span>}
              note={forKit ? intakeWords.intake.forKit(forKit) : undefined}
            />
          );
        })}
      </TagList>
    </section>
  );
}
