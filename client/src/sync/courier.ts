/**
 * The exchange with the server (server/PROTOCOL.md): push, pull, photos. It can be stopped at any
 * await, or answered with anything, and a later exchange mends it.
 */
import { signal, type ReadonlySignal, type Signal } from "@preact/signals";
import { randomClock } from "../core/ids";
import { PackingError } from "../core/packing";
import { StorageFailure } from "../db/failure";
import { pictureOf, type Heard, type OutboxRow, type RowProblem, type Verdict } from "../db/outbox";
import type { Pictures } from "../db/pictures";
import * as api from "../net/api";
import type { Call, Http, Reply } from "../net/http";
import type { PushReply, WireCursor } from "../net/messages";
import type { Databases, Pulled, RecordStore } from "./store";
import type { Turns } from "./turns";
import type { Courier, ExchangeState, Parked } from "./types";

export interface CourierContext {
  readonly http: Http;
  readonly store: RecordStore;
  readonly turns: Turns;
  readonly nowMs: () => number;
  readonly randomBytes: (count: number) => Uint8Array;
  /** Whether this browser is still paired to the workshop: another tab may have changed that. */
  readonly isCurrent: (workshop: string) => Promise<boolean>;
}

/** An open workshop, as the courier needs it. */
export interface Route extends Databases {
  readonly pictures: Pictures;
}

/** Changes in one push at most, unless a single group is larger. */
export const BATCH_MAX = 2_000;
/** Ids in one offer. */
const OFFER_MAX = 2_000;
/**
 * Replies that took longer than this say too little of the server's time to set a clock by, in ms.
 */
const TIME_TRUST_MS = 4_000;
/** How often the server may send an exchange back to its beginning. */
const RESTARTS_MAX = 3;
const PHOTO_PREFIX = "photo:";

/** The exchange cannot go on now. */
class Halt extends Error {
  constructor(
    readonly server: ExchangeState["server"],
    readonly retryAfterMs: number | null = null,
    readonly refusal: RowProblem | null = null,
  ) {
    super(server);
  }
}

/** The server wants this device to read everything again. */
class Restart extends Error {}

const AT_START: ExchangeState = {
  server: "starting",
  unsentChanges: 0,
  unsentPhotos: 0,
  parked: [],
  quarantined: 0,
  lastExchangeAt: null,
  refusal: null,
  storage: null,
};

export class SyncCourier implements Courier {
  readonly #state: Signal<ExchangeState> = signal(AT_START);
  #route: Route | null = null;
  #running: Promise<void> | null = null;
  #again = false;
  #pruned = false;
  /** What the server asked us to wait, from the last exchange; ms. */
  #retryAfterMs: number | null = null;

  constructor(readonly context: CourierContext) {}

  get state(): ReadonlySignal<ExchangeState> {
    return this.#state;
  }

  get retryAfterMs(): number | null {
    return this.#retryAfterMs;
  }

  /** Opens a workshop, or none. What is under way for another stops at its next step. */
  async travel(route: Route | null): Promise<void> {
    this.#route = route;
    this.#pruned = false;
    this.#state.value = { ...AT_START, storage: this.#state.value.storage };
    await this.recount();
  }

  exchange(): Promise<void> {
    if (this.#running) {
      this.#again = true;
      return this.#running;
    }
    this.#running = this.#exchanges().finally(() => (this.#running = null));
    return this.#running;
  }

  async #exchanges(): Promise<void> {
    let goOn: boolean;
    do {
      this.#again = false;
      const route = this.#route;
      const went = route !== null && (await this.#exchange(route));
      goOn = this.#again && (went || this.#route !== route);
    } while (goOn);
  }

