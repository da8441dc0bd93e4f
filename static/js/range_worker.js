// A service worker, which browsers allow on https alone: the range's page opens with the laptop away, also after the phone
// was switched off. It keeps that one page and the files that the page is made of, and nothing that anybody logged.
//
// The laptop writes two lines above this: PAGE, FILES and BUILD (server/proofyard/pages/range/worker.py). Another version
// of them, or another book, is another BUILD, which is kept whole or not at all.

const MINE = `proofyard ${self.registration.scope} `; // another Proofyard may stand below the same address
const KEPT = MINE + BUILD;
const PAGES = [PAGE, `${PAGE}/butt`, `${PAGE}/bench`]; // the same bytes at all three
const WITHIN_MS = 4000; // a Wi-Fi out of reach gives no error

async function keep() {
  const page = await fetch(PAGE, { cache: "reload" });
  if (!page.ok || page.redirected) throw new Error("not in: the page comes with the next visit");
  const kept = await caches.open(KEPT);
  await kept.addAll(FILES); // after the page: files of a version before it are gone by now, and then nothing is kept
  await kept.put(PAGE, page);
  await self.skipWaiting();
}

async function forgetOthers() {
  for (const name of await caches.keys()) if (name.startsWith(MINE) && name !== KEPT) await caches.delete(name);
}

async function kept(address) {
  return (await caches.open(KEPT)).match(address);
}

/** The laptop's own answer if there is one: whoever was removed must hear of it. */
async function page(request) {
  const late = new Promise((_, fail) => setTimeout(fail, WITHIN_MS));
  try {
    const answer = await Promise.race([fetch(request), late]);
    return answer.status < 500 ? answer : (await kept(PAGE)) || answer;
  } catch {
    return (await kept(PAGE)) || Response.error();
  }
}

const file = async (request, address) => (await kept(address)) || fetch(request);

self.addEventListener("install", (event) => event.waitUntil(keep()));
self.addEventListener("activate", (event) => event.waitUntil(forgetOthers()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const at = new URL(request.url);
  if (request.method !== "GET" || at.origin !== location.origin) return;
  if (request.mode === "navigate" && PAGES.includes(at.pathname)) event.respondWith(page(request));
  else if (FILES.includes(at.pathname)) event.respondWith(file(request, at.pathname));
});
