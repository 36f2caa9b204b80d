/**
 * Intakes: what only the server can do. Nothing here throws, and nothing of it is kept on this
 * device: where an intake stands is on the server, so that any device can go on with it.
 */
import type {
  Corrections,
  Finding,
  FindingsPage,
  FindingsQuery,
  Intake,
  IntakeKind,
  LayoutChange,
  ManualPage,
  Taken,
  Taking,
  UnfitPage,
} from "../core/intakes";
import type { Call, Http } from "../net/http";
import * as api from "../net/intakes";
import type { World } from "./live";
import type { Answer, Intakes } from "./types";

/** While something is read: how soon to look again at first, and at last; ms. */
export const LOOK_MS = 800;
export const LOOK_MAX_MS = 8_000;
/** The same while the server cannot be reached. */
export const WAIT_MS = 2_000;
export const WAIT_MAX_MS = 60_000;

export interface IntakesContext {
  readonly http: Http;
  readonly world: Pick<World, "visible" | "watch" | "later">;
  /** Id of the workshop that is open; null: none. */
  readonly workshop: () => string | null;
  /** Pulls what was taken in. */
  readonly exchange: () => Promise<void>;
  /** Reads a kit into memory. */
  readonly load: (kit: string) => Promise<void>;
  /** The server no longer knows this device. */
  readonly lost: () => void;
}

export class SyncIntakes implements Intakes {
  constructor(readonly context: IntakesContext) {}

  list(): Promise<Answer<readonly Intake[]>> {
    return this.#call(api.all());
  }

  start(
    body: Blob,
    what: { readonly kind: IntakeKind; readonly name: string; readonly kit: string | null },
    signal?: AbortSignal,
  ): Promise<Answer<Intake>> {
    return this.#call(api.start(what, body, signal));
  }

  look(id: string): Promise<Answer<Intake>> {
    return this.#call(api.one(id));
  }

  watch(id: string, hear: (answer: Answer<Intake>) => void): () => void {
    return this.#watch(
      () => this.look(id),
      hear,
      (one) => (one.state === "reading" ? `${one.done}` : null),
    );
  }

  watchList(hear: (answer: Answer<readonly Intake[]>) => void): () => void {
    return this.#watch(
      () => this.list(),
      hear,
      (all) => {
        const reading = all.filter((one) => one.state === "reading");
        return reading.length > 0 ? reading.map((one) => one.done).join() : null;
      },
    );
  }

  stop(id: string): Promise<Answer<Intake>> {
    return this.#call(api.stop(id));
  }

  resume(id: string): Promise<Answer<Intake>> {
    return this.#call(api.resume(id));
  }

  throwAway(id: string): Promise<Answer<null>> {
    return this.#call(api.throwAway(id));
  }

  layout(id: string, change: LayoutChange): Promise<Answer<Intake>> {
    return this.#call(api.layout(id, change));
  }

  findings(id: string, query: FindingsQuery): Promise<Answer<FindingsPage>> {
    return this.#call(api.findings(id, query));
  }

  async allFindings(id: string, query: FindingsQuery): Promise<Answer<readonly Finding[]>> {
    const items: Finding[] = [];
    let after = query.after;
    for (;;) {
      const answer = await this.findings(id, { ...query, ...(after === undefined ? {} : { after }) });
      if (answer.kind !== "ok") return answer;
      items.push(...answer.value.items);
      const { next } = answer.value;
      // A server that hands out the same page for ever is not followed.
      if (next === null || next === after) return { kind: "ok", value: items };
      after = next;
    }
  }

  correct(id: string, corrections: Corrections): Promise<Answer<readonly Finding[]>> {
    return this.#call(api.correct(id, corrections));
  }

  unfit(id: string, after: number, limit: number): Promise<Answer<UnfitPage>> {
    return this.#call(api.unfit(id, after, limit));
  }

  pages(id: string): Promise<Answer<readonly ManualPage[]>> {
    return this.#call(api.pages(id));
  }

  async take(id: string, taking: Taking): Promise<Answer<Taken>> {
    const answer = await this.#call(api.take(id, taking));
    if (answer.kind !== "ok") return answer;
    await this.context.exchange();
    // It is taken in, whether or not it can be read here at once.
    await this.context.load(answer.value.kit).catch(() => undefined);
    return answer;
  }

  /**
   * Asks now, and again while `moving` says what moves: soon as long as that changes, then less
   * and less often. Never while the app is hidden; at once when it is looked at again.
   */
  #watch<T>(
    ask: () => Promise<Answer<T>>,
    hear: (answer: Answer<T>) => void,
    moving: (value: T) => string | null,
  ): () => void {
    const { world } = this.context;
    let over = false;
    let asking = false;
    let cancel: (() => void) | null = null;
    let last: string | null = null;
    let wait = LOOK_MS;
    let offline = WAIT_MS;
    const later = (ms: number): void => {
      cancel?.();
      cancel = world.later(ms, () => void go());
    };
    const go = async (): Promise<void> => {
      cancel?.();
      cancel = null;
      if (over || asking || !world.visible()) return;
      asking = true;
      const answer = await ask();
      asking = false;
      if (over) return;
      hear(answer);
      if (answer.kind === "offline") {
        later(offline);
        offline = Math.min(WAIT_MAX_MS, offline * 2);
        return;
      }
      offline = WAIT_MS;
      const at = answer.kind === "ok" ? moving(answer.value) : null;
      if (at === null) return;
      wait = at === last ? Math.min(LOOK_MAX_MS, wait * 1.6) : LOOK_MS;
      last = at;
      later(wait);
    };
    const unwatch = world.watch({
      seen: () => void go(),
      online: () => void go(),
      hidden: () => {
        cancel?.();
        cancel = null;
      },
    });
    void go();
    return () => {
      over = true;
      cancel?.();
      unwatch();
    };
  }

  async #call<T>(call: Call<T>): Promise<Answer<T>> {
    const workshop = this.context.workshop();
    const headers = workshop === null ? {} : { "Bagtrail-Workshop": workshop };
    const reply = await this.context.http.send({ ...call, headers: { ...call.headers, ...headers } });
    switch (reply.kind) {
      case "ok":
        return { kind: "ok", value: reply.value };
      case "problem":
        if (reply.problem.status === 401) this.context.lost();
        return { kind: "problem", problem: reply.problem };
      default:
        return { kind: "offline" };
    }
  }
}
