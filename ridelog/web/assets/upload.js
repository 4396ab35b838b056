/* Own files: a native file form, and a drop anywhere on the page, sent as multipart with real progress.
   Python keeps the files and draws everything, so nothing here builds HTML from file names. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  let request = null;
  let parts = null;
  let revision = null;
  let waitsFor = 0;
  let timer = null;
  let failures = 0;
  const EMPTY = "There is no file in this folder.";
  const UNREAD = "The browser could not read all of this folder.";
  const GONE = "The program does not answer. Is it still running?";

  function make(tag, attributes, text) {
    const node = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => node.setAttribute(name, value));
    if (text) node.textContent = text;
    return node;
  }

  /* How far each file is: they are sent one behind the other, so that what was sent in all tells. */
  function mark(files, sent_bytes) {
    let before = 0;
    files.forEach((file, place) => {
      const row = parts.list.children[place];
      if (row) {
        const share = Math.max(0, Math.min(1, (sent_bytes - before) / Math.max(1, file.size)));
        row.lastChild.textContent = share >= 1 ? "sent" : share > 0 ? Math.round(100 * share) + " %" : "waits";
      }
      before += file.size;
    });
  }

  function size(bytes) {
    return bytes >= 1e6 ? (bytes / 1e6).toFixed(1) + " MB" : Math.max(1, Math.round(bytes / 1e3)) + " kB";
  }

  function build(place) {
    const form = make("form", { class: "upload", novalidate: "" });
    const input = make("input", { type: "file", id: "files", multiple: "", class: "visually-hidden", "aria-describedby": "files-hint" });
    const label = make("label", { for: "files", class: "upload-pick" }, "Choose files");
    const whole = make("input", { type: "file", id: "folder", webkitdirectory: "", class: "visually-hidden" });
    const named = make("label", { for: "folder", class: "upload-folder" }, "A folder");
    const hint = make("p", { id: "files-hint" }, "or drop them, or folders, anywhere: logs, tracks (GPX, FIT), a bike file.");
    const list = make("ul", { class: "upload-list", "aria-label": "Files being sent" });
    const progress = make("progress", { max: "1", value: "0", "aria-label": "Sending the files", hidden: "" });
    const status = make("p", { class: "upload-status", role: "status" });
    const stop = make("button", { type: "button", hidden: "" }, "Stop");
    form.append(input, label, whole, named, hint, list, progress, status, stop);
    place.append(form);
    parts = { form, input, list, progress, status, stop };
    [input, whole].forEach((each) => each.addEventListener("change", () => {
      const files = [...each.files].filter(isLog);
      if (files.length) send(files);
      else if (each === whole) say(EMPTY, false);
      each.value = "";
    }));
    stop.addEventListener("click", giveUp);
    form.addEventListener("submit", (event) => event.preventDefault());
    ask();
  }

  function say(words, busy) {
    if (!parts) return;
    parts.status.textContent = words;
    parts.progress.hidden = !busy;
    parts.stop.hidden = !busy;
    if (!busy) parts.list.replaceChildren();
  }

  function giveUp() {
    if (request) request.abort();
    request = null;
    say("Stopped.", false);
    fetch("/tray", { method: "DELETE" }).then((reply) => reply.json()).then(hear).catch(() => say(GONE, false));
  }

  /* What the server says of the visitor's rides: drawn by Python whenever it changed. */
  function hear(said) {
    failures = 0;
    if (said.revision !== revision) {
      revision = said.revision;
      window.dash_clientside.set_props("tray", { data: { revision: revision } });
    }
    if (waitsFor && said.arrived >= waitsFor) {
      waitsFor = 0;
      if (said.go) ridelog.go(said.go);
    }
    if (request) return;
    if (said.pending) {
      if (parts) parts.progress.removeAttribute("value");
      say(said.words, Boolean(said.words));
      again(500);
    } else if (parts && !parts.progress.hidden) {
      say("Done.", false);
    }
  }

  function again(wait_ms) {
    clearTimeout(timer);
    timer = setTimeout(ask, wait_ms);
  }

  function ask() {
    fetch("/tray", { cache: "no-store" }).then((reply) => reply.json()).then(hear).catch(() => {
      failures += 1;
      say(GONE, false);
      again(Math.min(30000, 1000 * 2 ** failures));
    });
  }
  ridelog.ask = ask;
  ridelog.wait = () => again(Math.min(30000, 1000 * 2 ** failures)); // until the program answers again

  function send(files) {
    if (request) request.abort();
    const data = new FormData();
    const all_bytes = files.reduce((sum, file) => sum + file.size, 0);
    files.forEach((file) => data.append("files", file, file.name));
    const mine = (request = new XMLHttpRequest());
    mine.open("POST", "/upload");
    mine.responseType = "json";
    mine.setRequestHeader("Ridelog-View", encodeURIComponent(window.location.pathname));
    mine.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable || request !== mine) return;
      parts.progress.value = event.loaded / event.total;
      parts.status.textContent = "Sending: " + Math.round((100 * event.loaded) / event.total) + " %";
      mark(files, event.loaded - (event.total - all_bytes));
    });
    mine.addEventListener("load", () => {
      if (request !== mine) return;
      request = null;
      const said = mine.response;
      if (mine.status === 200 && said) {
        waitsFor = said.drop;
        hear(said);
      } else {
        say((said && said.message) || "The files were refused (status " + mine.status + ").", false);
      }
    });
    mine.addEventListener("error", () => {
      if (request === mine) request = null;
      say("The files did not arrive. Is the program still running, and are the files below its size limit?", false);
    });
    parts.progress.value = 0;
    say("Sending …", true);
    parts.list.replaceChildren(...files.map((file) => {
      const row = make("li", {});
      row.append(make("span", {}, file.name), make("span", {}, size(file.size)), make("span", {}, "waits"));
      return row;
    }));
    mine.send(data);
  }

  // Dash draws the page after this script has run, and may draw it anew: fill the place whenever it is there and empty.
  const look = () => {
    const place = document.getElementById("own-files");
    if (place && !place.firstChild) build(place);
  };
  new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });

  let inside = 0;
  const holdsFiles = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
  const over = (on) => document.documentElement.classList.toggle("dropping", on);
  document.addEventListener("dragenter", (event) => { if (holdsFiles(event)) { inside += 1; over(true); } });
  document.addEventListener("dragleave", (event) => { if (holdsFiles(event)) { inside -= 1; over(inside > 0); } });
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    inside = 0;
    over(false);
    if (!parts || !event.dataTransfer) return;
    const entries = [...event.dataTransfer.items].map((each) => each.webkitGetAsEntry && each.webkitGetAsEntry());
    if (!entries.some((each) => each && each.isDirectory)) {
      const files = [...event.dataTransfer.files];
      if (files.length) send(files);
      return;
    }
    Promise.all(entries.filter(Boolean).map(within)).then((found) => {
      const files = found.flat().filter(isLog);
      if (files.length) send(files);
      else say(EMPTY, false);
    }).catch(() => say(UNREAD, false));
  });

  // What a file manager leaves in folders is nobody's log.
  const isLog = (file) => !file.name.startsWith(".") && file.name !== "Thumbs.db" && file.name !== "desktop.ini";

  /* The files of a folder and of the folders in it; a browser tells a hundred at a time, and an empty list at the end. */
  async function within(entry) {
    if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
    const reader = entry.createReader();
    const files = [];
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (!some.length) return files;
      files.push(...(await Promise.all(some.map(within))).flat());
    }
  }
})();
