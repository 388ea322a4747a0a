// Keeps the pages last seen, and notes made away from the network until they are sent. One worker a link.
"use strict";
const VERSION = "{{ version }}";
const BASE = new URL("./", location).pathname;
const WAIT_MS = 3000;
const POST_WAIT_MS = 8000;
const ANSWER_WAIT_MS = 15000;
const LONGEST_WAIT_MS = 60000;
const PAGES_KEPT = 80;
const PHOTOS_KEPT = 60;
const PHOTOS_OF_A_PAGE = 6;
const LETTERS = "23456789abcdefghjkmnpqrstuvwxyz";
const KEPT_AT = "x-kept-at";

// The link's name in the browser's stores, which all pages of this address share: never the link itself.
const named = (async () => {
  const digest = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(BASE));
  return [...new Uint8Array(digest).slice(0, 12)].map((one) => one.toString(16).padStart(2, "0")).join("");
})();
const cacheName = async () => `care-${await named}-${VERSION}`;

// The outbox: a small store of rows {id, link, at, tapped, fields, said, refused}.
function store(mode, work) {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open("care-outbox", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("notes", { keyPath: "id" });
    opening.onerror = () => reject(opening.error);
    opening.onsuccess = () => {
      const act = opening.result.transaction("notes", mode);
      let found;
      try { found = work(act.objectStore("notes")); } catch (fault) { reject(fault); return; }
      act.oncomplete = () => { opening.result.close(); resolve(found && found.result); };
      act.onerror = act.onabort = () => { opening.result.close(); reject(act.error); };
    };
  });
}
const put = (row) => store("readwrite", (notes) => notes.put(row));
const drop = (id) => store("readwrite", (notes) => notes.delete(id));
async function rows() {
  const link = await named;
  const all = await store("readonly", (notes) => notes.getAll());
  return all.filter((row) => row.link === link).sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
}

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(32));
  const good = [...bytes].filter((one) => one < 248).slice(0, 8);
  return good.length < 8 ? newId() : "n-" + good.map((one) => LETTERS[one % 31]).join("");
}
function localDay(at) {
  const two = (number) => String(number).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(await cacheName());
    await cache.addAll({{ assets|tojson }});
    await Promise.all(["", "trees", "calendar"].map(async (page) => {
      try { await keep(new Request(BASE + page), await fetch(BASE + page)); } catch { /* kept when it is opened */ }
    }));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const mine = `care-${await named}-`, now = await cacheName();
    for (const name of await caches.keys()) if (name.startsWith(mine) && name !== now) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.method === "POST" && url.pathname === BASE + "notes") event.respondWith(note(event.request));
  if (event.request.method === "POST" && url.pathname === BASE + "photos") event.respondWith(newPhoto(event.request));
  if (event.request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) event.respondWith(asset(event.request));
  else if (isPage(url)) event.respondWith(page(event));
  else if (isPhoto(url)) event.respondWith(photo(event.request));
});

const isPage = (url) => url.pathname.startsWith(BASE)
  && !/^(feeds\/|state$|outbox$|sw\.js$|app\.webmanifest$|photos\/)/.test(url.pathname.slice(BASE.length));

// Small photographs never change: their names are their own.
const isPhoto = (url) => url.pathname.startsWith(BASE + "photos/") && url.search !== "";

async function asset(request) {
  return (await (await caches.open(await cacheName())).match(request)) || fetch(request);
}

async function page(event) {
  const request = event.request;
  // The page that answers a note is worth a longer wait: the kept one does not have the answer.
  const patience = new URL(request.url).searchParams.has("noted") ? ANSWER_WAIT_MS : WAIT_MS;
  const coming = answered(event);
  event.waitUntil(coming.catch(() => {})); // what comes late is kept for the next time
  const soon = await Promise.race([coming.catch(() => null), new Promise((done) => setTimeout(done, patience, null))]);
  const none = () => bare("This page is not kept on this phone", "It can be opened again with a network.");
  // Of a page that was never kept a slow answer is better than none.
  return soon || (await kept(request)) || coming.catch(none);
}
async function answered(event) {
  const answer = await fetch(event.request, { signal: AbortSignal.timeout(LONGEST_WAIT_MS) });
  if (answer.status === 404 && (await isRevoked())) return revoked();
  if (answer.ok && !answer.redirected) event.waitUntil(keepPhotos(await keep(event.request, answer.clone())));
  return answer;
}

async function photo(request) {
  const cache = await caches.open(await cacheName());
  const found = await cache.match(request.url);
  if (found) return found;
  const answer = await fetch(request);
  if (answer.ok) {
    await cache.put(request.url, answer.clone());
    await trim(cache, isPhoto, PHOTOS_KEPT);
  }
  return answer;
}
async function trim(cache, belongs, most) {
  const all = (await cache.keys()).filter((one) => belongs(new URL(one.url)));
  for (const old of all.slice(0, Math.max(0, all.length - most))) await cache.delete(old);
}

// Under its path: a page that answers a note is the same page.
const under = (request) => new URL(request.url).pathname;
async function keep(request, answer) {
  const cache = await caches.open(await cacheName());
  const headers = new Headers(answer.headers);
  headers.set(KEPT_AT, String(Date.now()));
  const html = await answer.text();
  await cache.put(under(request), new Response(html, { status: 200, headers }));
  await trim(cache, isPage, PAGES_KEPT);
  return html;
}
// The first photographs of a page, also those that are folded away.
async function keepPhotos(html) {
  const photos = [...html.matchAll(/<img class="photo" src="([^"]+)"/g)].slice(0, PHOTOS_OF_A_PAGE);
  for (const [, address] of photos) await photo(new Request(new URL(address, location))).catch(() => {});
}
async function kept(request) {
  const found = await (await caches.open(await cacheName())).match(under(request));
  if (!found) return null;
  const at = new Date(Number(found.headers.get(KEPT_AT)));
  const told = `<p class="told kept">No answer from the server. This page is kept on this phone since ${localDay(at)}, `
    + `${at.toTimeString().slice(0, 5)}. What you note waits here and is sent later.</p>`;
  const html = (await found.text()).replace('<main id="main">', `<main id="main">${told}`);
  return new Response(html, { headers: found.headers });
}

