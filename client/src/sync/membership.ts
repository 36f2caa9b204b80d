/** Whose device this is: claim, pair, and what only the server can do. Nothing here throws. */
import { signal, type ReadonlySignal, type Signal } from "@preact/signals";
import { randomClock, randomId } from "../core/ids";
import type { Pairing, Profile } from "../db/profile";
import * as api from "../net/api";
import type { Call, Http } from "../net/http";
import type { SessionReply } from "../net/messages";
import type { Tabs } from "./tabs";
import type {
  Answer,
  DeviceKind,
  Invitation,
  Membership,
  Session,
  Sheet,
  Standing,
} from "./types";

export interface MembershipContext {
  readonly http: Http;
  readonly profile: Profile;
  readonly tabs: Tabs;
  readonly randomBytes: (count: number) => Uint8Array;
  /** Opens the workshop of a pairing, in place of the one that is open. */
  readonly open: (pairing: Pairing) => Promise<void>;
  /** Exchanges with the server now. */
  readonly exchange: () => Promise<void>;
  /** This browser has just been paired. */
  readonly arrived: () => void;
}

export class SyncMembership implements Membership {
  readonly #standing: Signal<Standing> = signal<Standing>({ kind: "starting" });
  #last: Session | null = null;

  constructor(readonly context: MembershipContext) {}

  get standing(): ReadonlySignal<Standing> {
    return this.#standing;
  }

  /** Goes on where this browser was: needs no network if it was paired. */
  async begin(): Promise<void> {
    const pairing = await this.context.profile.current();
    if (!pairing) return;
    await this.context.open(pairing);
    this.#last = pairing;
    this.#standing.value = { kind: "paired", session: pairing };
  }

  /**
   * Asks the server who this is. Without a network nothing changes for a device that was paired.
   */
  async ask(): Promise<void> {
    const reply = await this.context.http.send(api.session());
    if (reply.kind === "ok") {
      await this.#enter(reply.value).catch(() => undefined);
    } else if (reply.kind === "problem" && reply.problem.status === 401) {
      const free = reply.problem.claimable === true && !this.#last;
      this.#standing.value = free ? { kind: "claimable" } : { kind: "unpaired", last: this.#last };
    } else if (this.#standing.value.kind === "starting") {
      this.#standing.value = { kind: "unpaired", last: null };
    }
  }

  /** The server no longer knows this device; what it holds stays. */
  lost(): void {
    if (this.#last) this.#standing.value = { kind: "unpaired", last: this.#last };
  }

  claim(workshop: string, name: string, kind: DeviceKind): Promise<Answer<Session>> {
    return this.#arrive(api.claim(workshop, this.#arrival(name, kind)));
  }

  redeem(code: string, name: string, kind: DeviceKind): Promise<Answer<Session>> {
    return this.#arrive(api.redeem(code.trim(), this.#arrival(name, kind)));
  }

  invite(): Promise<Answer<Invitation>> {
    return this.#call(api.invite());
  }

  async revoke(device: string): Promise<Answer<null>> {
    const answer = await this.#call(api.revoke(device));
    if (answer.kind === "ok") await this.context.exchange();
    return answer;
  }

  async addDemo(): Promise<Answer<{ build: string }>> {
    const answer = await this.#call(api.demo());
    if (answer.kind !== "ok") return answer;
    await this.context.exchange();
    return { kind: "ok", value: { build: answer.value.build } };
  }

  sheets(): Promise<Answer<readonly Sheet[]>> {
    return this.#call(api.sheets());
  }

  #arrival(name: string, kind: DeviceKind): api.Arrival {
    const { randomBytes } = this.context;
    // New ones each time: a pairing that was taken back never comes to life under its old name.
    return { name, kind, device: randomId(randomBytes(16)), clock: randomClock(randomBytes(8)) };
  }

  async #arrive(call: Call<SessionReply>): Promise<Answer<Session>> {
    const answer = await this.#call(call);
    if (answer.kind !== "ok") return answer;
    try {
      const session = await this.#enter(answer.value);
      this.context.arrived();
      await this.context.exchange();
      return { kind: "ok", value: session };
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      const problem = { type: "about:blank", title: "Not kept", status: 0, detail: message };
      return { kind: "problem", problem };
    }
  }

  async #enter({ workshop, device, publicUrl }: SessionReply): Promise<Session> {
    const pairing: Pairing = { workshop, device, publicUrl };
    const standing = this.#standing.value;
    const same =
      standing.kind === "paired" && JSON.stringify(standing.session) === JSON.stringify(pairing);
    if (same) return standing.session;
    await this.context.profile.remember(pairing);
    await this.context.open(pairing);
    this.#last = pairing;
    this.#standing.value = { kind: "paired", session: pairing };
    this.context.tabs.post({ kind: "pairing" });
    return pairing;
  }

  async #call<T>(call: Call<T>): Promise<Answer<T>> {
    const reply = await this.context.http.send(call);
    switch (reply.kind) {
      case "ok":
        return { kind: "ok", value: reply.value };
      case "problem":
        if (reply.problem.status === 401) this.lost();
        return { kind: "problem", problem: reply.problem };
      default:
        return { kind: "offline" };
    }
  }
}
