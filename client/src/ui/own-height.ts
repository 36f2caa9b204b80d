/** Heights that other parts of the screen have to know, as CSS variables on the root. */
import type { RefObject } from "preact";
import { useEffect, useRef } from "preact/hooks";

/** Keeps `name` at the height of the element that gets the ref, in px; 0 px while `there` is not. */
export function useOwnHeight(name: `--${string}`, there = true): RefObject<HTMLDivElement | null> {
  const ref = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const element = ref.current;
    const { style } = document.documentElement;
    if (!there || !element || typeof ResizeObserver === "undefined") return;
    const measure = new ResizeObserver(() =>
      style.setProperty(name, `${element.offsetHeight}px`),
    );
    measure.observe(element);
    return () => {
      measure.disconnect();
      style.removeProperty(name);
    };
  }, [name, there]);
  return ref;
}
