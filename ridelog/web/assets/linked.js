/* Profile, map and chart of power as one: a point, hill or braking event chosen in one of them, in a table or with the
   slider, is marked in all. Everything needed lies in the charts themselves; nothing is asked of the server. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  const POWER = "power-chart";
  const PROFILE = "profile-chart";
  const TRACK = "track-chart";
  const CHARTS = [POWER, PROFILE, TRACK];
  const MARK = "picked";
  const STEPS = 1000;
  const DAY_S = 86400;
  const bound = new WeakSet();
  const told = new WeakMap();
  let spans = { hills: [], events: [] };
  let spansText = null;
  let kept = { at: null, span: null };
  let passing = null;
  let waiting = false;
  let pressed = false;

  // ---- what the charts hold ----

  const drawn = (id) => document.querySelector("#" + id + " .js-plotly-plot");

  function graph(id) {
    const found = drawn(id);
    return found && found._fullLayout && found._fullData && found.offsetParent !== null ? found : null;
  }

  const wayOf = (chart) => chart._fullData.find((trace) => trace.meta && trace.meta.way);

  /* The place of the last of increasing values that is not above the wanted one; -1 before the first. */
  function before(values, wanted) {
    let low = 0;
    let high = values.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (values[middle] <= wanted) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  /* Where a way is at a time, between its two neighbours; null outside it or in a hole of it. */
  function where(way, at) {
    const times = way.customdata;
    const last = times.length - 1;
    const k = Math.min(before(times, at), last - 1);
    if (k < 0 || at > times[last]) return null;
    const part = times[k + 1] > times[k] ? (at - times[k]) / (times[k + 1] - times[k]) : 0;
    const between = (values) => values[k] + part * (values[k + 1] - values[k]);
    const place = { x: between(way.x), y: between(way.y) };
    return Number.isFinite(place.x) && Number.isFinite(place.y) ? place : null;
  }

  /* Of a line over time the known sample nearest to an instant. */
  function nearest(trace, at) {
    const last = trace.x.length - 1;
    const k = before(trace.x, at);
    let best = null;
    for (const place of [k - 1, k, k + 1, k + 2]) {
      if (place < 0 || place > last || !Number.isFinite(trace.y[place])) continue;
      if (best === null || Math.abs(trace.x[place] - at) < Math.abs(trace.x[best] - at)) best = place;
    }
    return best === null ? null : { at: trace.x[best], value: trace.y[best] };
  }

  const inside = (list, at) => list.find(([start, end]) => start <= at && at <= end) || null;

  // ---- words ----

  function written(value, decimals, signs) {
    const [whole, rest] = Math.abs(value).toFixed(decimals).split(".");
    const grouped = whole.replace(/\B(?=(\d{3})+$)/g, signs[1] || "");
    const zero = !/[1-9]/.test(whole + (rest || ""));
    return (value < 0 && !zero ? "\u2212" : "") + grouped + (rest ? signs[0] + rest : "");
  }

  function clock(at, chart) {
    const meta = chart.layout.meta || {};
    const tenths = Math.round(10 * (at + (meta.zero_s || 0)));
    const shown = meta.by_clock ? ((tenths % (10 * DAY_S)) + 10 * DAY_S) % (10 * DAY_S) : tenths;
    const two = (number) => String(number).padStart(2, "0");
    const hours = Math.floor(shown / 36000);
    const signs = chart.layout.separators || ".";
    return (meta.by_clock ? two(hours) : hours) + ":" + two(Math.floor(shown / 600) % 60) + ":" +
      two(Math.floor(shown / 10) % 60) + signs[0] + (shown % 10);
  }

  /* What every chart shows at an instant, in the units and signs of the page. */
  function said(at) {
    const power = graph(POWER);
    if (!power) return "";
    const signs = power.layout.separators || ".";
    const unit = (name) => "\u00a0" + name;
    const parts = [clock(at, power)];
    const profile = graph(PROFILE);
    const place = profile && where(wayOf(profile), at);
    if (place) parts.push(written(place.x, 2, signs) + unit(wayOf(profile).meta.road));
    const flows = [];
    power._fullData.forEach((trace) => {
      const about = trace.meta;
      const found = about && about.name ? nearest(trace, at) : null;
      if (!found) return;
      const text = written(about.name === "returned" ? -found.value : found.value, about.decimals, signs);
      if (about.name === "drawn" || about.name === "returned") {
        flows.push({ away: Math.abs(found.at - at), size: Math.abs(found.value), text: text + unit(about.unit) + " " + about.name });
      } else {
        parts.push(about.name + " " + text + unit(about.unit));
      }
    });
    flows.sort((one, other) => one.away - other.away || other.size - one.size);
    if (flows.length) parts.splice(place ? 2 : 1, 0, flows[0].text);
    return parts.join(" · ");
  }

  // ---- marks ----

  const color = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  function upright(x0, x1) {
    const ink = color("--focus");
    const line = { name: MARK, yref: "paper", y0: 0, y1: 1, xref: "x", x0: x0, x1: x1 };
    return x0 === x1
      ? { ...line, type: "line", line: { color: ink, width: 2, dash: "dot" } }
      : { ...line, type: "rect", layer: "below", fillcolor: ink, opacity: 0.18, line: { color: ink, width: 1.5 } };
  }

  function onTrack(way, mark) {
    const shapes = [];
    const ink = color("--focus");
    if (mark.span) {
      const [start, end] = mark.span;
      const steps = [where(way, start)];
      for (let k = before(way.customdata, start) + 1; k < way.x.length && way.customdata[k] < end; k += 1) {
        steps.push(Number.isFinite(way.x[k]) && Number.isFinite(way.y[k]) ? { x: way.x[k], y: way.y[k] } : null);
      }
      steps.push(where(way, end));
      let path = "";
      steps.forEach((step, k) => {
        if (step) path += (k && steps[k - 1] ? "L" : "M") + step.x.toFixed(2) + "," + step.y.toFixed(2);
      });
      if (path.includes("L")) shapes.push({ name: MARK, type: "path", path: path, opacity: 0.5, line: { color: ink, width: 12 } });
    }
    const place = mark.at === null ? null : where(way, mark.at);
    if (place) {
      shapes.push({ name: MARK, type: "circle", xref: "x", yref: "y", xsizemode: "pixel", ysizemode: "pixel", xanchor: place.x, yanchor: place.y,
        x0: -7, x1: 7, y0: -7, y1: 7, line: { color: ink, width: 3 } });
    }
    return shapes;
  }

  function marksOn(id, chart, mark) {
    const way = id === POWER ? null : wayOf(chart);
    if (id === TRACK) return way ? onTrack(way, mark) : [];
    const across = (at) => (id === POWER ? at : (way && where(way, at) || {}).x);
    const shapes = [];
    if (mark.span) shapes.push(upright(across(mark.span[0]), across(mark.span[1])));
    if (mark.at !== null) shapes.push(upright(across(mark.at), across(mark.at)));
    return shapes.filter((shape) => Number.isFinite(shape.x0) && Number.isFinite(shape.x1));
  }

  const marking = () => (passing ? { at: passing.at, span: kept.span } : kept);

  /* A layout of the chart of power with its marks, so that it is not laid out once more for them. */
  ridelog.marked = (id, chart, layout) => {
    if (id !== POWER) return layout;
    const marks = marksOn(id, chart, marking());
    told.set(chart, JSON.stringify(marks));
    return { ...layout, shapes: [...(layout.shapes || []), ...marks] };
  };

  function draw() {
    if (pressed) { // a stretch is being drawn over: a chart that is laid out anew would let go of it
      setTimeout(draw, 100);
      return;
    }
    waiting = false;
    const mark = marking();
    CHARTS.forEach((id) => {
      const chart = graph(id);
      if (!chart) return;
      const marks = marksOn(id, chart, mark);
      const others = (chart.layout.shapes || []).filter((shape) => shape.name !== MARK);
      const text = JSON.stringify(marks);
      if (text === told.get(chart) && (chart.layout.shapes || []).length === others.length + marks.length) return;
      told.set(chart, text);
      window.Plotly.relayout(chart, { shapes: [...others, ...marks] });
    });
    speak(mark);
    document.querySelectorAll("tr[data-from]").forEach((row) => {
      const here = kept.span && Number(row.dataset.from) === kept.span[0] && Number(row.dataset.to) === kept.span[1];
      row.classList.toggle("picked", Boolean(here));
    });
  }

  function soon() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(draw);
  }

  function pick(at, span) {
    kept = { at: at, span: span };
    passing = null;
    soon();
  }

  /* What a click at an instant chooses: in the profile the hill first, elsewhere the braking event. */
  function choose(at, id) {
    const hill = inside(spans.hills, at);
    const event = inside(spans.events, at);
    pick(at, id === PROFILE ? hill || event : event || hill);
  }

  function bind(id) {
    const chart = drawn(id);
    if (!chart || bound.has(chart) || !chart.on || !chart._fullLayout) return;
    bound.add(chart);
    const instant = (event) => {
      const point = event.points && event.points[0];
      const at = !point ? null : id === POWER ? point.x : point.customdata;
      return typeof at === "number" && Number.isFinite(at) ? at : null;
    };
    chart.on("plotly_hover", (event) => {
      const at = instant(event);
      if (at === null) return;
      passing = { at: at };
      soon();
    });
    chart.on("plotly_unhover", () => { passing = null; soon(); });
    chart.on("plotly_click", (event) => { const at = instant(event); if (at !== null) choose(at, id); });
    // At once: the chart's next report, of a mark or of its size, would take the place of this one.
    if (id === POWER) chart.on("plotly_relayout", (report) => {
      if (!("xaxis.range[0]" in report || report["xaxis.autorange"])) return;
      ridelog.show("drag", report);
    });
    chart.on("plotly_afterplot", () => { if (kept.at !== null || kept.span) soon(); });
  }

  document.addEventListener("mousedown", () => { pressed = true; }, true);
  ["mouseup", "dragend", "blur"].forEach((name) => window.addEventListener(name, () => { pressed = false; }, true));

  // ---- the slider ----

  let slider = null;

  function make(tag, attributes, text) {
    const node = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => node.setAttribute(name, value));
    if (text) node.textContent = text;
    return node;
  }

  function build(place) {
    const label = make("label", { for: "point" }, place.dataset.label);
    const input = make("input", { type: "range", id: "point", min: "0", max: String(STEPS), value: "0", "aria-description": place.dataset.hint });
    const output = make("output", { for: "point", id: "point-words" });
    input.title = place.dataset.hint;
    place.append(label, input, output);
    slider = { input, output };
    input.addEventListener("input", () => {
      const at = atSlider();
      if (at !== null) pick(at, kept.span && kept.span[0] <= at && at <= kept.span[1] ? kept.span : null);
    });
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        const at = atSlider();
        if (at !== null) choose(at, POWER);
      } else if (event.key === "Escape") {
        pick(null, null);
      } else {
        return;
      }
      event.preventDefault();
    });
  }

  function range() {
    const chart = graph(POWER);
    return chart ? chart._fullLayout.xaxis.range.map(Number) : null;
  }

  function atSlider() {
    const shown = range();
    return shown ? shown[0] + ((shown[1] - shown[0]) * Number(slider.input.value)) / STEPS : null;
  }

  function speak(mark) {
    if (!slider) return;
    const words = [mark.span && mark.span[2], mark.at === null ? null : said(mark.at)].filter(Boolean).join(" · ");
    if (slider.output.textContent !== words) slider.output.textContent = words;
    slider.input.setAttribute("aria-valuetext", words || "\u2013");
    const shown = range();
    if (shown && mark.at !== null) {
      slider.input.value = String(Math.round((STEPS * (mark.at - shown[0])) / (shown[1] - shown[0])));
    }
  }

  // ---- tables and lists ----

  document.addEventListener("click", (event) => {
    const row = event.target.closest ? event.target.closest("tr[data-from]") : null;
    if (!row) return;
    const [start, end] = [Number(row.dataset.from), Number(row.dataset.to)];
    ridelog.mark(start, end);
    ridelog.show(row.dataset.from + ":" + row.dataset.to);
    const chart = document.querySelector(".power");
    if (chart) chart.scrollIntoView({ block: "start" });
    if (slider) slider.input.focus({ preventScroll: true });
  });

  /* Mark a stretch by its two ends, whatever it is called in the list of hills or events. */
  ridelog.mark = (start, end) => {
    const known = [...spans.events, ...spans.hills].find((each) => each[0] === start && each[1] === end);
    pick((start + end) / 2, known || [start, end, ""]);
  };

  // Dash draws all of it after this script has run, and draws it anew.
  function look() {
    const holder = document.getElementById("linked");
    if (holder && holder.dataset.spans !== spansText) {
      const times = JSON.stringify([...spans.hills, ...spans.events].map((each) => each.slice(0, 2)));
      spansText = holder.dataset.spans;
      spans = JSON.parse(spansText);
      const all = [...spans.hills, ...spans.events];
      if (JSON.stringify(all.map((each) => each.slice(0, 2))) !== times) kept = { at: null, span: null }; // another ride
      else if (kept.span) kept.span = all.find((each) => each[0] === kept.span[0] && each[1] === kept.span[1]) || kept.span;
      soon();
    }
    const place = document.getElementById("point-place");
    if (place && !place.firstChild) build(place);
    CHARTS.forEach(bind);
  }
  let looking = false;
  new MutationObserver(() => {
    CHARTS.forEach(bind); // who drags at once is heard
    if (looking) return; // drawing a chart changes thousands of nodes
    looking = true;
    setTimeout(() => { looking = false; look(); }, 60);
  }).observe(document.documentElement, { childList: true, subtree: true, attributes: true, attributeFilter: ["data-spans"] });
  document.addEventListener("toggle", () => { look(); soon(); }, true);
})();
