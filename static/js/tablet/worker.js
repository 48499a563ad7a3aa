// The service worker of the charting screen, served at /charting/worker.js with the list KEPT = {version, shell, files} in
// front of it. It keeps the screen, its static files, the reference and the drawings, and nothing else: no day, no
// session, no photograph and no other page ever goes into its cache.

const PREFIX = "charting-worker-";
const CACHE = `${PREFIX}${KEPT.version}`;

// A redirect leads to the sign-in page, which must never be kept in the screen's place.
async function fetched(address) {
  const answer = await fetch(address, { credentials: "same-origin", redirect: "error", cache: "no-cache" });
  if (!answer.ok || answer.redirected) {
    throw new Error(`${address}: ${answer.status}`);
  }
  return answer;
}

async function keepAll() {
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(KEPT.files.map(async (address) => cache.put(address, await fetched(address))));
  } catch (error) {
    // Half a version opens nothing; the one before stays.
    await caches.delete(CACHE);
    throw error;
  }
}

async function dropOthers() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
}

// From this version's cache, so that page and files always belong together.
async function kept(address, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address, { ignoreVary: true })) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(keepAll()));

self.addEventListener("activate", (event) => event.waitUntil(dropOthers().then(() => self.clients.claim())));

self.addEventListener("message", (event) => {
  if (event.data === "take over") {
    self.skipWaiting();
  }
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname, search } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) {
    return;
  }
  if (request.mode === "navigate") {
    if (pathname === KEPT.shell) {
      event.respondWith(kept(KEPT.shell, request));
    }
  } else if (KEPT.files.includes(pathname + search) && pathname !== KEPT.shell) {
    event.respondWith(kept(pathname + search, request));
  }
});
