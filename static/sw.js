// Opens the scanning page without a network. It keeps that page and its files,
// and touches nothing else: every other page is the server's as it is now.
// The server puts version and keep, the list of the files, before this.

const box = 'scan-' + version;
const page = '/scan', manifest = '/manifest.webmanifest';
const patience = 2500; // ms until the kept page is shown in place of a slow one

self.addEventListener('install', e => e.waitUntil(fill()));

async function fill() {
  const kept = await caches.open(box);
  await kept.addAll([...keep, manifest]);
  await kept.put(page, await whole(page));
  await self.skipWaiting();
}

// whole fetches an address and takes nothing but our own answer.
async function whole(address) {
  const answer = await fetch(address, {cache: 'no-store', credentials: 'same-origin'});
  if (!answer.ok || answer.redirected) throw new Error(`${address}: ${answer.status}`);
  return answer;
}

self.addEventListener('activate', e => e.waitUntil(tidy()));

async function tidy() {
  for (const name of await caches.keys()) if (name.startsWith('scan-') && name !== box) await caches.delete(name);
  await self.clients.claim();
}

self.addEventListener('fetch', e => {
  const address = new URL(e.request.url);
  if (e.request.method !== 'GET' || address.origin !== location.origin) return;
  if (address.pathname === page) e.respondWith(newest(e.request));
  else if (address.pathname === manifest || address.pathname.startsWith('/scan/files/') || keep.includes(address.pathname + address.search)) e.respondWith(kept(e.request));
});

// newest is the page of the server, or the kept one when the server is away
// or slow.
async function newest(request) {
  const mine = await caches.open(box);
  const fresh = fetch(request).then(answer => {
    if (answer.ok && !answer.redirected) mine.put(page, answer.clone());
    return answer;
  });
  const old = await mine.match(page, {ignoreVary: true});
  if (!old) return fresh;
  const slow = new Promise(resolve => setTimeout(resolve, patience, old));
  return Promise.race([fresh.then(answer => answer.ok || answer.status === 401 ? answer : old).catch(() => old), slow]);
}

// kept is a file that never changes at its address.
async function kept(request) {
  const mine = await caches.open(box);
  const old = await mine.match(request, {ignoreVary: true});
  if (old) return old;
  return fetch(request);
}
