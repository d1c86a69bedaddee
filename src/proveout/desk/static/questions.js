// Shows where a hole or face is while its field has the focus or the pointer is over its number.
function show(number, said) {
  const picture = document.getElementById("where"); // another one once the part is drawn
  const wanted = picture.dataset.base + number;
  if (picture.getAttribute("src") === wanted) return;
  picture.src = wanted;
  picture.alt = `The part with ${number} hatched`;
  document.getElementById("where-words").textContent = said;
}

if (document.getElementById("where")) {
  for (const one of document.querySelectorAll(".sizes [data-number]")) {
    const row = one.closest("tr");
    const said = `${one.dataset.number}: ${row.cells[1].textContent}`;
    one.addEventListener("focus", () => show(one.dataset.number, said));
    if (one.tagName === "A") one.addEventListener("pointerenter", () => show(one.dataset.number, said));
  }
}
