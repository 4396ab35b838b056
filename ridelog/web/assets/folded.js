/* What charts need not do. Those that lie in folds are drawn when their fold is first opened, and before anything is printed;
   each figure stands as text at its place, where the server puts it and assets/stretch.js. And a chart that fits its place is
   not laid out once more: the page's library has each one fitted twice as soon as it is drawn. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  const shown = new Map(); // what is drawn at each place

  function draw(place) {
    if (!window.Plotly) return;
    const text = place.dataset.figure;
    if (!place.firstChild) place.append(document.createElement("div"));
    const chart = place.firstChild;
    if (shown.get(place) === text) {
      if (chart.clientWidth) window.Plotly.Plots.resize(chart);
      return;
    }
    shown.set(place, text);
    const { data, layout } = JSON.parse(text);
    window.Plotly.react(chart, data, layout, JSON.parse(place.dataset.config));
  }

  /* Draw what is in open folds; for paper all of it, at once. */
  ridelog.drawFolded = (all) => {
    document.querySelectorAll(".folded-chart").forEach((place) => {
      const fold = place.closest("details");
      if (all || shown.has(place) || !fold || fold.open) draw(place);
    });
    [...shown.keys()].filter((place) => !place.isConnected).forEach((place) => {
      window.Plotly.purge(place.firstChild);
      shown.delete(place);
    });
  };
  document.addEventListener("toggle", () => ridelog.drawFolded(false), true);
  const isMine = (change) => change.type === "attributes" || [...change.addedNodes, ...change.removedNodes].some(
    (node) => node.querySelector && node.querySelector(".folded-chart"));
  new MutationObserver((changes) => { if (changes.some(isMine)) ridelog.drawFolded(false); }).observe(
    document.documentElement, { childList: true, subtree: true, attributes: true, attributeFilter: ["data-figure"] });
  document.addEventListener("DOMContentLoaded", () => { // once the charts' script has run
    const plots = window.Plotly && window.Plotly.Plots;
    if (!plots) return;
    const resize = plots.resize;
    const fits = (chart) => chart && chart._fullLayout && Math.abs(chart._fullLayout.width - chart.clientWidth) < 1;
    plots.resize = (chart) => (fits(chart) ? Promise.resolve(chart) : resize(chart));
  });
})();
