// Taps of the floor, kept in this browser until the office machine has answered each: in order, each once.
//
// A tap is written to IndexedDB before anything else happens to it, under a number that only grows. One tab at a time
// sends (Web Locks where the browser has them, else a lease in the same database), the lowest number first. A tap is
// taken out when it was answered; without an answer it is sent again, under the same id, which the server counts once.
// A refused one stays, with the reason, until somebody has read it. Taps of somebody who must sign in again are set
// aside and kept in their order; those of others go on. One that is refused while an earlier tap of its batch is set
// aside may need that one: it waits behind it, and nothing of it is told as refused before that one was sent.
const DATABASE = "proveout-floor";
const TAPS = "taps";
const LEASE = "lease";
const ANSWER_MS = 10000; // so long an answer is waited for
const LEASE_MS = 3 * ANSWER_MS; // longer than any answer: whoever holds it and lives renews it before each send
const AGAIN_MS = [1000, 2000, 4000, 8000, 15000];
const REFUSED = [400, 403, 409, 413, 422];
const UNKNOWN = 401;
const CANNOT_FOLLOW = 409;
const [NONE, SOME, ASIDE] = ["nothing is left", "some are left", "some are set aside"];
const FIRST = 0;

export const holder = uuid();
const told = typeof BroadcastChannel === "function" ? new BroadcastChannel(DATABASE) : null;
const listeners = new Set();
let opened = null;
let failures = 0;
let isSending = false;
let isStampedAnew = false;
let again = null;

