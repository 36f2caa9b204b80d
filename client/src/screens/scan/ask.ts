/** Asks what a code means, and the server once if this device does not know it yet. */
import { resolve, resolveBag, type Answer, type Text } from "../../scan/resolve";
import type { Bench, Standing, View } from "../../sync/types";

/** Longest wait for the server before what this device knows is taken as the answer, in ms. */
const PATIENCE_MS = 4_000;

/** The workshop whose records this device holds, paired just now or not; null before any. */
export function workshopOf(standing: Standing): string | null {
  if (standing.kind === "paired") return standing.session.workshop.id;
  return standing.kind === "unpaired" ? (standing.last?.workshop.id ?? null) : null;
}

/** Exchanges with the server, for as long as a builder with a bag in hand will wait. */
export async function exchangeBriefly({ courier }: Pick<Bench, "courier">): Promise<void> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const enough = new Promise<void>((done) => (timer = setTimeout(done, PATIENCE_MS)));
  await Promise.race([courier.exchange(), enough]);
  clearTimeout(timer);
}

/**
 * What a text comes to. A bag that was labelled, or taught its barcode, on another device a minute
 * ago is fetched.
 */
export async function askFor(bench: Bench, workshop: string, text: Text): Promise<Answer> {
  const answer = await resolve(text, bench.store, workshop);
  const taughtElsewhere = answer.kind === "foreign" && answer.barcode !== null;
  if (answer.kind !== "unknown" && !taughtElsewhere) return answer;
  const { server } = bench.courier.state.peek();
  if (server !== "reached" && server !== "starting") return answer;
  await exchangeBriefly(bench);
  return resolve(text, bench.store, workshop);
}

export const askForBag = (bench: Bench, bag: View<"bag">): Promise<Answer> =>
  resolveBag(bag, bench.store);
