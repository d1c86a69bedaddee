// Waits until the line drawings that a page lacks are made, then shows the page anew.
const note = document.querySelector("[data-drawn]");
const EVERY_MS = 2000;
async function look() {
  try {
    const answer = await fetch(note.dataset.drawn, { headers: { accept: "application/json" } });
    if (answer.ok && !(await answer.json()).is_coming) {
      location.reload();
      return;
    }
  } catch { /* the desk may be busy or gone: ask again */ }
  setTimeout(look, EVERY_MS);
}
if (note) setTimeout(look, EVERY_MS);
