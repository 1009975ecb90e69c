// Taps that are not sent yet, kept in the browser's own store: the page and its service worker share them.
"use strict";
(() => {
  const NAME = "carecal", TAPS = "taps", TOLD = "told";
  let opened = null, spare = []; // `spare` serves where the browser keeps nothing

  function base() {
    opened ||= new Promise((done, fail) => {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore(TAPS, { keyPath: "key" });
        asked.result.createObjectStore(TOLD, { autoIncrement: true });
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
    });
    return opened;
  }
  async function act(store, mode, use) {
    const found = await base();
    return new Promise((done, fail) => {
      const work = found.transaction(store, mode), asked = use(work.objectStore(store));
      work.oncomplete = () => done(asked && asked.result);
      work.onerror = work.onabort = () => fail(work.error);
    });
  }
  const order = (a, b) => a.at - b.at || (a.key < b.key ? -1 : 1);
  const all = async () => { try { return (await act(TAPS, "readonly", (s) => s.getAll())).sort(order); } catch { return [...spare]; } };
  const add = async (tap) => { try { await act(TAPS, "readwrite", (s) => s.put(tap)); } catch { spare.push(tap); } };
  const drop = async (tap) => { spare = spare.filter((o) => o.key !== tap.key); try { await act(TAPS, "readwrite", (s) => s.delete(tap.key)); } catch { /* it was in `spare` */ } };
  const tell = async (text) => { try { await act(TOLD, "readwrite", (s) => s.add(text)); } catch { /* nobody to tell */ } };
  async function told() {
    try {
      const found = await act(TOLD, "readonly", (s) => s.getAll());
      if (found.length) await act(TOLD, "readwrite", (s) => s.clear());
      return found;
    } catch { return []; }
  }

  // Sends one tap; throws where it has to wait: no connection, the server rests, nobody is signed in.
  async function post(tap, token) {
    const body = new URLSearchParams(tap.fields);
    if (tap.stuck && tap.on && !body.has("on")) body.set("on", tap.on); // it was done on that day, not on the one it is sent
    if (token || tap.token) body.set("form_token", token || tap.token);
    const answer = await fetch(tap.path, { method: "POST", body, headers: { Accept: "application/json" } });
    if (answer.status === 401 || answer.status === 403 || answer.status >= 500) throw Object.assign(new Error("waits"), { status: answer.status });
    return answer.json();
  }

  // One sender at a time in this browser, where it can be told (a service worker runs only where it can).
  async function alone(work) {
    if (!self.navigator.locks) return work();
    return self.navigator.locks.request("carecal-taps", work);
  }
  self.carecalTaps = { all, add, drop, tell, told, post, alone };
})();