  async retryParked(change: string): Promise<void> {
    await this.#guarded(async (route) => {
      const blob = blobOf(change);
      if (blob) await route.outbox.parkPhoto(blob, null);
      else await this.context.store.rework(({ outbox }) => outbox.retry(change));
    });
    await this.exchange();
  }

  async dropParked(change: string): Promise<void> {
    await this.#guarded(async (route) => {
      const blob = blobOf(change);
      if (blob === null) return route.outbox.drop(change);
      // Its records would say for ever that the picture is still on this device.
      await this.context.store.remove(await route.outbox.recordsOf(blob));
      await route.outbox.dropPhoto(blob);
    });
  }

  /** Tells what the storage did, wherever it happened; `null`: it is well again. */
  storage(trouble: ExchangeState["storage"]): void {
    if (this.#state.value.storage !== trouble) this.#set({ storage: trouble });
  }

  /** Counts again what waits on this device. Never throws. */
  async recount(): Promise<void> {
    await this.#guarded(() => Promise.resolve());
  }

  /** Does something to the outbox, then counts. Storage failures become state. */
  async #guarded(work: (route: Route) => Promise<void>): Promise<void> {
    const route = this.#route;
    if (!route) return;
    try {
      await work(route);
      const counts = await route.outbox.counts();
      if (this.#route !== route) return;
      const { unsentChanges, unsentPhotos, quarantined } = counts;
      this.#set({
        unsentChanges,
        unsentPhotos,
        quarantined,
        parked: [...units(counts.parked).map(parkedOf), ...counts.parkedPhotos.map(parkedPhoto)],
      });
    } catch (error) {
      this.#failed(error);
    }
  }

  #set(some: Partial<ExchangeState>): void {
    this.#state.value = { ...this.#state.value, ...some };
  }

  #failed(error: unknown): void {
    if (error instanceof StorageFailure) return this.storage(error.trouble);
    // Ours: a mistake in this program. Shown, so that it is not taken for a lost network.
    const title = "The app made a mistake";
    const refusal = { type: "about:blank", title, detail: String(error) };
    this.#set({ server: "unreachable", refusal });
  }

  /** Whether it went through. */
  async #exchange(route: Route): Promise<boolean> {
    try {
      await this.context.turns(route.workshop, route.outbox, () => this.#round(route));
      return true;
    } catch (error) {
      if (this.#route !== route) return false;
      if (error instanceof Halt) {
        this.#retryAfterMs = error.retryAfterMs;
        this.#set({ server: error.server, refusal: error.refusal });
      } else this.#failed(error);
      return false;
    } finally {
      await this.recount();
    }
  }

  async #round(route: Route): Promise<void> {
    this.#retryAfterMs = null;
    // A server that sleeps, or a captive portal, is found out before anything large is sent to it.
    if (this.#state.value.server !== "reached") this.#need(await this.#ask(route, api.ping()));
    await this.context.store.catchUp();
    for (let restarts = 0; ; restarts += 1) {
      try {
        await this.#push(route);
        await this.#pull(route);
        // Restored before this device had pulled for the first time: nothing else would tell.
        if (!(await this.#offeredHere(route))) break;
      } catch (error) {
        if (!(error instanceof Restart) || restarts >= RESTARTS_MAX) {
          throw error instanceof Restart ? new Halt("unreachable") : error;
        }
        await this.#beginAnew(route);
      }
    }
    this.#set({ server: "reached", refusal: null, lastExchangeAt: this.context.nowMs() });
    await this.recount();
    await this.#sendPhotos(route);
    await this.#prune(route);
  }

  // ---- push ----

  async #push(route: Route): Promise<void> {
    let clocksTaken = 0;
    for (;;) {
      const waiting = await route.outbox.unsent();
      if (!waiting.length) return;
      await this.#check(route);
      let answered = 0;
      const all = units(waiting);
      const torn = all.filter((unit) => unit.length !== (unit[0]?.group?.size ?? 1));
      if (torn.length) {
        await this.#park(torn.flat(), TORN);
        continue;
      }
      const queue = batches(all, BATCH_MAX);
      for (let batch = queue.shift(); batch; batch = queue.shift()) {
        const reply = await this.#sendBatch(route, batch);
        if ("split" in reply) {
          if (batch.length === 1) {
            await this.#park(batch.flat(), reply.split);
            answered += 1;
          } else {
            const half = Math.ceil(batch.length / 2);
            queue.unshift(batch.slice(0, half), batch.slice(half));
          }
          continue;
        }
        const { verdicts, copied } = judged(batch.flat(), reply, clocksTaken === 0);
        await this.context.store.settled(verdicts, reply.time);
        answered += verdicts.length;
        if (copied) {
          // This device is a copy of another, or the server has forgotten its clock.
          clocksTaken += 1;
          await this.#takeClock(route);
          answered += 1;
          break;
        }
      }
      // Only 'retry' came back: asking again at once would change nothing.
      if (!answered) throw new Halt("reached");
    }
  }

  /** `split`: why the server will not read so much, or something in it, at once. */
  async #sendBatch(
    route: Route,
    batch: readonly Unit[],
  ): Promise<(PushReply & { time: Heard }) | { split: RowProblem }> {
    const cursor = this.context.store.cursor;
    let call: Call<PushReply>;
    try {
      call = api.push(route.workshop, cursor, batch.flat());
    } catch (error) {
      if (!(error instanceof PackingError || error instanceof RangeError)) throw error;
      return { split: { ...UNSOUND, detail: error.message } };
    }
    const sentAt = this.context.nowMs();
    const reply = await this.#ask(route, call);
    if (reply.kind === "problem" && [400, 413, 422].includes(reply.problem.status)) {
      return { split: reply.problem.status === 413 ? TOO_LARGE : problemOf(reply.problem) };
    }
    const value = this.#need(reply);
    return { ...value, time: this.#time(value.now, sentAt) };
  }

  /** The server's time, if the reply came fast enough to say it. */
  #time(serverNow: number, sentAt: number): Heard {
    const nowMs = this.context.nowMs();
    return { serverNow: Math.abs(nowMs - sentAt) <= TIME_TRUST_MS ? serverNow : null, nowMs };
  }

  async #park(rows: readonly OutboxRow[], problem: RowProblem): Promise<void> {
    const verdicts = rows.map(({ id }): Verdict => ({ id, state: "parked", problem }));
    await this.context.store.settled(verdicts, { serverNow: null, nowMs: this.context.nowMs() });
  }

  async #takeClock(route: Route): Promise<void> {
    const clock = randomClock(this.context.randomBytes(8));
    this.#need(await this.#ask(route, api.newClock(route.workshop, clock)));
    await this.context.store.rework(({ outbox }) => outbox.remint(clock));
  }

  // ---- pull ----

  async #pull(route: Route): Promise<void> {
    const cursor = this.context.store.cursor;
    const { records, at, time } = await this.#fetchFrom(route, cursor);
    await route.outbox.correct(time);
    const moved =
      at.seq !== cursor?.seq || at.epoch !== cursor.epoch || at.change !== cursor.change;
    if (!records.length && !moved) return;
    await this.context.store.pulled(records, at, cursor === null);
    this.storage(null);
  }

  /**
   * All records changed since `from`, the last state of each. Pages are kept back until the last
   * has come, because an earlier one alone may hold half of what belongs together.
   */
  async #fetchFrom(
    route: Route,
    from: WireCursor | null,
  ): Promise<{
    records: Pulled[];
    at: WireCursor;
    time: Heard;
  }> {
    const staged = new Map<string, Pulled & { heads: Pulled["heads"][number][] }>();
    let at = from;
    for (;;) {
      const sentAt = this.context.nowMs();
      const page = this.#need(await this.#ask(route, api.pull(route.workshop, at)));
      if (page.workshop !== route.workshop) throw new Halt("unpaired");
      const stands = at && page.cursor.epoch === at.epoch && page.cursor.seq <= at.seq;
      if (page.more && stands) throw new Halt("unreachable");
      const fresh = new Set<string>();
      for (const { id, type, record, stamp, set } of page.changes) {
        const key = `${type}:${record}`;
        let pulled = staged.get(key);
        if (!pulled || !fresh.has(key)) {
          // What an earlier page said of the record is replaced.
          pulled = { type, id: record, heads: [] };
          staged.set(key, pulled);
          fresh.add(key);
        }
        pulled.heads.push({ id, stamp, set });
      }
      at = page.cursor;
      if (!page.more) {
        return { records: [...staged.values()], at, time: this.#time(page.now, sentAt) };
      }
    }
  }

  async #beginAnew(route: Route): Promise<void> {
    const { records, at } = await this.#fetchFrom(route, null);
    const { ids, missing } = await this.#offer(route, at.epoch);
    const again = await route.outbox.restored(ids, missing, at.epoch);
    await this.context.store.pulled(records, at, true);
    await this.#photosAgain(route, again);
  }

  /** Whether there was something to offer; then the round begins again. */
  async #offeredHere(route: Route): Promise<boolean> {
    const epoch = this.context.store.cursor?.epoch;
    if (epoch === undefined) return false;
    const { ids, missing } = await this.#offer(route, epoch);
    if (!ids.length) return false;
    const again = await this.context.store.rework(({ outbox }) =>
      outbox.restored(ids, missing, epoch),
    );
    await this.#photosAgain(route, again);
    return true;
  }

  /** Finds out which changes that were sent in another epoch the server has lost. */
  async #offer(
    route: Route,
    epoch: string,
  ): Promise<{ ids: readonly string[]; missing: ReadonlySet<string> }> {
    const ids = await route.outbox.ofOtherEpochs(epoch);
    const missing = new Set<string>();
    for (let i = 0; i < ids.length; i += OFFER_MAX) {
      const call = api.offer(route.workshop, ids.slice(i, i + OFFER_MAX));
      for (const id of this.#need(await this.#ask(route, call)).missing) missing.add(id);
    }
    return { ids, missing };
  }

  // ---- photos ----

  async #sendPhotos(route: Route): Promise<void> {
    let sent = 0;
    let stumbled: Reply<null> | null = null;
    for (const blob of await route.outbox.pendingPhotos()) {
      // Words before pictures: what was written meanwhile goes first.
      if (this.#again) return;
      const photo = await route.outbox.photo(blob);
      if (!photo) continue;
      await this.#check(route);
      const picture = { type: photo.type, bytes: photo.bytes };
      const reply = await this.#ask(route, api.putBlob(route.workshop, blob, picture));
      if (reply.kind === "problem" && [400, 413, 415, 422].includes(reply.problem.status)) {
        await route.outbox.parkPhoto(blob, problemOf(reply.problem));
      } else if (reply.kind === "problem" && reply.problem.status === 500) {
        // It may be this picture at which the server stumbles: the others do not wait for it.
        stumbled = reply;
      } else {
        this.#need(reply);
        await route.pictures.put(blob, "full", picture, this.context.nowMs());
        await route.outbox.confirmPhoto(photo);
        sent += 1;
      }
      await this.recount();
    }
    // The server has written `stored` on their records: fetch that.
    if (sent) this.#again = true;
    if (stumbled) this.#need(stumbled);
  }

  /** Bytes of photos that a restored server has lost, as far as they are still here. */
  async #photosAgain(route: Route, rows: readonly OutboxRow[]): Promise<void> {
    for (const row of rows) {
      const blob = pictureOf(row);
      if (blob === null || (await route.outbox.photo(blob))) continue;
      const picture = await route.pictures.get(blob, "full", this.context.nowMs());
      if (picture) {
        await route.outbox.addPhoto({ blob, ...picture, added_at: this.context.nowMs() });
      }
    }
  }

  async #prune(route: Route): Promise<void> {
    const cursor = this.context.store.cursor;
    if (this.#pruned || !cursor) return;
    await route.outbox.prune(this.context.nowMs(), cursor.seq);
    this.#pruned = true;
  }

  // ---- replies ----

  /**
   * Before anything of this workshop is sent: it is still the one that this browser is paired to.
   */
  async #check(route: Route): Promise<void> {
    if (this.#route !== route) throw new Halt("starting");
    if (!(await this.context.isCurrent(route.workshop))) throw new Halt("unpaired");
  }

  async #ask<T>(route: Route, call: Call<T>): Promise<Reply<T>> {
    const reply = await this.context.http.send(call);
    if (this.#route !== route) throw new Halt("starting");
    return reply;
  }

  #need<T>(reply: Reply<T>): T {
    switch (reply.kind) {
      case "ok":
        return reply.value;
      case "offline":
      case "notOurs":
        throw new Halt("unreachable");
      case "problem": {
        const { slug, problem, retryAfterMs } = reply;
        if (slug === "other-epoch" || slug === "below-floor") throw new Restart(slug);
        if (problem.status === 401 || slug === "other-workshop") throw new Halt("unpaired");
        if (problem.status === 426) throw new Halt("tooOld");
        throw new Halt("unreachable", retryAfterMs, problemOf(problem));
      }
    }
  }
}

