// Drop files on the form that takes them in; show drawings as they are made.
import { isSignedOut, tellSignedOut } from "./signed_out.js";

const EVERY_MS = 2000;
const BYTES_PER_MB = 1024 * 1024;
const form = document.getElementById("take-in");

if (form) {
  const input = form.querySelector('input[type="file"]');
  const told = document.getElementById("take-in-told");
  const hint = document.getElementById("take-in-hint");
  hint.textContent = `Drop files here, or choose them. ${hint.textContent}`;
  for (const kind of ["dragenter", "dragover"]) {
    form.addEventListener(kind, (event) => {
      event.preventDefault();
      form.classList.add("over");
    });
  }
  form.addEventListener("dragleave", (event) => {
    if (!form.contains(event.relatedTarget)) form.classList.remove("over");
  });
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    form.classList.remove("over");
    if (!event.dataTransfer.files.length) return;
    input.files = event.dataTransfer.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", (event) => {
    const mostMb = Number(form.dataset.mostMb);
    const large = [...input.files].find((file) => file.size > mostMb * BYTES_PER_MB);
    if (large) {
      event.preventDefault();
      told.textContent = `${large.name} is larger than ${mostMb} MB, and was not sent. Export the one part alone.`;
      return;
    }
    told.textContent = `Taking in ${input.files.length === 1 ? input.files[0].name : `${input.files.length} files`}.`;
  });
}

let waited = 0;
async function draw() {
  const open = [...document.querySelectorAll("img[data-mark]")].filter((image) => image.complete);
  if (open.length) {
    try {
      const asked = new URLSearchParams(open.slice(0, 100).map((image) => ["name", image.dataset.mark]));
      const answer = await fetch(`/shelf/drawn?${asked}`, { cache: "no-store" });
      if (isSignedOut(answer)) {
        tellSignedOut();
        return;
      }
      const made = new Set(answer.ok ? await answer.json() : []);
      for (const image of open) {
        if (!made.has(image.dataset.mark)) continue;
        const address = new URL(image.src);
        address.searchParams.set("again", "1");
        image.removeAttribute("data-mark");
        image.src = address;
      }
    } catch { /* the desk does not answer just now: asked again later */ }
  }
  waited += 1;
  if (document.querySelector("img[data-mark]")) setTimeout(draw, EVERY_MS * Math.min(5, 1 + waited / 10));
}
if (document.querySelector("img[data-mark]")) setTimeout(draw, EVERY_MS);
