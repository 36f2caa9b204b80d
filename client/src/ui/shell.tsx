/** What stands around every screen: status strip, places, and what the app says. */
import type { ComponentChildren } from "preact";
import { NavBar } from "./nav-bar";
import { useOwnHeight } from "./own-height";
import { SayRegion } from "./say";
import { StatusStrip } from "./status-strip";
import { words } from "./words";

export function Shell({ children }: { children: ComponentChildren }) {
  // Bottom parts of screens stand above the bar, whose height follows the size of the text.
  const foot = useOwnHeight("--foot-h");
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
