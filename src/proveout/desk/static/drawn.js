// Waits until the line drawings that a page lacks are made, then puts them into the page: in the place of what stands
// for them, or, while somebody reads or tabs through that, behind a link that says that they are there.
import { whenDrawn } from "./coming.js";

const note = document.querySelector("[data-drawn]");
const region = document.getElementById("drawn");
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

if (note && region) {
  whenDrawn((page) => {
    if (!page.getElementById("drawn") || page.querySelector("[data-drawn]")) return;
    if (isInUse()) offered(); else put(page);
    note.removeAttribute("data-drawn");
  });
}
