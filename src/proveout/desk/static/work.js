// The page of the work at any moment: the strip, the steps, and what the picture shows.
import { bytes, fetched, Newest } from "./work_data.js";
import { Faces } from "./work_faces.js";

const page = document.getElementById("work"), here = page.dataset.here;
const at = (id) => document.getElementById(id);
const minuteOf = (s) => `${Math.floor(Math.round(s) / 60)}:${String(Math.round(s) % 60).padStart(2, "0")}`;
const moments = new Newest(16);
const state = { number: Number(page.dataset.pass), share: 1 };
let scene = null, picture = null, faces = null, standing = 0, wanted = 0;

const blockOf = (number) => scene.blocks.find((one) => one.number === number);
const momentAt = (number, share) => [`${here}/metal?pass=${number}&share=${share}`, `${here}/way?pass=${number}`];

const stepsFrom = (number) => {
  const place = scene.blocks.findIndex((one) => one.number === number), own = scene.blocks[place];
  return {
    previous: scene.blocks[place - 1]?.number,
    next: scene.blocks[place + 1]?.number,
    cutter: scene.blocks.slice(place + 1).find((one) => one.cutter_id !== own?.cutter_id)?.number,
    weakest: scene.weakest?.number,
  };
};

const told = () => {
  const block = blockOf(state.number);
  const share = state.share >= 1 ? "at its end" : `when ${Math.round(100 * state.share)} of 100 of it is done`;
  at("said").textContent = block ? `${block.said}. Shown ${share}.` : "The blank, before the first pass.";
  const second = block ? block.start_s + state.share * block.seconds : 0;
  at("minute").value = String(Math.round(second));
  at("minute").setAttribute("aria-valuetext", `${minuteOf(second)}, ${block?.words ?? "the blank"}`);
  at("minute-said").textContent = `minute ${minuteOf(second)} of ${minuteOf(scene.total_s)}`;
  at("needle").style.left = `${100 * second / scene.total_s}%`;
  for (const one of page.querySelectorAll(".strip a")) {
    one.firstElementChild.nextElementSibling.classList.toggle("chosen", Number(one.dataset.pass) === state.number);
  }
  for (const one of document.querySelectorAll("td a[data-pass], th a[data-pass]")) {
    if (Number(one.dataset.pass) === state.number) one.setAttribute("aria-current", "true"); else one.removeAttribute("aria-current");
  }
  const steps = stepsFrom(state.number);
  for (const one of page.querySelectorAll("[data-step]")) {
    const to = steps[one.dataset.step];
    if (to === undefined) { one.removeAttribute("href"); one.setAttribute("aria-disabled", "true"); }
    else { one.href = `${here}?pass=${to}`; one.removeAttribute("aria-disabled"); }
  }
};

const still = (number) => {
  const image = at("still"), stand = scene.stands.find((one) => one.number === number);
  if (!image || !stand) return;
  if (!image.src.endsWith(`clamping-${number}.svg`)) image.src = `${here}/clamping-${number}.svg`;
  image.alt = `Op ${number} from where the operator stands. ${stand.seat_text}`;
  const lacking = at("lacking");
  if (lacking) lacking.textContent = stand.lacking.length ? `Not in the shop file, so not drawn: ${stand.lacking.join(", ")}.` : "";
  at("caption").textContent = `Op ${number} on ${stand.machine}, from where the operator stands, in front of the door. The work is kept still; at a tilt the cutter is shown from its side.`;
};