// A random UUID; crypto.randomUUID is there on https alone, getRandomValues everywhere.
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(DATABASE, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(TAPS, { keyPath: "number", autoIncrement: true });
      asked.result.createObjectStore(LEASE, { keyPath: "name" });
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

// One transaction; the promise is kept once it lies on the disk of the tablet.
async function within(store, mode, work) {
  const base = await database();
  return new Promise((resolve, reject) => {
    let options;
    if (mode === "readwrite") options = { durability: "strict" };
    const transaction = base.transaction(store, mode, options);
    const found = {};
    transaction.oncomplete = () => resolve(found.value);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
    work(transaction.objectStore(store), found);
  });
}

// Keep a tap, then send what waits. tap: an event without id;  stamp: of whoever tapped;  photo: a file or null.
export async function keep(tap, { stamp = "", photo = null } = {}) {
  const kept = { tap: { id: uuid(), at: new Date().toISOString(), ...tap }, stamp, photo, refused: null };
  await within(TAPS, "readwrite", (store) => store.add(kept));
  changed();
  send();
  return kept.tap.id;
}

export function all() {
  return within(TAPS, "readonly", (store, found) => {
    const asked = store.getAll();
    asked.onsuccess = () => { found.value = asked.result; };
  });
}

// Forget a refused tap that somebody has read.
export async function read(number) {
  await within(TAPS, "readwrite", (store) => store.delete(number));
  changed();
}

// Give taps of one person the stamp of their new session, so that what the old one could not send is sent.
export async function stampAnew(person, stamp) {
  await within(TAPS, "readwrite", (store) => {
    store.openCursor().onsuccess = (event) => {
      const cursor = event.target.result;
      if (!cursor) return;
      if (cursor.value.tap.person === person && !cursor.value.refused) cursor.update({ ...cursor.value, stamp });
      cursor.continue();
    };
  });
  failures = FIRST;
  isStampedAnew = true;
  send();
}

export function onChange(listener) {
  listeners.add(listener);
}

function changed(what = { kind: "changed" }) {
  told?.postMessage(what);
  for (const listener of listeners) listener(what);
}
if (told) {
  told.onmessage = (event) => {
    for (const listener of listeners) listener(event.data);
  };
}

// The next tap that waits;  isAside: of those that are left for now.
function nextWaiting(isAside = () => false) {
  return within(TAPS, "readonly", (store, found) => {
    store.openCursor().onsuccess = (event) => {
      const cursor = event.target.result;
      if (!cursor) return;
      if (!cursor.value.refused && !isAside(cursor.value)) found.value = cursor.value;
      else cursor.continue();
    };
  });
}

// Take or renew the lease; false where another tab holds one that has not run out.
function leased() {
  return within(LEASE, "readwrite", (store, found) => {
    const asked = store.get("sender");
    asked.onsuccess = () => {
      const held = asked.result;
      found.value = !held || held.holder === holder || held.until < Date.now();
      if (found.value) store.put({ name: "sender", holder, until: Date.now() + LEASE_MS });
    };
  });
}

function released() {
  return within(LEASE, "readwrite", (store) => {
    const asked = store.get("sender");
    asked.onsuccess = () => {
      if (asked.result?.holder === holder) store.delete("sender");
    };
  });
}

// Send what waits, unless this or another tab does already.
export async function send() {
  if (isSending) return;
  isSending = true;
  clearTimeout(again);
  isStampedAnew = false;
  let left = SOME;
  try {
    if (navigator.locks) {
      left = await navigator.locks.request(DATABASE, { ifAvailable: true }, (lock) => (lock ? drained(() => true) : SOME));
    } else if (await leased()) {
      try {
        left = await drained(leased);
      } finally {
        await released();
      }
    }
  } catch {
    failures += 1;
  } finally {
    isSending = false;
  }
  if (left === ASIDE && isStampedAnew) send(); // somebody signed in while theirs were passed over
  else if (left === ASIDE) again = setTimeout(send, AGAIN_MS.at(-1)); // being asked oftener makes nobody quicker
  else if (left === SOME) again = setTimeout(send, AGAIN_MS[Math.min(failures, AGAIN_MS.length - 1)]);
  else if (await nextWaiting()) send(); // kept while the last answer was on its way
}

// Send until nothing waits but what is set aside: what is left then, or NONE.  mayGoOn: asked before each.
async function drained(mayGoOn) {
  const unknown = new Set(); // people who must sign in again
  const behind = new Set(); // numbers of taps that may need one of theirs
  const isAside = (one) => unknown.has(one.tap.person) || behind.has(one.number);
  for (let next = await nextWaiting(isAside); next; next = await nextWaiting(isAside)) {
    if (!(await mayGoOn())) return SOME;
    const answer = await sent(next);
    if (answer.kind === "later" && answer.why === "sign in") {
      unknown.add(next.tap.person);
      changed({ ...answer, people: [...unknown], behind: [...behind] });
      continue;
    }
    if (answer.kind === "later") {
      failures += 1;
      changed(answer);
      return SOME;
    }
    failures = FIRST;
    if (answer.status === CANNOT_FOLLOW && await waitsBefore(next, isAside)) {
      behind.add(next.number);
      changed({ kind: "later", why: "sign in", people: [...unknown], behind: [...behind] });
      continue;
    }
    if (answer.kind === "taken") await within(TAPS, "readwrite", (store) => store.delete(next.number));
    else await within(TAPS, "readwrite", (store) => store.put({ ...next, photo: null, refused: answer.why }));
    changed({ ...answer, tap: next.tap, people: [...unknown], behind: [...behind] });
  }
  return unknown.size ? ASIDE : NONE;
}

// Whether a tap of the same batch that was made before this one is set aside.
async function waitsBefore(one, isAside) {
  const earlier = (await all()).filter((other) => other.number < one.number && !other.refused);
  return earlier.some((other) => isAside(other) && other.tap.batch === one.tap.batch);
}

async function sent(one) {
  const headers = { "x-floor-stamp": one.stamp };
  let { tap } = one;
  try {
    if (one.photo) {
      const form = new FormData();
      form.append("photo", one.photo, "photo");
      const kept = await asked("/floor/photos", { method: "POST", headers, body: form });
      if (!kept.ok) return await unlike(kept);
      tap = { ...tap, of: { ...tap.of, photo: (await kept.json()).photo } };
    }
    const answer = await asked("/floor/events", {
      method: "POST", headers: { ...headers, "content-type": "application/json" }, body: JSON.stringify(tap),
    });
    if (!answer.ok) return await unlike(answer);
    const said = await answer.json();
    if (!Number.isInteger(said.seq)) return { kind: "later", why: "strange" };
    return { kind: "taken", seq: said.seq };
  } catch {
    return { kind: "later", why: "no answer" };
  }
}

// What an answer that is no yes means. A page to sign in at, or one of somebody else's network, is no answer.
async function unlike(answer) {
  if (answer.status === UNKNOWN) return { kind: "later", why: "sign in" };
  if (!REFUSED.includes(answer.status)) return { kind: "later", why: "no answer" };
  const text = await answer.text();
  try {
    const { what, where, value, limit, do: todo } = JSON.parse(text);
    return { kind: "refused", status: answer.status, why: { what, where, value, limit, do: todo } };
  } catch {
    return { kind: "refused", status: answer.status, why: { what: text.slice(0, 200) || `refused (${answer.status})` } };
  }
}

async function asked(address, options) {
  const abort = new AbortController();
  const timer = setTimeout(() => abort.abort(), ANSWER_MS);
  try {
    const answer = await fetch(address, { ...options, signal: abort.signal, redirect: "error", cache: "no-store" });
    const body = await answer.blob(); // the whole answer within the same time
    return new Response(body, { status: answer.status, headers: answer.headers });
  } finally {
    clearTimeout(timer);
  }
}

globalThis.addEventListener("online", () => { failures = FIRST; send(); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
send();