// A note: tried at once, else kept. It bears its id from the first try on, so that it is noted once.
async function note(request) {
  const copy = request.clone();
  let fields;
  try { fields = [...(await request.formData()).entries()]; } catch { return fetch(copy); }
  const of = (name) => (fields.find(([key]) => key === name) || ["", ""])[1];
  if (fields.some(([, value]) => typeof value !== "string") || of("act") === "nothing") return fetch(copy);
  const at = new Date();
  if (!of("id")) fields.push(["id", newId()]);
  await send();
  if ((await rows().catch(() => [])).every((one) => one.refused)) {
    try {
      const body = new URLSearchParams(fields);
      const signal = AbortSignal.timeout(POST_WAIT_MS);
      const answer = await fetch(copy.url, { method: "POST", body, redirect: "manual", signal });
      if (answer.status === 404 && (await isRevoked())) return revoked();
      if (answer.type === "opaqueredirect" || answer.status < 500 && answer.status !== 429) return answer;
    } catch { /* kept below */ }
  }
  const said = of("said") || of("words") || of("act");
  fields.push(["tapped", localDay(at)]);
  try {
    await put({ id: of("id"), link: await named, at: at.getTime(), fields, said });
  } catch {
    return unkept(said, fields);
  }
  if (self.registration.sync) await self.registration.sync.register("care-outbox").catch(() => {});
  const tree = of("page"), place = of("place");
  return Response.redirect(`${BASE}${tree ? `trees/${tree}` : ""}${place ? `#${place}` : ""}`, 303);
}

// Neither the server nor this browser takes it: it stays on the page.
function unkept(said, fields) {
  const held = fields.map(([name, value]) => `<input type="hidden" name="${plain(name)}" value="${plain(value)}">`).join("");
  const form = `<p><strong>${plain(said)}</strong></p><form method="post" action="${BASE}notes">${held}`
    + `<div class="answers"><button class="main">Try again</button></div></form>`;
  return bare("Not noted yet", "There is no network, and this browser has no room to keep the note. Leave this page open.", form);
}

// A photograph is too large to wait here; the phone's own album has it.
async function newPhoto(request) {
  try {
    return await fetch(request);
  } catch {
    return bare("The picture was not sent", "A picture needs the network. It stays among this phone's own pictures: send it when you are back.");
  }
}

self.addEventListener("sync", (event) => { if (event.tag === "care-outbox") event.waitUntil(send()); });
self.addEventListener("message", (event) => {
  event.waitUntil((async () => {
    const { kind, id } = event.data;
    if (kind === "drop") await drop(id);
    if (kind === "sure") {
      const row = (await rows()).find((one) => one.id === id);
      if (row) await put({ ...row, refused: "", fields: [...row.fields, ["sure", "yes"]] });
    }
    await tellAll();
    if (kind !== "drop") await send();
    await tellAll();
  })());
});
async function tellAll() {
  const waiting = (await rows()).map(({ id, at, said, refused, doubt }) => ({ id, at, said, refused, doubt }));
  for (const client of await self.clients.matchAll()) client.postMessage({ kind: "outbox", rows: waiting });
}

// In the order of the taps, one sending at a time; a refusal stays with its words, a fault ends this try.
const send = () => navigator.locks.request("care-outbox", async () => {
  try {
    const waiting = (await rows()).filter((row) => !row.refused);
    if (!waiting.length) return;
    const body = JSON.stringify(waiting.map(({ id, fields }) => ({ id, fields })));
    const headers = { "content-type": "application/json" };
    const answer = await fetch(BASE + "outbox", { method: "POST", body, headers, signal: AbortSignal.timeout(20000) });
    if (!answer.ok) return;
    for (const { id, status, words } of (await answer.json()).notes) {
      if (status === "noted" || status === "have") await drop(id);
      if (status === "doubt" || status === "wrong") {
        const row = waiting.find((one) => one.id === id);
        await put({ ...row, refused: words || status, doubt: status === "doubt" });
      }
    }
    await tellAll();
  } catch { /* tried again when a page is opened, the network is back, or the person says so */ }
});

async function isRevoked() {
  try { return (await fetch(BASE + "state", { cache: "no-store" })).status === 404; } catch { return false; }
}
async function revoked() {
  const unsent = (await rows()).map((row) => `<li>${plain(row.said)}</li>`).join("");
  for (const row of await rows()) await drop(row.id);
  for (const name of await caches.keys()) if (name.startsWith(`care-${await named}-`)) await caches.delete(name);
  await self.registration.unregister();
  const lost = unsent ? `<p>These notes were not sent:</p><ul>${unsent}</ul>` : "";
  return bare("This link no longer works", "Ask whoever gave it to you for a new one.", lost);
}
const plain = (text) => String(text).replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);
function bare(title, words, more = "") {
  const html = `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${title}</title>`
    + `<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="{{ css }}"></head>`
    + `<body><main id="main"><h1>${title}</h1><p>${words}</p>${more}</main></body></html>`;
  return new Response(html, { status: 200, headers: { "content-type": "text/html; charset=utf-8" } });
}
