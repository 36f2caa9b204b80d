/** Always there: what of this device's work is not yet on the server, and why. */
import type { ExchangeState, Standing } from "../sync/types";
import { to } from "../routes";
import { useBench } from "./bench-context";
import { Mark, type Sign } from "./marks";
import { words } from "./words";

/** What the strip says, worst first. Pure, for tests. */
export function stripText(
  state: ExchangeState,
  standing: Standing,
  updateWaits: boolean,
): { sign: Sign; text: string } {
  const say = words.strip;
  const unsent = [
    state.unsentChanges > 0 && say.changes(state.unsentChanges),
    state.unsentPhotos > 0 && say.photos(state.unsentPhotos),
  ].filter((text) => text !== false);
  const with_ = (sign: Sign, text: string) => ({ sign, text: [text, ...unsent].join(" · ") });
  if (state.storage) return with_("caution", say[state.storage]);
  if (standing.kind === "claimable") return with_("waiting", say.claimable);
  if (standing.kind === "unpaired" && !standing.last) return with_("cut", say.notYet);
  if (state.server === "tooOld") return with_("caution", say.tooOld);
  if (standing.kind === "unpaired" || state.server === "unpaired") return with_("cut", say.unpaired);
  if (state.quarantined > 0) return with_("caution", say.quarantined(state.quarantined));
  const parked = state.parked.reduce((sum, { along }) => sum + 1 + along, 0);
  if (parked > 0) return with_("held", say.parked(parked));
  if (state.server === "unreachable") return with_("cut", say.unreachable);
  if (state.refusal) return with_("caution", say.refusal(state.refusal.title));
  if (updateWaits) return with_("ready", say.update);
  if (unsent.length > 0) return { sign: "string", text: unsent.join(" · ") };
  return state.server === "starting"
    ? { sign: "waiting", text: say.starting }
    : { sign: "done", text: say.allSent };
}

export function StatusStrip() {
  const { courier, files, membership } = useBench();
  const { sign, text } = stripText(
    courier.state.value,
    membership.standing.value,
    files.waiting.value,
  );
  return (
    <a class="strip" href={to.devices()} title={words.strip.title}>
      <Mark sign={sign} />
      <span>{text}</span>
    </a>
  );
}
