// Pages for where slowfire is out of reach: the last ones seen, and the forms to write with.
"use strict";
const NAME = "slowfire-pages-2";
const FIRST = ["record", "", "out-of-reach"];
const PATIENCE = 5000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((cache) =>
    Promise.all(FIRST.map((path) => cache.add(new URL(path, self.registration.scope)).catch(() => null)))
  ).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys().then((names) =>
    Promise.all(names.filter((one) => one.startsWith("slowfire-") && one !== NAME).map((one) => caches.delete(one)))
  ).then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "forget") { event.waitUntil(caches.delete(NAME)); }
});

async function fromNetwork(request) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (answer.ok && answer.type === "basic" && !answer.redirected) {
      (await caches.open(NAME)).put(request, answer.clone());
    }
    return answer;
  } finally {
    clearTimeout(timer);
  }
}

async function answered(request) {
  try {
    return await fromNetwork(request);
  } catch {
    const cache = await caches.open(NAME);
    const found = await cache.match(request) || await cache.match(request, { ignoreSearch: true });
    if (found) { return found; }
    const other = await cache.match(new URL("out-of-reach", self.registration.scope));
    return other || Response.error();
  }
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  const own = url.origin === self.location.origin;
  const data = /\/(progress|api|example|export\.zip|photos)/.test(url.pathname);
  if (event.request.method !== "GET" || !own || data) { return; }
  if (event.request.mode === "navigate" || url.pathname.includes("/static/")) {
    event.respondWith(answered(event.request));
  }
});
