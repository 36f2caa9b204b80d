/** How the screens reach the workshop: one Preact context, filled by `main.tsx`. */
import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Bench, Session } from "../sync/types";

export const BenchContext = createContext<Bench | null>(null);

/** The bench of the app around; throws outside of it, which is a programming error. */
export function useBench(): Bench {
  const bench = useContext(BenchContext);
  if (!bench) throw new Error("useBench outside of BenchContext");
  return bench;
}

/** The session of a paired device, or null. Reading it in a component subscribes. */
export function useSession(): Session | null {
  const standing = useBench().membership.standing.value;
  return standing.kind === "paired" ? standing.session : null;
}
