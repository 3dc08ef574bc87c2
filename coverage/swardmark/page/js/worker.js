// Where the page cannot be reached, this shows a small one instead, which takes photos in until it can (unreached.js).
const KEPT = "swardmark-unreached", FILES = ["/unreached", "/js/unreached.js", "/js/waiting.js"];
const keep = () => caches.open(KEPT).then((kept) => kept.addAll(FILES));
const kept = async (path) => (await caches.match(path)) || Response.error();

self.addEventListener("install", (event) => { self.skipWaiting(); event.waitUntil(keep()); });
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { pathname } = new URL(event.request.url);
  if (event.request.mode === "navigate" && pathname === "/") {
    event.respondWith(fetch(event.request).catch(() => kept("/unreached")));
  } else if (event.request.method === "GET" && FILES.includes(pathname)) {
    event.respondWith(fetch(event.request).catch(() => kept(pathname)));
  }
});
self.addEventListener("message", (event) => { if (event.data === "loaded") event.waitUntil(keep().catch(() => {})); });
