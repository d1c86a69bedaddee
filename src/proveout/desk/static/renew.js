// Shows parts of a page anew while they say so (data-renew, in seconds), without touching what somebody types. Of a
// page that becomes another one (data-gone="reload") the other is shown.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

// A line that is read aloud stays the same node, and changes where it says something else: else it is read again.
function brought(place, next) {
  const [before, after] = [place, next].map((one) => one.querySelector(":scope > [role=status]"));
  if (!before || !after) {
    place.replaceWith(next);
    return next;
  }
  if (before.textContent !== after.textContent) before.textContent = after.textContent;
  for (const one of [...place.childNodes]) if (one !== before) one.remove();
  const nodes = [...next.childNodes], at = nodes.indexOf(after);
  before.before(...nodes.slice(0, at));
  before.after(...nodes.slice(at + 1));
  place.dataset.renew = next.dataset.renew ?? "";
  return place;
}

function follow(place) {
  setTimeout(async () => {
    let next = place;
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      if (isSignedOut(answer)) {
        tellSignedOut();
        return;
      }
      if (answer.status >= 500) throw new Error(String(answer.status)); // busy, or its disk is: asked again later
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const found = answer.ok ? page.getElementById(place.id) : null;
      if (!found && place.dataset.gone === "reload") {
        location.reload(); // another page stands there by now
        return;
      }
      if (found && found.outerHTML !== place.outerHTML && !place.contains(document.activeElement)) {
        next = brought(place, document.importNode(found, true));
      }
    } catch { /* the desk does not answer just now: asked again later */ }
    if (next.dataset.renew) follow(next);
  }, 1000 * Number(place.dataset.renew));
}

for (const place of document.querySelectorAll("[data-renew][id]")) follow(place);
