// Pages of the floor: taps go into the queue, what waits and what was refused is shown, readings are judged at once.
import { all, keep, onChange, read, send, stampAnew, uuid } from "/static/floor_queue.js";
import { whenDrawn } from "/static/coming.js";
import { isSignedOut, tellSignedOut } from "/static/signed_out.js";

const LOST = ["wait: no answer from the office machine yet", "waits: no answer from the office machine yet"];
const bar = document.getElementById("floor-queue");
const waits = document.getElementById("floor-waits");
const refused = document.getElementById("floor-refused");
const person = bar?.dataset.person ?? "";
const stamp = bar?.dataset.stamp ?? "";
let lastWhy = "";
let mustSignIn = []; // people whose taps are set aside until they do
let waitBehind = []; // numbers of taps that may need one of those

// ---- forms -> events: names like of.bad.0.count say where each text goes, as desk/tapped_form.py has it
function tapOf(form, submitter) {
  const fields = [...new FormData(form, submitter)].filter(([, value]) => typeof value === "string");
  const tap = { batch: "", of: {} };
  for (const [name, text] of fields) {
    const value = text.trim();
    if (value && (name === "station" || name === "batch")) tap[name] = value;
    if (!name.startsWith("of.") || value === "") continue;
    const path = name.slice(3).split(".");
    let at = tap.of;
    for (const step of path.slice(0, -1)) at = at[step] ??= {};
    at[path.at(-1)] = typed(form, name, value);
  }
  for (const [name, value] of Object.entries(tap.of)) {
    if (typeof value === "object") tap.of[name] = rows(value);
  }
  return tap;
}

function typed(form, name, value) {
  const field = form.elements.namedItem(name);
  if (field?.dataset && "fingerprint" in field.dataset) return value.replaceAll(" ", "").toLowerCase();
  if (field?.dataset && "flag" in field.dataset) return value === "true";
  if (!field?.dataset || !("number" in field.dataset)) return value;
  const number = Number(value.replace(",", "."));
  return Number.isFinite(number) ? number : value;
}

function rows(byNumber) {
  return Object.keys(byNumber).sort((a, b) => a - b).map((number) => byNumber[number])
    .filter((row) => ("count" in row || "value_mm" in row) && row.count !== 0);
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if ("clock" in form.dataset) form.elements.namedItem("now_ms").value = String(Date.now());
  if (!("tap" in form.dataset)) return;
  event.preventDefault();
  if (!person) {
    location.href = `/floor-people?next=${encodeURIComponent(location.pathname + location.search)}`;
    return;
  }
  const photo = form.querySelector("[data-photo]")?.files[0] ?? null;
  const tap = { ...tapOf(form, event.submitter), person };
  for (const button of form.querySelectorAll("button:not([type=button])")) button.disabled = true;
  setTimeout(() => { for (const button of form.querySelectorAll("button:not([type=button])")) button.disabled = false; }, 1500);
  try {
    await keep(tap, { stamp, photo });
  } catch {
    say("This tablet cannot keep what you tapped. Nothing was written: write it on the paper.");
    return;
  }
  form.elements.namedItem("id").value = uuid();
  for (const field of form.querySelectorAll("[data-reading], input[type=file]")) field.value = "";
  await show();
  if (tap.of.what !== "reading taken") scrollTo(0, 0); // what to press next stands at the top
});

function say(words) {
  waits.hidden = false;
  waits.textContent = words;
  bar.classList.add("loud");
}

// ---- what waits and what was refused
async function show() {
  if (!bar) return;
  const taps = await all();
  const waiting = taps.filter((one) => !one.refused);
  bar.classList.remove("loud");
  waits.hidden = waiting.length === 0;
  if (waiting.length) {
    waits.textContent = waitsWords(waiting).join(", ");
    bar.classList.toggle("loud", Boolean(lastWhy || mustSignIn.length));
  }
  refused.replaceChildren(...taps.filter((one) => one.refused).map(refusal));
  foresee(waiting);
}

// How many wait for whom to sign in, then how many are on their way or find no answer.
function waitsWords(waiting) {
  const of = (who) => waiting.filter((one) => one.tap.person === who).length;
  const words = mustSignIn.filter((who) => of(who))
    .map((who) => `${of(who)} ${of(who) === 1 ? "waits" : "wait"}: ${who} signs in again`);
  const theirs = waiting.filter((one) => !mustSignIn.includes(one.tap.person));
  const after = theirs.filter((one) => waitBehind.includes(one.number)).length;
  if (after) words.push(`${after} after that`);
  const others = theirs.length - after;
  if (others) words.push(`${others} ${lastWhy ? LOST[others === 1 ? 1 : 0] : "on the way"}`);
  if (others && lastWhy && !navigator.serviceWorker?.controller) words.push("do not load this page anew, nor leave it");
  return words;
}

