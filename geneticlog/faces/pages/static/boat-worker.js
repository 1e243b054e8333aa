"use strict";
// On a secure origin the boat's page comes back without the server: its shell is kept here, never what was entered.
const SHELL = "boat-shell", PARTS = ["/static/boat.js"];
addEventListener("install", event => {
  event.waitUntil(caches.open(SHELL).then(shell => shell.addAll(PARTS)).then(() => skipWaiting()));
});
addEventListener("activate", event => event.waitUntil(clients.claim()));
addEventListener("fetch", event => {
  const path = new URL(event.request.url).pathname;
  const page = event.request.mode === "navigate" && /^\/boat\/[^/]+$/.test(path);
  if (event.request.method !== "GET" || !(page || PARTS.includes(path))) return;
  event.respondWith((async () => {
    const shell = await caches.open(SHELL);
    try {
      const fresh = await fetch(event.request);
      if (fresh.ok && !fresh.redirected) await shell.put(path, fresh.clone());
      return fresh;
    } catch (fault) {
      const kept = await shell.match(path);
      if (kept) return kept;
      throw fault;
    }
  })());
});
