/** One at a time: a thumb that taps twice does nothing twice. */
import { useRef } from "preact/hooks";

/** Runs what it is given, unless what it ran before is still under way. */
export function useOnce(): (run: () => Promise<unknown>) => void {
  const busy = useRef(false);
  return (run) => {
    if (busy.current) return;
    busy.current = true;
    void run().finally(() => (busy.current = false));
  };
}
