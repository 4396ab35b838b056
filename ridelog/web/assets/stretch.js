/* Which stretch of the ride the chart of power shows, and what stands beneath it. It is known here first, by buttons, drags
   and lists; the server draws it. What is asked for is numbered: a reply that comes after something else was chosen is
   not drawn, and an answer that was drawn before it was chosen is mended. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  const NARROWEST_S = 0.2; // closer than this, fewer than three samples of a 10 Hz log are left
  let stands = null; // what the page of a ride was drawn for, and which ride it is
  let mark = ""; // of that drawing
  let wished = { window: null, lanes: null };
  let placed = null; // the hill that the list shows
  let asked = 0;
  let every = false; // of what was asked for and has not come, that it is for all charts
  const set = (name, props) => window.dash_clientside.set_props(name, props);

  /* The stretch to show after a move ("in", "out", "left", "right", "all", "drag", or "start:end") [s]. */
  function next([from, to], whole, move, report) {
    const width = to - from;
    let [start, end] = [from, to];
    if (move === "in") [start, end] = [from + width / 4, to - width / 4];
    else if (move === "out") [start, end] = [from - width / 2, to + width / 2];
    else if (move === "left" || move === "right") {
      const half = (width / 2) * (move === "right" ? 1 : -1);
      const shift = Math.min(Math.max(half, whole[0] - from), whole[1] - to);
      [start, end] = [from + shift, to + shift];
    } else if (move === "drag") {
      if ("xaxis.range[0]" in report) {
        [start, end] = [report["xaxis.range[0]"], report["xaxis.range[1]"]].map(Number).sort((one, other) => one - other);
      } else if (report["xaxis.autorange"]) [start, end] = whole;
    } else if (move === "all") [start, end] = whole;
    else {
      const [first, last] = move.split(":").map(Number);
      const room = 0.15 * (last - first);
      [start, end] = [first - room, last + room];
    }
    if (end - start < NARROWEST_S) {
      const middle = (start + end) / 2;
      [start, end] = [middle - NARROWEST_S / 2, middle + NARROWEST_S / 2];
    }
    [start, end] = [Math.max(start, whole[0]), Math.min(end, whole[1])];
    return end > start ? [start, end] : whole;
  }
  ridelog.next = next;

  /* What is shown, for whoever has all of the page drawn anew. */
  ridelog.shown = () => (wished.window && stands ? { token: stands.token, version: stands.version, ends: wished.window } : null);

  ridelog.show = (move, report) => {
    look();
    if (!stands || !stands.whole) return;
    wished.window = next(wished.window || stands.whole, stands.whole, move, report || {});
    if (placed !== null && placed !== move) set("place", { value: null });
    ridelog.draw(false);
  };

  /* Have the charts drawn as they are wanted: that of power, or all of them. */
  ridelog.draw = async (all) => {
    look();
    if (!stands) return;
    every = every || all;
    asked += 1;
    const mine = asked;
    const view = ridelog.view();
    const fields = new URLSearchParams({ units: view.units, numbers: view.numbers, clock: view.clock, lanes: wished.lanes.join(".") });
    if (wished.window) wished.window.forEach((at, k) => fields.set(k ? "to" : "from", at));
    Object.entries({ narrow: view.narrow, dark: view.dark, every: every }).forEach(([key, yes]) => { if (yes) fields.set(key, "yes"); });
    try {
      const reply = await fetch(`/ride/${encodeURIComponent(stands.token)}/charts?${fields}`);
      const drawn = reply.ok && mine === asked ? await reply.json() : null;
      if (!drawn || mine !== asked) return;
      every = false;
      put(drawn);
    } catch { /* assets/session.js says that the program does not answer */ }
  };

  function put(drawn) {
    Object.entries(drawn.figures).forEach(([name, figure]) => {
      if (document.getElementById(name)) lay(name, figure);
    });
    say(drawn);
  }

  function say({ words, label }) {
    const line = document.getElementById("window-words");
    const image = document.getElementById("power-chart-image");
    if (words && line && line.textContent !== words) line.textContent = words;
    if (label && image) image.setAttribute("aria-label", label);
  }

  /* A figure goes to the chart itself: told to the page's library, each of its components would be asked about it. */
  function lay(name, figure) {
    const chart = document.querySelector("#" + name + " .js-plotly-plot");
    const folded = document.querySelector("#" + name + ".folded-chart");
    if (folded) {
      folded.dataset.figure = JSON.stringify(figure); // drawn by assets/folded.js, where its fold is open
      return;
    }
    if (!chart || !chart._fullLayout || !window.Plotly) {
      set(name, { figure: figure });
      return;
    }
    window.Plotly.react(chart, figure.data, ridelog.marked(name, chart, figure.layout)).then(() => {
      // what lies in a closed fold hears of no other width
      if (chart.isConnected && chart.clientWidth && chart.clientWidth !== chart._fullLayout.width) window.Plotly.Plots.resize(chart);
    });
  }

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    stretch: {
      /* A hill that was chosen from the list is marked in every chart. */
      place: (place) => {
        placed = place || null;
        if (place) {
          ridelog.mark(...place.split(":").map(Number));
          ridelog.show(place);
        }
        return window.dash_clientside.no_update;
      },
    },
  });

  /* The page of a ride stands, drawn for what was wanted when it was asked for. It says so itself: a value of the page's
     library comes later than the page, and a button that is pressed meanwhile would be of the page before. */
  function look() {
    const place = document.getElementById("drawn-for");
    const text = place ? place.dataset.drawn : "";
    if (text === mark) return;
    mark = text;
    const now = text ? JSON.parse(text) : null;
    const other = !now || !stands || now.token !== stands.token || now.version !== stands.version;
    stands = now;
    asked += 1; // what is still on its way was for a page that is gone
    if (other) wished.window = null;
    if (!now) return;
    wished.lanes = wished.lanes || now.lanes;
    say(now); // the page's library leaves what it takes for unchanged
    mend(now);
  }
  new MutationObserver(look).observe(document.documentElement, {
    childList: true, subtree: true, attributes: true, attributeFilter: ["data-drawn"],
  });

  function mend(now) {
    const view = ridelog.view();
    const same = (one, other) => JSON.stringify(one && [...one]) === JSON.stringify(other && [...other]);
    const lanes = same([...now.lanes].sort(), [...wished.lanes].sort());
    if (!lanes) set("beneath", { value: wished.lanes });
    const screen = now.narrow === view.narrow && now.dark === view.dark;
    every = false;
    if (!lanes || !screen || !same(now.window, wished.window)) ridelog.draw(!screen);
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest ? event.target.closest("[data-move]") : null;
    if (button) ridelog.show(button.dataset.move);
  });
  document.addEventListener("change", (event) => {
    look();
    if (!stands || !(event.target.closest && event.target.closest(".beneath"))) return;
    const others = wished.lanes.filter((key) => key !== event.target.value);
    wished.lanes = event.target.checked ? [...others, event.target.value] : others;
    set("lanes", { data: wished.lanes });
    ridelog.draw(false);
  });
})();
