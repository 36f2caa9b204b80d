/** Addresses of the app's places: the one list; `main.tsx` maps them to screens. */

export const patterns = {
  builds: "/",
  newKit: "/kits/new",
  addToKit: "/kits/:kit/add",
  intake: "/intakes/:intake",
  labels: "/kits/:kit/labels",
  kit: "/kits/:kit",
  kitStep: "/kits/:kit/steps/:step",
  kitTable: "/kits/:kit/table/:what",
  newPage: "/kits/:kit/pages/new",
  path: "/builds/:build",
  step: "/builds/:build/steps/:step",
  bag: "/builds/:build/bags/:bag",
  scan: "/scan",
  /** What a printed label says; `code` in any case. `/b/:code` is the same. */
  label: "/B/:code",
  labelLower: "/b/:code",
  devices: "/devices",
  pair: "/pair",
  archives: "/archives",
} as const;

export const to = {
  builds: () => "/",
  newKit: () => "/kits/new",
  addToKit: (kit: string) => `/kits/${kit}/add`,
  intake: (intake: string) => `/intakes/${intake}`,
  labels: (kit: string) => `/kits/${kit}/labels`,
  kit: (kit: string) => `/kits/${kit}`,
  kitStep: (kit: string, step: string) => `/kits/${kit}/steps/${step}`,
  kitTable: (kit: string, what: string) => `/kits/${kit}/table/${what}`,
  /** To photograph a page of the manual; from a step of a build, for that step. */
  newPage: (kit: string, from?: { build: string; step: string }) =>
    `/kits/${kit}/pages/new${from ? `?build=${from.build}&step=${from.step}` : ""}`,
  path: (build: string) => `/builds/${build}`,
  step: (build: string, step: string) => `/builds/${build}/steps/${step}`,
  /** Step with the operation to stand at, as a fragment the Step screen honours. */
  operation: (build: string, step: string, operation: string) =>
    `/builds/${build}/steps/${step}#${operation}`,
  bag: (build: string, bag: string) => `/builds/${build}/bags/${bag}`,
  scan: () => "/scan",
  /** Scan, to teach the maker's barcode to a bag. */
  teach: (build: string, bag: string) => `/scan?teach=${bag}&build=${build}`,
  label: (code: string) => `/B/${encodeURIComponent(code)}`,
  devices: () => "/devices",
  pair: () => "/pair",
  archives: () => "/archives",
} as const;
