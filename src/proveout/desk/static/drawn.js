// Waits until the line drawings that a page lacks are made, then puts them into the page: in the place of what stands
// for them, or, while somebody reads or tabs through that, behind a link that says that they are there.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const note = document.querySelector("[data-drawn]");
const region = document.getElementById("drawn");
const EVERY_MS = 2000;
const SHOWN = "The line drawings are ready and shown.";

const isInUse = () => {
  const chosen = document.getSelection();
  return region.contains(document.activeElement) || (!chosen.isCollapsed && chosen.intersectsNode(region));
};

const offered = () => {
  const way = document.createElement("a");
  way.href = location.pathname;
  way.textContent = "The drawings are ready: show them";
  note.replaceChildren(way);
};

const put = (page) => {
  const found = document.importNode(page.getElementById("drawn"), true);
  const [before, after] = [region, found].map((one) => [...one.querySelectorAll("details")]);
  if (before.length === after.length) after.forEach((one, n) => { one.open = before[n].open; });
  region.replaceChildren(...found.childNodes);
  note.textContent = page.querySelector("p.note")?.textContent ?? SHOWN;
};

async function look() {
  try {
    const answer = await fetch(note.dataset.drawn, { headers: { accept: "application/json" } });
    if (isSignedOut(answer)) {
      tellSignedOut();
      return;
    }
    if (answer.ok && !(await answer.json()).is_coming) {
      const whole = await fetch(location.pathname, { cache: "no-store" });
      const page = new DOMParser().parseFromString(whole.ok ? await whole.text() : "", "text/html");
      if (page.getElementById("drawn") && !page.querySelector("[data-drawn]")) {
        if (isInUse()) offered(); else put(page);
        note.removeAttribute("data-drawn");
        return;
      }
    }
  } catch { /* the desk may be busy or gone: ask again */ }
  setTimeout(look, EVERY_MS);
}
if (note && region) setTimeout(look, EVERY_MS);