// Show a moment: words at once, the metal when it has come, unless another moment was asked for meanwhile.
const show = async (number, share, { keeps = true } = {}) => {
  Object.assign(state, { number, share });
  told();
  const block = blockOf(number), stand = scene.stands.find((one) => one.number === (block?.clamping ?? 1));
  still(stand.number);
  if (keeps) history.replaceState(null, "", `${here}?pass=${number}`);
  if (!picture) return;
  const own = ++wanted;
  let isTold = true;
  page.setAttribute("aria-busy", "true");
  try {
    const [data, way] = await moments.get(momentAt(number, share), () => {
      if (own !== wanted) return;
      told();
      at("said").textContent += " The desk is busy: asked again.";
      isTold = false;
    });
    if (own !== wanted) return;
    if (!isTold) told();
    if (!picture.size) {
      const { step_mm: step, middle_mm: middle } = data.head, points = data.arrays.points;
      const low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
      for (let i = 0; i < points.length; i++) {
        const k = i % 4;
        if (k < 3) { low[k] = Math.min(low[k], points[i]); high[k] = Math.max(high[k], points[i]); }
      }
      picture.size = { low: low.map((v, k) => middle[k] + step * v), high: high.map((v, k) => middle[k] + step * v) };
    }
    if (standing !== stand.number) { picture.stand(stand); standing = stand.number; }
    picture.metal(data);
    picture.cutter(block?.cutter_id, data.head.place);
    picture.way(way);
    const next = stepsFrom(number).next;
    if (next !== undefined && share >= 1) setTimeout(() => { if (own === wanted) moments.get(momentAt(next, 1)).catch(() => {}); }, 150); // before it is asked for
  } catch (fault) {
    if (own !== wanted) return; // given up for another moment
    at("said").textContent = `${at("said").textContent} The picture did not come: ${fault.message}`;
  } finally {
    if (own === wanted) page.removeAttribute("aria-busy");
  }
};

const shareOf = (step, number) => (step === "weakest" && number === scene.weakest?.number ? scene.weakest.share : 1);

const listen = () => {
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-pass], a[data-step]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    const number = link.dataset.pass ? Number(link.dataset.pass) : stepsFrom(state.number)[link.dataset.step];
    if (number === undefined) return;
    show(number, shareOf(link.dataset.step, number));
  });
  let waiting = 0;
  at("minute").addEventListener("input", (event) => {
    const second = Number(event.target.value);
    const block = scene.blocks.find((one) => second < one.start_s + one.seconds) ?? scene.blocks.at(-1);
    const share = block.seconds > 0 ? Math.max(0, Math.min(1, (second - block.start_s) / block.seconds)) : 1;
    Object.assign(state, { number: block.number, share: Math.round(share * 100) / 100 });
    told();
    clearTimeout(waiting);
    waiting = setTimeout(() => show(state.number, state.share), 120);
  });
  for (const button of page.querySelectorAll("[data-act]")) button.addEventListener("click", () => picture?.act(button.dataset.act));
  const form = at("shown"), shows = () => {
    const given = new FormData(form);
    picture?.show({ solid: given.get("solid"), about: given.has("about"), cutter: given.has("cutter"), head: given.has("head"), way: given.has("way") });
  };
  form.addEventListener("change", shows);
};

const begin = async () => {
  if (state.number) moments.get(momentAt(state.number, 1)).catch(() => {}); // asked for before anything else is ready
  scene = await (await fetched(`${here}/scene`)).json();
  if (!scene.blocks.length) return;
  for (const id of ["minute", "needle"]) at(id).hidden = false;
  listen();
  try {
    const { Picture } = await import("./work_scene.js");
    at("picture").hidden = false;
    picture = new Picture(at("picture"), { onFace: (face, isOther) => faces?.choose(face, isOther), onDrawn: () => faces?.pinned() });
    at("still").hidden = true;
    at("shown").hidden = false;
  } catch {
    at("picture").hidden = true; // no WebGL: the drawing and the list stay
  }
  faces = new Faces({ here, picture });
  await show(state.number || scene.blocks[0].number, 1, { keeps: false });
  page.dataset.drawn = String(Math.round(performance.now()));
  try {
    const data = await bytes(`${here}/part`);
    picture?.part(data);
    faces.listed(data.head);
  } catch (fault) {
    at("face-told").textContent = `The finished part cannot be shown: ${fault.message}`;
  }
  page.dataset.whole = String(Math.round(performance.now()));
};

window.proveoutWork = { get picture() { return picture; }, state, show };
begin().catch((fault) => { at("said").textContent = `The picture cannot be shown: ${fault.message}`; });
