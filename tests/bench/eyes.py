"""What is watched in a page: when things are painted and can be tapped, what is written and asked.

Times are milliseconds of the page's own clock, `performance.now()`, which begins with the page.
"""

from __future__ import annotations

import json
import os
import statistics
from collections.abc import Sequence
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from tests.bench.seed import Connection
from tests.browser.conftest import until

#: How much slower than this machine the phone is taken to be, for the page's own thread.
THROTTLE = 4

#: `bench.watch(name, selector, text)`: the moment after the frame in which an element with this
#: text stands on the screen with nothing over it.  `bench.written`: when the mirror's writing
#: transactions were complete.
_EYES = """(() => {
  if (globalThis.bench) return;
  const bench = (globalThis.bench = { seen: {}, written: [] });
  let wanted = [];
  const tappable = (one) => {
    const box = one.getBoundingClientRect();
    const x = Math.min(innerWidth - 1, Math.max(0, box.left + box.width / 2));
    const y = Math.min(innerHeight - 1, Math.max(0, box.top + box.height / 2));
    const top = box.width > 0 && document.elementFromPoint(x, y);
    return top && one.contains(top);
  };
  const look = () => {
    wanted = wanted.filter(({ name, selector, text }) => {
      const found = [...document.querySelectorAll(selector)].find(
        (one) => one.textContent.includes(text) && tappable(one));
      if (!found) return true;
      requestAnimationFrame(() => {
        const { port1, port2 } = new MessageChannel();
        port1.onmessage = () => { bench.seen[name] ??= performance.now(); };
        port2.postMessage(null);
      });
      return false;
    });
  };
  new MutationObserver(look).observe(document, {
    childList: true, subtree: true, characterData: true,
  });
  // What is drawn late, without a change of the document (content-visibility), is found by looking.
  setInterval(() => wanted.length > 0 && look(), 100);
  bench.watch = (name, selector, text = "") => {
    delete bench.seen[name];
    wanted.push({ name, selector, text });
    look();
  };
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, ...more) {
    const made = begin.call(this, stores, mode, ...more);
    if (mode === "readwrite" && [stores].flat().includes("records")) {
      made.addEventListener("complete", () => bench.written.push(performance.now()));
    }
    return made;
  };
})();
"""


def open_eyes(context: BrowserContext, **wanted: tuple[str, str]) -> None:
    """In every page of the context from now on; `wanted`: selector and text by name."""
    watches = [
        f"bench.watch({json.dumps(name)}, ...{json.dumps(w)});" for name, w in wanted.items()
    ]
    context.add_init_script(_EYES + "\n".join(watches))


def when(page: Page, name: str, seconds: float = 60) -> float:
    """Waits until what is watched for under this name has been painted; ms."""
    return float(until(page, f"bench.seen[{json.dumps(name)}]", seconds))


def slow_down(page: Page, rate: int = THROTTLE) -> None:
    """Slows the page's main thread; workers, the disk and other processes stay as they are."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})


def paired(context: BrowserContext, device: Connection) -> Page:
    """A page of a browser that this device has let in, and that has just begun to pull."""
    page = context.new_page()
    page.goto("/pair")
    page.get_by_label("Code", exact=True).fill(device.ask("/api/pairing", {})["code"])
    page.get_by_role("button", name="Pair", exact=True).tap()
    return page


def all_here(page: Page) -> None:
    """Waits until everything is pulled and the app opens without a network."""
    sent = page.get_by_role("banner").get_by_role("link")
    expect(sent).to_have_text("Everything is on the server", timeout=60_000)
    until(page, "navigator.serviceWorker.controller !== null")
    page.evaluate("navigator.serviceWorker.ready.then(r => r.active.state)")


def middle(times: Sequence[float]) -> float:
    return statistics.median(times)


def told(times: Sequence[float]) -> str:
    """All of them and the machine's load, for people."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    return f"[{' '.join(f'{time:,.0f}' for time in times)} ms; load {load:.1f}]"


def resources(page: Page) -> list[dict[str, Any]]:
    """What the page has asked for: name, startTime, responseEnd."""
    found: list[dict[str, Any]] = page.evaluate(
        "performance.getEntriesByType('resource')"
        ".map(({ name, startTime, responseEnd, initiatorType }) =>"
        " ({ name, startTime, responseEnd, initiatorType }))"
    )
    return found
