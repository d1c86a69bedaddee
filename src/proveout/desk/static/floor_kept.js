// Keeps the pages of the floor that this tablet has shown, and shows them again while the office machine does not answer.
//
// A service worker: browsers run one only where the address is https with a certificate that the tablet trusts, or the
// machine itself. Every page comes from the office machine as long as it answers; a kept one says of when it is. Whoever
// comes or goes at the tablet takes the kept pages with them, and after a shift nobody is shown one.
const PAGES = "proveout-floor-pages", PARTS = "proveout-floor-parts";
const OF_EVERY_PAGE = ["floor.js", "floor_queue.js", "coming.js", "signed_out.js", "desk.css", "floor.css", "mark.svg"];
const ANSWER_MS = 8000; // so long a page is waited for before the kept one is shown
const SHIFT_MS = 12 * 3600 * 1000;
const WHEN = "x-kept-at";
const [NO_ANSWER, OF_PEOPLE] = [503, "/floor-people"];

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(PARTS).then((kept) => kept.addAll(OF_EVERY_PAGE.map((name) => `/static/${name}`))));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method !== "GET") {
    if (pathname.startsWith(OF_PEOPLE)) event.waitUntil(caches.delete(PAGES));
    return;
  }
  if (pathname.startsWith("/static/")) event.respondWith(part(request));
  else if (pathname === "/floor" || pathname.startsWith("/floor/")) event.respondWith(page(request));
  else if (request.mode === "navigate") event.respondWith(fetch(request).catch(() => nothing()));
});

async function part(request) {
  const kept = await caches.open(PARTS);
  try {
    const answer = await fetch(request);
    if (answer.ok) await kept.put(request, answer.clone());
    return answer;
  } catch (fault) {
    const found = await kept.match(request);
    if (found) return found;
    throw fault;
  }
}

async function page(request) {
  const isGoing = request.mode === "navigate";
  try {
    const answer = await (isGoing ? inTime(fetch(request)) : fetch(request));
    if (answer.ok && !answer.redirected && answer.headers.get("content-type")?.startsWith("text/html")) {
      await keep(request.url, answer.clone());
    }
    return answer;
  } catch (fault) {
    if (!isGoing) throw fault; // whoever asks beside a page that is open goes on with that one
    return (await shown(request.url)) ?? nothing();
  }
}

function inTime(answer) {
  return Promise.race([answer, new Promise((_, late) => { setTimeout(() => late(new Error("late")), ANSWER_MS); })]);
}

async function keep(url, answer) {
  const headers = new Headers(answer.headers);
  headers.set(WHEN, String(Date.now()));
  for (const name of ["content-length", "content-encoding"]) headers.delete(name);
  const kept = await caches.open(PAGES);
  await kept.put(url, new Response(await answer.blob(), { headers }));
}

const isOld = (answer) => Date.now() - Number(answer.headers.get(WHEN)) > SHIFT_MS;
const clock = (answer) => new Date(Number(answer.headers.get(WHEN))).toTimeString().slice(0, 5);

async function shown(url) {
  const kept = await caches.open(PAGES);
  const found = (await kept.match(url)) ?? (await kept.match(url, { ignoreSearch: true }));
  if (!found || isOld(found)) return null;
  const note = `<p id="kept-page" class="said-loud" role="alert">No answer from the office machine: this page is as it was `
    + `at ${clock(found)}; what happened since is not on it. What you tap is kept on this tablet and sent later.</p>`;
  const text = (await found.text()).replace('<main id="main">', (main) => main + note);
  return new Response(text, { headers: found.headers });
}

// What is shown of a page that was never opened here: the way to those that were.
async function nothing() {
  const kept = await caches.open(PAGES);
  const rows = [];
  for (const request of await kept.keys()) {
    const found = await kept.match(request);
    if (found && !isOld(found)) rows.push([new URL(request.url).pathname, await titled(found), clock(found)]);
  }
  const list = rows.map(([path, title, at]) => `<li><a href="${path}">${title}</a> as it was at ${at}</li>`).join("");
  const body = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">`
    + `<title>No answer</title><link rel="stylesheet" href="/static/desk.css"><link rel="stylesheet" href="/static/floor.css">`
    + `<main id="main"><h1>No answer from the office machine</h1><p>This page was not opened on this tablet before. What was `
    + `tapped is kept here and sent later.</p>${list ? `<h2>Pages that are kept here</h2><ul>${list}</ul>` : ""}</main></html>`;
  const headers = { "content-type": "text/html; charset=utf-8" };
  return new Response(body, { status: NO_ANSWER, headers });
}

async function titled(answer) {
  return /<title>([^<]*)<\/title>/.exec(await answer.text())?.[1] ?? "a page";
}
