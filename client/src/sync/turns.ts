/** Only one tab of a browser exchanges with the server at a time. */
import type { Outbox } from "../db/outbox";

/** Runs `work` when it is this tab's turn. */
export type Turns = <R>(name: string, outbox: Outbox, work: () => Promise<R>) => Promise<R>;

const LEASE_MS = 60_000;
const RENEW_MS = 20_000;
const ASK_MS = 1_000;

/**
 * By Web Locks, which the browser gives on when a tab closes or dies; without them by a lease in
 * the outbox, which runs out.
 */
export function takeTurns(
  locks: Pick<LockManager, "request"> | undefined,
  self: string,
  nowMs: () => number,
  sleep: (ms: number) => Promise<void>,
): Turns {
  if (locks) {
    return (name, _outbox, work) =>
      locks.request(`bagtrail-exchange-${name}`, work) as ReturnType<typeof work>;
  }
  return async (_name, outbox, work) => {
    const take = (): Promise<boolean> => outbox.lease(self, nowMs(), nowMs() + LEASE_MS);
    while (!(await take())) await sleep(ASK_MS);
    let held = true;
    const renew = async (): Promise<void> => {
      for (await sleep(RENEW_MS); held; await sleep(RENEW_MS)) await take().catch(() => false);
    };
    void renew();
    try {
      return await work();
    } finally {
      held = false;
      await outbox.lease(self, nowMs(), 0).catch(() => false);
    }
  };
}
