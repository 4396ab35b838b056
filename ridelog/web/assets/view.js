/* What the charts need to know of the screen: narrow or wide, light or dark. */
(function () {
  "use strict";
  const narrow = window.matchMedia("(max-width: 640px)");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const view = () => ({ narrow: narrow.matches, dark: dark.matches });
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    ridelog: { view: () => view() },
  });
  [narrow, dark].forEach((query) => query.addEventListener("change", () => window.dash_clientside.set_props("view", { data: view() })));
})();
