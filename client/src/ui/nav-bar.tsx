/** The four places, at the thumb on a phone and at the leading side on a wide screen. */
import { useLocation } from "preact-iso";
import { readPreference } from "../db/preferences";
import { to } from "../routes";
import { useBench } from "./bench-context";
import { words } from "./words";

function placeOf(path: string): "builds" | "path" | "scan" | "devices" {
  if (path.startsWith("/builds/")) return "path";
  if (path.startsWith("/scan") || /^\/b\//i.test(path)) return "scan";
  return path.startsWith("/devices") || path.startsWith("/pair") ? "devices" : "builds";
}

/** The build that Path opens: the one of this address, else the last one, else any. */
function buildOf(path: string, known: readonly { id: string }[]): string | null {
  const open = /^\/builds\/([^/]+)/.exec(path)?.[1];
  const last = open ?? readPreference("lastBuild");
  if (last && known.some((one) => one.id === last)) return last;
  return known[0]?.id ?? null;
}

export function NavBar() {
  const { path } = useLocation();
  const { store } = useBench();
  const place = placeOf(path);
  const build = buildOf(path, store.all("build"));
  const items = [
    ["builds", to.builds()],
    ...(build ? [["path", to.path(build)] as const] : []),
    ["scan", to.scan()],
    ["devices", to.devices()],
  ] as const;
  return (
    <nav class="nav" aria-label={words.shared.places}>
      <ul role="list">
        {items.map(([name, href]) => (
          <li key={name}>
            <a href={href} aria-current={place === name ? "page" : undefined}>
              {words.nav[name]}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}
