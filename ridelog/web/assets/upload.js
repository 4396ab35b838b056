/* Own files: a native file form, and a drop anywhere on the page, sent as multipart with real progress.
   Python keeps the files and draws everything, so nothing here builds HTML from file names.
   Files are taken whatever the page is doing, also before it is drawn, and what is given meanwhile is sent next. */
(function () {
  "use strict";
  const ridelog = (window.ridelog = window.ridelog || {});
  let waiting = []; // what was given and is not on its way yet: files, and the address that was in view
  let request = null;
  let parts = null;
  let shown = { words: "", busy: false };
  let trouble = ""; // with what was given last: it stays while others are read
  let revision = null;
  let waitsFor = 0;
  let timer = null;
  let failures = 0;
  let asked = 0; // questions so far
  let heard = 0; // the latest of those that were answered
  const paths = new WeakMap(); // of files that were dropped with their folders
  const MOST = 200; // files that the server takes at once
  const MOST_BYTES = 2.5e8;
  const EMPTY = "There is no file in this folder.";
  const UNREAD = "The browser could not read all of this folder.";
  const GONE = "The program does not answer. Is it still running?";
  const LOST = "The files did not arrive. Is the program still running, and are the files below its size limit?";

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
    const hint = make("p", { id: "files-hint" }, "or drop files or folders anywhere: logs, tracks (GPX, FIT), bike files.");
    const list = make("ul", { class: "upload-list", "aria-label": "Files being sent" });
    const progress = make("progress", { max: "1", value: "0", "aria-label": "Sending the files", hidden: "" });
    const status = make("p", { class: "upload-status", role: "status" });
    const stop = make("button", { type: "button", hidden: "" }, "Stop");
    form.append(input, label, whole, named, hint, list, progress, status, stop);
    place.append(form);
    parts = { form, input, list, progress, status, stop };
    [input, whole].forEach((each) => each.addEventListener("change", () => {
      const files = [...each.files].filter(isLog);
      if (files.length) give(files);
      else if (each === whole) fail(EMPTY);
      each.value = "";
    }));
    stop.addEventListener("click", giveUp);
    form.addEventListener("submit", (event) => event.preventDefault());
    rows();
    say(shown.words, shown.busy);
    ask();
  }

  function say(words, busy) {
    shown = { words, busy };
    if (!parts) return;
    parts.status.textContent = [trouble, words].filter(Boolean).join("\n");
    parts.progress.hidden = !busy;
    parts.stop.hidden = !busy;
    if (!busy) parts.list.replaceChildren();
  }

  function fail(words) {
    trouble = words;
    say(request ? shown.words : "", shown.busy);
  }

  /* Each file that is on its way or waits for it. */
  function rows() {
    const files = [request, ...waiting].filter(Boolean).flatMap((each) => each.files);
    if (!parts) return;
    parts.list.replaceChildren(...files.map((file) => {
      const row = make("li", {});
      row.append(make("span", {}, file.name), make("span", {}, size(file.size)), make("span", {}, "waits"));
      return row;
    }));
    if (request) mark(request.files, request.sent_bytes);
  }

  function giveUp() {
    if (request) request.sender.abort();
    request = null;
    waiting = [];
    trouble = "";
    say("Stopped.", false);
    if (!heard) return; // nothing was sent
    const number = (heard = ++asked);
    fetch("/tray", { method: "DELETE" }).then((reply) => reply.json()).then((said) => hear(said, number)).catch(() => say(GONE, false));
  }

  /* What the server says of the visitor's rides: drawn by Python whenever it changed. A reply that comes after that to a
     later question tells of the past. */
  function hear(said, number) {
    if (number < heard) return;
    heard = number;
    failures = 0;
    if (said.revision !== revision) {
      revision = said.revision;
      window.dash_clientside.set_props("tray", { data: { revision: revision } });
    }
    if (waitsFor && said.arrived >= waitsFor) {
      waitsFor = 0;
      if (said.go) ridelog.go(said.go);
    }
    if (said.pending) again(500);
    next();
    if (request) return;
    if (said.words) {
      if (parts) parts.progress.removeAttribute("value");
      say(said.words, true);
    } else if (shown.busy) {
      say(trouble ? "" : "Done.", false);
    } else if (shown.words === GONE) {
      say("", false);
    }
  }

  function again(wait_ms) {
    clearTimeout(timer);
    timer = setTimeout(ask, wait_ms);
  }

  function ask() {
    const number = ++asked;
    fetch("/tray", { cache: "no-store" }).then((reply) => reply.json()).then((said) => hear(said, number)).catch(() => {
      failures += 1;
      if (!request) say(GONE, false);
      again(Math.min(30000, 1000 * 2 ** failures));
    });
  }
  ridelog.ask = ask;
  ridelog.wait = () => again(Math.min(30000, 1000 * 2 ** failures)); // until the program answers again

  function give(files) {
    const on = window.location.pathname;
    const whole = {}; // what was given at once
    waiting.push(...inParts(files).map((part) => ({ files: part, on, whole })));
    trouble = "";
    if (!request) say("Sending …", true);
    rows();
    next();
  }

  /* Where a file lies in the folder that was given with it. */
  const pathOf = (file) => paths.get(file) || file.webkitRelativePath || file.name;

  /* A folder of many files is sent in parts, each with what is told of the bikes, and cut between two of its folders
     where that can be. */
  function inParts(given) {
    const files = [...given].sort((one, other) => (pathOf(one) < pathOf(other) ? -1 : 1));
    const bytes = (some) => some.reduce((sum, file) => sum + file.size, 0);
    const fits = (some) => some.length <= MOST && bytes(some) <= MOST_BYTES;
    if (fits(files) || !files.some((file) => pathOf(file).includes("/"))) return [files];
    const told = files.filter((file) => /\.toml$/i.test(file.name));
    const folderOf = (file) => pathOf(file).replace(/[^/]*$/, "");
    const others = files.filter((file) => !told.includes(file));
    const parts = [];
    others.forEach((file, place) => {
      const folder = folderOf(file);
      const begins = !place || folderOf(others[place - 1]) !== folder;
      const whole = begins ? others.filter((other) => folderOf(other) === folder) : [file];
      const last = parts[parts.length - 1];
      if (last && (fits([...last, ...whole]) || (fits([...last, file]) && !fits([...told, ...whole])))) last.push(file);
      else parts.push([...told, file]);
    });
    return parts;
  }

  /* Files are the visitor's by a key that the first reply brings: sent without it, they would get another. */
  function next() {
    if (!request && heard && waiting.length) send(waiting.shift());
  }

  function send(given) {
    const data = new FormData();
    const all_bytes = given.files.reduce((sum, file) => sum + file.size, 0);
    given.files.forEach((file) => data.append("files", file, pathOf(file)));
    const mine = new XMLHttpRequest();
    request = { sender: mine, files: given.files, sent_bytes: 0 };
    const ended = () => {
      const current = request && request.sender === mine;
      if (current) request = null;
      return current;
    };
    mine.open("POST", "/upload");
    mine.responseType = "json";
    mine.setRequestHeader("Ridelog-View", encodeURIComponent(given.on));
    mine.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable || !request || request.sender !== mine) return;
      parts.progress.value = event.loaded / event.total;
      say("Sending: " + Math.round((100 * event.loaded) / event.total) + " %", true);
      request.sent_bytes = event.loaded - (event.total - all_bytes);
      mark(given.files, request.sent_bytes);
    });
    mine.addEventListener("load", () => {
      if (!ended()) return;
      const said = mine.response;
      if (mine.status === 200 && said) {
        waitsFor = said.drop;
        hear(said, ++asked);
      } else {
        waiting = waiting.filter((each) => each.whole !== given.whole); // where a part does not fit, no other does
        fail((said && said.message) || "The files were refused (status " + mine.status + ").");
        ask();
      }
    });
    mine.addEventListener("error", () => {
      if (!ended()) return;
      fail(LOST);
      ask();
    });
    parts.progress.value = 0;
    say("Sending …", true);
    rows();
    mine.send(data);
  }

  // Dash draws the page after this script has run, and may draw it anew: fill the place whenever it is there and empty.
  let known = null;
  const look = () => {
    const place = document.getElementById("own-files");
    if (place && !place.firstChild) build(place);
    const expected = document.querySelector(".expected"); // something is still being worked out: drawn when it is there
    if (expected && expected !== known) ask();
    known = expected;
  };
  new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });

  // A drop is taken only where the last event before it was: as what lies under the hand is drawn anew, that is an entry.
  const holdsFiles = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
  const over = (on) => document.documentElement.classList.toggle("dropping", on);
  ["dragenter", "dragover"].forEach((kind) => document.addEventListener(kind, (event) => {
    event.preventDefault();
    if (holdsFiles(event)) over(true);
  }));
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) over(false); });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    over(false);
    if (!event.dataTransfer) return;
    const entries = [...event.dataTransfer.items].map((each) => each.webkitGetAsEntry && each.webkitGetAsEntry());
    if (!entries.some((each) => each && each.isDirectory)) {
      const files = [...event.dataTransfer.files];
      if (files.length) give(files);
      return;
    }
    Promise.all(entries.filter(Boolean).map(within)).then((found) => {
      const files = found.flat().filter(isLog);
      if (files.length) give(files);
      else fail(EMPTY);
    }).catch(() => fail(UNREAD));
  });

  // What a file manager leaves in folders is nobody's log.
  const isLog = (file) => !file.name.startsWith(".") && file.name !== "Thumbs.db" && file.name !== "desktop.ini";

  /* The files of a folder and of the folders in it; a browser tells a hundred at a time, and an empty list at the end. */
  async function within(entry) {
    if (entry.isFile) {
      const file = await new Promise((done, failed) => entry.file(done, failed));
      paths.set(file, entry.fullPath.replace(/^\//, ""));
      return [file];
    }
    const reader = entry.createReader();
    const files = [];
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (!some.length) return files;
      files.push(...(await Promise.all(some.map(within))).flat());
    }
  }
})();
