// Asks until the line drawings that a page lacks are made, then hands the page as it stands by then to whoever puts them
// into the one that is open. It ends once nothing says any more that drawings are coming (data-drawn).
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const EVERY_MS = 2000;
const noted = () => document.querySelector("[data-drawn]");

export function whenDrawn(put) {
  async function look() {
    const note = noted();
    if (!note) return;
    try {
      const answer = await fetch(note.dataset.drawn, { headers: { accept: "application/json" } });
      if (isSignedOut(answer)) {
        tellSignedOut();
        return;
      }
      if (answer.ok && !(await answer.json()).is_coming) {
        const whole = await fetch(location.pathname, { cache: "no-store" });
        if (whole.ok) put(new DOMParser().parseFromString(await whole.text(), "text/html"));
      }
    } catch { /* the desk may be busy or gone: ask again */ }
    setTimeout(look, EVERY_MS);
  }
  if (noted()) setTimeout(look, EVERY_MS);
}
