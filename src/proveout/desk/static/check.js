// Shows how far a check is, and what it found once it is done.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const place = document.getElementById("under-way");
const share = document.getElementById("share");
const now = document.getElementById("now");
const lost = document.getElementById("lost");
const EVERY_MS = 400;
const LATER_MS = 4000;

async function look() {
  let wait = EVERY_MS;
  try {
    const answer = await fetch(place.dataset.state, { cache: "no-store" });
    if (isSignedOut(answer)) {
      tellSignedOut();
      return;
    }
    if (!answer.ok) throw new Error(String(answer.status));
    const told = await answer.json();
    lost.hidden = true;
    if (!told.open) {
      location.reload();
      return;
    }
    share.value = told.share;
    if (told.now && now.textContent !== told.now) now.textContent = told.now;
  } catch {
    lost.hidden = false;
    wait = LATER_MS;
  }
  setTimeout(look, wait);
}

setTimeout(look, EVERY_MS);