function refusal(one) {
  const line = document.createElement("li");
  const words = document.createElement("p");
  const { what, value, limit, do: todo } = one.refused;
  const of = one.tap.of;
  words.textContent = `NOT WRITTEN: ${of.what}${one.tap.batch ? `, batch ${one.tap.batch}` : ""}. ${what}.`
    + `${value ? ` Found: ${value}.` : ""}${limit ? ` Limit: ${limit}.` : ""}${todo ? ` What to do: ${todo}.` : ""}`;
  const button = document.createElement("button");
  button.textContent = "I have read this";
  button.addEventListener("click", () => read(one.number));
  line.append(words, button);
  return line;
}

// ---- the page as it will be once what waits is written; a start that needs an answer is not foreseen
function foresee(waiting) {
  const step = document.getElementById("step");
  if (!step) return;
  const own = waiting.filter((one) => one.tap.batch === step.dataset.batch && one.tap.of.step === step.dataset.step);
  let { state } = step.dataset;
  let left = Number(step.dataset.waiting);
  for (const { tap: { of } } of own) {
    if (of.what === "started" && step.dataset.kind !== "mill") state = "to count";
    if (["counted", "sawn", "packed"].includes(of.what)) {
      const bad = (of.bad ?? []).reduce((sum, one) => sum + one.count, 0);
      left = Math.max(0, left - (of.good_count ?? of.count ?? 0) - bad);
      if (!left) state = step.dataset.finish ? "to finish" : "more come";
      else if (step.dataset.first && of.good_count) state = "first out";
    }
    if (of.what === "stopped") state = "stopped";
    if (of.what === "done") state = "done";
  }
  if (own.length) {
    for (const section of document.querySelectorAll("[data-when]")) {
      const also = section.dataset.when === "to finish" && state === "to count" && step.dataset.kind === "saw";
      section.hidden = section.dataset.when !== state && !also;
    }
    for (const section of document.querySelectorAll(".stop, .readings")) section.hidden = ["stopped", "done"].includes(state);
    for (const shown of document.querySelectorAll("[data-n]")) shown.textContent = String(left);
    for (const field of document.querySelectorAll("[data-all]")) field.value = String(left);
  }
}

onChange(async (what) => {
  if (what.people) [mustSignIn, waitBehind] = [what.people, what.behind];
  else if (what.kind === "later") lastWhy = what.why;
  if (what.kind === "taken" || what.kind === "refused") lastWhy = "";
  await show();
  const isLeft = (one) => !one.refused && !mustSignIn.includes(one.tap.person) && !waitBehind.includes(one.number);
  if (what.kind === "taken" && !(await all()).some(isLeft)) renew();
});

// ---- the page anew, once everything is answered, unless somebody types
let isTyping = false;
document.addEventListener("input", (event) => { isTyping = !event.target.closest("form.reading"); });
const isInUse = () => (isTyping && document.activeElement?.matches("input, select"))
  || [...document.querySelectorAll("input[type=file]")].some((field) => field.files.length); // chosen, not kept yet
async function renew() {
  if (!document.getElementById("step") || isInUse()) return;
  try {
    const answer = await fetch(location.href, { cache: "no-store", redirect: "error" });
    if (isSignedOut(answer)) tellSignedOut();
    if (!answer.ok) return;
    const next = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("main");
    if (isInUse()) return;
    const here = document.getElementById("main");
    const focus = document.activeElement?.id;
    const piece = document.querySelector("[data-piece]");
    here.replaceWith(document.importNode(next, true));
    isTyping = false;
    const again = document.querySelector("[data-piece]");
    if (again && piece && piece.value !== piece.defaultValue) { // somebody measures another piece than the next one
      again.value = piece.value;
      pieceIs(piece.value);
    }
    if (focus) document.getElementById(focus)?.focus();
    show();
  } catch { /* the office machine does not answer just now: the page stays as it is */ }
}

// ---- line drawings, once they are made, in the place of boxes; what somebody has typed beside them stays
whenDrawn((page) => {
  const next = page.getElementById("load");
  if (next) document.getElementById("load").replaceWith(document.importNode(next, true));
});

