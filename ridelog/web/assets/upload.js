/* Own files: a native file form with a drop zone, sent as multipart with real progress.
   The server answers with a token; Python then draws everything, so nothing here builds HTML from file names. */
(function () {
  "use strict";
  const visitor = Array.from(crypto.getRandomValues(new Uint8Array(12)), (each) => each.toString(16)).join("");
  let request = null;
  let job = null;
  let chosen = [];

  function make(tag, attributes, text) {
    const node = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => node.setAttribute(name, value));
    if (text) node.textContent = text;
    return node;
  }

  function size(bytes) {
    return bytes >= 1e6 ? (bytes / 1e6).toFixed(1) + " MB" : Math.max(1, Math.round(bytes / 1e3)) + " kB";
  }

  function build(place) {
    const form = make("form", { class: "upload", novalidate: "" });
    const input = make("input", { type: "file", id: "files", multiple: "", class: "visually-hidden", "aria-describedby": "files-hint" });
    const label = make("label", { for: "files", class: "upload-pick" }, "Choose files");
    const hint = make("p", { id: "files-hint" }, "or drop them here, all at once: the log of the controller or the battery, the track (GPX or FIT) and, if you have them, a bike file and a column map.");
    const list = make("ul", { class: "upload-list", "aria-label": "Chosen files" });
    const progress = make("progress", { max: "1", value: "0", "aria-label": "Sending the files", hidden: "" });
    const status = make("p", { class: "upload-status", role: "status" });
    const stop = make("button", { type: "button", hidden: "" }, "Stop");
    form.append(input, label, hint, list, progress, status, stop);
    place.append(form);
    const parts = { form, input, list, progress, status, stop };

    input.addEventListener("change", () => { if (input.files.length) send([...input.files], parts); input.value = ""; });
    stop.addEventListener("click", () => {
      const waited = job !== null;
      giveUp();
      if (waited) quiet(parts, "Stopped; nothing was measured.");
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    ["dragenter", "dragover"].forEach((kind) => form.addEventListener(kind, (event) => {
      event.preventDefault();
      form.classList.add("over");
    }));
    ["dragleave", "drop"].forEach((kind) => form.addEventListener(kind, (event) => {
      event.preventDefault();
      form.classList.remove("over");
    }));
    form.addEventListener("drop", (event) => {
      const files = [...event.dataTransfer.files];
      if (files.length) send(files, parts);
    });
  }

  function quiet(parts, words) {
    parts.progress.hidden = true;
    parts.stop.hidden = true;
    parts.status.textContent = words;
  }

  /* Ask how far a ride is until it is measured; who does not ask is given up by the server. */
  function follow(key, parts, done, failures) {
    setTimeout(async () => {
      if (job !== key) return;
      let answer = null;
      let status = 0;
      try {
        const reply = await fetch("/upload/" + key, { cache: "no-store" });
        status = reply.status;
        answer = await reply.json();
      } catch (error) {
        if (failures < 5) return follow(key, parts, done, failures + 1);
      }
      if (job !== key) return;
      if (answer && answer.waiting) {
        parts.status.textContent = answer.waiting;
        follow(key, parts, done, 0);
      } else {
        finish(answer, status, done);
      }
    }, 400 + 600 * Math.min(1, failures));
  }

  function finish(answer, status, done) {
    if (answer && answer.token) {
      done(answer.answered ? "Read; the answer is below." : "These files could not be measured; the reason is below.");
      window.dash_clientside.set_props("upload-outcome", { data: { token: answer.token, answered: answer.answered } });
    } else {
      done((answer && answer.message) || "The files were refused (status " + status + ").");
    }
  }

  function giveUp() {
    if (request) request.abort();
    if (job) fetch("/upload/" + job, { method: "DELETE" }).catch(() => null);
    job = null;
  }

  function send(files, parts) {
    giveUp();
    chosen = files;
    parts.list.replaceChildren(...chosen.map((file) => make("li", {}, file.name + ", " + size(file.size))));
    const data = new FormData();
    chosen.forEach((file) => data.append("files", file, file.name));
    request = new XMLHttpRequest();
    const mine = request;
    mine.open("POST", "/upload");
    mine.responseType = "json";
    mine.setRequestHeader("Ridelog-Visitor", visitor);
    mine.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable) return;
      parts.progress.value = event.loaded / event.total;
      parts.status.textContent = "Sending: " + Math.round((100 * event.loaded) / event.total) + " %";
    });
    mine.upload.addEventListener("load", () => {
      parts.progress.removeAttribute("value");
      parts.status.textContent = "Reading and measuring …";
    });
    const done = (words) => {
      if (request === mine) request = null;
      job = null;
      quiet(parts, words);
    };
    mine.addEventListener("load", () => {
      const answer = mine.response;
      if (answer && answer.job && answer.waiting) {
        job = answer.job;
        request = null;
        parts.status.textContent = answer.waiting;
        follow(job, parts, done, 0);
      } else {
        finish(answer, mine.status, done);
      }
    });
    mine.addEventListener("error", () => done("The files did not arrive. Is the program still running, and are the files below its size limit?"));
    mine.addEventListener("abort", () => { if (request === mine || request === null) done("Stopped; nothing was read."); });
    parts.progress.value = 0;
    parts.progress.hidden = false;
    parts.stop.hidden = false;
    parts.status.textContent = "Sending …";
    mine.send(data);
  }

  // Dash draws the page after this script has run, and may draw it anew: fill the place whenever it is there and empty.
  const look = () => {
    const place = document.getElementById("own-files");
    if (place && !place.firstChild) build(place);
  };
  new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => event.preventDefault());
})();
