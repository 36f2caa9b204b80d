/** Asks which bag carries a barcode that was just read; a tap on the bag teaches it. */
import { useState } from "preact/hooks";
import { readPreference } from "../../db/preferences";
import { to } from "../../routes";
import type { View } from "../../sync/types";
import { BigButton, Loading, QuietButton, Tag, TagList, useBench } from "../../ui/parts";
import { codesWords } from "../../ui/words-codes";
import { useLoaded } from "../bench/work";
import { nameOf } from "./teach";

const text = codesWords;

/** Kits, the one of the build that was open last first. */
function useKits(): View<"kit">[] {
  const { store } = useBench();
  const last = store.get("build", readPreference("lastBuild") ?? "")?.values.kit;
  const name = ({ values }: View<"kit">): string => values.name ?? "";
  return [...store.all("kit")].sort((a, b) =>
    a.id === last ? -1 : b.id === last ? 1 : name(a).localeCompare(name(b)),
  );
}

export function WhichBag({ onBag }: { onBag: (bag: View<"bag">) => void }) {
  const { store } = useBench();
  const kits = useKits();
  const [chosen, setChosen] = useState<string | null>(null);
  const kit = kits.length === 1 ? kits[0] : kits.find(({ id }) => id === chosen);
  const loaded = useLoaded(kit?.id);
  if (kits.length === 0) {
    return (
      <>
        <p>{text.noKits}</p>
        <BigButton href={to.builds()}>{text.toBuilds}</BigButton>
      </>
    );
  }
  if (!kit) {
    return (
      <>
        <p>{text.whichKit}</p>
        <TagList label={text.whichKit}>
          {kits.map(({ id, values }) => (
            <Tag key={id} title={values.name ?? ""} onTap={() => setChosen(id)} />
          ))}
        </TagList>
      </>
    );
  }
  const bags = [...store.where("bag", "kit", kit.id)].sort((a, b) =>
    (a.values.order ?? "") < (b.values.order ?? "") ? -1 : 1,
  );
  const other = kits.length > 1 && (
    <QuietButton onTap={() => setChosen(null)}>{text.otherKit}</QuietButton>
  );
  if (!loaded) return <Loading />;
  return (
    <>
      <p>{bags.length > 0 ? text.whichBag : text.noBags}</p>
      {bags.length > 0 && (
        <TagList label={text.bagsOf(kit.values.name ?? "")}>
          {bags.map((bag) => (
            <Tag
              key={bag.id}
              number={bag.values.number ?? ""}
              title={bag.values.title || nameOf(bag)}
              onTap={() => onBag(bag)}
            />
          ))}
        </TagList>
      )}
      {other}
    </>
  );
}
