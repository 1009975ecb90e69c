// Taps on rows: shown at once, sent one after the other, kept without a connection. The page works without it.
"use strict";
(() => {
  const taps = self.carecalTaps, ANEW = "carecal-anew", DAY = "carecal-day";
  const POLL_MS = 4000, RETRY_MS = 15000, NOTICE_MS = 30000;
  const by = (id) => document.getElementById(id);
  const path = location.pathname;
  let mine = [], sending = null, last = 0, noticeEnds = 0, number = 0;

  const list = () => by("list"), live = () => by("live");
  const rows = () => [...document.querySelectorAll(".row")];
  const rowOf = (key) => rows().find((row) => row.dataset.key === key);
  const today = () => new Date().toLocaleDateString("sv", { timeZone: list().dataset.zone });
  const token = () => (document.querySelector("[name=form_token]") || {}).value;
  const key = (fields) => fields.filter(([name]) => name === "task").map(([, value]) => value).join(" ");
  const shown = (row) => ["done", "left"].find((state) => row.classList.contains(state)) || "open";
  const wanted = { done: "done", damp: "left", undo: "open" };

  function busy() {
    list().dataset.sending = mine.length ? "1" : "0";
    const note = by("waiting"), many = mine.filter((tap) => tap.stuck).length;
    note.hidden = !many;
    note.textContent = many ? `${many} ${many === 1 ? "tap waits" : "taps wait"} for a connection` : "";
  }

  // Shows a row as open, done or left, with a word or two beside it.
  function paint(row, state, text, waits) {
    if (!row) return;
    const button = row.querySelector(".tap"), was = shown(row), isDone = state !== "open";
    row.classList.remove("open", "done", "left", "excepted", "waiting");
    row.classList.add(state);
    row.classList.toggle("waiting", Boolean(waits));
    button.value = isDone ? "undo" : "done";
    button.setAttribute("aria-pressed", String(isDone));
    row.querySelector(".state").textContent = text;
    const left = by("left");
    if (left && (was === "open") !== (state === "open")) left.textContent = String(Number(left.textContent) + (isDone ? -1 : 1));
  }

  function notice(html, fallback) {
    const box = by("notice");
    if (!box || (!html && !fallback)) return;
    if (html) box.innerHTML = html; // written and escaped by our own server
    else { box.innerHTML = "<p class=title></p>"; box.firstChild.textContent = fallback; }
    box.hidden = false;
    noticeEnds = Date.now() + NOTICE_MS;
    setTimeout(() => { if (Date.now() >= noticeEnds && !box.contains(document.activeElement)) box.hidden = true; }, NOTICE_MS + 50);
  }

  // Shows a tap that is under way, or waits.
  function waiting(tap) {
    const text = tap.stuck ? "waits for a connection" : "…";
    if (tap.did === "round") {
      const out = tap.fields.filter(([name]) => name === "except").map(([, plant]) => plant);
      for (const row of rows()) if (shown(row) === "open" && !out.includes(row.dataset.plant)) paint(row, "done", text, true);
    } else if (wanted[tap.did]) paint(rowOf(tap.row), wanted[tap.did], text, true);
  }

  function settle(tap, told) {
    if (tap.did === "round") {
      if (told.state !== "round") taps.tell(told.text || "The round could not be written down");
      location.reload();
      return;
    }
    const row = rowOf(tap.row), name = row ? row.querySelector(".who").textContent : "";
    const later = mine.filter((other) => other.row === tap.row && other.key !== tap.key && wanted[other.did]);
    if (told.row && !later.length) paint(row, told.row, told.said, false);
    if (told.state === "refused" || told.state === "already") notice("", `${name}: ${told.text}`);
    else if (!later.length) notice(told.notice);
  }

  async function flush() {
    if (sending) return sending;
    sending = taps.alone(async () => {
      mine = (await taps.all()).filter((tap) => tap.path === path);
      while (mine.length) {
        const tap = mine[0];
        try {
          const told = await taps.post(tap, token());
          sessionStorage.removeItem(ANEW);
          await taps.drop(tap);
          mine = (await taps.all()).filter((other) => other.path === path);
          settle(tap, told);
          last = Date.now();
        } catch (error) {
          if (error.status === 401) { location.href = `/login?next=${encodeURIComponent(path)}`; break; }
          if (error.status === 403 && !sessionStorage.getItem(ANEW)) { sessionStorage.setItem(ANEW, "1"); location.reload(); break; }
          for (const other of mine) { other.stuck = true; await taps.add(other); waiting(other); }
          wake();
          break;
        }
      }
      busy();
    }).finally(() => { sending = null; });
    return sending;
  }

  // Where the browser can, a service worker sends what waits even when the page was closed.
  function wake() {
    if (navigator.serviceWorker && navigator.serviceWorker.controller) {
      navigator.serviceWorker.ready.then((worker) => worker.sync && worker.sync.register("taps")).catch(() => {});
    }
  }

  // A tap that waits and its contrary are none; one that is under way is followed by the next.
  async function keep(tap) {
    const other = mine.findLast((before) => before.row === tap.row && wanted[before.did]);
    if (tap.did !== "round" && other && other.stuck && wanted[tap.did] && (other.did === "undo") !== (tap.did === "undo")) {
      mine = mine.filter((before) => before !== other);
      await taps.drop(other);
      paint(rowOf(tap.row), wanted[tap.did], "", false);
    } else {
      mine.push(tap);
      waiting(tap);
      busy();
      await taps.add(tap);
    }
    busy();
    while (sending) await sending;
    if (mine.length) flush();
  }

  function sure(many) {
    const box = by("sure");
    if (!box || !box.showModal) return Promise.resolve(true);
    by("sure-t").textContent = `All done today: ${many} plant${many === 1 ? "" : "s"}?`;
    box.returnValue = "no";
    box.showModal();
    return new Promise((done) => { box.onclose = () => done(box.returnValue === "yes"); });
  }
  const dialog = by("sure");
  if (dialog) dialog.addEventListener("click", (event) => { if (event.target.value) dialog.close(event.target.value); });

  document.addEventListener("submit", async (event) => {
    const form = event.target, button = event.submitter;
    if (!("tap" in form.dataset) || event.defaultPrevented) return;
    event.preventDefault();
    const fields = [...new FormData(form).entries()].filter(([name]) => name !== "form_token");
    if (button && button.name) fields.push([button.name, button.value]);
    const did = fields.find(([name]) => name === "do")[1];
    if (did === "round") {
      const out = fields.filter(([name]) => name === "except").map(([, plant]) => plant);
      const plants = new Set(rows().filter((row) => shown(row) === "open").map((row) => row.dataset.plant));
      for (const plant of out) plants.delete(plant);
      if (!(await sure(plants.size))) return;
      fields.push(["sure", "1"]);
    }
    const row = form.closest(".row"), more = row && row.querySelector("details.more");
    if (more) more.open = false;
    if (form.closest("#notice")) by("notice").hidden = true;
    number += 1;
    keep({ key: `${Date.now()} ${number} ${Math.random()}`, at: Date.now(), path, row: key(fields), did, fields, on: today(), token: token() });
  });

  // What happened elsewhere: rows keep their place; a list of other rows is taken over whole.
  async function freshen() {
    const answer = await fetch(path, { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected || mine.length) return;
    const found = new DOMParser().parseFromString(await answer.text(), "text/html"), other = found.getElementById("live");
    if (!other || mine.length || document.querySelector("dialog[open]")) return;
    const focus = document.activeElement.closest && document.activeElement.closest(".row"), old = rows();
    const news = [...other.querySelectorAll(".row")], same = news.length === old.length && news.every((row) => rowOf(row.dataset.key));
    const opened = old.filter((row) => row.querySelector("details[open]")).map((row) => row.dataset.key);
    const marked = [...document.querySelectorAll("[name=except]:checked")].map((box) => box.value);
    if (!same && opened.length) return; // somebody is in the midst of something
    if (same) {
      for (const row of news) {
        const mine_ = rowOf(row.dataset.key);
        if (!mine_.querySelector("details[open]") && mine_.outerHTML !== row.outerHTML) mine_.replaceWith(row);
      }
      for (const part of [".head", ".cautions"]) {
        const [here, there] = [live().querySelector(part), other.querySelector(part)];
        if (here && there) here.replaceWith(there);
      }
      live().dataset.head = other.dataset.head;
    } else live().replaceWith(other);
    for (const box of document.querySelectorAll("[name=except]")) box.checked = marked.includes(box.value);
    const again = focus && rowOf(focus.dataset.key);
    if (again && !again.contains(document.activeElement)) again.querySelector(".tap").focus({ preventScroll: true });
    busy();
  }

  async function look() {
    if (document.hidden || sending || mine.length || Date.now() - last < POLL_MS / 2) return;
    try {
      const answer = await fetch(path, { headers: { Accept: "application/json" } });
      if (!answer.ok) return;
      const told = await answer.json();
      if (String(told.head) !== live().dataset.head || (told.day !== list().dataset.day && sessionStorage.getItem(DAY) !== told.day)) {
        sessionStorage.setItem(DAY, told.day);
        await freshen();
      }
    } catch { /* no connection: later */ }
  }

  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) (mine.length ? flush() : look()); });
  setInterval(look, POLL_MS);
  setInterval(() => { if (mine.some((tap) => tap.stuck)) flush(); }, RETRY_MS);
  (async () => {
    mine = (await taps.all()).filter((tap) => tap.path === path);
    mine.forEach(waiting);
    const found = await taps.told();
    if (found.length) notice("", found.join("; "));
    else if (by("notice") && !by("notice").hidden) notice(by("notice").innerHTML);
    busy();
    if (mine.length) flush();
  })();
})();
