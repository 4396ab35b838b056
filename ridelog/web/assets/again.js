/* A page that says how far something is looks again, and changes what is said alone: nothing flickers, focus stays. */
(function () {
  "use strict";
  const wait = () => Number(document.body && document.body.dataset.again) * 1000;
  async function look() {
    try {
      const reply = await fetch(window.location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
      const page = new DOMParser().parseFromString(await reply.text(), "text/html");
      if (!reply.ok || !page.body.dataset.again) return window.location.reload();
      const fresh = page.querySelector("#far"), shown = document.querySelector("#far");
      if (fresh && shown && fresh.innerHTML !== shown.innerHTML) shown.innerHTML = fresh.innerHTML;
    } catch {
      /* the server does not answer: asked again */
    }
    window.setTimeout(look, wait());
  }
  if (wait() > 0) window.setTimeout(look, wait());
})();