// ---- steppers, words to tap, readings, programs
document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-add], button[data-fill], button[data-sign]");
  if (!button) return;
  if (button.dataset.sign) {
    const field = document.getElementById(button.dataset.sign);
    field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
    return;
  }
  if (button.dataset.add) {
    const field = document.getElementById(button.dataset.to);
    const most = field.max === "" ? Infinity : Number(field.max);
    field.value = String(Math.min(most, Math.max(Number(field.min || 0), Number(field.value || 0) + Number(button.dataset.add))));
  } else {
    document.getElementById(button.dataset.fill).value = button.dataset.value ?? button.textContent;
  }
});

function pieceIs(piece) {
  for (const field of document.querySelectorAll("[data-piece-of]")) field.value = piece.trim();
}

const ends = (field, name) => (field.dataset[name] === undefined ? null : Number(field.dataset[name]));
export function verdictOf(value, { low, high, reactLow, reactHigh }) {
  const beyond = (least, most) => (least !== null && value < least) || (most !== null && value > most);
  if (beyond(low, high)) return "outside";
  return beyond(reactLow, reactHigh) ? "react" : "within";
}
const VERDICTS = {
  within: "within its limits",
  react: "REACT: it passes, but tell somebody before the next piece",
  outside: "OUTSIDE: set the piece aside, do not load the next one",
};

document.addEventListener("input", (event) => {
  const field = event.target;
  if (field.matches("[data-piece]")) pieceIs(field.value);
  if (!field.matches("[data-reading]")) return;
  const said = field.closest("form").querySelector("[data-verdict]");
  const value = Number(field.value.replace(",", "."));
  if (field.value.trim() === "" || !Number.isFinite(value)) {
    said.textContent = "";
    said.className = "reads";
    return;
  }
  const [low, high, reactLow, reactHigh] = ["low", "high", "reactLow", "reactHigh"].map((name) => ends(field, name));
  const verdict = verdictOf(value, { low, high, reactLow, reactHigh });
  said.textContent = VERDICTS[verdict];
  said.className = `reads ${verdict}`;
});

document.addEventListener("change", async (event) => {
  const field = event.target;
  if (!field.matches("[data-program]") || !field.files[0]) return;
  const told = document.getElementById("program-told");
  const form = new FormData();
  form.append("program", field.files[0]);
  try {
    const answer = await fetch("/floor/program", { method: "POST", body: form });
    const said = await answer.json();
    if (answer.ok) document.getElementById(field.dataset.program).value = said.fingerprint;
    told.textContent = answer.ok ? `Its fingerprint: ${said.shown}` : said.what;
  } catch {
    told.textContent = "The office machine does not answer: type the fingerprint, or wait.";
  }
});

// What a scanner types goes into the field for it, wherever the page was touched last.
document.addEventListener("keydown", (event) => {
  const field = document.getElementById("code");
  if (!field || event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey || event.key === " ") return;
  if (!document.activeElement?.matches("input, select, textarea")) field.focus({ preventScroll: true });
});
if (person && stamp) stampAnew(person, stamp);
show();
setInterval(() => { show(); send(); seeAnew(); }, 15000);
globalThis.addEventListener("online", seeAnew);

// ---- a page that this tablet kept becomes the office machine's own again once it answers
async function seeAnew() {
  if (!document.getElementById("kept-page") || isInUse()) return;
  try {
    const answer = await fetch(location.href, { cache: "no-store", redirect: "error" });
    if (answer.ok) location.reload();
  } catch { /* not yet */ }
}

// ---- pages are kept on this tablet where its browser lets them (static/floor_kept.js), this one and what waits here
const KEPT_AHEAD = 6;
async function keepPages() {
  if (!navigator.serviceWorker) return;
  const isKept = Boolean(navigator.serviceWorker.controller);
  try {
    await navigator.serviceWorker.register("/floor-kept.js", { scope: "/floor" });
    await navigator.serviceWorker.ready;
    if (!navigator.serviceWorker.controller) { // it takes over the pages that are open a moment after it is ready
      await new Promise((done) => { navigator.serviceWorker.addEventListener("controllerchange", done, { once: true }); });
    }
    const ahead = [...document.querySelectorAll("ol.waiting a")].slice(0, KEPT_AHEAD).map((way) => way.href);
    // read to its end, or the answer holds its connection as long as the page is open
    for (const address of [...(isKept ? [] : [location.href]), ...ahead]) {
      await (await fetch(address, { cache: "no-store" })).text();
    }
  } catch { /* a certificate that this tablet does not trust, or no answer just now: nothing is kept */ }
}
if (!document.getElementById("kept-page")) keepPages();
