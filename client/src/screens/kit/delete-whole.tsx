/**
 * Deleting a whole kit with the builds of it, or a build alone: a sheet says first what goes, and
 * all of it comes back at one tap on Builds.
 */
import { useLocation } from "preact-iso";
import { useEffect, useState } from "preact/hooks";
import { inGroups, wholeOf, type Where, type Whole } from "../../core/belongs";
import type { RecordName } from "../../core/undo";
import type { RecordType } from "../../core/records";
import { to } from "../../routes";
import type { Draft, Store, View } from "../../sync/types";
import {
  Loading,
  Notice,
  QuietButton,
  Sheet,
  say,
  sayTrouble,
  useBench,
  useOnce,
  words,
} from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";

const text = kitWords.whole;

export interface DeleteWholeProps {
  of: View<"kit"> | View<"build">;
  open: boolean;
  onClose: () => void;
}

const whereIn =
  (store: Store): Where =>
  (type, field, id) =>
    store.where(type as RecordType, field as never, id) as readonly View[];

/** Reads all that goes into memory, then tells it. Rejects with StorageFailure. */
async function look(store: Store, { type, id }: View<"kit"> | View<"build">): Promise<Whole> {
  const where = whereIn(store);
  const builds = type === "kit" ? where("build", "kit", id) : [];
  await Promise.all([id, ...builds.map((build) => build.id)].map((scope) => store.load(scope)));
  return wholeOf({ type, id }, where);
}

/** Writes part after part, each of which stands or falls together; `back` undoes those written. */
async function eachGroup(
  records: readonly RecordName[],
  write: (part: readonly RecordName[]) => Promise<void>,
  back: (part: readonly RecordName[]) => Promise<void>,
): Promise<void> {
  const written: (readonly RecordName[])[] = [];
  for (const part of inGroups(records)) {
    try {
      await write(part);
    } catch (error) {
      for (const one of written.reverse()) await back(one);
      throw error;
    }
    written.push(part);
  }
}

/** Deletes and brings back, each in one go. */
function hands(store: Store) {
  const remove = (part: readonly RecordName[]) => {
    const views = part
      .map(({ type, id }) => store.get(type as RecordType, id) as View | undefined)
      .filter((view) => view !== undefined);
    return store.write([], { remove: views, together: true });
  };
  const restore = (part: readonly RecordName[]) => {
    // What somebody else has brought back stands already.
    const gone = part.filter(({ type, id }) => !store.get(type as RecordType, id));
    const drafts = gone.map(({ type, id }) => ({ type, id, set: { deleted: null } }) as Draft);
    return drafts.length > 0 ? store.write(drafts, { together: true }) : Promise.resolve();
  };
  return {
    // The kit and its builds first: nobody is shown one of which half is gone.
    remove: (of: Whole) => eachGroup([...of.heads, ...of.contents], remove, restore),
    // And last when it comes back.
    restore: (of: Whole) => eachGroup([...of.contents, ...of.heads], restore, remove),
  };
}

export default function DeleteWhole({ of, open, onClose }: DeleteWholeProps) {
  const { store } = useBench();
  const { route } = useLocation();
  const once = useOnce();
  const [whole, setWhole] = useState<Whole | null>(null);
  const [wrong, setWrong] = useState(false);
  const [busy, setBusy] = useState(false);
  const name = of.values.name ?? "";
  useEffect(() => {
    if (!open) return setWhole(null);
    let gone = false;
    setWrong(false);
    look(store, of).then(
      (found) => !gone && setWhole(found),
      () => !gone && setWrong(true),
    );
    return () => {
      gone = true;
    };
  }, [open, store, of.id]);

  const remove = async () => {
    setBusy(true);
    const { remove, restore } = hands(store);
    try {
      // As it is now: something may have come since it was counted.
      const now = await look(store, of);
      await remove(now);
      route(to.builds());
      say(text.gone(name), async () => {
        await restore(now);
        say(text.back(name));
      });
    } catch {
      sayTrouble(words.shared.notSaved);
      setBusy(false);
    }
  };
  const photos = whole?.inBuilds.get("photo") ?? 0;
  const builds = whole?.heads.filter(({ type }) => type === "build") ?? [];
  return (
    <Sheet
      open={open}
      title={text.title(name)}
      onClose={onClose}
      closeLabel={text.keep}
      main={
        whole && (
          <QuietButton busy={busy} onTap={() => once(remove)}>
            {busy
              ? text.doing
              : of.type === "kit"
                ? text.doKit(builds.length, photos)
                : text.doBuild(photos)}
          </QuietButton>
        )
      }
    >
      {wrong && (
        <Notice loud>
          <p>{text.notRead}</p>
        </Notice>
      )}
      {!whole && !wrong && <Loading what={text.looking} />}
      {whole && (
        <>
          {of.type === "kit" && (
            <p>{whole.inKit.size > 0 ? text.inKit(whole.inKit) : text.emptyKit}</p>
          )}
          {of.type === "kit" && builds.length === 0 && <p>{text.notBuilt}</p>}
          {builds.length > 0 && (
            <Built of={of} builds={builds} inBuilds={whole.inBuilds} />
          )}
          <p>
            {text.everywhere} {text.undo}
          </p>
        </>
      )}
    </Sheet>
  );
}

/** What is lost of somebody's work. */
function Built(props: {
  of: View<"kit"> | View<"build">;
  builds: readonly RecordName[];
  inBuilds: ReadonlyMap<string, number>;
}) {
  const { store } = useBench();
  const { of, builds } = props;
  const n = builds.length;
  const goes = text.inBuilds(n, props.inBuilds);
  if (of.type === "build") {
    const kit = store.get("kit", (of as View<"build">).values.kit ?? "");
    return (
      <>
        <p>{goes ?? text.emptyBuilds(n)}</p>
        {kit && <p>{text.kitStays(kit.values.name ?? "")}</p>}
      </>
    );
  }
  const names = builds.map(({ id }) => store.get("build", id)?.values.name ?? "");
  return (
    <Notice title={text.built(names)} loud>
      <p>{text.goesToo(n)}</p>
      <p>{goes ?? text.emptyBuilds(n)}</p>
    </Notice>
  );
}