const UNSOUND: RowProblem = {
  type: "/api/problems/malformed",
  title: "It cannot be packed for the way",
};

const TOO_LARGE: RowProblem = {
  type: "/api/problems/too-large",
  title: "Too large",
  detail: "The server cannot take this change, alone or with others.",
};

const TORN: RowProblem = {
  type: "/api/problems/group-incomplete",
  title: "A part of this group is missing",
  detail: "Changes that belong together are no longer all on this device.",
};

/** Changes that are sent together or not at all. */
type Unit = readonly OutboxRow[];

/** Groups and single changes, in order of writing. */
function units(rows: readonly OutboxRow[]): Unit[] {
  const all: OutboxRow[][] = [];
  const groups = new Map<string, OutboxRow[]>();
  for (const row of rows) {
    const known = groups.get(groupOf(row));
    if (known) known.push(row);
    else {
      const unit = [row];
      all.push(unit);
      groups.set(groupOf(row), unit);
    }
  }
  return all;
}

/** Id of the first change of its group, or of itself. */
function groupOf({ id, group }: OutboxRow): string {
  return group ? `${id.slice(0, 16)}.${group.first}` : id;
}

function batches(all: readonly Unit[], most: number): Unit[][] {
  const lists: Unit[][] = [];
  let room = 0;
  for (const unit of all) {
    const last = lists[lists.length - 1];
    if (last && unit.length <= room) last.push(unit);
    else {
      lists.push([unit]);
      room = most;
    }
    room -= unit.length;
  }
  return lists;
}

