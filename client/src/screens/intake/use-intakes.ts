/** How screens reach the intakes, which are loaded when first asked for. */
import { useEffect, useState } from "preact/hooks";
import type { Intakes } from "../../sync/types";
import { useBench } from "../../ui/bench-context";

/** Null until they are there. */
export function useIntakes(): Intakes | null {
  const { intakes } = useBench();
  const [got, setGot] = useState<Intakes | null>(null);
  useEffect(() => {
    let gone = false;
    intakes().then(
      (one) => !gone && setGot(one),
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [intakes]);
  return got;
}
