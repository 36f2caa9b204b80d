/** What stands around every screen: status strip, places, and what the app says. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { NavBar } from "./nav-bar";
import { SayRegion } from "./say";
import { StatusStrip } from "./status-strip";
import { words } from "./words";

export function Shell({ children }: { children: ComponentChildren }) {
  const foot = useRef<HTMLDivElement>(null);
  useEffect(() => {
    // Bottom parts of screens stand above the bar, whose height follows text size and messages.
    const element = foot.current;
    if (!element || typeof ResizeObserver === "undefined") return;
    const measure = new ResizeObserver(() =>
      document.documentElement.style.setProperty("--foot-h", `${element.offsetHeight}px`),
    );
    measure.observe(element);
    return () => measure.disconnect();
  }, []);
  return (
    <div class="app">
      <a class="skip" href="#content">
        {words.shared.skip}
      </a>
      <header>
        <StatusStrip />
      </header>
      <main id="content">{children}</main>
      <div class="foot" ref={foot}>
        <SayRegion />
        <NavBar />
      </div>
    </div>
  );
}
