/** Heights that other parts of the screen have to know, as CSS variables on the root. */
import type { RefObject } from "preact";
import { useEffect, useRef } from "preact/hooks";

/** Whose height stands in a variable: a screen may go only after the next one has come. */
const owners = new Map<string, HTMLElement>();

/** Keeps `name` at the height of the element that gets the ref, in px, while it is there. */
export function useOwnHeight(name: `--${string}`): RefObject<HTMLDivElement | null> {
  const ref = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const element = ref.current;
    const { style } = document.documentElement;
    if (!element || typeof ResizeObserver === "undefined") return;
    owners.set(name, element);
    const measure = new ResizeObserver(() => {
      if (owners.get(name) === element) style.setProperty(name, `${element.offsetHeight}px`);
    });
    measure.observe(element);
    return () => {
      measure.disconnect();
      if (owners.get(name) !== element) return;
      owners.delete(name);
      style.removeProperty(name);
    };
  }, [name]);
  return ref;
}
