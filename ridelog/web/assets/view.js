/* What the charts need to know of the screen (narrow or wide, light or dark), and what they say when dragged over. */
(function () {
  "use strict";
  const narrow = window.matchMedia("(max-width: 640px)");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const view = () => ({ narrow: narrow.matches, dark: dark.matches });
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    ridelog: {
      view: () => view(),
      // Of what the chart reports only a chosen stretch is passed on. Were its resizing passed on too, that call would
      // supersede a click on a button that is still being answered.
      drag: (report) => {
        const said = report && ("xaxis.range[0]" in report || report["xaxis.autorange"]);
        return said ? report : window.dash_clientside.no_update;
      },
    },
  });
  [narrow, dark].forEach((query) => query.addEventListener("change", () => window.dash_clientside.set_props("view", { data: view() })));
})();
