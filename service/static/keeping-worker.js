// Keeps the step in hand and what it is shown with, for one person; every other page is only ever the studio's own answer.
"use strict";
const FILES = "stopline files";
const PAGES = "stopline pages ";
const WAITING = "/waiting";
const PATIENCE_MS = 4_000;

self.addEventListener("install", () => { self.skipWaiting(); });
self.addEventListener("activate", (event) => { event.waitUntil(self.clients.claim()); });

const forgetPages = async (but = "") => {
  for (const name of await caches.keys()) if (name.startsWith(PAGES) && name !== but) await caches.delete(name);
};

const keep = async ({ account, page, files }) => {
  const name = `${PAGES}${account}`;
  await forgetPages(name);
  const pages = await caches.open(name), kept = await caches.open(FILES);
  for (const request of await kept.keys()) {
    const { pathname, search } = new URL(request.url);
    if (!files.includes(pathname + search)) await kept.delete(request);
  }
  for (const file of files) if (!(await kept.match(file))) await kept.add(file);
  for (const path of [page, WAITING]) {
    const answer = await fetch(path, { credentials: "same-origin", headers: { Accept: "text/html" } });
    if (answer.ok && !answer.redirected) await pages.put(path, answer);
  }
  for (const request of await pages.keys()) if (![page, WAITING].includes(new URL(request.url).pathname)) await pages.delete(request);
};

self.addEventListener("message", (event) => { event.waitUntil(keep(event.data).catch(() => {})); });

const keptPage = async (path) => {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PAGES)) continue;
    const pages = await caches.open(name);
    const found = await pages.match(path);
    if (found) return found;
    if (path === "/table") {
      const step = (await pages.keys()).find(({ url }) => new URL(url).pathname !== WAITING);
      if (step) return Response.redirect(step.url, 303);
    }
  }
  return null;
};

const after = (milliseconds) => new Promise((resolve) => { setTimeout(resolve, milliseconds); });

const answer = async (request, path) => {
  const kept = await keptPage(path);
  const asked = fetch(request);
  try {
    if (!kept) return await asked;
    const first = await Promise.race([asked, after(PATIENCE_MS)]);
    asked.catch(() => {});
    return first ?? kept;
  } catch {
    return kept ?? (await keptPage(WAITING)) ?? Response.error();
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && url.pathname === "/sign-out") event.waitUntil(forgetPages());
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) event.respondWith(caches.match(request).then((kept) => kept ?? fetch(request)));
  else if (request.mode === "navigate") event.respondWith(answer(request, url.pathname));
});
