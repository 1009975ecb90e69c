// Keeps the round, plants and the sitter's sheet for use without a network, and sends taps that wait.
"use strict";
importScripts("__QUEUE__");
const VERSION = "__VERSION__", STATIC = `static-${VERSION}`, PAGES = "pages";
const FIRST = __FIRST__;
const KEPT = /^\/($|plants($|\/[a-z0-9-]+($|\/(say|why|story)$))|sitter\/|ahead$|places$)/;
const MOST_PAGES = 150;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(STATIC).then((cache) => cache.addAll(FIRST)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== STATIC && name !== PAGES) await caches.delete(name);
    await self.clients.claim();
  })());
});

async function page(request) {
  const path = new URL(request.url).pathname, cache = await caches.open(PAGES);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected && KEPT.test(path)) {
      await cache.put(path, answer.clone());
      const keys = await cache.keys();
      if (keys.length > MOST_PAGES) await cache.delete(keys[0]);
    }
    if (answer.redirected && new URL(answer.url).pathname === "/login") await caches.delete(PAGES); // nobody is signed in any more
    return answer;
  } catch (error) {
    const kept = await cache.match(path);
    if (kept) return kept;
    return new Response("<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><title>No connection</title><h1>No connection</h1><p>This page was not kept. <a href='/'>The round</a> was.</p>", { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
  }
}
async function fixed(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) (await caches.open(STATIC)).put(request, answer.clone());
  return answer;
}
self.addEventListener("fetch", (event) => {
  const request = event.request, url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === "POST" && url.pathname === "/logout") event.waitUntil(caches.delete(PAGES));
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) event.respondWith(fixed(request));
  else if (request.mode === "navigate") event.respondWith(page(request));
});

// Sends what waits once, in order; what the server refused is told by the next page that opens.
async function send() {
  const taps = self.carecalTaps;
  await taps.alone(async () => {
    for (const tap of await taps.all()) {
      const told = await taps.post({ ...tap, stuck: true });
      await taps.drop(tap);
      if (told.state === "refused") await taps.tell(`${(tap.fields.find(([name]) => name === "name") || ["", ""])[1]}: ${told.text}`);
    }
  });
}
self.addEventListener("sync", (event) => { if (event.tag === "taps") event.waitUntil(send()); });
