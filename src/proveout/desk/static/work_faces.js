// One face, or two: what the plan says of it, what stands on it, and how far it is to another.
import { fetched } from "./work_data.js";

const at = (id) => document.getElementById(id);
const MARKS = 10;

export class Faces {
  constructor({ here, picture }) {
    this.here = here;
    this.picture = picture;
    this.rows = [];
    this.chosen = -1;
    this.other = -1;
    at("face").addEventListener("change", (event) => this.choose(event.target.value === "" ? -1 : Number(event.target.value), false));
    at("other").addEventListener("change", (event) => this.choose(event.target.value === "" ? -1 : Number(event.target.value), true));
  }

  listed({ faces, centres_mm: centres }) {
    this.rows = faces;
    this.centres = centres;
    for (const id of ["face", "other"]) {
      const order = faces.map((_, n) => n).sort((a, b) => faces[a].name.localeCompare(faces[b].name, "en", { numeric: true }));
      for (const n of order) at(id).append(new Option(faces[n].name, String(n)));
    }
    at("faces").hidden = false;
    const worst = faces.map((one, n) => ({ ...one, n })).filter((one) => one.state > 0);
    worst.sort((a, b) => b.state - a.state || Math.max(b.gouge_mm, b.leftover_mm) - Math.max(a.gouge_mm, a.leftover_mm));
    this.marked = worst.slice(0, MARKS).map((one) => {
      const mark = document.createElement("span");
      mark.textContent = one.mark;
      mark.classList.toggle("gouge", one.state === 2);
      at("marks").append(mark);
      return { mark, centre: centres[one.n] };
    });
    this.pinned();
  }

  // Numbers stand where their faces are seen, on the finished part alone.
  pinned() {
    const shows = this.picture?.shows?.solid === "part";
    for (const { mark, centre } of this.marked ?? []) {
      const place = shows ? this.picture.placed(centre) : null;
      mark.hidden = !place;
      if (place) mark.style.transform = `translate(${place.x + 6}px, ${place.y - 24}px)`;
    }
  }

  async choose(face, isOther) {
    if (isOther) this.other = face; else this.chosen = face;
    at("face").value = this.chosen < 0 ? "" : String(this.chosen);
    at("other").value = this.other < 0 ? "" : String(this.other);
    this.picture?.choose(this.chosen, this.other);
    if (!isOther) await this.tell();
    await this.measure();
  }

  async tell() {
    const box = at("face-told");
    box.replaceChildren();
    if (this.chosen < 0) return;
    const id = this.rows[this.chosen].id;
    let found;
    try {
      found = await (await fetched(`${this.here}/face?id=${encodeURIComponent(id)}`)).json();
    } catch {
      box.textContent = "The plan says nothing of this face.";
      return;
    }
    if (this.chosen < 0 || this.rows[this.chosen].id !== id) return;
    const list = document.createElement("dl");
    for (const { word, said } of found.lines) {
      const name = document.createElement("dt"), told = document.createElement("dd");
      name.textContent = word;
      told.textContent = said;
      list.append(name, told);
    }
    box.append(list);
  }

  async measure() {
    const line = at("distance");
    line.textContent = "";
    if (this.chosen < 0 || this.other < 0) return;
    const [one, two] = [this.rows[this.chosen].id, this.rows[this.other].id];
    let answer;
    try {
      answer = await fetch(`${this.here}/distance?one=${encodeURIComponent(one)}&other=${encodeURIComponent(two)}`);
    } catch {
      answer = { ok: false };
    }
    if (this.chosen < 0 || this.other < 0 || this.rows[this.chosen].id !== one || this.rows[this.other].id !== two) return; // others were chosen meanwhile
    line.textContent = answer.ok ? (await answer.json()).said : "This distance cannot be measured.";
  }
}
