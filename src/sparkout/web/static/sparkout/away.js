// The service worker: a visit page that was open can be opened again while the server is away.
// It never answers for a server that answers: everything is asked of the server first.
"use strict";
const KEPT = "sparkout {version}";
const FILES = "{files}".split(" ");
const MOST = 12; // visits kept on this device
const VISIT = /^\/(visits\/\d+|why)\/$/;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)));
});

// Files of another version go; pages stay, for they are what was seen last.
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  const kept = await caches.open(KEPT);
  for (const name of await caches.keys()) {
    if (name === KEPT) continue;
    const old = await caches.open(name);
    for (const page of await old.keys()) if (VISIT.test(new URL(page.url).pathname)) await kept.put(page, await old.match(page));
    await caches.delete(name);
  }
  await self.clients.claim();
})()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (event.request.mode === "navigate" && VISIT.test(url.pathname)) event.respondWith(visit(event.request, url));
  else if (FILES.includes(url.pathname)) event.respondWith(fetch(event.request).catch(() => caches.match(url.pathname)));
});

const visit = async (request, url) => {
  const kept = await caches.open(KEPT);
  let answer;
  try { answer = await fetch(request); } catch { return seen(kept, url.pathname); }
  if (answer.ok && !answer.redirected) await put(kept, url.pathname, await answer.clone().text(), answer.headers);
  else if (answer.status === 404 || answer.status === 410) await kept.delete(url.pathname);
  return answer;
};

const put = async (kept, path, html, headers) => {
  const told = new Headers(headers);
  told.set("Seen", new Date().toISOString());
  await kept.delete(path); // so that the one seen last is the last of the list
  await kept.put(path, new Response(html, { headers: told }));
  const pages = (await kept.keys()).filter((page) => VISIT.test(new URL(page.url).pathname));
  for (const old of pages.slice(0, -MOST)) await kept.delete(old);
};

// The page as it was seen last, which says of itself when that was.
const seen = async (kept, path) => {
  const page = await kept.match(path);
  if (!page) return Response.error();
  const html = (await page.text()).replace(/<html( data-seen="[^"]*")?/, `<html data-seen="${page.headers.get("Seen")}"`);
  return new Response(html, { headers: page.headers });
};

// An open page says what it shows now, with the headers it came with.
self.addEventListener("message", (event) => {
  const { path, html } = event.data;
  event.waitUntil((async () => {
    const kept = await caches.open(KEPT);
    if (!VISIT.test(path)) return;
    const before = await kept.match(path) || await fetch(path, { redirect: "error" }).catch(() => null);
    if (before && before.ok) await put(kept, path, html, before.headers);
  })());
});
