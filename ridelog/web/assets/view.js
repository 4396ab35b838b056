/* What the charts need to know of the screen (narrow or wide, light or dark) and of what was chosen about numbers,
   how one goes from address to address, and which folds stay open. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  const narrow = window.matchMedia("(max-width: 640px)");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const CHOICES = {
    units: ["metric", "imperial"], numbers: ["point", "comma"], clock: ["start", "log", "utc", "place"],
  };
  const COOKIE = "ridelog-written";
  let chosen = {};
  let begun = false;  // what was kept has reached the page, so that another choice is the visitor's
  const view = ridelog.view = () => ({ narrow: narrow.matches, dark: dark.matches, ...chosen });
  let shown = null;
  let going = false;
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    ridelog: {
      kept: () => Object.values(written()),
      view: (_theme, units, numbers, clock) => {
        chosen = { units: units, numbers: numbers, clock: clock };
        const other = Object.entries(written()).some(([key, value]) => chosen[key] !== value);
        if (other && begun) keep();
        begun = begun || !other;
        return [view(), chosen, ridelog.shown()];
      },
      // The answer of another address is dimmed until the one of this address stands.
      going: (path, ride) => {
        const fired = window.dash_clientside.callback_context.triggered.map((each) => each.prop_id);
        if (fired.includes("ride.data") || shown === path) {
          shown = path;
          return "";
        }
        return shown === null ? "" : "busy";
      },
      watch: (tray) => {
        if (tray && "asked" in tray) ridelog.ask();
        return Boolean(tray);
      },
    },
  });
  // Another width or light is a matter of the charts alone: nothing else is drawn anew, so that nothing typed is lost.
  [narrow, dark].forEach((query) => query.addEventListener("change", () => {
    window.dash_clientside.set_props("view", { data: view() });
    ridelog.draw(true);
  }));

  // Numbers are written as the address says, else as this browser keeps it: a cookie, which the server's pages know too.
  function written() {
    const asked = new URLSearchParams(window.location.search);
    const [, kept] = document.cookie.match(`(?:^|; )${COOKIE}=([a-z.]+)`) || [null, ""];
    const values = kept.split(".");
    return Object.fromEntries(Object.entries(CHOICES).map(([key, all], k) => {
      const said = asked.has(key) ? asked.get(key) : values[k];
      return [key, all.includes(said) ? said : all[0]];
    }));
  }

  function keep() {
    const secure = window.location.protocol === "https:" ? "; secure" : "";
    const value = Object.keys(CHOICES).map((key) => chosen[key]).join(".");
    document.cookie = `${COOKIE}=${value}; path=/; max-age=34560000; samesite=lax${secure}`;
    if (window.location.search) window.history.replaceState(window.history.state, "", window.location.pathname);
  }

  // A link within the page changes the address; Dash hears of it as it does of its own links.
  ridelog.go = (path) => {
    if (path === window.location.pathname) return;
    going = true;
    window.history.pushState({}, "", path);
    window.dispatchEvent(new CustomEvent("_dashprivate_pushstate"));
  };
  document.addEventListener("click", (event) => {
    const link = event.target.closest ? event.target.closest("a.go, a.open") : null;
    if (!link || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    if (link.classList.contains("go")) ridelog.go(link.getAttribute("href"));
    else reveal(link.getAttribute("href").slice(1));
  });

  function reveal(id) {
    const fold = document.getElementById(id);
    if (!fold) return;
    fold.open = true;
    fold.scrollIntoView({ block: "start" });
    const field = fold.querySelector("input");
    if (field) field.focus({ preventScroll: true });
  }

  // Tables and rides come as markup that the server escaped: one component each, however much is in them. What has the
  // focus keeps it.
  const SAME = ["href", "data-act", "data-put", "data-from"];
  const filled = new WeakMap();
  function fill() {
    document.querySelectorAll(".sealed").forEach((place) => {
      if (filled.get(place) === place.dataset.html) return;
      filled.set(place, place.dataset.html);
      const held = place.contains(document.activeElement) ? document.activeElement : null;
      place.innerHTML = place.dataset.html;
      const same = held && [...place.querySelectorAll(held.tagName)].find((each) => SAME.every((name) => each.getAttribute(name) === held.getAttribute(name)));
      if (same) same.focus({ preventScroll: true });
    });
  }
  // A window is called by what it shows.
  function name() {
    const shown = document.querySelector(".dateline, #refusal h2");
    const ride = document.querySelector("#refusal h2") && document.querySelector(".sample-card[aria-current] .title");
    const called = [ride, shown].map((each) => each && each.textContent).concat("ridelog").filter(Boolean).join(" · ");
    if (document.title !== called) document.title = called;
  }
  new MutationObserver(() => { fill(); name(); }).observe(document.documentElement, {
    childList: true, subtree: true, attributes: true, attributeFilter: ["data-html"],
  });

  // Folds are drawn anew with the page around them: each stays as the visitor left it. Its attribute tells so at once; the
  // event "toggle" comes later, and never comes for a fold that was replaced meanwhile.
  const folds = new Map();
  let printing = false;
  const hear = (changes) => changes.forEach(({ type, target }) => {
    if (type === "attributes" && !printing && target.matches("details[id]")) folds.set(target.id, target.open);
  });
  const keeper = new MutationObserver((changes) => {
    hear(changes);
    if (!changes.some((change) => change.addedNodes.length)) return;
    if (printing) unfold();
    else folds.forEach((open, id) => {
      const fold = document.getElementById(id);
      if (fold && fold.open !== open) fold.open = open;
    });
    if (going && document.getElementById("headline")) arrive();
  });
  keeper.observe(document.documentElement, { childList: true, subtree: true, attributes: true, attributeFilter: ["open"] });

  // On paper everything is open, also what is drawn anew meanwhile; charts that were drawn for the night are turned by the
  // style sheet.
  let closed = [];
  function unfold() {
    const more = [...document.querySelectorAll("#answer details:not([open])")];
    more.forEach((fold) => { fold.open = true; });
    ridelog.drawFolded(true);
    closed.push(...more);
  }
  window.addEventListener("beforeprint", () => {
    document.documentElement.classList.toggle("night", dark.matches);
    hear(keeper.takeRecords());
    printing = true;
    unfold();
  });
  window.addEventListener("afterprint", () => {
    closed.forEach((fold) => { fold.open = folds.get(fold.id) || false; });
    closed = [];
    keeper.takeRecords();
    printing = false;
  });

  // On a phone the answer is looked at once it is chosen; elsewhere it stands in view.
  function arrive() {
    going = false;
    if (narrow.matches) document.getElementById("answer").scrollIntoView({ block: "start" });
  }
})();
