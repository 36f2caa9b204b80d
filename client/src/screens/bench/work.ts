/** The hook with which the bench's screens do things: who, when, save, take back. */
import { signal } from "@preact/signals";
import { useEffect, useMemo, useState } from "preact/hooks";
import { randomId } from "../../core/ids";
import type { RecordType } from "../../core/records";
import { onAction, seat } from "../../sync/sitting";
import type { Bench, Draft, View } from "../../sync/types";
import { say, sayTrouble, useBench, words } from "../../ui/parts";
import { type Hand, type Look, type Undo, undoOf } from "./actions";
import { moveTo } from "./here";

export interface Work {
  build: string;
  /** Id of this device's record. */
  device: string;
  look: Look;
  hand(): Hand;
  /**
   * Saves what was done, moves the sitting on, and says `said` with a way back. Resolves to
   * whether it is saved; when not, that has been said and nothing was changed.
   */
  save(drafts: readonly Draft[], options?: SaveOptions): Promise<boolean>;
  /** Deletes a record and says `said` with a way back. */
  remove<T extends RecordType>(view: View<T>, said: string): Promise<boolean>;
  /** Writes without being something done: no sitting, no word. */
  keep(drafts: readonly Draft[]): Promise<boolean>;
  /** Writes what nobody asked for, so that nothing is said of it here; the strip tells trouble. */
  noteDown(drafts: readonly Draft[]): void;
}

export interface SaveOptions {
  said?: string;
  /** Where the builder is with this: written along. */
  at?: { step: string; operation: string | null };
  /** The drafts stand or fall together on the server. */
  together?: boolean;
}

/** Grows with each write that was not kept: a screen that reads it puts its boxes back. */
const refused = signal(0);

/** Draws a component again when a write was not kept, so that its boxes show what is. */
export function usePutBack(): void {
  void refused.value;
}

export const newId = (): string => randomId(crypto.getRandomValues(new Uint8Array(16)));

/** This device's id, also while it is not paired any more: it works on and keeps everything. */
export function deviceOf(bench: Bench): string {
  const at = bench.membership.standing.value;
  if (at.kind === "paired") return at.session.device.id;
  return at.kind === "unpaired" && at.last ? at.last.device.id : "";
}

/** Name of a device, by the id of its record. */
export function deviceName(bench: Bench, device: string | null | undefined): string {
  if (!device) return words.shared.unknownDevice;
  if (device === deviceOf(bench)) return words.shared.thisDevice;
  return bench.store.get("device", device)?.values.name ?? words.shared.unknownDevice;
}

async function takeBack(bench: Bench, undo: Undo): Promise<void> {
  try {
    const gone = undo.gone
      .map(({ type, id }) => bench.store.get(type, id) as View<RecordType> | undefined)
      .filter((view) => view !== undefined);
    if (undo.drafts.length > 0) await bench.store.write(undo.drafts);
    if (gone.length > 0) await bench.store.remove(gone);
    say(words.step.takenBack);
  } catch {
    sayTrouble(words.shared.notSaved);
  }
}

export function makeWork(bench: Bench, build: string): Work {
  const { store } = bench;
  const look: Look = (type, id) => store.get(type, id);
  const device = deviceOf(bench);
  const hand = (): Hand => ({ build, device, nowMs: Date.now(), newId });
  const keep = async (drafts: readonly Draft[], together = false): Promise<boolean> => {
    if (drafts.length === 0) return true;
    try {
      await store.write(drafts, { together });
      return true;
    } catch {
      sayTrouble(words.shared.notSaved);
      refused.value += 1;
      return false;
    }
  };
  return {
    build,
    device,
    look,
    hand,
    keep,
    noteDown: (drafts) => void store.write(drafts).catch(() => undefined),
    async remove(view, said) {
      const { type, id } = view;
      try {
        await store.remove([view as View]);
      } catch {
        sayTrouble(words.shared.notSaved);
        return false;
      }
      say(said, async () => {
        if (await keep([{ type, id, set: { deleted: null } } as Draft])) say(words.step.takenBack);
      });
      return true;
    },
    async save(drafts, options = {}) {
      const doing = hand();
      const undo = undoOf(look, drafts);
      const own = store.where("sitting", "build", build);
      const along = onAction(seat(own, device, doing.nowMs), doing);
      if (options.at) along.push(...moveTo(look, doing, options.at.step, options.at.operation));
      // What stands or falls together is written apart from the time and the place.
      const saved = options.together
        ? (await keep(drafts, true)) && (await keep(along))
        : await keep([...drafts, ...along]);
      if (saved && options.said) say(options.said, () => takeBack(bench, undo));
      return saved;
    },
  };
}

export function useWork(build: string): Work {
  const bench = useBench();
  const device = deviceOf(bench);
  usePutBack();
  return useMemo(() => makeWork(bench, build), [bench, build, device]);
}

/** The moment, renewed every `everyMs` and whenever the app is looked at again; ms since 1970. */
export function useNow(everyMs = 30_000): number {
  const [now, setNow] = useState(() => Date.now());
  useEffect(() => {
    const renew = () => setNow(Date.now());
    const looked = () => document.visibilityState === "visible" && renew();
    const timer = setInterval(renew, everyMs);
    document.addEventListener("visibilitychange", looked);
    return () => {
      clearInterval(timer);
      document.removeEventListener("visibilitychange", looked);
    };
  }, [everyMs]);
  return now;
}

/** Reads a kit's or build's contents into memory; false until they are there. */
export function useLoaded(...scopes: (string | null | undefined)[]): boolean {
  const { store } = useBench();
  const wanted = scopes.filter((scope) => typeof scope === "string").join(" ");
  const [loaded, setLoaded] = useState<string | null>(null);
  useEffect(() => {
    let gone = false;
    Promise.all(wanted.split(" ").filter(Boolean).map((scope) => store.load(scope))).then(
      () => !gone && setLoaded(wanted),
      () => !gone && sayTrouble(words.step.notLoaded),
    );
    return () => {
      gone = true;
    };
  }, [store, wanted]);
  return loaded === wanted;
}

/** The first exchange with the server is still to come or under way: what is missing may arrive. */
export function useArriving(): boolean {
  const { server, lastExchangeAt } = useBench().courier.state.value;
  return lastExchangeAt === null && (server === "starting" || server === "reached");
}

/** Words being typed: kept at every key stroke, until `drop`; what was typed since then stays. */
export function useJotting(key: string, begin = ""): {
  text: string;
  set: (text: string) => void;
  drop: () => void;
} {
  const { jotter } = useBench();
  const [kept, setKept] = useState<{ key: string; text: string } | null>(null);
  const text = kept?.key === key ? kept.text : (jotter.read(key) ?? begin);
  return {
    text,
    set: (next) => {
      jotter.write(key, next);
      setKept({ key, text: next });
    },
    drop: () => {
      if ((jotter.read(key) ?? begin) !== text) return;
      jotter.drop(key);
      setKept(null);
    },
  };
}
