/* Of buttons and lists that come and go, the one that was used: those that are drawn anew hold no value. */
(function () {
  "use strict";
  let n = 0;
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    pressed: {
      tell: () => {
        const used = window.dash_clientside.callback_context.triggered.find((each) => each.value);
        if (!used) return window.dash_clientside.no_update;
        n += 1;
        return { ...JSON.parse(used.prop_id.slice(0, used.prop_id.lastIndexOf("."))), value: used.value, n: n };
      },
    },
  });

  // The rides that a file can be put with stand in its list once that is opened: in each list of hundreds of files, they
  // would be the square of that.
  const listOf = (event) => (event.target.closest ? event.target.closest("select[data-put]") : null);
  function fill(list) {
    const { of, alone } = list.dataset;
    const own = list.closest(".own-rides");
    const rides = [...own.querySelectorAll(".own-ride")].filter((ride) => ride.dataset.token !== of);
    const choices = rides.map((ride) => [ride.dataset.token, ride.dataset.with]);
    if (alone) choices.unshift([alone, own.dataset.alone]);
    list.replaceChildren(list.options[0], ...choices.map(([value, words]) => new Option(words, value)));
  }
  ["pointerdown", "focusin"].forEach((kind) => document.addEventListener(kind, (event) => {
    const list = listOf(event);
    if (list && !list.value) fill(list);
  }, true));
  function act(type, to, value) {
    n += 1;
    window.dash_clientside.set_props("act-pressed", { data: { type: type, to: to, value: value || n, n: n } });
  }
  document.addEventListener("change", (event) => {
    const list = listOf(event);
    if (!list || !list.value) return;
    act("put", list.dataset.put, list.value);
    list.value = "";
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest ? event.target.closest("button[data-act]") : null;
    if (button) act("act", button.dataset.act);
  });
})();
