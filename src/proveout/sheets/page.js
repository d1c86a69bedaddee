"use strict";
window.addEventListener("beforeprint", () => { for (const folded of document.querySelectorAll("details")) folded.open = true; });
(() => {
  const source = document.getElementById("mesh");
  const canvas = document.getElementById("turn");
  const still = document.getElementById("still");
  if (!source || !canvas) return;
  const data = JSON.parse(source.textContent);
  const gl = canvas.getContext("webgl", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) return;

  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const whole = new Int16Array(bytes(data.vertices));
  const corner = data.wide ? new Uint32Array(bytes(data.triangles)) : new Uint16Array(bytes(data.triangles));
  const at = new Float32Array(whole.length);
  for (let i = 0; i < whole.length; i++) at[i] = (whole[i] + 32767) * data.step_mm;
  const low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
  for (let i = 0; i < at.length; i++) {
    low[i % 3] = Math.min(low[i % 3], at[i]); high[i % 3] = Math.max(high[i % 3], at[i]);
  }
  for (let i = 0; i < at.length; i++) at[i] -= (low[i % 3] + high[i % 3]) / 2;
  const reach = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]) / 2 || 1;

  const count = corner.length / 3;
  const faceOf = new Uint16Array(count);
  let place = 0;
  data.runs.forEach((n, face) => { faceOf.fill(face, place, place + n); place += n; });
  const normal = new Float32Array(count * 3);
  for (let t = 0; t < count; t++) {
    const [a, b, c] = [0, 1, 2].map((k) => corner[3 * t + k] * 3);
    const u = [0, 1, 2].map((k) => at[b + k] - at[a + k]), v = [0, 1, 2].map((k) => at[c + k] - at[a + k]);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const size = Math.hypot(n[0], n[1], n[2]) || 1;
    for (let k = 0; k < 3; k++) normal[3 * t + k] = n[k] / size;
  }
  // faces: x y z, normal, state (0 plain, 1 left-over, 2 gouge), face number
  const solid = new Float32Array(count * 24);
  for (let t = 0; t < count; t++) for (let k = 0; k < 3; k++) {
    const o = (3 * t + k) * 8, p = corner[3 * t + k] * 3;
    for (let j = 0; j < 3; j++) { solid[o + j] = at[p + j]; solid[o + 3 + j] = normal[3 * t + j]; }
    solid[o + 6] = data.states[faceOf[t]]; solid[o + 7] = faceOf[t];
  }
  // edges: where two triangles meet; sharp ones always, smooth ones only as outline of a rounded face
  const met = new Map();
  const edges = [];
  for (let t = 0; t < count; t++) for (let k = 0; k < 3; k++) {
    const p = corner[3 * t + k], q = corner[3 * t + (k + 1) % 3];
    const key = p < q ? p * 16777216 + q : q * 16777216 + p;
    const other = met.get(key);
    if (other === undefined) { met.set(key, t); continue; }
    const dot = normal[3 * t] * normal[3 * other] + normal[3 * t + 1] * normal[3 * other + 1] + normal[3 * t + 2] * normal[3 * other + 2];
    if (dot > 0.99999) continue;
    const sharp = faceOf[t] !== faceOf[other] ? dot < 0.985 : dot < 0.6;
    edges.push([p * 3, q * 3, t * 3, other * 3, sharp ? 1 : 0]);
  }
  const ends = [[0, -1], [0, 1], [1, 1], [0, -1], [1, 1], [1, -1]];
  const stroke = new Float32Array(edges.length * 6 * 15);
  let w = 0;
  for (const [p, q, n, m, sharp] of edges) for (const [end, side] of ends) {
    for (let j = 0; j < 3; j++) stroke[w++] = at[p + j];
    for (let j = 0; j < 3; j++) stroke[w++] = at[q + j];
    for (let j = 0; j < 3; j++) stroke[w++] = normal[n + j];
    for (let j = 0; j < 3; j++) stroke[w++] = normal[m + j];
    stroke[w++] = end; stroke[w++] = side; stroke[w++] = sharp;
  }
  const build = (vertex, fragment) => {
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text); gl.compileShader(shader); gl.attachShader(made, shader);
    }
    gl.linkProgram(made);
    return gl.getProgramParameter(made, gl.LINK_STATUS) ? made : null;
  };
  const faces = build(`
    attribute vec3 p; attribute vec3 n; attribute float s; attribute float f;
    uniform mat3 turn; uniform vec2 scale; uniform float deep;
    varying vec3 facing; varying float state; varying float face;
    void main() { vec3 q = turn * p; facing = turn * n; state = s; face = f;
      gl_Position = vec4(q.xy * scale, -q.z * deep, 1.0); }`, `
    precision mediump float;
    varying vec3 facing; varying float state; varying float face;
    uniform float dense; uniform float chosen; uniform float naming;
    float ruled(float along, float every) { return 1.0 - smoothstep(0.5 * dense, 1.1 * dense, abs(mod(along, every) - 0.5 * every)); }
    void main() {
      if (naming > 0.5) { float k = floor(face + 0.5) + 1.0; gl_FragColor = vec4(mod(k, 256.0) / 255.0, floor(k / 256.0) / 255.0, 0.0, 1.0); return; }
      float light = 0.86 + 0.14 * max(0.0, dot(normalize(facing), normalize(vec3(-0.35, 0.6, 0.75))));
      vec3 paper = vec3(0.99, 0.98, 0.955) * light, ink = vec3(0.12, 0.11, 0.10);
      float every = 8.0 * dense, x = gl_FragCoord.x, y = gl_FragCoord.y, mark = 0.0;
      if (state > 0.5) mark = ruled((x + y) * 0.7071, every);
      if (state > 1.5) mark = max(mark, ruled((x - y) * 0.7071, every));
      vec3 shown = mix(paper, ink, 0.8 * mark);
      if (abs(face - chosen) < 0.5) shown = mix(shown, vec3(0.62, 0.17, 0.10), 0.25 + 0.55 * ruled(y, 4.0 * dense));
      gl_FragColor = vec4(shown, 1.0);
    }`);
  const lines = build(`
    attribute vec3 p; attribute vec3 q; attribute vec3 n; attribute vec3 m; attribute vec3 e;
    uniform mat3 turn; uniform vec2 scale; uniform float deep; uniform vec2 size; uniform float dense;
    void main() {
      vec3 a = turn * p, b = turn * q;
      float one = (turn * n).z, two = (turn * m).z;
      bool outline = one * two <= 0.0;
      if ((e.z < 0.5 && !outline) || (one < 0.0 && two < 0.0)) { gl_Position = vec4(2.0, 2.0, 2.0, 1.0); return; }
      vec2 way = (b.xy - a.xy) * scale * size;
      float span = length(way);
      way = span > 0.0001 ? way / span : vec2(1.0, 0.0);
      float wide = (outline ? 1.1 : 0.75) * dense;
      vec3 end = e.x < 0.5 ? a : b;
      vec2 off = (vec2(-way.y, way.x) * e.y + way * (e.x < 0.5 ? -0.4 : 0.4)) * wide * 2.0 / size;
      gl_Position = vec4(end.xy * scale + off, -end.z * deep - 0.0012, 1.0);
    }`, "precision mediump float; void main() { gl_FragColor = vec4(0.10, 0.09, 0.08, 1.0); }");
  if (!faces || !lines) return;
  const store = (array) => { const b = gl.createBuffer(); gl.bindBuffer(gl.ARRAY_BUFFER, b); gl.bufferData(gl.ARRAY_BUFFER, array, gl.STATIC_DRAW); return b; };
  const solidBuffer = store(solid), strokeBuffer = store(stroke);
  const bind = (program, buffer, parts, total) => {
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    let offset = 0;
    for (const [name, n] of parts) {
      const slot = gl.getAttribLocation(program, name);
      if (slot >= 0) { gl.enableVertexAttribArray(slot); gl.vertexAttribPointer(slot, n, gl.FLOAT, false, total * 4, offset * 4); }
      offset += n;
    }
  };
  const view = { yaw: -0.6, pitch: 0.55, zoom: 1, chosen: -1 };
  const matrix = () => {
    const [cy, sy, cp, sp] = [Math.cos(view.yaw), Math.sin(view.yaw), Math.cos(view.pitch), Math.sin(view.pitch)];
    const right = [cy, sy, 0], up = [-sy * sp, cy * sp, cp], out = [sy * cp, -cy * cp, sp];
    return [right[0], up[0], out[0], right[1], up[1], out[1], right[2], up[2], out[2]];
  };
  const draw = (naming) => {
    const dense = Math.min(3, window.devicePixelRatio || 1);
    const wide = Math.round(canvas.clientWidth * dense), tall = Math.round(canvas.clientHeight * dense);
    if (canvas.width !== wide || canvas.height !== tall) { canvas.width = wide; canvas.height = tall; }
    gl.viewport(0, 0, wide, tall);
    gl.clearColor(naming ? 0 : 1, naming ? 0 : 0.992, naming ? 0 : 0.973, 1); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const shared = (program) => {
      gl.useProgram(program);
      const u = (name) => gl.getUniformLocation(program, name);
      const fit = view.zoom * Math.min(wide, tall * 1.35) * 0.94 / (2 * reach);
      gl.uniformMatrix3fv(u("turn"), false, matrix());
      gl.uniform2f(u("scale"), 2 * fit / wide, 2 * fit / tall);
      gl.uniform1f(u("deep"), 0.9 / (reach * 1.01)); gl.uniform1f(u("dense"), dense); gl.uniform2f(u("size"), wide, tall);
      return u;
    };
    const u = shared(faces);
    gl.uniform1f(u("chosen"), view.chosen); gl.uniform1f(u("naming"), naming ? 1 : 0);
    bind(faces, solidBuffer, [["p", 3], ["n", 3], ["s", 1], ["f", 1]], 8);
    // steep faces are pushed back by their slope, or they would eat the edges drawn on them
    gl.enable(gl.POLYGON_OFFSET_FILL); gl.polygonOffset(1.5, 2);
    gl.drawArrays(gl.TRIANGLES, 0, count * 3);
    gl.disable(gl.POLYGON_OFFSET_FILL);
    if (naming) return;
    shared(lines);
    bind(lines, strokeBuffer, [["p", 3], ["q", 3], ["n", 3], ["m", 3], ["e", 3]], 15);
    gl.drawArrays(gl.TRIANGLES, 0, edges.length * 6);
  };
  const list = document.getElementById("face-list"), note = document.getElementById("face-note");
  const choose = (face) => {
    view.chosen = face;
    list.value = face < 0 ? "" : String(face);
    note.textContent = face < 0 ? "" : data.notes[face];
    draw(false);
  };
  data.names.forEach((name, face) => { const o = document.createElement("option"); o.value = String(face); o.textContent = name; list.append(o); });
  list.addEventListener("change", () => choose(list.value === "" ? -1 : Number(list.value)));
  const step = Math.PI / 18;
  const acts = {
    left: () => { view.yaw += step; }, right: () => { view.yaw -= step; },
    up: () => { view.pitch = Math.min(Math.PI / 2, view.pitch + step); }, down: () => { view.pitch = Math.max(-Math.PI / 2, view.pitch - step); },
    larger: () => { view.zoom = Math.min(12, view.zoom * 1.2); }, smaller: () => { view.zoom = Math.max(0.4, view.zoom / 1.2); },
    back: () => { Object.assign(view, { yaw: -0.6, pitch: 0.55, zoom: 1 }); },
  };
  const keys = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "larger", "=": "larger", "-": "smaller", Home: "back" };
  canvas.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault(); acts[act](); draw(false);
  });
  for (const button of document.querySelectorAll("[data-act]")) button.addEventListener("click", () => { acts[button.dataset.act](); draw(false); });
  let held = null;
  canvas.addEventListener("pointerdown", (event) => { held = { x: event.clientX, y: event.clientY, moved: 0 }; canvas.setPointerCapture(event.pointerId); });
  canvas.addEventListener("pointermove", (event) => {
    if (!held) return;
    const dx = event.clientX - held.x, dy = event.clientY - held.y;
    held.moved += Math.abs(dx) + Math.abs(dy); held.x = event.clientX; held.y = event.clientY;
    view.yaw -= dx * 0.01; view.pitch = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, view.pitch + dy * 0.01));
    draw(false);
  });
  canvas.addEventListener("pointerup", (event) => {
    const tapped = held && held.moved < 5; held = null;
    if (!tapped) return;
    draw(true);
    const box = canvas.getBoundingClientRect(), dense = canvas.width / box.width, pixel = new Uint8Array(4);
    gl.readPixels(Math.round((event.clientX - box.left) * dense), Math.round((box.bottom - event.clientY) * dense), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    choose(pixel[0] + 256 * pixel[1] - 1);
  });
  window.addEventListener("resize", () => draw(false));
  canvas.hidden = false; document.getElementById("turn-tools").hidden = false;
  if (still) still.classList.add("for-print");
  draw(false);
})();