/** The server's verdicts by change id. `copied`: some ids are not ours to use, and stay unsent. */
function judged(
  rows: readonly OutboxRow[],
  reply: PushReply,
  mayTakeClock: boolean,
): { verdicts: Verdict[]; copied: boolean } {
  const verdicts: Verdict[] = [];
  const copied = new Set<string>();
  rows.forEach((row, i) => {
    const { id } = row;
    const said = reply.verdicts[i];
    if (!said || said.verdict === "retry") return;
    if (said.verdict !== "refused") {
      const stamp = said.restamped === undefined ? {} : { stamp: said.restamped };
      verdicts.push({ id, state: "sent", seq: said.seq ?? 0, epoch: reply.epoch, ...stamp });
      return;
    }
    const problem = said.problem ?? { type: "about:blank", title: "The server refused it" };
    const slug = problem.type.slice(problem.type.lastIndexOf("/") + 1);
    if (mayTakeClock && (slug === "id-reuse" || slug === "not-allowed")) copied.add(groupOf(row));
    else verdicts.push({ id, state: "parked", problem });
  });
  // What was refused only because its group has such an id goes with it.
  const again = new Set(rows.filter((row) => copied.has(groupOf(row))).map(({ id }) => id));
  return { verdicts: verdicts.filter(({ id }) => !again.has(id)), copied: copied.size > 0 };
}

function problemOf({ type, title, detail }: RowProblem): RowProblem {
  return { type, title, ...(detail === undefined ? {} : { detail }) };
}

/** A unit told by the one of its changes that was refused for itself. */
function parkedOf(unit: Unit): Parked {
  const culprit = unit.find(({ problem }) => problem && !problem.type.endsWith("/group-refused"));
  const { id, type, record, set, problem } = culprit ?? unit[0]!;
  const reason = problem ?? { type: "about:blank", title: "The server refused it" };
  return { change: id, type, record, set, problem: problemOf(reason), along: unit.length - 1 };
}

/** Bytes of a picture that the server does not want; named by their blob. */
function parkedPhoto({ blob, problem }: { blob: string; problem: RowProblem }): Parked {
  const change = PHOTO_PREFIX + blob;
  return { change, type: "photo", record: "", set: { blob }, problem, along: 0 };
}

function blobOf(change: string): string | null {
  return change.startsWith(PHOTO_PREFIX) ? change.slice(PHOTO_PREFIX.length) : null;
}
