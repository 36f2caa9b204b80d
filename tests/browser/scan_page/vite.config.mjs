// As the app is built: the worker a module, nothing inlined.
export default {
  worker: { format: "es" },
  build: { assetsInlineLimit: 0, target: "es2022", modulePreload: { polyfill: false } },
};
