/**
 * Keeps the page beside the drill at hand where there is no connection: what the page put by is given when the server does not answer. It is a service
 * worker, served at the root so that it may stand before that one page.
 */
const worker = /** @type {any} */ (globalThis);

worker.addEventListener("install", () => worker.skipWaiting());
worker.addEventListener("activate", (/** @type {any} */ event) => event.waitUntil(worker.clients.claim()));
worker.addEventListener("fetch", (/** @type {any} */ event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  event.respondWith(
    fetch(request).catch(async (cause) => {
      const kept = await caches.match(request, { ignoreVary: true });
      if (kept) return kept;
      throw cause;
    }),
  );
});
