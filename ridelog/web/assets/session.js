/* A login that is over: the page is loaded anew, which leads to the form, instead of doing nothing. A program that is
   gone: whatever is pressed, the page says so, until it answers again. */
(function () {
  "use strict";
  const ask = window.fetch;
  let banner = null;

  function say(gone) {
    if (!gone) {
      if (banner) banner.remove();
      banner = null;
    } else if (!banner && document.body) {
      banner = document.createElement("p");
      banner.className = "gone";
      banner.setAttribute("role", "alert");
      banner.textContent = "The program does not answer. Is it still running? Nothing that you choose here is done until it does.";
      document.body.append(banner);
    }
  }

  window.fetch = async (...given) => {
    let reply;
    try {
      reply = await ask(...given);
    } catch (error) {
      if (error.name !== "AbortError") {
        say(true);
        if (window.ridelog && window.ridelog.wait) window.ridelog.wait();
      }
      throw error;
    }
    say(false);
    if (reply.status === 401) window.location.reload();
    return reply;
  };
})();
