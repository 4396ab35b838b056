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
})();
