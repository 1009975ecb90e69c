// Keeps taps that were made without a connection and sends each once, later. The page works without it.
"use strict";
(() => {
  const KEY = "carecal-taps:" + location.pathname, ANEW = "carecal-anew", DAY = "carecal-day";
  const by = (id) => document.getElementById(id);
  const list = by("list"), note = by("waiting"), left = by("left"), changed = by("changed");
  const ROUND = "round"; // stands for the tasks of the whole round
  let sending = false;

  const read = () => { try { return JSON.parse(localStorage.getItem(KEY)) || []; } catch { return []; } };
  const write = (taps) => { try { localStorage.setItem(KEY, JSON.stringify(taps)); return true; } catch { return false; } };
  const drop = (tap) => write(read().filter((other) => other.key !== tap.key));
  const id = (form) => [...form.querySelectorAll("[name=task]")].map((field) => field.value).join(" ");
  const forms = () => [...document.querySelectorAll("form.tick")];
  const formOf = (tasks) => forms().find((form) => id(form) === tasks);
  const today = () => new Date().toLocaleDateString("sv", { timeZone: list.dataset.zone });

  function say() {
    const count = read().length;
    note.hidden = count === 0;
    note.textContent = count === 0 ? "" : `${count} ${count === 1 ? "tap waits" : "taps wait"} for a connection`;
  }

  // Shows a row as open, done or damp, with a word or two beside it.
  function paint(form, state, text, isWaiting = false) {
    if (!form) return;
    const row = form.closest(".row"), button = form.querySelector(".tap");
    const done = state === "done" || state === "damp";
    const was = row.classList.contains("done") || row.classList.contains("left");
    row.classList.remove("open", "done", "left", "excepted", "waiting");
    row.classList.add(state === "damp" ? "left" : done ? "done" : "open");
    row.classList.toggle("waiting", isWaiting);
    button.value = done ? "undo" : "done";
    button.setAttribute("aria-pressed", done ? "true" : "false");
    form.querySelector(".state").textContent = text;
    const more = row.querySelector("details.more");
    if (more) { more.open = false; more.hidden = done; }
    if (left && was !== done) left.textContent = String(Number(left.textContent) + (done ? -1 : 1));
  }

  const shown = (did) => (did === "undo" ? "open" : did);
  const before = (did) => (did === "undo" ? "done" : "open");

  function waits(tap, text = "waits for a connection") {
    if (tap.tasks !== ROUND) { paint(formOf(tap.tasks), shown(tap.did), text, true); return; }
    const marked = tap.fields.filter(([name]) => name === "except").map(([, plant]) => plant);
    for (const form of forms()) {
      const row = form.closest(".row");
      if ((row.classList.contains("open") || row.classList.contains("waiting")) && !marked.includes(row.dataset.plant)) paint(form, "done", text, true);
    }
  }

  function tell(form, told) {
    if (!changed || !told.lines) return;
    const line = document.createElement("li"), name = form ? form.dataset.name : "";
    line.textContent = [`${name} ${told.state === "undone" ? "taken back" : "written down"}`, ...told.lines].join("; ");
    changed.querySelector("ul").prepend(line);
    changed.hidden = false;
  }

  async function post(tap, extra = []) {
    const body = new URLSearchParams([...tap.fields, ...extra]);
    const token = document.querySelector("[name=form_token]");
    if (token) body.set("form_token", token.value);
    const answer = await fetch(location.pathname, { method: "POST", body, headers: { Accept: "application/json" } });
    if (answer.status === 401) { location.href = "/login"; throw new Error("signed out"); }
    if (answer.status === 403 && !sessionStorage.getItem(ANEW)) { // signed in anew elsewhere: this page's token is old
      sessionStorage.setItem(ANEW, "1");
      location.reload();
    }
    if (answer.status === 403 || answer.status >= 500) throw new Error("not now");
    sessionStorage.removeItem(ANEW);
    return answer.json();
  }

  function settle(tap, told) {
    if (tap.tasks === ROUND) {
      if (told.state === ROUND) location.reload();
      else { for (const form of forms()) if (form.closest(".waiting")) paint(form, "open", told.text); }
      return;
    }
    const form = formOf(tap.tasks), [entry, ...others] = form ? form.querySelectorAll("[name=entry]") : [];
    tell(form, told);
    if (told.state === "done" || told.state === "damp") paint(form, told.state, `${told.state === "damp" ? "left damp" : "done"} ${told.at}`);
    else if (told.state === "undone") paint(form, "open", "");
    else if (told.state === "already") paint(form, "done", told.text);
    else paint(form, before(tap.did), told.text);
    if (entry && told.state !== "refused") {
      entry.value = told.state === "undone" ? "" : told.entry || "";
      for (const other of others) other.remove();
    }
  }

  async function flush() {
    if (sending) return;
    sending = true;
    try {
      for (let [tap] = read(); tap; [tap] = read()) {
        const told = await post(tap, tap.tasks === ROUND ? [] : [["on", tap.on]]); // the whole round names its own day
        drop(tap);
        settle(tap, told);
      }
    } catch { /* still no connection: they stay */ }
    sending = false;
    say();
  }

  // A tap and its contrary, both not sent yet, are none.
  function keep(tap) {
    const taps = read(), last = taps.findLastIndex((other) => other.tasks === tap.tasks);
    const isContrary = last >= 0 && (taps[last].did === "undo") !== (tap.did === "undo") && tap.did !== "damp";
    if (isContrary) {
      taps.splice(last, 1);
      write(taps);
      paint(formOf(tap.tasks), shown(tap.did), "");
    } else if (write([...taps, tap])) waits(tap);
    else paint(formOf(tap.tasks), before(tap.did), "not written: there is no connection");
    say();
  }

  document.addEventListener("submit", (event) => {
    const form = event.target, button = event.submitter, row = form.closest(".row");
    if ((!row && form.id !== "all") || event.defaultPrevented) return;
    event.preventDefault();
    if (read().some((tap) => tap.tasks === ROUND)) { flush(); return; } // the whole round waits already
    const fields = [...new FormData(form).entries()].filter(([name]) => name !== "form_token");
    if (button && button.name) fields.push([button.name, button.value]);
    const did = fields.find(([name]) => name === "do")[1];
    const key = `${Date.now()} ${Math.random()}`;
    const tap = { key, tasks: row ? id(row.querySelector("form.tick")) : ROUND, did, fields, on: today() };
    if (read().length) { keep(tap); flush(); return; }
    waits(tap, "…");
    post(tap).then((told) => settle(tap, told), () => {
      if (row) paint(formOf(tap.tasks), before(did), "");
      keep(tap);
    });
  });

  // A list that was left open overnight is another day's.
  function freshen() {
    if (document.hidden) return;
    const isOld = list.dataset.day !== today() && sessionStorage.getItem(DAY) !== today();
    if (navigator.onLine && isOld && !read().length) {
      sessionStorage.setItem(DAY, today()); // once a day, lest two clocks that differ reload for ever
      location.reload();
    } else flush();
  }

  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", freshen);
  setInterval(() => { if (read().length) flush(); }, 20000);
  for (const tap of read()) waits(tap);
  say();
  flush();
})();
