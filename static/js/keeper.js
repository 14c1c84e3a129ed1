// Keeps the page of a run that is open, so that it comes back after a reload without network. Only these pages and their files are kept.
const NAME = "wetside-runs";
const ours = (url) => url.origin === location.origin && (/^\/runs\/\d+$/.test(url.pathname) || url.pathname.startsWith("/static/"));

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || !ours(url)) return;
  event.respondWith(answer(event.request, url));
});
async function answer(request, url) {
  const kept = await caches.open(NAME);
  if (url.pathname.startsWith("/static/")) {
    const known = await kept.match(request);
    if (known) return known;
  }
  try {
    const fresh = await fetch(request);
    if (fresh.ok && !fresh.redirected) {
      const text = url.pathname.startsWith("/runs/") ? await fresh.clone().text() : "";
      // A run that is over is not kept on the device.
      if (text.includes('id="watch"') || url.pathname.startsWith("/static/")) await kept.put(request, fresh.clone());
      else await kept.delete(request);
    } else if (fresh.redirected) await kept.delete(request);
    return fresh;
  } catch (fault) {
    const known = await kept.match(request);
    if (known) return known;
    throw fault;
  }
}
