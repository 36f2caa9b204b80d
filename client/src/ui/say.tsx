/**
 * One lasting place where the app says what it did, with a way back. `say` from anywhere; the
 * shell shows it. A message stays until the next one or until it is closed: mere news for 6 s, as it
 * lies over the work; one with a way back for 20 s, and no longer than the screen on which it came up.
 */
import { signal } from "@preact/signals";
import { useLocation } from "preact-iso";
import { useEffect } from "preact/hooks";
import { words } from "./words";

interface Said {
  text: string;
  undo?: (() => void | Promise<void>) | undefined;
  /** Path of the screen on which `undo` is offered: elsewhere nobody knows what it would undo. */
  at?: string | undefined;
  strong?: boolean | undefined;
}

const said = signal<Said | null>(null);
const NEWS_STAYS_MS = 6_000;
const UNDO_STAYS_MS = 20_000;

/**
 * Says `text` in the status region; `undo` puts a button beside it that takes the deed back, for
 * as long as the builder stays on this screen. Who goes on to another one calls `route` first.
 */
export function say(text: string, undo?: () => void | Promise<void>): void {
  said.value = undo ? { text, undo, at: location.pathname } : { text };
}

async function takeBack(undo: () => void | Promise<void>): Promise<void> {
  said.value = null;
  try {
    await undo();
  } catch {
    sayTrouble(words.shared.notSaved);
  }
}

/** Says that something failed; stays until it is closed. */
export function sayTrouble(text: string): void {
  said.value = { text, strong: true };
}

/** For the shell only: mounted once. */
export function SayRegion() {
  const message = said.value;
  const undo = message?.undo;
  const { path } = useLocation();
  useEffect(() => {
    const { at } = said.peek() ?? {};
    if (at !== undefined && at !== location.pathname) said.value = null;
  }, [path]);
  useEffect(() => {
    if (!message || message.strong) return;
    const timer = setTimeout(() => {
      if (said.peek() === message) said.value = null;
    }, message.undo ? UNDO_STAYS_MS : NEWS_STAYS_MS);
    return () => clearTimeout(timer);
  }, [message]);
  return (
    <div class={message ? (message.strong ? "say is-trouble" : "say") : "say is-silent"}>
      <p role="status">{message?.text ?? ""}</p>
      {undo && (
        <button type="button" onClick={() => void takeBack(undo)}>
          {words.shared.undo}
        </button>
      )}
      {message && (
        <button type="button" onClick={() => (said.value = null)}>
          {words.shared.close}
        </button>
      )}
    </div>
  );
}
