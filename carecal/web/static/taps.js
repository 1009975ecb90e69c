// Keeps taps that were made without a connection and sends each once, later. The page works without it.
"use strict";
(() => {
  const KEY = "carecal-taps:" + location.pathname;
  const note = document.getElementById("waiting");
  const left = document.getElementById("left");
  const changed = document.getElementById("changed");
  let sending = false;

  const read = () => { try { return JSON.parse(localStorage.getItem(KEY)) || []; } catch { return []; } };
  const write = (taps) => { try { localStorage.setItem(KEY, JSON.stringify(taps)); return true; } catch { return false; } };
  const id = (form) => [...form.querySelectorAll("[name=task]")].map((field) => field.value).join(" ");
  const formOf = (tasks) => [...document.querySelectorAll("form.tick")].find((form) => id(form) === tasks);

  function say() {
    const count = read().length;
    if (!note) return;
    note.hidden = count === 0;
    note.textContent = count === 0 ? "" : `${count} ${count === 1 ? "tap waits" : "taps wait"} for a connection`;
  }

  function paint(form, state, text) {
    if (!form) return;
    const row = form.closest(".row"), button = form.querySelector(".tap");
    const done = state === "done" || state === "damp";
    const was = row.classList.contains("done") || row.classList.contains("left");
    row.classList.remove("open", "done", "left", "excepted", "waiting");
    row.classList.add(state === "damp" ? "left" : done ? "done" : "open");
    button.value = done ? "undo" : "done";
    button.setAttribute("aria-pressed", done ? "true" : "false");
    form.querySelector(".state").textContent = text;
    const more = row.querySelector("details.more");
    if (more) { more.open = false; more.hidden = done; }
    if (left && was !== done) left.textContent = String(Number(left.textContent) + (done ? -1 : 1));
  }

  function waits(form, did, text = "waits for a connection") {
    if (!form) return;
    paint(form, did === "undo" ? "open" : did, text);
    form.closest(".row").classList.add("waiting");
  }

  function tell(form, told) {
    if (!changed || !told.lines) return;
    const line = document.createElement("li");
    const name = form ? form.dataset.name : "";
    line.textContent = [`${name} ${told.state === "undone" ? "taken back" : "written down"}`, ...told.lines].join("; ");
    changed.querySelector("ul").prepend(line);
    changed.hidden = false;
  }

  function fields(form, button) {
    const data = [...new FormData(form).entries()].filter(([name]) => name !== "form_token");
    if (button && button.name) data.push([button.name, button.value]);
    return data;
  }

  async function post(tap) {
    const body = new URLSearchParams(tap.fields);
    const token = document.querySelector("form.tick [name=form_token]");
    if (token) body.set("form_token", token.value);
    const answer = await fetch(location.pathname, { method: "POST", body, headers: { Accept: "application/json" } });
    if (answer.status === 401) { location.href = "/login"; throw new Error("login"); }
    if (answer.status >= 500) throw new Error("server");
    return answer.json();
  }

  function settle(tap, told) {
    const form = formOf(tap.tasks);
    tell(form, told);
    if (told.state === "done" || told.state === "damp") {
      if (form) form.querySelector("[name=entry]").value = told.entry;
      paint(form, told.state, `${told.state === "damp" ? "left damp" : "done"} ${told.at || ""}`);
    } else if (told.state === "undone") {
      if (form) form.querySelector("[name=entry]").value = "";
      paint(form, "open", "");
    } else if (told.state === "already") {
      paint(form, "done", told.text);
    } else if (form) {
      paint(form, "open", told.text || "not written; load the page anew");
    }
  }

  async function flush() {
    if (sending) return;
    sending = true;
    try {
      for (let taps = read(); taps.length; taps = read()) {
        const told = await post(taps[0]);
        settle(taps[0], told);
        write(read().slice(1));
      }
    } catch { /* still no connection: they stay */ }
    sending = false;
    say();
  }

  function keep(tap, form) {
    const taps = read(), same = taps.findIndex((other) => other.tasks === tap.tasks);
    if (tap.did === "undo" && same >= 0) { // never sent: nothing to take back
      taps.splice(same, 1);
      write(taps);
      paint(form, "open", "");
    } else if (write([...taps, tap])) {
      waits(form, tap.did);
    } else {
      paint(form, tap.did === "undo" ? "done" : "open", "not written, there is no connection");
    }
    say();
  }

  document.addEventListener("submit", (event) => {
    const form = event.target, button = event.submitter;
    const row = form.closest(".row");
    if (!row || event.defaultPrevented) return;
    const tick = row.querySelector("form.tick");
    event.preventDefault();
    const sent = fields(form, button);
    const did = sent.find(([name]) => name === "do")[1];
    const tap = { tasks: id(tick), did, fields: sent };
    if (read().length) { keep(tap, tick); flush(); return; }
    waits(tick, did, "…");
    post(tap).then((told) => settle(tap, told), () => { paint(tick, did === "undo" ? "done" : "open", ""); keep(tap, tick); });
  });

  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
  setInterval(() => { if (read().length) flush(); }, 20000);
  for (const tap of read()) waits(formOf(tap.tasks), tap.did);
  say();
  flush();
})();
