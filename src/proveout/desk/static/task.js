// Shows how far a task is without loading the page again; where the desk does not answer it tries on.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const place = document.getElementById("state");
const aloud = document.getElementById("aloud");
const lost = document.getElementById("lost");
const cancel = document.getElementById("cancel");
const again = document.getElementById("again");
const EVERY_MS = 1000;
const LATER_MS = 5000;

async function look() {
  let wait = EVERY_MS;
  try {
    const answer = await fetch(`/tasks/${encodeURIComponent(place.dataset.task)}/state`, { cache: "no-store" });
    if (isSignedOut(answer)) {
      tellSignedOut();
      return;
    }
    if (!answer.ok) throw new Error(String(answer.status));
    const told = await answer.json();
    lost.hidden = true;
    const isReadIn = told.open && place.contains(document.activeElement); // whoever scrolls there by keys stays there
    if (!isReadIn && place.innerHTML !== told.html) place.innerHTML = told.html;
    if (aloud.textContent !== told.said) aloud.textContent = told.said;
    if (!told.open) {
      const hadFocus = cancel.contains(document.activeElement);
      cancel.hidden = true;
      again.hidden = false;
      const onward = place.querySelector(".goals a") ?? again.querySelector("button");
      if (hadFocus) onward.focus();
      return;
    }
  } catch {
    lost.hidden = false;
    wait = LATER_MS;
  }
  setTimeout(look, wait);
}

if (place.dataset.open === "yes") setTimeout(look, EVERY_MS);
