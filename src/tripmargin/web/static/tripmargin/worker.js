// The service worker: without a connection the forms that were opened before still open. What is entered
// in them goes through the outbox. VERSION and KEPT are put before this text by the server.
"use strict";

const FILES = `tripmargin-files-${VERSION}`;
const PAGES = `tripmargin-pages-${VERSION}`;
const NO_CONNECTION = "/offline/";
const FORM = /^\/machines\/[0-9a-f-]{36}\/log\/new\/[a-z-]+\/$/;
const DOORS = ["/sign-in/", "/sign-out/"];
const PATIENCE = 6000; // ms, before a kept form is shown in place of one that does not come

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const files = await caches.open(FILES);
    await files.addAll(KEPT);
    // As nobody: it must not hold a person's name.
    await files.put(NO_CONNECTION, await fetch(NO_CONNECTION, { credentials: "omit" }));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("tripmargin-") && name !== FILES && name !== PAGES) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  const address = new URL(event.data?.keep || "/", self.location.href);
  if (address.origin !== self.location.origin || !FORM.test(address.pathname)) return;
  event.waitUntil(fetch(address).then((answer) => keepForm(address, answer)).catch(() => {}));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (address.origin !== self.location.origin) return;
  if (DOORS.includes(address.pathname)) {
    // Whoever goes through the door leaves no pages behind.
    event.waitUntil(caches.delete(PAGES));
    return;
  }
  if (request.method !== "GET") return;
  if (address.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, request, address));
});

async function file(request) {
  const found = await caches.match(request, { cacheName: FILES });
  return found || fetch(request);
}

async function keepForm(address, answer) {
  if (!answer.ok || answer.redirected || answer.type !== "basic") return;
  const pages = await caches.open(PAGES);
  await pages.put(address.origin + address.pathname, answer.clone());
}

async function page(event, request, address) {
  const form = FORM.test(address.pathname);
  const kept = form && await caches.match(address.origin + address.pathname, { cacheName: PAGES });
  const asked = fetch(request).then(async (answer) => {
    if (form) await keepForm(address, answer);
    return answer;
  });
  event.waitUntil(asked.catch(() => {}));
  try {
    if (!kept) return await asked;
    const late = new Promise((_, failed) => { setTimeout(failed, PATIENCE); });
    return await Promise.race([asked, late]);
  } catch {
    return kept || (await caches.match(NO_CONNECTION, { cacheName: FILES })) || Response.error();
  }
}
