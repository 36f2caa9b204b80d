import preact from "@preact/preset-vite";
import { VitePWA } from "vite-plugin-pwa";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [
    preact(),
    VitePWA({
      strategies: "injectManifest",
      srcDir: "src",
      filename: "sw.ts",
      // src/update.ts registers the worker; public/manifest.webmanifest is written by hand.
      injectRegister: false,
      manifest: false,
      injectManifest: {
        globPatterns: ["index.html", "manifest.webmanifest", "*.{svg,png}", "assets/*"],
        globIgnores: ["**/*.map", "**/*.gz", "**/*.br"],
        // Names under assets carry a hash of their content already.
        dontCacheBustURLsMatching: /^assets\//,
        maximumFileSizeToCacheInBytes: 2_000_000,
      },
    }),
  ],
  build: {
    target: "es2022",
    // Everything by its own address: the policy allows no data: scripts, and data: grows the shell.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  worker: { format: "es" },
  server: {
    proxy: { "/api": "http://localhost:8410", "/labels": "http://localhost:8410" },
  },
  test: {
    include: ["test/**/*.test.ts", "test/**/*.test.tsx"],
  },
});
